//! What learning proposes, and what it keeps to itself and why.

use std::collections::BTreeSet;

use super::expect::ExpectError;
use super::fit::{Fitted, Settings, foretell};
use super::scores::{Forecast, log_score};
use super::sheet::Sheet;
use crate::inference::Engine;

/// How a share of the posterior is shown as a range.
const RANGE: f64 = 0.90;

/// What is to be proposed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// Least times a number must have had a chance to fire, in cases.
    pub cases: f64,
    /// Least move, as a share of the old number's distance to the nearer of 0 and 1.
    pub moved: f64,
}

impl Default for Bar {
    fn default() -> Self {
        Self { cases: 3.0, moved: 0.05 }
    }
}

/// Why a number is proposed or not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Proposed.
    Better,
    /// Cases bear it out as it stands.
    BorneOut,
    /// It would move, but the cases left out in turn are not foretold better for it.
    NoBetter,
    /// Too few cases bear on it.
    TooFew,
    /// No case bears on it at all.
    Unseen,
}

/// One number, old and new.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// Which number.
    pub parameter: usize,
    /// As the book has it.
    pub old: f64,
    /// As the cases have it.
    pub new: f64,
    /// The range that holds it with a chance of 90 %.
    pub range: (f64, f64),
    /// Cases that bear on it.
    pub cases: usize,
    /// Times it fired.
    pub fired: f64,
    /// Times it could have fired, those of pooled workshops included.
    pub chances: f64,
    /// How much likelier this change alone makes the cases, each taken with the number as learnt from the others,
    /// all other numbers as learnt: in nats, all cases together.
    pub gain: f64,
    /// What follows.
    pub verdict: Verdict,
}

/// One line for every number.
pub fn propose(fitted: &Fitted, settings: &[Settings], bar: &Bar) -> Vec<Proposal> {
    let gains = gains(fitted, settings);
    (0..settings.len())
        .map(|parameter| {
            let old = settings[parameter].prior;
            let new = round(fitted.values[parameter], settings[parameter].per);
            let count = fitted.counts[parameter];
            let pooled = fitted.pooled[parameter];
            let chances = count.chances + pooled.chances;
            let room = old.min(1.0 - old).max(1e-3);
            let verdict = if chances <= 0.0 || settings[parameter].held {
                Verdict::Unseen
            } else if chances < bar.cases {
                Verdict::TooFew
            } else if (new - old).abs() < bar.moved * room {
                Verdict::BorneOut
            } else if gains[parameter] <= 0.0 && count.chances >= pooled.chances {
                // Where others have seen more than we have, our own cases cannot judge their word.
                Verdict::NoBetter
            } else {
                Verdict::Better
            };
            Proposal {
                parameter,
                old,
                new,
                range: fitted.known(settings, parameter).range(RANGE),
                cases: fitted.bearing[parameter],
                fired: count.fired + pooled.fired,
                chances,
                gain: gains[parameter],
                verdict,
            }
        })
        .collect()
}

/// To three places as it is written (`per` 1,000 for bases), and never to the 0 or 1 that would mean "by definition".
pub fn round(value: f64, per: f64) -> f64 {
    ((value * per * 1000.0).round() / 1000.0).clamp(0.001, per - 0.001) / per
}

/// How much likelier each change alone makes the cases.
fn gains(fitted: &Fitted, settings: &[Settings]) -> Vec<f64> {
    let mut gains = vec![0.0; settings.len()];
    for (case, credit) in fitted.credits.iter().enumerate() {
        let without = fitted.without(settings, case);
        for term in &credit.terms {
            let p = term.parameter();
            let now = fitted.values[p];
            let with = term.ratio(now, without[p]);
            let old = term.ratio(now, settings[p].prior);
            if with > 0.0 && old > 0.0 {
                gains[p] += (with / old).ln();
            }
        }
    }
    gains
}

/// How well what was found is foretold from the answers: by the book, and by the book with some numbers changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Foretold {
    /// Chances by the book as it is.
    pub before: Vec<Forecast>,
    /// Chances with the changes, each case by numbers learnt from the other cases.
    pub after: Vec<Forecast>,
}

impl Foretold {
    /// Works out both. `accepted` are the numbers that are to change.
    pub fn of(
        engine: &Engine,
        sheets: &[Sheet],
        settings: &[Settings],
        fitted: &Fitted,
        accepted: &BTreeSet<usize>,
    ) -> Result<Self, ExpectError> {
        let prior: Vec<f64> = settings.iter().map(|s| s.prior).collect();
        let before = foretell(engine, sheets, |_| prior.clone())?;
        let after = foretell(engine, sheets, |case| {
            let without = fitted.without(settings, case);
            (0..prior.len()).map(|p| if accepted.contains(&p) { without[p] } else { prior[p] }).collect()
        })?;
        Ok(Self { before, after })
    }

    /// Whether the log score gets better. Without anything looked at there is nothing to get better.
    pub fn improves(&self) -> bool {
        log_score(&self.after) < log_score(&self.before)
    }
}
