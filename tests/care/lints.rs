//! Lints: what is doubtful in a sound book, and silencing it with a reason.

use std::collections::BTreeSet;

use weephole::care::check::every_code;
use weephole::care::lints::{lint, silence};
use weephole::rulebook::entries::WeightSpec;
use weephole::rulebook::{Below, Fault, RuleBook, Severity, documents, inspect};

/// The shipped book with rules laid over it, its known cases and the failures of most parts taken out, so that
/// telling apart is quick.
fn small(over: &str) -> RuleBook {
    let shipped = RuleBook::shipped();
    let parts = ["filler-cap", "thermostat", "water-pump"];
    let failures = shipped.failures.iter().filter(|(_, failure)| !parts.contains(&failure.part.as_str()));
    let cases = shipped.cases.keys().map(|name| format!("cases/{name}"));
    let gone: Vec<String> =
        failures.map(|(id, _)| id.clone()).chain(cases).map(|id| format!("  - {id}\n")).collect();
    let home = tempfile::tempdir().unwrap();
    let (under, upper) = (home.path().join("under"), home.path().join("upper"));
    for (folder, text) in [(&under, format!("remove:\n{}", gone.concat())), (&upper, over.to_owned())] {
        std::fs::create_dir_all(folder).unwrap();
        std::fs::write(folder.join("rules.yaml"), text).unwrap();
    }
    // What lost its causes with the failures is a fault of its own, and none of those tried here.
    let book = inspect(&[under, upper], Below::Shipped);
    let broken: Vec<_> = book
        .faults
        .list
        .iter()
        .filter(|fault| !["unexplained", "uncaused", "unrevealed"].contains(&fault.code.name))
        .filter(|fault| {
            fault.code.severity == Severity::Error
                && fault
                    .spot
                    .as_ref()
                    .is_some_and(|spot| book.book.name_of_source(spot.source).contains("upper"))
        })
        .map(|fault| fault.message.clone())
        .collect();
    assert!(broken.is_empty(), "{broken:?}");
    book.book
}

/// An entry as YAML below its section and id.
fn entry<T: serde::Serialize>(section: &str, id: &str, value: &T) -> String {
    let text = documents::write(value).unwrap();
    let body: String = text.lines().flat_map(|line| ["    ", line, "\n"]).collect();
    format!("{section}:\n  {id}:\n{body}")
}

/// Everything that is doubtful on purpose.
fn doubtful() -> String {
    let shipped = RuleBook::shipped();
    let mut twin = shipped.failures["cap-seal-leaking"].clone();
    "thermostat".clone_into(&mut twin.part);
    let mut slow = shipped.checks["pressure-test"].clone();
    slow.minutes += 10.0;
    let mut careless = shipped.checks["pressure-test"].clone();
    careless.cautions.clear();
    let mut unsourced = shipped.cautions["hot-cap"].clone();
    unsourced.source = None;
    let mut unseen = shipped.states["coolant-foaming"].clone();
    unseen.shows.clear();
    unseen.leads_to.clear();
    unseen.raised_by.clear();
    unseen.raised_by.insert("plain-water".to_owned(), WeightSpec::word("rarely"));
    let same_outcomes: Vec<String> = shipped
        .links_to("pressure-test/falls")
        .filter(|link| {
            ["filler-cap", "thermostat", "water-pump"]
                .contains(&shipped.failures.get(&link.from).map_or("", |f| f.part.as_str()))
                || shipped.states.contains_key(&link.from)
        })
        .map(|link| format!("  {}:\n    shows: {{twin-check/falls: {}}}\n", link.from, link.weight.value))
        .collect();
    let checks = entry("checks", "twin-check", &slow)
        + entry("checks", "pressure-test", &careless).trim_start_matches("checks:\n");
    [
        entry("failures", "twin-failure", &twin),
        entry("states", "unseen-twin", &unseen),
        entry("cautions", "hot-cap", &unsourced),
        checks,
        format!("change:\n{}  hot-on-hills: {{background: 0.9}}\n", same_outcomes.concat()),
    ]
    .concat()
}

