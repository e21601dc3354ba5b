//! Every kind of fault, as the person who made it sees it.

#![allow(non_snake_case)] // a fault of one kind and its variety, as in the snapshot names

use super::bench_book::{folder, shown, told, weephole, write};

/// `rules check` over the small book with one text changed for another.
fn with(old: &str, new: &str) -> String {
    checked(|_, text| text.replacen(old, new, 1), &[])
}

/// `rules check` over the small book with a file beside it in the same folder.
fn beside(path: &str, text: &str) -> String {
    checked(|_, text| text.to_owned(), &[(&format!("book/{path}"), text)])
}

/// `rules check` over the small book with a folder laid over it.
fn under(text: &str) -> String {
    let top = folder(|_, text| text.to_owned(), &[("own/mine.yaml", text)]);
    told(weephole(top.path()).args(["rules", "check", "--no-cases", "--alone", "book", "own"]))
}

fn checked(change: impl Fn(&str, &str) -> String, more: &[(&str, &str)]) -> String {
    let top = folder(change, more);
    told(weephole(top.path()).args(["rules", "check", "--no-cases", "--alone", "book"]))
}

fn bytes(path: &str, bytes: &[u8]) -> String {
    let top = folder(|_, text| text.to_owned(), &[]);
    write(top.path(), &format!("book/{path}"), bytes);
    told(weephole(top.path()).args(["rules", "check", "--no-cases", "--alone", "book"]))
}

/// How `rules check` ends on a fault of this kind.
fn status_of(code: &str) -> u8 {
    let code =
        weephole::rulebook::all_codes().into_iter().find(|known| known.name == code).expect("a known code");
    u8::from(code.severity == weephole::rulebook::Severity::Error)
}

/// `rules check` over the small book with a layout of these steps beside it.
fn layout(steps: &str) -> String {
    beside("jobs/any.yaml", &format!("name: any engine\nsource: judgement\nsteps:\n{steps}"))
}

macro_rules! faults {
    ($($name:ident: $told:expr;)+) => {
        $(
            #[test]
            fn $name() {
                let told = $told;
                let code = stringify!($name).split("__").next().unwrap().replace('_', "-");
                assert!(told.contains(&format!("[{code}]")), "no `{code}` in:\n{told}");
                assert!(told.starts_with(&format!("status {}\n", status_of(&code))), "{told}");
                shown(stringify!($name), &told);
            }
        )+

        /// Codes shown above, so that none is forgotten.
        const SHOWN: &[&str] = &[$(stringify!($name)),+];
    };
}

