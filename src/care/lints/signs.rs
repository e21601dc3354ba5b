//! Can failures be told apart?

use super::{Ground, Lint};
use crate::care::apart::{in_words, mistaken};
use crate::rulebook::{Code, Fault, Kind, Spot, code};

/// Pairs that some question tells apart at least this far are no fault.
const CLOSE: f64 = 0.25;

code! {
    /// No symptom and no check tells two failures of different parts apart.
    ///
    /// The message says how far the best question gets: of a hundred vehicles with one of the two, how many it gives to
    /// the wrong one when both are equally common; 50 is a coin. Whoever has such a vehicle buys one of the two parts on
    /// a guess.
    ///
    /// Write the check that would settle it, or weigh the signs that differ. Where the trade itself cannot tell before
    /// the part is off, say so and silence it:
    ///
    /// ```yaml
    /// silence:
    ///   - code: same-signs
    ///     at: one-failure
    ///     with: the-other
    ///     reason: only seen with the pump on the bench
    /// ```
    pub static SAME_SIGNS = Warning "same-signs", "failures that no check can tell apart";
}

code! {
    /// No symptom and no check tells two failures of one part apart.
    ///
    /// Both mean the same part, so nothing is bought in vain. It still matters if they are mended differently, or if one of
    /// them tells why the part failed.
    pub static SAME_SIGNS_SAME_PART = Note "same-signs-same-part", "failures of one part that no check can tell apart";
}

pub(super) struct SameSigns;

impl Lint for SameSigns {
    fn codes(&self) -> Vec<&'static Code> {
        vec![&SAME_SIGNS, &SAME_SIGNS_SAME_PART]
    }

    fn run(&self, ground: &Ground<'_>) -> Vec<Fault> {
        let book = ground.book;
        let Some(apart) = &ground.apart else { return Vec::new() };
        let mut faults = Vec::new();
        for (a, b) in apart.pairs() {
            let (question, distance) = apart.best(a, b);
            if distance >= CLOSE {
                continue;
            }
            let (one, other) = (&apart.failures[a], &apart.failures[b]);
            let part = |id: &String| &book.failures[id].part;
            let code = if part(one) == part(other) { &SAME_SIGNS_SAME_PART } else { &SAME_SIGNS };
            let best = &apart.questions[question].id;
            let message = format!("`{one}` and `{other}`: {}", in_words(distance));
            let label = if distance > 0.0 {
                format!(
                    "the best question, `{best}`, takes one for the other in {:.0} of 100",
                    mistaken(distance) * 100.0
                )
            } else {
                "every question has the same answers for both".to_owned()
            };
            faults.push(
                Fault::at(code, Spot::key(&book.within(Kind::Failure, one, &[])), message)
                    .label(label)
                    .also(Spot::key(&book.within(Kind::Failure, other, &[])), "the other")
                    .help("add a check that differs between the two, or weigh the signs that do"),
            );
        }
        faults
    }
}
