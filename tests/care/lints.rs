//! Lints: what is doubtful in a sound book, and silencing it with a reason.

use std::collections::BTreeSet;

use weephole::care::check::every_code;
use weephole::care::lints::{lint, silence};
use weephole::rulebook::entries::Silence;
use weephole::rulebook::{Effect, Fault, Kind, Link, RuleBook};

/// The shipped book with the failures of a few parts only, so that telling apart is quick.
fn small() -> RuleBook {
    let mut book = RuleBook::shipped();
    let parts = ["filler-cap", "thermostat", "water-pump", "radiator"];
    book.failures.retain(|_, failure| parts.contains(&failure.part.as_str()));
    let kept: BTreeSet<String> = book.failures.keys().cloned().collect();
    let all = RuleBook::shipped();
    let gone = |id: &str| all.failures.contains_key(id) && !kept.contains(id);
    book.links.retain(|link| !gone(&link.from) && !gone(link.to.entry()));
    book
}

/// Repeats every link of `from` (or to outcomes of the check `from`) for a twin.
fn twin_links(book: &mut RuleBook, from: &str, twin: &str) {
    let more: Vec<Link> = book
        .links
        .iter()
        .filter_map(|link| {
            let mut copy = link.clone();
            if link.from == from {
                copy.from = twin.to_owned();
                return Some(copy);
            }
            match &link.to {
                Effect::Outcome { check, outcome } if check == from => {
                    copy.to = Effect::Outcome { check: twin.to_owned(), outcome: outcome.clone() };
                    Some(copy)
                }
                _ => None,
            }
        })
        .collect();
    book.links.extend(more);
}

fn has(faults: &[Fault], code: &str, words: &[&str]) -> bool {
    faults
        .iter()
        .any(|fault| fault.code.name == code && words.iter().all(|word| fault.message.contains(word)))
}

#[test]
fn each_lint_finds_what_it_is_for_and_only_that() {
    let sound = lint(&small(), &[]);
    let mut book = small();

    let mut twin = book.failures["cap-seal-leaking"].clone();
    twin.part = "thermostat".to_owned();
    book.failures.insert("twin-failure".to_owned(), twin);
    twin_links(&mut book, "cap-seal-leaking", "twin-failure");

    let mut slow = book.checks["pressure-test"].clone();
    slow.minutes += 10.0;
    book.checks.insert("twin-check".to_owned(), slow);
    twin_links(&mut book, "pressure-test", "twin-check");

    book.symptoms["hot-on-hills"].background.number = Some(0.9);
    book.symptoms["hot-on-hills"].background.word = None;
    book.links.retain(|link| link.from != "coolant-foaming");
    book.checks["cap-test"].cautions.clear();
    book.cautions["hot-cap"].source = None;

    let found = lint(&book, &[]);
    let expected: [(&str, &[&str]); 6] = [
        ("same-signs", &["`cap-seal-leaking`", "`twin-failure`", "nothing tells them apart"]),
        ("never-worth", &["`twin-check`"]),
        ("says-nothing", &["`hot-on-hills`"]),
        ("no-caution", &["`pressure-test`", "`hot-cap`"]),
        ("no-source", &["`hot-cap`"]),
        ("no-case", &["`twin-failure`"]),
    ];
    book.checks["pressure-test"].cautions.clear();
    let found_more = lint(&book, &[]);
    for (code, words) in expected {
        assert!(has(&found_more, code, words), "{code} {words:?} among {:#?}", told(&found_more));
        assert!(!has(&sound, code, words), "{code} {words:?} without a reason");
    }
    assert!(!has(&found, "no-caution", &["`pressure-test`"]));
    assert!(!has(&found_more, "never-worth", &["`pressure-test`"]), "the quicker twin stays");
}

fn told(faults: &[Fault]) -> Vec<String> {
    faults.iter().map(|fault| format!("{} {} ({})", fault.code.name, fault.message, fault.label)).collect()
}

#[test]
fn a_warning_is_silenced_with_a_reason_and_an_idle_silence_is_told() {
    let mut book = small();
    book.checks["pressure-test"].cautions.clear();
    let place = book.place_of(Kind::Check, "cap-test").unwrap().clone();
    let say = |code: &str, at: &str| Silence {
        code: code.to_owned(),
        at: at.to_owned(),
        with: None,
        reason: "a test".to_owned(),
    };
    for silence in [
        say("no-caution", "pressure-test"),
        say("no-caution", "no-such-entry"),
        say("no-causion", "pressure-test"),
        say("unknown-id", "pressure-test"),
    ] {
        book.silences.push((silence, place.clone()));
    }
    let faults = lint(&book, &[]);
    let about = |fault: &&Fault| fault.code.name == "no-caution" && fault.message.contains("`pressure-test`");
    let before = faults.iter().filter(about).count();
    assert!(before >= 2, "{:#?}", told(&faults));
    let left = silence(&book, faults, &every_code());
    assert_eq!(left.kept.iter().filter(about).count(), 0);
    assert_eq!(left.silenced, before);
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