faults! {
    too_big: bytes("big.yaml", "# filler\n".repeat(600_000).as_bytes());
    not_utf8: bytes("latin.yaml", b"parts:\n  k\xfchler: {name: radiator}\n");
    control_character: beside("evil.yaml", "parts:\n  # \u{1b}[2J\u{202e}gone\n  x: {name: \"\u{7}\"}\n");
    syntax__two_colons: with("name: pump bearing worn", "name: pump: bearing worn");
    syntax__tab: with("    part: pump", "\tpart: pump");
    syntax__open_bracket: with("price: [40, 120]}", "price: [40, 120}");
    syntax__open_quote: with("customer: The bearing is worn.", "customer: \"The bearing is worn.");
    syntax__odd_indent: with("    base: 26", "   base: 26");
    syntax__kept_character: with("name: pump bearing worn", "name: @pump");
    too_deep: beside("deep.yaml", &format!("parts: {}\n", "{a: ".repeat(60)));
    alias: beside("bomb.yaml", "parts: &all {x: 1}\nfailures: *all\n");
    tag: beside("tag.yaml", "parts: !!map {}\n");
    documents: beside("two.yaml", "parts: {}\n---\nstates: {}\n");
    duplicate_key: with("    base: 26\n", "    base: 26\n    source: judgement\n    base: 62\n");
    unknown_key: with("    shows:\n      grinding: usually", "    shws:\n      grinding: usually");
    unknown_key__comma_in_braces: with("name: an electric fan,", "name: an electric fan, or two,");
    missing_key: with("    urgency: soon\n", "");
    missing_key__nested: with("      do: Renew the pump.\n", "");
    wrong_type: with("base: 26", "base: twenty-six");
    wrong_type__number_for_text: with("name: pump bearing worn", "name: 26");
    wrong_type__band_of_one: with("minutes: [60, 120]", "minutes: [60]");
    wrong_type__list_file: beside("list.yaml", "- parts\n- failures\n");
    not_a_choice: with("urgency: soon", "urgency: sooon");
    out_of_range: with("share: 0.7", "share: 70");
    out_of_range__nan: with("base: 26", "base: .nan");
    out_of_range__weight: with("grinding: usually", "grinding: 1.5");
    empty: with("customer: The bearing is worn.", "customer:");
    empty__blank_text: with("customer: The bearing is worn.", "customer: \"  \"");
    empty__no_steps: with("steps: [Rock it.]", "steps: []");
    bad_id: with("  bearing-worn:", "  Bearing_Worn:");
    duplicate_id: beside("again.yaml", "states:\n  low: {name: low, customer: It is low., background: 0.1}\n");
    duplicate_id__other_kind: beside("again.yaml", "states:\n  grinding: {name: x, customer: y., background: 0.1}\n");
    duplicate_id__title: beside("again.yaml", "book: {title: Another, version: 2, currency: EUR}\n");
    duplicate_link: with("    shows: {cold-heater: usually}", "    raised-by: {bearing-worn: usually}\n    shows: {cold-heater: usually}");
    unknown_id: with("grinding: usually", "grindnig: usually");
    unknown_id__outcome: with("rock-pulley/play", "rock-pulley/plays");
    unknown_id__tool: with("tools: [torch]", "tools: [trch]");
    unknown_id__remove: under("remove: [bearing-wrn]\n");
    unknown_id__change: under("change:\n  bearing-wrn: {base: 3}\n");
    removes_own_entry: under("remove: [low]\nstates:\n  low: {name: low, customer: It is low., background: 0.1}\n");
    change_does_not_fit: under("change:\n  grinding: {base: 3}\n");
    no_title: with("book: {title: A bench book, version: 1, currency: EUR}", "");
    reversed_range: with("from: 0.65, to: 0.82", "from: 0.82, to: 0.65");
    reversed_range__price: with("price: [40, 120]", "price: [120, 40]");
    reversed_range__chance_words: with("at-least: 0.5", "at-least: 0");
    wrong_kind: with("    leads-to:\n      low: seldom", "    leads-to:\n      cold-heater: seldom");
    wrong_kind__no_outcome: with("rock-pulley/play", "rock-pulley");
    wrong_kind__shows_state: with("      grinding: usually", "      grinding: usually\n      low: usually");
    unknown_word: with("grinding: usually", "grinding: usualy");
    condition_on_background: beside("more.yaml", "symptoms:\n  scrape: {name: a scrape, ask: Does it scrape?, notice: A dry rub., words: [scrapes], customer: It scrapes., background: {is: 0.01, fits-if: {fan: [electric]}}}\n");
    severe_says_more: beside("more.yaml", "symptoms:\n  scrape: {name: a scrape, ask: Does it scrape?, notice: A dry rub., words: [scrapes], customer: It scrapes., background: 0.01, severe: Do not run the engine.}\n");
    unknown_id__lifting_check: beside("more.yaml", "symptoms:\n  scrape: {name: a scrape, ask: Does it scrape?, notice: A dry rub., words: [scrapes], customer: It scrapes., background: 0.01, severe: {say: Do not run the engine., forbids: running, until: [rock-puley]}}\n");
    not_a_choice__forbids: beside("more.yaml", "symptoms:\n  scrape: {name: a scrape, ask: Does it scrape?, notice: A dry rub., words: [scrapes], customer: It scrapes., background: 0.01, severe: {say: Do not run the engine., forbids: runing}}\n");
    unknown_option: with("facts: {fan: electric}", "facts: {fan: eletric}");
    unknown_option__on_a_link: with("grinding: usually", "grinding: {is: usually, fits-if: {fan: [eletric]}}");
    unknown_id__fact_on_a_link: with("grinding: usually", "grinding: {is: usually, fits-if: {fna: [electric]}}");
    bad_shares: with("share: 0.3", "share: 0.4");
    bad_figure: with("less: 7 kPa", "less: 7 K");
    bad_figure__unit: with("unit: kPa", "unit: kilopascal-ish");
    bad_figure__vehicle_figure: with("of: cap-rating", "of: cap-ratng");
    bad_figure__no_otherwise: with(", otherwise: 90 kPa", "");
    bad_figure__vehicle: beside("vehicles/van.yaml", "name: the van\nratings: {cap: 88 °C}\n");
    bad_limits: with("      early: {say: too early", "      late: {say: too late, background: 0.01, above: {at: 80 kPa}}\n      early: {say: too early");
    bad_limits__reversed: with("below: {of: cap-rating", "above: {at: 150 kPa}, below: {of: cap-rating");
    bad_date: beside("vehicles/van.yaml", "name: the van\ncoolant: {filled: 06-2021}\n");
    bad_answer: with("answer: play", "answer: wobbly");
    bad_answer__reading: with("{ask: rock-pulley, answer: play}", "{ask: cap-test, reading: 30 bar}");
    bad_answer__neither: with("{ask: rock-pulley, answer: play}", "{ask: rock-pulley}");
    unknown_step: layout("  pump: {name: the pump, undo: [Take it off.], renews: [pump], after: [belt]}\n");
    step_ring: layout("  pump: {name: the pump, undo: [Take it off.], renews: [pump], after: [belt]}\n  belt: {name: the belt, undo: [Take it off.], after: [pump]}\n");
    idle_step: layout("  pump: {name: the pump, undo: [Take it off.], renews: [pump]}\n  belt: {name: the belt, undo: [Take it off.]}\n");
    bad_step_figure: layout("  pump: {name: the pump, undo: [Take it off.], renews: [pump], minutes: {undo: [5, 2], refit: [1, 2]}}\n");
    cycle: with("    shows: {cold-heater: usually}", "    leads-to: {bearing-worn: seldom}\n    shows: {cold-heater: usually}");
    unrevealed: with("    leads-to: {low: seldom}\n    shows: {cap-test/early: usually}\n", "");
    unexplained: with("      grinding: usually\n", "");
    uncaused: checked(|_, text| text.replace("    leads-to:\n      low: seldom\n", "").replace("    leads-to: {low: seldom}\n", ""), &[]);
}

