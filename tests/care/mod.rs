//! Tests of care of the rule book.

mod adding;
mod compare;
mod confirm;
mod journal;
mod lints;

use std::path::Path;

use assert_cmd::Command;
use weephole::rulebook::RuleBook;

/// The program with a data folder of its own and nothing from outside.
fn weephole(home: &Path) -> Command {
    let mut command = Command::cargo_bin("weephole").unwrap();
    command.env_clear().env("WEEPHOLE_HOME", home).env("PATH", std::env::var_os("PATH").unwrap_or_default());
    command
}

/// The shipped book with only these known cases, so that a test replays no more than it needs.
fn book_with_cases(names: &[&str]) -> RuleBook {
    let mut book = RuleBook::shipped();
    book.cases.retain(|name, _| names.contains(&name.as_str()));
    assert_eq!(book.cases.len(), names.len(), "the book has these known cases: {names:?}");
    book
}

/// What a run printed on one of its streams.
fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}
