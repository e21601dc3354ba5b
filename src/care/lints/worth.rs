//! Is every check worth doing for somebody?

use super::{Ground, Lint};
use crate::rulebook::entries::{Check, EngineState};
use crate::rulebook::{Code, Fault, Kind, RuleBook, Spot, code};

/// A check is taken to tell two failures apart from this distance on (see `same-signs`).
const TELLS: f64 = 0.2;

code! {
    /// A check is never the best one to do: whatever it tells apart, another check tells apart as well, with no more
    /// minutes, money or tools, and with the engine in the same state or in any.
    ///
    /// It costs reading time and is hardly ever offered. Take it out, make it quicker, or weigh what it alone can see. A
    /// check kept because some shop lacks the better tool is fine: silence it with that reason.
    pub static NEVER_WORTH = Note "never-worth", "a check that is never worth doing";
}

code! {
    /// A check tells no two failures apart well enough to be worth its minutes.
    ///
    /// Whatever it says, the ranking stays nearly as it was. Raise the weights of what it shows if it tells more than
    /// that, or take it out.
    pub static TELLS_NOTHING = Warning "tells-nothing", "a check that tells no failures apart";
}

pub(super) struct NeverWorth;

impl Lint for NeverWorth {
    fn codes(&self) -> Vec<&'static Code> {
        vec![&NEVER_WORTH, &TELLS_NOTHING]
    }

    fn run(&self, ground: &Ground<'_>) -> Vec<Fault> {
        let book = ground.book;
        let Some(apart) = &ground.apart else { return Vec::new() };
        let pairs: Vec<(usize, usize)> = apart.pairs().collect();
        let mut faults = Vec::new();
        for (at, question) in apart.questions.iter().enumerate().filter(|(_, question)| question.is_check) {
            let check = &book.checks[&question.id];
            let told: Vec<(usize, usize)> =
                pairs.iter().copied().filter(|&(a, b)| apart.distance(at, a, b) >= TELLS).collect();
            let spot = Spot::key(&book.within(Kind::Check, &question.id, &[]));
            if told.is_empty() {
                faults.push(
                    Fault::at(&TELLS_NOTHING, spot, format!("`{}` tells no two failures apart", question.id))
                        .label("whatever it says, the ranking hardly moves"),
                );
                continue;
            }
            let no_dearer: Vec<usize> = (0..apart.questions.len())
                .filter(|&other| {
                    other != at
                        && book
                            .checks
                            .get(&apart.questions[other].id)
                            .is_some_and(|o| at_most_as_dear(book, o, check))
                })
                .collect();
            let mut better: Vec<&str> = Vec::new();
            let beaten = told.iter().all(|&(a, b)| {
                let mine = apart.distance(at, a, b);
                // Of two checks that tell exactly the same, the first in the book is the one to keep.
                let as_good = |other: usize| {
                    let theirs = apart.distance(other, a, b);
                    theirs > mine + 1e-9 || ((theirs - mine).abs() <= 1e-9 && other < at)
                };
                let by = no_dearer.iter().copied().find(|&other| as_good(other));
                if let Some(by) = by.map(|by| apart.questions[by].id.as_str())
                    && !better.contains(&by)
                {
                    better.push(by);
                }
                by.is_some()
            });
            if beaten {
                let by: Vec<String> = better.iter().take(4).map(|id| format!("`{id}`")).collect();
                faults.push(
                    Fault::at(&NEVER_WORTH, spot, format!("`{}` is never the best check to do", question.id))
                        .label(format!("what it tells, {} tell as well for no more", by.join(", "))),
                );
            }
        }
        faults
    }
}

/// Whether `other` takes no more than `check` and can be done wherever `check` can.
fn at_most_as_dear(book: &RuleBook, other: &Check, check: &Check) -> bool {
    let minutes = |check: &Check| {
        let tools = check.tools.iter().filter_map(|tool| book.tools.get(tool));
        check.minutes + tools.map(|tool| tool.minutes).sum::<f64>()
    };
    let tools_at_hand = other
        .tools
        .iter()
        .all(|tool| check.tools.contains(tool) || book.tools.get(tool).is_some_and(|tool| tool.common));
    let wherever = other.fits_if.iter().all(|(fact, options)| {
        check.fits_if.get(fact).is_some_and(|mine| mine.iter().all(|option| options.contains(option)))
    });
    minutes(other) <= minutes(check)
        && other.cost.unwrap_or(0.0) <= check.cost.unwrap_or(0.0)
        && (other.engine == check.engine || other.engine == EngineState::Any)
        && tools_at_hand
        && wherever
}