/// Kinds of fault that no file can have when it is read from a folder: proved elsewhere or by hand below.
const ELSEWHERE: [&str; 2] = ["cannot-read", "known-case"];

#[test]
fn every_kind_of_fault_is_shown_above() {
    for code in weephole::rulebook::all_codes() {
        let shown = SHOWN.iter().any(|name| name.split("__").next().unwrap().replace('_', "-") == code.name);
        assert!(
            shown || ELSEWHERE.contains(&code.name) || code.name.starts_with("layout"),
            "no test shows `{}`",
            code.name
        );
    }
}

#[test]
fn every_kind_of_fault_is_explained() {
    for code in weephole::rulebook::all_codes() {
        assert!(code.doc.lines().count() >= 3, "`{}` says too little: {}", code.name, code.doc);
        assert!(!code.title.is_empty());
    }
}

#[test]
fn the_small_book_is_sound() {
    let top = folder(|_, text| text.to_owned(), &[]);
    let told = told(weephole(top.path()).args(["rules", "check", "--alone", "book"]));
    shown("the_small_book_is_sound", &told);
}

#[test]
fn a_folder_that_is_not_there_is_wrong_use() {
    let top = folder(|_, text| text.to_owned(), &[]);
    let told = told(weephole(top.path()).args(["rules", "check", "nowhere"]));
    shown("a_folder_that_is_not_there_is_wrong_use", &told);
}

#[cfg(unix)]
#[test]
fn a_file_that_cannot_be_read_is_named() {
    // A link to nowhere cannot be read even by the machine's owner.
    let top = folder(|_, text| text.to_owned(), &[]);
    std::os::unix::fs::symlink("nowhere.yaml", top.path().join("book/gone.yaml")).unwrap();
    let told = told(weephole(top.path()).args(["rules", "check", "--no-cases", "--alone", "book"]));
    shown("a_file_that_cannot_be_read_is_named", &told);
}

#[test]
fn a_known_case_that_breaks_says_what_the_ranking_says() {
    let top = folder(|_, text| text.replacen("expect: {first: pump}", "expect: {first: cap}", 1), &[]);
    let told = told(weephole(top.path()).args(["rules", "check", "--alone", "book"]));
    shown("a_known_case_that_breaks_says_what_the_ranking_says", &told);
}

#[test]
fn all_faults_are_told_in_one_run() {
    let change = |path: &str, text: &str| match path {
        "parts/pump.yaml" => text
            .replace("base: 26", "base: lots")
            .replace("    urgency: soon\n", "")
            .replace("price: [40, 120]", "price: [40]"),
        "rest.yaml" => {
            text.replace("ask: Does it grind?", "aks: Does it grind?").replace("minutes: 3", "minutes: -3")
        }
        "cap.yaml" => text.replace("cap-test/early", "cap-test/erly").replace("part: cap", "part: cop"),
        _ => text.to_owned(),
    };
    let told =
        checked(change, &[("book/broken.yaml", "parts: [\n"), ("book/vehicles/The Van.yaml", "nmae: x\n")]);
    shown("all_faults_are_told_in_one_run", &told);
}

#[test]
fn faults_are_told_to_programs_as_json() {
    let top = folder(|_, text| text.replacen("grinding: usually", "grindnig: usually", 1), &[]);
    let told = told(weephole(top.path()).args([
        "rules",
        "check",
        "--no-cases",
        "--alone",
        "book",
        "--format",
        "json",
    ]));
    shown("faults_are_told_to_programs_as_json", &told);
}
