//! What things cost: one check with everything it needs first, and every repair the vehicle may need.

use std::collections::BTreeSet;

use super::engine_state::{Move, Present, Routes};
use super::questions::Question;
use crate::case::{Case, Shop};
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::NodeId;
use crate::rulebook::RuleBook;
use crate::rulebook::entries::{Failure, Urgency};

/// Minutes in which a mended vehicle is tried out, or a sound one explained.
pub const TRY_OUT_MINUTES: f64 = 5.0;

/// What one check costs with everything it needs first.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Outlay {
    /// Minutes of work: the check, the tools to fetch, the moves before it.
    pub hands: f64,
    /// Minutes of waiting before it.
    pub wait: f64,
    /// Money it uses up.
    pub money: f64,
    /// All of it in money.
    pub total: f64,
}

impl Outlay {
    /// Minutes until the check is done.
    pub fn minutes(&self) -> f64 {
        self.hands + self.wait
    }
}

/// The workplace in the middle of a case: what the engine is like and which tools lie ready.
#[derive(Debug, Clone)]
pub struct Workplace<'a> {
    book: &'a RuleBook,
    shop: &'a Shop,
    routes: Routes,
    /// What the engine is like.
    pub present: Present,
    /// Tools that have been fetched.
    pub fetched: BTreeSet<String>,
    /// Tools that are not here: the shop's list, the case's, and what a "can't do that here" tells.
    pub missing: BTreeSet<String>,
}

impl<'a> Workplace<'a> {
    /// The workplace after the answers of a case.
    pub fn after(book: &'a RuleBook, shop: &'a Shop, case: &Case) -> Self {
        let answered = case.answers.iter().filter_map(|answer| Some((answer, book.checks.get(&answer.ask)?)));
        let (mut fetched, mut missing) = (BTreeSet::new(), BTreeSet::new());
        missing.extend(shop.lacks.iter().chain(&case.missing_tools).cloned());
        for (answer, check) in answered {
            if answer.answer.as_deref() == Some("cannot") {
                // One special tool and it cannot be done: then that tool is not here.
                let special = |tool: &&String| book.tools.get(*tool).is_some_and(|known| !known.common);
                let special: Vec<&String> = check.tools.iter().filter(special).collect();
                if let [tool] = special.as_slice() {
                    missing.insert((*tool).clone());
                }
            } else {
                fetched.extend(check.tools.iter().cloned());
            }
        }
        // A tool that was used is here, whatever was said later.
        missing.retain(|tool| !fetched.contains(tool) || shop.lacks(tool));
        let present = super::engine_state::present(book, case);
        Self { book, shop, routes: Routes::new(shop.waiting), present, fetched, missing }
    }

    /// What has to be done before a question can be answered.
    pub fn moves(&self, question: &Question) -> Vec<Move> {
        self.routes.moves(self.present, question.engine)
    }

    /// What a question costs, after `moves`.
    pub fn outlay(&self, question: &Question, moves: &[Move]) -> Outlay {
        let check = self.book.checks.get(&question.ask);
        let tools = check.map_or(&[][..], |check| &check.tools);
        let fetching: f64 = tools
            .iter()
            .filter(|tool| !self.fetched.contains(*tool))
            .filter_map(|tool| self.book.tools.get(tool))
            .map(|tool| tool.minutes)
            .sum();
        let hands = question.minutes + fetching + moves.iter().map(|step| step.hands).sum::<f64>();
        let wait = moves.iter().map(|step| step.wait).sum::<f64>();
        let money = check.and_then(|check| check.cost).unwrap_or(0.0);
        let total = self.shop.labour(hands + wait * self.shop.waiting) + money;
        Outlay { hands, wait, money, total }
    }

    /// The first tool of a question that is not here.
    pub fn lacking(&self, question: &Question) -> Option<&'a str> {
        let check = self.book.checks.get(&question.ask)?;
        check.tools.iter().find(|tool| self.missing.contains(*tool)).map(String::as_str)
    }
}

/// One repair, and every failure that it mends.
#[derive(Debug, Clone)]
pub struct Remedy {
    /// The part that is renewed or mended.
    pub part: String,
    /// The failures it mends, as places in [`Remedies::failures`].
    pub failures: Vec<usize>,
    /// Parts, fluids and work, in money.
    pub cost: f64,
    /// Minutes of work.
    pub minutes: f64,
}

/// Every repair a vehicle may need. Failures of one part that are mended by the same work at the same price
/// are one repair: a new pump cures bearing and seal alike.
#[derive(Debug, Clone)]
pub struct Remedies {
    /// The failures of this vehicle, in graph order.
    pub failures: Vec<NodeId>,
    /// The repairs, in book order.
    pub repairs: Vec<Remedy>,
    /// Failures that need no repair: normal behaviour taken for a fault.
    pub harmless: Vec<usize>,
}

impl Remedies {
    /// The repairs of this vehicle at this shop's prices.
    pub fn new(book: &RuleBook, graph: &CauseGraph, shop: &Shop) -> Self {
        let failures = graph.of_kind(NodeKind::Failure);
        let mut repairs: Vec<(&Failure, Remedy)> = Vec::new();
        let mut harmless = Vec::new();
        for (at, &node) in failures.iter().enumerate() {
            let Some(failure) = book.failures.get(graph.key(node)) else { continue };
            if is_harmless(failure) {
                harmless.push(at);
                continue;
            }
            let same = |known: &Failure| {
                known.part == failure.part
                    && known.repair.minutes == failure.repair.minutes
                    && known.repair.price == failure.repair.price
                    && known.repair.with == failure.repair.with
            };
            if let Some((_, remedy)) = repairs.iter_mut().find(|(known, _)| same(known)) {
                remedy.failures.push(at);
                continue;
            }
            let minutes = failure.repair.minutes.middle() + TRY_OUT_MINUTES;
            let cost = shop.materials(book, failure) + shop.labour(minutes);
            let part = failure.part.clone();
            repairs.push((failure, Remedy { part, failures: vec![at], cost, minutes }));
        }
        let repairs = repairs.into_iter().map(|(_, remedy)| remedy).collect();
        Self { failures, repairs, harmless }
    }
}

/// Whether a failure is normal behaviour that needs no repair.
pub fn is_harmless(failure: &Failure) -> bool {
    failure.urgency == Urgency::Nothing
}
