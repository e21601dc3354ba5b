//! Answers that do not go together.

use super::steps::Clash;
use crate::case::{Answer, Case, gather, interpret};
use crate::graph::CauseGraph;
use crate::inference::{Engine, InferenceError};
use crate::rulebook::RuleBook;

/// An answer is questioned when the others make it this many times less likely than it is on its own...
const TIMES: f64 = 50.0;

/// ... and leave it less than this chance.
const CHANCE: f64 = 0.02;

/// Earlier answers that are tried as the other side of a clash.
const TRIED: usize = 24;

/// The symptoms said to be there that exclude this one, by either one's `not-with`.
pub fn excluded_by(book: &RuleBook, case: &Case, ask: &str) -> Option<Clash> {
    let yes = |id: &str| case.answer_to(id).is_some_and(|answer| answer.answer.as_deref() == Some("yes"));
    let symptom = book.symptoms.get(ask).filter(|_| yes(ask))?;
    let old = case.answers.iter().map(|answer| &answer.ask).find(|other| {
        let names = |list: &[String], id: &str| list.iter().any(|entry| entry == id);
        other.as_str() != ask
            && yes(other)
            && book
                .symptoms
                .get(other.as_str())
                .is_some_and(|entry| names(&symptom.not_with, other) || names(&entry.not_with, ask))
    })?;
    Some(Clash::Exclude { new: ask.to_owned(), old: old.clone() })
}

/// Weighs answers against each other.
pub struct Balance<'a> {
    /// The rule book.
    pub book: &'a RuleBook,
    /// The vehicle's graph.
    pub graph: &'a CauseGraph,
    /// The engine.
    pub engine: &'a Engine,
}

impl Balance<'_> {
    /// Natural logarithm of the chance of a case's answers, all taken to be true; minus infinity if they cannot be.
    fn log(&self, case: &Case) -> Result<f64, InferenceError> {
        let gathered = gather(self.book, self.graph, case);
        match self.engine.posterior(self.graph.true_network(), &gathered.evidence, &[]) {
            Ok(posterior) => Ok(posterior.log_evidence),
            Err(InferenceError::Impossible) => Ok(f64::NEG_INFINITY),
            Err(other) => Err(other),
        }
    }

    /// Chance of the answer to `ask` given the other answers of `case`.
    fn chance(&self, case: &Case, ask: &str) -> Result<f64, InferenceError> {
        let mut rest = case.clone();
        rest.take(ask);
        let (all, rest) = (self.log(case)?, self.log(&rest)?);
        Ok(if all == f64::NEG_INFINITY { 0.0 } else { (all - rest).exp() })
    }

    /// Whether the answer to `ask` is one that the others make all but impossible, and if so, which of them it
    /// sits worst with.
    pub fn unlikely(&self, case: &Case, ask: &str) -> Result<Option<Clash>, InferenceError> {
        let tells = |answer: &&Answer| interpret(self.book, answer).is_ok_and(|said| said.tells());
        let Some(answer) = case.answer_to(ask).filter(tells) else { return Ok(None) };
        let chance = self.chance(case, ask)?;
        if chance >= CHANCE {
            return Ok(None);
        }
        let lone = Case { answers: vec![answer.clone()], ..case.clone() };
        let alone = self.chance(&lone, ask)?;
        if chance * TIMES >= alone {
            return Ok(None);
        }
        let mut worst: Option<(f64, String)> = None;
        for other in case.answers.iter().filter(|other| other.ask != ask).filter(tells).take(TRIED) {
            let mut without = case.clone();
            without.take(&other.ask);
            let freed = self.chance(&without, ask)?;
            if freed > chance * 2.0 && worst.as_ref().is_none_or(|(most, _)| freed > *most) {
                worst = Some((freed, other.ask.clone()));
            }
        }
        let against = worst.map(|(_, ask)| ask);
        Ok(Some(Clash::Unlikely { ask: ask.to_owned(), chance, alone, against }))
    }
}
