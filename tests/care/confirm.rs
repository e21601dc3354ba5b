//! `confirm`: found, found good, and not looked at.

use std::fs;

use weephole::care::confirm::{ConfirmError, confirm, failures_meant};
use weephole::case::{Case, store};
use weephole::rulebook::RuleBook;

use super::{text, weephole};

fn told(case: &Case) -> Vec<(&str, bool)> {
    case.verdict.iter().flat_map(|v| &v.findings).map(|f| (f.failure.as_str(), f.there)).collect()
}

fn strings(list: &[&str]) -> Vec<String> {
    list.iter().map(|&text| text.to_owned()).collect()
}

#[test]
fn only_what_was_looked_at_is_written_down() {
    let book = RuleBook::shipped();
    let mut case = Case::default();
    let found = strings(&["filler-cap/cap-spring-weak"]);
    let good = strings(&["thermostat/thermostat-stuck-closed"]);
    confirm(&book, &mut case, &found, &good, Some("seat was clean"), None).unwrap();
    assert_eq!(told(&case), [("cap-spring-weak", true), ("thermostat-stuck-closed", false)]);
    assert_eq!(case.verdict.unwrap().note.as_deref(), Some("seat was clean"));
}

#[test]
fn a_part_found_good_means_all_its_failures_but_the_one_found_in_it() {
    let book = RuleBook::shipped();
    let mut case = Case::default();
    confirm(
        &book,
        &mut case,
        &strings(&["filler-cap/cap-spring-weak"]),
        &strings(&["filler-cap"]),
        None,
        None,
    )
    .unwrap();
    let there: Vec<_> = told(&case).into_iter().filter(|(_, there)| *there).collect();
    assert_eq!(there, [("cap-spring-weak", true)]);
    assert_eq!(told(&case).len(), book.failures_of("filler-cap").count());
}

#[test]
fn a_later_word_corrects_an_earlier_one_and_leaves_the_rest() {
    let book = RuleBook::shipped();
    let mut case = Case::default();
    let cap = strings(&["filler-cap/cap-spring-weak"]);
    confirm(&book, &mut case, &cap, &strings(&["thermostat/thermostat-stuck-closed"]), None, None).unwrap();
    let later = confirm(&book, &mut case, &[], &cap, None, None).unwrap();
    assert!(later[0].corrects);
    assert_eq!(told(&case), [("cap-spring-weak", false), ("thermostat-stuck-closed", false)]);
}

#[test]
fn what_cannot_be_meant_is_refused_with_what_may_be() {
    let book = RuleBook::shipped();
    let fails = |text: &str, whole: bool| failures_meant(&book, text, whole).unwrap_err().to_string();
    assert_eq!(
        fails("filler-cap/thermostat-stuck-closed", false),
        "`thermostat-stuck-closed` is a failure of `thermostat`, not of `filler-cap`; write `thermostat/thermostat-stuck-closed`"
    );
    assert!(
        fails("filler-cap/cap-spring-week", false).ends_with("did you mean `filler-cap/cap-spring-weak`?")
    );
    assert!(fails("filler-cup/x", false).ends_with("did you mean `filler-cap`?"));
    assert!(fails("filler-cap", false).starts_with("say which failure of `filler-cap` was found"));
    let mut case = Case::default();
    let both = strings(&["filler-cap/cap-spring-weak"]);
    assert_eq!(
        confirm(&book, &mut case, &both, &both, None, None),
        Err(ConfirmError::Both("cap-spring-weak".to_owned()))
    );
    assert_eq!(confirm(&book, &mut case, &[], &[], None, None), Err(ConfirmError::Nothing));
    assert_eq!(case, Case::default(), "nothing is written on a refusal");
}

#[test]
fn the_command_writes_the_case_and_says_what_was_not_looked_at() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("cases");
    fs::create_dir_all(&folder).unwrap();
    let file = folder.join("boils.yaml");
    fs::write(
        &file,
        "format: 1\nvehicle: {}\nanswers:\n  - {ask: bottle-overflows, answer: yes}\n  - {ask: gone-by-now, answer: yes}\n",
    )
    .unwrap();
    let run = weephole(home.path())
        .args([
            "confirm",
            "boils",
            "--found",
            "filler-cap/cap-spring-weak",
            "--not",
            "thermostat",
            "--note",
            "4 psi",
        ])
        .assert()
        .success();
    let out = text(&run.get_output().stdout);
    assert!(out.contains("found           cap spring weak (the answers made it number "), "{out}");
    assert!(out.contains("looked at, good thermostat stuck closed"), "{out}");
    let said = text(&run.get_output().stderr);
    assert!(
        said.contains("an answer names `gone-by-now`, which the book does not have: kept, not used"),
        "{said}"
    );
    let (case, _) = store::read(&file).unwrap();
    assert_eq!(told(&case)[0], ("cap-spring-weak", true));
    assert_eq!(case.answers.len(), 2, "the answer the book does not have is kept");

    weephole(home.path())
        .args(["confirm", "boils", "--found", "filler-cap/none-such"])
        .assert()
        .code(2)
        .stdout("");
}
