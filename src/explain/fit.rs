//! Fit: do the answers go together, and does the book explain them?
//!
//! Jensen's conflict measure (Jensen, Chamberlain, Nordahl & Jensen 1990; Jensen, *Bayesian Networks and Decision
//! Graphs*): `conf(e1..en) = log2 P(e1) ... P(en) / P(e1..en)`. Findings of one fault support each other, so
//! together they are likelier than if they had nothing to do with one another, and the measure is negative. Above
//! 0 they are in conflict: a slip, or something the book does not know. A rare fault that explains everything also
//! raises it; a suspect `h` settles the conflict if `conf + log2 P(h) / P(h | e) <= 0`.

use super::pull::{Pulls, chance_of};
use super::story::Credits;
use crate::inference::NodeId;

/// A sign of which more than this share came of itself is not explained by the book.
pub const UNEXPLAINED: f64 = 0.5;

/// A conflict of this many bits or less is the ordinary noise of honest answers.
pub const SMALL: f64 = 1.0;

/// What the fit amounts to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Nothing was answered.
    NoAnswers,
    /// The answers support each other, and something in the book explains each sign.
    Fits,
    /// They fit, but only if a rare fault is there.
    FitsIfRare,
    /// Some answers do not go with the others, or one sign is not explained.
    FitsPoorly,
    /// It looks like a pattern the book does not know.
    NewPattern,
}

/// A sign that the book explains badly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unexplained {
    /// The finding.
    pub sign: NodeId,
    /// Chance that none of its listed causes brought it on.
    pub own_share: f64,
}

/// How well the answers fit the book.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Jensen's conflict of all answers, in bits; above 0 they are in conflict.
    pub conflict: f64,
    /// Conflict between each answer and all the others together, in bits.
    pub conflict_of: Vec<f64>,
    /// The suspect (by its place among the targets) that best settles the conflict, with what is left of it in bits.
    pub settled_by: Option<(usize, f64)>,
    /// Signs that nothing in the book explains well.
    pub unexplained: Vec<Unexplained>,
    /// In plain words.
    pub verdict: Verdict,
}

/// Jensen's measure from logarithms: of each piece alone and of all together, in bits.
pub fn conflict(log_alone: &[f64], log_all: f64) -> f64 {
    (log_alone.iter().sum::<f64>() - log_all) / std::f64::consts::LN_2
}

/// Judges the fit. `log_without[i]` is `ln P` of all answers but the `i`th, given the record.
pub fn judge(pulls: &Pulls, log_without: &[f64], credits: &Credits, signs: &[NodeId]) -> Fit {
    let total = conflict(&pulls.log_alone, pulls.log_all);
    let conflict_of: Vec<f64> = pulls
        .log_alone
        .iter()
        .zip(log_without)
        .map(|(&alone, &without)| conflict(&[alone, without], pulls.log_all))
        .collect();
    let settled_by = (0..pulls.start.len())
        .map(|target| {
            let (before, after) = (chance_of(pulls.start[target]), chance_of(pulls.end[target]));
            (target, total + (before / after).log2())
        })
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .filter(|&(_, left)| total > 0.0 && left <= 0.0);
    let mut unexplained: Vec<Unexplained> = signs
        .iter()
        .filter_map(|&sign| Some(Unexplained { sign, own_share: credits.get(sign)?.own_share() }))
        .filter(|found| found.own_share > UNEXPLAINED)
        .collect();
    unexplained.sort_by(|a, b| b.own_share.total_cmp(&a.own_share).then(a.sign.cmp(&b.sign)));
    let verdict = if pulls.log_alone.is_empty() {
        Verdict::NoAnswers
    } else if unexplained.len() >= 2 || (unexplained.len() == 1 && signs.len() == 1 && total > SMALL) {
        Verdict::NewPattern
    } else if unexplained.is_empty() && total <= SMALL {
        Verdict::Fits
    } else if unexplained.is_empty() && settled_by.is_some() {
        Verdict::FitsIfRare
    } else {
        Verdict::FitsPoorly
    };
    Fit { conflict: total, conflict_of, settled_by, unexplained, verdict }
}
