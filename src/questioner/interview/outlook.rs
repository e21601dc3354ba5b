//! How sure it is, how much longer it may take, and why it stops.

use crate::questioner::{Advice, Verdict};

/// More questions than this are "many".
pub const MANY: usize = 9;

/// How things look.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Outlook {
    /// Chance of the first suspect.
    pub first: f64,
    /// Roughly how many more questions; 0 if no more are needed.
    pub left: usize,
}

/// Why there is nothing to ask.
#[derive(Debug, Clone, PartialEq)]
pub enum Stop {
    /// The questioner finds no question worth its cost.
    Verdict(Verdict),
    /// Everything that can be asked here has been asked.
    AllAsked,
    /// The person stopped.
    Asked,
}

impl Stop {
    /// Whether another stop says much the same: it need not be said again to somebody who wants to go on.
    pub fn is_like(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Verdict(a), Self::Verdict(b)) => match (a, b) {
                (Verdict::FitThis { part: a, .. }, Verdict::FitThis { part: b, .. }) => a == b,
                (Verdict::CannotTell { first: a, .. }, Verdict::CannotTell { first: b, .. }) => a.0 == b.0,
                _ => std::mem::discriminant(a) == std::mem::discriminant(b),
            },
            _ => self == other,
        }
    }
}

/// How things look.
pub fn outlook(advice: &Advice) -> Outlook {
    let first = advice.standing.suspects.first().map_or(0.0, |suspect| suspect.chance);
    Outlook { first, left: advice.more }
}

/// Whether to stop asking, and why.
pub fn stop(advice: &Advice) -> Option<Stop> {
    match &advice.verdict {
        Some(verdict) => Some(Stop::Verdict(verdict.clone())),
        None if advice.choices.is_empty() => Some(Stop::AllAsked),
        None => None,
    }
}
