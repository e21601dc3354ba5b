//! Do the limits of a reading divide it cleanly?

use super::BookCheck;
use crate::rulebook::entries::{Check, Outcome};
use crate::rulebook::fault::{Spot, code};
use crate::rulebook::quantities::{limit_unknown_vehicle, unit_of};
use crate::rulebook::{Code, Fault, Kind, RuleBook};
use crate::units::Unit;

code! {
    /// The limits of a reading overlap, run backwards, or leave no room for the normal result.
    ///
    /// A check's outcomes exclude one another: every number belongs to one of them or is normal. An outcome with `above` and
    /// `below` lies between the two, so `above` is the smaller figure.
    ///
    /// Before:
    ///
    /// ```yaml
    /// slack: {above: {at: 13 mm}, ...}
    /// very-slack: {above: {at: 25 mm}, ...}
    /// ```
    ///
    /// After:
    ///
    /// ```yaml
    /// slack: {above: {at: 13 mm}, below: {at: 25 mm}, ...}
    /// very-slack: {above: {at: 25 mm}, ...}
    /// ```
    pub static BAD_LIMITS = Error "bad-limits", "limits that overlap or run backwards";
}

pub(super) struct BadLimits;

impl BookCheck for BadLimits {
    fn code(&self) -> &'static Code {
        &BAD_LIMITS
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (id, check) in &book.checks {
            if let Some(unit) = unit_of(check) {
                faults.extend(of_check(book, id, check, unit));
            }
        }
        faults
    }
}

/// One outcome's stretch of the scale, in base units.
struct Stretch<'a> {
    outcome: &'a str,
    from: f64,
    to: f64,
}

fn stretch<'a>(outcome: &'a str, entry: &Outcome, unit: Unit) -> Option<Stretch<'a>> {
    if entry.above.is_none() && entry.below.is_none() {
        return None;
    }
    let end = |limit: &Option<_>, open: f64| {
        limit.as_ref().map_or(Some(open), |limit| limit_unknown_vehicle(limit, unit))
    };
    Some(Stretch {
        outcome,
        from: end(&entry.above, f64::NEG_INFINITY)?,
        to: end(&entry.below, f64::INFINITY)?,
    })
}

fn of_check(book: &RuleBook, id: &str, check: &Check, unit: Unit) -> Vec<Fault> {
    let spot = |outcome: &str| Spot::key(&book.within(Kind::Check, id, &["outcomes", outcome]));
    let mut faults = Vec::new();
    let mut stretches: Vec<Stretch<'_>> = Vec::new();
    for (outcome, entry) in &check.outcomes {
        let Some(stretch) = stretch(outcome, entry, unit) else { continue };
        if stretch.from >= stretch.to {
            let message =
                format!("the outcome `{id}/{outcome}` lies above a figure that is not below its other");
            faults.push(
                Fault::at(&BAD_LIMITS, spot(outcome), message)
                    .label("expected `above` to be less than `below`"),
            );
        } else {
            stretches.push(stretch);
        }
    }
    stretches.sort_by(|a, b| a.from.total_cmp(&b.from));
    for pair in stretches.windows(2) {
        if pair[1].from < pair[0].to {
            let message =
                format!("the outcomes `{}` and `{}` of `{id}` overlap", pair[0].outcome, pair[1].outcome);
            faults.push(
                Fault::at(&BAD_LIMITS, spot(pair[1].outcome), message)
                    .label("a number can be this one")
                    .also(spot(pair[0].outcome), "and this one")
                    .help(format!(
                        "end the lower one where the upper begins: from {} on",
                        unit.format(unit.of_base(pair[1].from))
                    )),
            );
        }
    }
    let whole = stretches.first().is_some_and(|s| s.from == f64::NEG_INFINITY)
        && stretches.last().is_some_and(|s| s.to == f64::INFINITY)
        && stretches.windows(2).all(|pair| pair[1].from <= pair[0].to);
    if whole && !faults.iter().any(|fault| fault.message.contains("overlap")) {
        let message = format!("the limits of `{id}` leave no number that is normal");
        faults.push(
            Fault::at(&BAD_LIMITS, spot(stretches[0].outcome), message).label("every number is an outcome"),
        );
    }
    faults
}
