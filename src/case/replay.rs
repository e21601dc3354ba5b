//! A known case of the book, run through evidence and inference: does the ranking say what the trade says?

use super::evidence::{Ignored, gather_answers};
use super::file::Answer;
use super::shop::Shop;
use super::standing::{Standing, standing};
use crate::graph;
use crate::inference::Engine;
use crate::rulebook::RuleBook;
use crate::rulebook::entries::{KnownCase, Vehicle};

/// How a known case came out.
#[derive(Debug, Clone)]
pub struct ReplayResult {
    /// What the ranking does not say although the case expects it; empty if the case passes.
    pub broken: Vec<String>,
    /// Answers that could not be used.
    pub ignored: Vec<Ignored>,
    /// The ranking, unless there is none.
    pub standing: Option<Standing>,
}

impl ReplayResult {
    /// Whether the ranking says what is expected, on all the answers.
    pub fn passes(&self) -> bool {
        self.broken.is_empty() && self.ignored.is_empty()
    }
}

/// The answers of a known case, as a case keeps them.
pub fn answers_of(known: &KnownCase) -> Vec<Answer> {
    known
        .answers
        .iter()
        .map(|answer| Answer {
            ask: answer.ask.clone(),
            answer: answer.answer.clone(),
            reading: answer.reading.clone(),
            ..Answer::default()
        })
        .collect()
}

/// The vehicle of a known case, with the further facts it states.
pub fn vehicle_of(book: &RuleBook, known: &KnownCase) -> Vehicle {
    let named = known.vehicle.as_ref().and_then(|name| book.vehicles.get(name));
    let mut vehicle = named.cloned().unwrap_or_default();
    vehicle.facts.extend(known.facts.iter().map(|(fact, option)| (fact.clone(), option.clone())));
    vehicle
}

/// Runs a known case in an ordinary shop. Ages in years are averaged, so that a case says the same on any day.
pub fn replay(book: &RuleBook, known: &KnownCase) -> ReplayResult {
    let vehicle = vehicle_of(book, known);
    let failed = |why: String| ReplayResult { broken: vec![why], ignored: Vec::new(), standing: None };
    let graph = match graph::asked(book, &vehicle, None, Shop::default().slips) {
        Ok(graph) => graph,
        Err(error) => return failed(error.to_string()),
    };
    let gathered = gather_answers(book, &graph, &vehicle, &answers_of(known));
    match standing(book, &graph, &Engine::default(), &gathered.evidence) {
        Ok(standing) => ReplayResult {
            broken: compare(book, known, &standing),
            ignored: gathered.ignored,
            standing: Some(standing),
        },
        Err(error) => failed(error.to_string()),
    }
}

/// Everything in which the ranking differs from what the case expects.
fn compare(book: &RuleBook, known: &KnownCase, standing: &Standing) -> Vec<String> {
    let mut broken = Vec::new();
    let place = |id: &str| -> Option<usize> {
        if book.failures.contains_key(id) {
            standing.failures.iter().position(|likely| likely.id == id)
        } else if book.parts.contains_key(id) {
            standing.suspects.iter().position(|suspect| suspect.part == id)
        } else {
            None
        }
    };
    let leader = |id: &str| {
        let part = book.parts.contains_key(id);
        if part {
            standing.suspects.first().map(|s| s.part.as_str())
        } else {
            standing.failures.first().map(|f| f.id.as_str())
        }
        .unwrap_or("nothing")
        .to_owned()
    };
    let expect = &known.expect;
    let wanted = expect.within.unwrap_or(1).max(1);
    if let Some(first) = &expect.first
        && place(first).is_none_or(|at| at >= wanted)
    {
        let at = place(first).map_or("not on the list".to_owned(), |at| format!("number {}", at + 1));
        let top = if wanted == 1 { "first".to_owned() } else { format!("among the first {wanted}") };
        broken.push(format!("`{first}` should be {top}; it is {at}, and `{}` is first", leader(first)));
    }
    let beside = wanted + expect.with.len();
    for id in &expect.with {
        if place(id).is_none_or(|at| at >= beside) {
            let at = place(id).map_or("not on the list".to_owned(), |at| format!("number {}", at + 1));
            broken.push(format!("`{id}` should be among the first {beside}; it is {at}"));
        }
    }
    for (id, &limit) in &expect.below {
        let chance = standing.chance(id);
        if chance >= limit {
            broken.push(format!("`{id}` should be below {limit}; it is {chance:.3}"));
        }
    }
    for (id, &limit) in &expect.above {
        let chance = standing.chance(id);
        if chance <= limit {
            broken.push(format!("`{id}` should be above {limit}; it is {chance:.3}"));
        }
    }
    broken
}
