//! Does the questioner choose well and safely?

mod blame;
mod command;
mod going_on;
mod optimum;
mod safety;
mod small;
mod trial;
mod verdicts;

use std::path::PathBuf;

use weephole::case::{Answer, Case, Shop};
use weephole::graph::{self, CauseGraph};
use weephole::inference::Engine;
use weephole::questioner::{Advice, Strategy, advise};
use weephole::rulebook::entries::Vehicle;
use weephole::rulebook::{Below, RuleBook, inspect};

/// The small book of these tests.
fn garage() -> RuleBook {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/questioner/book");
    let found = inspect(&[folder], Below::Nothing);
    assert!(!found.faults.any_errors(), "{:?}", found.faults);
    found.book
}

fn graph_of(book: &RuleBook) -> CauseGraph {
    graph::build(book, &Vehicle::default(), None).unwrap()
}

fn case_of(answers: &[(&str, &str)]) -> Case {
    let mut case = Case::default();
    for (ask, answer) in answers {
        case.put(Answer::said(ask, answer));
    }
    case
}

fn advice(book: &RuleBook, shop: &Shop, answers: &[(&str, &str)]) -> Advice {
    let graph = graph_of(book);
    advise(book, &graph, &Engine::default(), shop, &case_of(answers), Strategy::Worth).unwrap()
}
