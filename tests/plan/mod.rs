//! Tests of: plan.

mod choosing;
mod command;
mod coolant;
mod going_on;
mod layouts;
mod ordering;
mod pages;
mod whole;

use jiff::civil::{Date, date};
use weephole::case::shop::Shop;
use weephole::case::{Answer, Case, gather};
use weephole::graph;
use weephole::inference::Engine;
use weephole::plan::{Input, Made, Options, PlanError, make};
use weephole::rulebook::RuleBook;

/// The day every plan here is drawn up.
pub const DAY: Date = date(2026, 5, 4);

/// A case about a vehicle of the book, with answers in words.
pub fn case(book: &RuleBook, vehicle: &str, answers: &[(&str, &str)]) -> Case {
    Case {
        format: 1,
        opened: Some(format!("{DAY}T08:00:00Z")),
        vehicle: book.vehicles[vehicle].clone(),
        answers: answers.iter().map(|(ask, answer)| Answer::said(ask, answer)).collect(),
        ..Case::default()
    }
}

/// The pickup with its grinding pump and rusty water.
pub fn pickup_pump(book: &RuleBook) -> Case {
    let mut case = case(
        book,
        "pickup",
        &[
            ("grinding-noise", "yes"),
            ("weep-hole-seepage", "yes"),
            ("rock-pump-pulley", "play"),
            ("rusty-coolant", "yes"),
        ],
    );
    case.complaint = Some("It grinds at the front and there is a puddle under it in the morning.".to_owned());
    case
}

/// The plan of a case.
pub fn plan_of(book: &RuleBook, case: &Case, replace: &[&str]) -> Result<Made, PlanError> {
    let graph = graph::build(book, &case.vehicle, Some(DAY)).unwrap();
    let gathered = gather(book, &graph, case);
    assert_eq!(gathered.ignored, [], "every answer of the test is used");
    let input = Input {
        book,
        graph: &graph,
        engine: &Engine::default(),
        shop: &Shop::default(),
        case,
        evidence: &gathered.evidence,
    };
    let replace = replace.iter().map(|&part| part.to_owned()).collect();
    make(input, &Options { replace, today: Some(DAY), ..Options::default() })
}