fn has(faults: &[Fault], code: &str, words: &[&str]) -> bool {
    faults
        .iter()
        .any(|fault| fault.code.name == code && words.iter().all(|word| fault.message.contains(word)))
}

#[test]
fn each_lint_finds_what_it_is_for_and_only_that() {
    let sound = lint(&small("{}\n"), &[]);
    let found = lint(&small(&doubtful()), &[]);
    let expected: [(&str, &[&str]); 7] = [
        ("same-signs", &["`cap-seal-leaking`", "`twin-failure`", "nothing tells them apart"]),
        ("never-worth", &["`twin-check`"]),
        ("says-nothing", &["`hot-on-hills`"]),
        ("unseen-state", &["`unseen-twin`"]),
        ("no-caution", &["`pressure-test`", "`hot-cap`"]),
        ("no-source", &["`hot-cap`"]),
        ("no-case", &["`twin-failure`"]),
    ];
    for (code, words) in expected {
        assert!(has(&found, code, words), "{code} {words:?} among {:#?}", told(&found));
        assert!(!has(&sound, code, words), "{code} {words:?} without a reason");
    }
    assert!(!has(&found, "never-worth", &["`pressure-test`"]), "the quicker twin stays");
}

fn told(faults: &[Fault]) -> Vec<String> {
    faults.iter().map(|fault| format!("{} {} ({})", fault.code.name, fault.message, fault.label)).collect()
}

#[test]
fn a_warning_is_silenced_with_a_reason_and_an_idle_silence_is_told() {
    let silences = "silence:\n\
        - {code: no-caution, at: pressure-test, reason: a test}\n\
        - {code: no-caution, at: no-such-entry, reason: a test}\n\
        - {code: no-causion, at: pressure-test, reason: a test}\n\
        - {code: unknown-id, at: pressure-test, reason: a test}\n\
        - {code: same-signs, at: cap-seal-leaking, with: twin-failure, reason: a test}\n";
    let book = small(&(doubtful() + silences));
    let shipped = RuleBook::shipped().silences.len();
    assert_eq!(book.silences.len(), shipped + 5);
    let faults = lint(&book, &[]);
    let about = |fault: &&Fault| {
        (fault.code.name == "no-caution" && fault.message.contains("`pressure-test`"))
            || (fault.code.name == "same-signs"
                && fault.message.contains("`cap-seal-leaking` and `twin-failure`"))
    };
    let before = faults.iter().filter(about).count();
    assert!(before >= 2, "{:#?}", told(&faults));
    let left = silence(&book, faults, &every_code());
    assert_eq!(left.kept.iter().filter(about).count(), 0);
    // The shipped book silences some of its own.
    let plain = small(&doubtful());
    let own = silence(&plain, lint(&plain, &[]), &every_code()).silenced;
    assert_eq!(left.silenced, own + before);
    assert!(has(&left.kept, "idle-silence", &["`no-such-entry`"]));
    assert!(has(&left.kept, "bad-silence", &["no code `no-causion`"]));
    assert!(has(&left.kept, "bad-silence", &["`unknown-id` is an error"]));
}

#[test]
fn every_code_is_named_once_and_explained() {
    let codes = every_code();
    let names: BTreeSet<&str> = codes.iter().map(|code| code.name).collect();
    assert_eq!(names.len(), codes.len(), "a code is named twice");
    for code in codes {
        assert!(code.doc.trim().len() > 60, "`{}` is hardly explained", code.name);
        assert!(!code.title.is_empty());
    }
}
/// Sound enough to ship: nothing that lints call a warning stands in the shipped book without a reason.
#[test]
fn the_shipped_book_has_no_warning_that_is_not_meant() {
    let book = RuleBook::shipped();
    let left = silence(&book, lint(&book, &[]), &every_code());
    let warnings: Vec<Fault> =
        left.kept.into_iter().filter(|fault| fault.code.severity >= Severity::Warning).collect();
    assert!(warnings.is_empty(), "{:#?}", told(&warnings));
}
