//! Weights with their values, and the links between entries.

use std::fmt;

use super::Place;
use super::entries::{Entries, FitsIf, WeightSpec, WordRange};

/// How far the chance of a weight given as a number may be redrawn, in log-odds to either side.
///
/// The words `usually`, `half` and `sometimes` reach 0.40 to 0.48 to either side of their number; a number an
/// author wrote is taken to be known about as well as that. Judgement.
const NUMBER_SPREAD: f64 = 0.4;

/// A weight, background or other chance: its value and the range within which the author may have meant it.
#[derive(Debug, Clone, PartialEq)]
pub struct Weight {
    /// The chance, 0 to 1.
    pub value: f64,
    /// Lowest chance still meant, 0 to 1.
    pub from: f64,
    /// Highest chance still meant, 0 to 1.
    pub to: f64,
    /// The word of the scale, if one was written.
    pub word: Option<String>,
    /// Where this very weight comes from, if it says so.
    pub source: Option<String>,
}

impl Weight {
    /// What a weight as written is worth on a scale of words; `None` if its word is not on the scale.
    pub fn on_scale(spec: &WeightSpec, words: &Entries<WordRange>) -> Option<Self> {
        let source = spec.source.clone();
        if let Some(word) = &spec.word {
            let range = words.get(word)?;
            return Some(Self {
                value: range.is,
                from: range.from,
                to: range.to,
                word: Some(word.clone()),
                source,
            });
        }
        let value = spec.number.unwrap_or(0.0);
        let moved = |by: f64| {
            if value > 0.0 && value < 1.0 {
                let odds = value / (1.0 - value) * by.exp();
                odds / (1.0 + odds)
            } else {
                value
            }
        };
        Some(Self { value, from: moved(-NUMBER_SPREAD), to: moved(NUMBER_SPREAD), word: None, source })
    }
}

/// What a link points at.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Effect {
    /// A failure, state or symptom.
    Node(String),
    /// One outcome of a check, written `check/outcome`.
    Outcome {
        /// The check's id.
        check: String,
        /// The outcome's id within the check.
        outcome: String,
    },
}

impl Effect {
    /// Reads `id` or `check/outcome`.
    pub fn parse(text: &str) -> Self {
        match text.split_once('/') {
            Some((check, outcome)) => Self::Outcome { check: check.to_owned(), outcome: outcome.to_owned() },
            None => Self::Node(text.to_owned()),
        }
    }

    /// The id of the entry it belongs to: the node's own, or the check's.
    pub fn entry(&self) -> &str {
        match self {
            Self::Node(id) => id,
            Self::Outcome { check, .. } => check,
        }
    }
}

impl fmt::Display for Effect {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Node(id) => f.write_str(id),
            Self::Outcome { check, outcome } => write!(f, "{check}/{outcome}"),
        }
    }
}

/// One arrow of the cause graph: a cause, alone, brings on an effect with this weight.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// The cause: a history fact, failure or state.
    pub from: String,
    /// What it brings on or shows as.
    pub to: Effect,
    /// How often it does so, alone.
    pub weight: Weight,
    /// On which vehicles it holds, besides having both ends. Empty: on all.
    pub fits_if: FitsIf,
    /// Where the link is written.
    pub place: Place,
}
