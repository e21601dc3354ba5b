//! The known cases of the book, replayed: they were written from trade knowledge before the weights were settled.

use std::sync::OnceLock;

use rayon::prelude::*;
use weephole::case::{ReplayResult, replay};
use weephole::rulebook::RuleBook;

/// Known cases whose expectation the book does not meet, with the reason. They stay in the book and stay here
/// until the book is better; a case that passes again must be taken off this list.
const NOT_MET: [(&str, &str); 0] = [];

/// The complaints the tool is known for.
const SIX: [&str; 6] = [
    "grinding-noise",
    "pulley-wobble",
    "weep-hole-seepage",
    "squealing-belt",
    "rusty-coolant",
    "overheating-at-idle",
];

/// Every known case, replayed once for all tests of this module.
fn replayed() -> &'static [(String, ReplayResult)] {
    static RESULTS: OnceLock<Vec<(String, ReplayResult)>> = OnceLock::new();
    RESULTS.get_or_init(|| {
        let book = RuleBook::shipped();
        let cases: Vec<_> = book.cases.iter().collect();
        cases.into_par_iter().map(|(id, known)| (id.clone(), replay(&book, known))).collect()
    })
}

#[test]
fn known_cases_come_out_as_the_trade_expects() {
    let results = replayed();
    let mut wrong = Vec::new();
    for (id, result) in results {
        let listed = NOT_MET.iter().any(|(name, _)| name == id);
        if result.passes() == listed {
            let top = result.standing.iter().flat_map(|s| s.failures.iter().take(3));
            let top: Vec<String> = top.map(|likely| format!("{} {:.2}", likely.id, likely.chance)).collect();
            wrong.push(format!("{id}: {:?} {:?}; top {top:?}", result.broken, result.ignored));
        }
    }
    assert!(wrong.is_empty(), "{} of {} known cases:\n{}", wrong.len(), results.len(), wrong.join("\n"));
}

#[test]
fn the_six_complaints_find_their_first_suspect() {
    let results = replayed();
    for name in SIX {
        let (_, result) = results.iter().find(|(id, _)| id == name).expect("the case is in the book");
        assert!(result.passes(), "{name}: {:?} {:?}", result.broken, result.ignored);
    }
}

#[test]
fn every_known_case_is_worked_out_exactly() {
    let results = replayed();
    for (id, result) in results {
        let exact = result.standing.as_ref().is_some_and(|standing| standing.method.is_exact());
        assert!(exact, "{id} fell back to an estimate");
    }
}

/// The counts the book promises: parts, failures, states, history, symptoms, checks, known cases.
#[test]
fn the_book_covers_the_trade() {
    let book = RuleBook::shipped();
    let counts = [
        (book.parts.len(), 45),
        (book.failures.len(), 90),
        (book.states.len(), 15),
        (book.history.len(), 15),
        (book.symptoms.len(), 60),
        (book.checks.len(), 90),
        (book.cases.len(), 60),
    ];
    for (at, (count, least)) in counts.into_iter().enumerate() {
        assert!(count >= least, "kind {at}: {count} of at least {least}");
    }
}
