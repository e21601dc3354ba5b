//! Texts written by mistake, or to do harm.

use proptest::prelude::*;
use weephole::rulebook::{LARGEST_FILE, RuleBook, documents, inspect_text};

use super::bench_book::{FILES, folder, told, weephole};

/// Where a file of each kind stands.
const PATHS: [&str; 4] = ["parts/pump.yaml", "vehicles/van.yaml", "cases/one.yaml", "jobs/layout.yaml"];

/// Pieces that YAML readers stumble over, for texts that are nearly rule files.
const PIECES: [&str; 40] = [
    "failures:",
    "\n  ",
    "\n",
    "  ",
    "- ",
    "[",
    "]",
    "{",
    "}",
    ": ",
    ", ",
    "&a ",
    "*a",
    "!!str ",
    "? ",
    "<<: ",
    "|\n",
    ">-\n",
    "'",
    "\"",
    "#",
    "\t",
    "---\n",
    "...\n",
    "%YAML 1.2\n",
    "pump",
    "shows",
    "base",
    ".nan",
    "1e999",
    "0x1f",
    "~",
    "true",
    "\r\n",
    "\u{feff}",
    "\u{85}",
    "é",
    "\u{1b}[31m",
    "@",
    "`",
];

/// Reads bytes as every kind of file, draws what is wrong, and looks at what comes out.
fn survives(bytes: &[u8]) {
    for path in PATHS {
        let inspection = inspect_text(path, bytes);
        let drawn = inspection.faults.to_string();
        let harmless = |c: char| c == '\n' || !weephole::rulebook::plain::is_control(c);
        assert!(drawn.chars().all(harmless), "{drawn:?}");
        assert_eq!(inspection.faults.reports().len(), inspection.faults.list.len());
    }
    let _ = documents::read::<serde_json::Value>(bytes);
    if let Ok(text) = std::str::from_utf8(bytes) {
        let _ = weephole::rulebook::edit::RuleText::new(text);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_bytes_make_the_reader_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        survives(&bytes);
    }

    #[test]
    fn no_text_of_yaml_pieces_makes_the_reader_panic(
        pieces in prop::collection::vec(prop::sample::select(PIECES.to_vec()), 0..60)
    ) {
        survives(pieces.concat().as_bytes());
    }

    #[test]
    fn no_slip_in_a_good_file_makes_the_reader_panic(
        file in 0..FILES.len(), at in any::<prop::sample::Index>(), cut in 0..12_usize,
        piece in prop::sample::select(PIECES.to_vec())
    ) {
        let text = FILES[file].1;
        let places: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
        let start = *at.get(&places);
        let end = text[start..].char_indices().nth(cut).map_or(text.len(), |(more, _)| start + more);
        survives(format!("{}{piece}{}", &text[..start], &text[end..]).as_bytes());
    }
}

/// One fault, of this kind, and soon: none of these may take more than a moment.
fn refused(text: &str, code: &str) {
    let begun = std::time::Instant::now();
    let inspection = inspect_text("parts/x.yaml", text.as_bytes());
    let codes: Vec<&str> = inspection.faults.list.iter().map(|fault| fault.code.name).collect();
    assert!(codes.contains(&code), "{codes:?}");
    // Not a speed test: quadratic readers take minutes here, and this machine may be busy.
    assert!(begun.elapsed().as_secs() < 60, "{:?} for {code}", begun.elapsed());
}

#[test]
fn nested_maps_do_not_take_quadratic_time() {
    refused(&"{a: ".repeat(200_000), "too-deep");
    refused(&"[".repeat(1_000_000), "too-deep");
    refused(&"- ".repeat(500_000), "too-deep");
    refused(&"? ".repeat(500_000), "too-deep");
    let blocks: Vec<String> = (0..2000).map(|depth| format!("{}a:\n", " ".repeat(depth))).collect();
    refused(&blocks.concat(), "too-deep");
}

#[test]
fn aliases_do_not_unfold() {
    let mut bomb = String::from("a: &a [x, x, x, x, x, x, x, x, x]\n");
    for (name, of) in
        [("b", "a"), ("c", "b"), ("d", "c"), ("e", "d"), ("f", "e"), ("g", "f"), ("h", "g"), ("i", "h")]
    {
        bomb.push_str(&format!(
            "{name}: &{name} [*{of}, *{of}, *{of}, *{of}, *{of}, *{of}, *{of}, *{of}, *{of}]\n"
        ));
    }
    refused(&bomb, "alias");
    refused("a: {<<: *b}\n", "alias");
}

#[test]
fn a_file_over_the_limit_is_refused_unread() {
    refused(&"#".repeat(usize::try_from(LARGEST_FILE).unwrap() + 1), "too-big");
}

#[test]
fn long_lines_and_many_faults_are_told_in_time() {
    let many: Vec<String> = (0..3000).map(|number| format!("  part-{number}: {{nmae: x}}\n")).collect();
    let inspection = inspect_text("parts/x.yaml", format!("parts:\n{}", many.concat()).as_bytes());
    assert!(inspection.faults.list.len() >= 6000);
    assert!(inspection.faults.to_string().len() > 100_000);
    refused(&format!("parts: {{x: {{name: {}}}}}\n", "long ".repeat(200_000)), "missing-key");
}

#[test]
fn text_from_files_cannot_steer_the_terminal() {
    // Escapes that only exist once the quotation marks are read: no byte of the file steers anything.
    let own = "failures:\n  bearing-worn:\n    part: \"pu\\e[2Jmp\\u202e\"\n    nope: \"\\a\"\n";
    let top = folder(|_, text| text.to_owned(), &[("own/mine.yaml", own)]);
    let said = told(weephole(top.path()).args(["rules", "check", "--no-cases", "--alone", "book", "own"]));
    assert!(said.chars().all(|c| c == '\n' || !weephole::rulebook::plain::is_control(c)), "{said:?}");
    let named = told(weephole(top.path()).args(["rules", "show", "a\u{1b}[31mb"]));
    assert!(!named.contains('\u{1b}'), "{named:?}");
    // What passes the gate and is shown is stripped as well.
    let own = "change:\n  grinding-noise: {source: \"read \\e[31min red\"}\n";
    let top = folder(|_, text| text.to_owned(), &[("own/mine.yaml", own)]);
    let shown = told(weephole(top.path()).args(["rules", "show", "grinding-noise", "--rules", "own"]));
    assert!(
        shown.starts_with("status 0") && shown.contains("in red") && !shown.contains('\u{1b}'),
        "{shown:?}"
    );
}

#[test]
fn a_file_name_cannot_be_an_id_that_leads_elsewhere() {
    let inspection = inspect_text("vehicles/..%2f.yaml", b"name: x\n");
    assert!(inspection.faults.list.iter().any(|fault| fault.code.name == "bad-id"));
    assert!(RuleBook::shipped().vehicles.keys().all(|id| weephole::rulebook::is_id(id)));
}
