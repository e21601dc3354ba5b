//! What the engine is like now, how to bring it to where a check needs it, and what must not be done to it.
//!
//! The minutes are common practice, no source: about 15 to warm up, 75 to cool down far enough for a bare
//! hand on the radiator, 20 to take the belt off and put it back, 35 to drain, fill again and bleed.

use crate::case::{Case, Standing, dangers};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::{EngineState, Forbids};

/// What is said before the engine is let to cool.
const HOT_SYSTEM: &str = "A hot cooling system is under pressure and scalds. Leave the cap and every hose alone until a bare hand can stay on the radiator.";
/// What is said before the engine is started.
const MOVING_PARTS: &str =
    "Keep hands, sleeves and hair clear of belt and fan; an electric fan starts by itself.";
/// What is said before the belt comes off or coolant is drained.
const ENGINE_OFF: &str = "Engine off, key out. Coolant is a sweet-tasting poison: catch all of it.";

/// What the engine is like at present, as far as the answers tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Present {
    /// Nobody has said. It may have been driven in a minute ago.
    Unknown,
    /// Left so by the last check. Never [`EngineState::Any`] or [`EngineState::Driving`].
    Known(EngineState),
}

/// One thing to do before a check, to bring the engine to where the check needs it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Move {
    /// What the engine is like afterwards.
    pub to: EngineState,
    /// Minutes of work.
    pub hands: f64,
    /// Minutes of waiting.
    pub wait: f64,
    /// What to do.
    pub words: &'static str,
    /// What to take care of, said before it.
    pub caution: Option<&'static str>,
}

/// What must not be done to this vehicle, each with the reason.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Hazards {
    /// Why it must not be driven.
    pub no_driving: Option<String>,
    /// Why the engine must not run. It then must not be driven either.
    pub no_running: Option<String>,
}

const STATES: [EngineState; 7] = [
    EngineState::Cold,
    EngineState::Running,
    EngineState::Hot,
    EngineState::HotOff,
    EngineState::BeltOff,
    EngineState::Drained,
    EngineState::Driving,
];

/// The single moves there are. Putting the belt back and filling up again are paid when the belt comes off
/// and the coolant out, because they are due in any case.
fn single_moves() -> [(EngineState, Move); 11] {
    use EngineState::{BeltOff, Cold, Drained, Driving, Hot, HotOff, Running};
    let step = |from, to, hands, wait, words, caution| (from, Move { to, hands, wait, words, caution });
    [
        step(Cold, Running, 1.0, 0.0, "start the engine", Some(MOVING_PARTS)),
        step(Running, Hot, 1.0, 14.0, "let it warm up fully, watching the gauge", None),
        step(Running, Driving, 10.0, 0.0, "drive it, watching the gauge", None),
        step(Hot, Driving, 10.0, 0.0, "drive it, watching the gauge", None),
        step(Hot, HotOff, 0.5, 0.0, "switch off; open nothing of the cooling system", Some(HOT_SYSTEM)),
        step(HotOff, Hot, 2.0, 2.0, "start it again and let it come back to heat", Some(MOVING_PARTS)),
        step(HotOff, Cold, 0.0, 75.0, "let it cool down", Some(HOT_SYSTEM)),
        step(Running, Cold, 0.0, 40.0, "switch off and let it cool down", Some(HOT_SYSTEM)),
        step(Cold, BeltOff, 20.0, 0.0, "take the drive belt off", Some(ENGINE_OFF)),
        step(Cold, Drained, 35.0, 0.0, "drain the coolant into a clean pan", Some(ENGINE_OFF)),
        step(BeltOff, Cold, 0.0, 0.0, "put the belt back", Some(ENGINE_OFF)),
    ]
}

/// The way back from drained, kept apart only because the list above is in order of heat.
fn fill_again() -> (EngineState, Move) {
    let words = "fill up and bleed";
    let there = Move { to: EngineState::Cold, hands: 0.0, wait: 0.0, words, caution: None };
    (EngineState::Drained, there)
}

/// How to get from every state to every other in the cheapest way.
#[derive(Debug, Clone)]
pub struct Routes {
    ways: Vec<Vec<Vec<Move>>>,
}

impl Routes {
    /// Routes where a minute of waiting counts `waiting` times a minute of work.
    pub fn new(waiting: f64) -> Self {
        let edges: Vec<(EngineState, Move)> = single_moves().into_iter().chain([fill_again()]).collect();
        let ways = STATES.iter().map(|&from| ways_from(from, &edges, waiting)).collect();
        Self { ways }
    }

    /// What to do before a check that needs `wanted`. From an unknown state nothing is taken on trust: a
    /// check that needs a cold engine says so first.
    pub fn moves(&self, present: Present, wanted: EngineState) -> Vec<Move> {
        let Some(to) = place(wanted) else { return Vec::new() };
        match present {
            Present::Known(state) => place(state).map_or_else(Vec::new, |from| self.ways[from][to].clone()),
            Present::Unknown => {
                let sure = Move {
                    to: EngineState::Cold,
                    hands: 0.0,
                    wait: 0.0,
                    words: "make sure that the engine is cold: a bare hand can stay on the radiator",
                    caution: Some(HOT_SYSTEM),
                };
                let way = &self.ways[0][to];
                let first = needs_cold(wanted).then_some(sure);
                first.into_iter().chain(way.iter().copied()).collect()
            }
        }
    }
}

fn place(state: EngineState) -> Option<usize> {
    STATES.iter().position(|&known| known == state)
}

/// Cheapest way to every state: relaxed until nothing improves (seven states, a dozen moves).
fn ways_from(from: EngineState, edges: &[(EngineState, Move)], waiting: f64) -> Vec<Vec<Move>> {
    let mut best: Vec<Option<(f64, Vec<Move>)>> = vec![None; STATES.len()];
    if let Some(at) = place(from) {
        best[at] = Some((0.0, Vec::new()));
    }
    for _ in 0..STATES.len() {
        for (start, step) in edges {
            let (Some(start), Some(end)) = (place(*start), place(step.to)) else { continue };
            let Some((cost, way)) = best[start].clone() else { continue };
            let cost = cost + step.hands + step.wait * waiting;
            if best[end].as_ref().is_none_or(|(known, _)| cost < *known) {
                best[end] = Some((cost, way.into_iter().chain([*step]).collect()));
            }
        }
    }
    best.into_iter().map(|found| found.map_or_else(Vec::new, |(_, way)| way)).collect()
}

/// Whether a check opens or touches what must be cold.
pub fn needs_cold(state: EngineState) -> bool {
    matches!(state, EngineState::Cold | EngineState::BeltOff | EngineState::Drained)
}

/// Whether the engine runs during a check.
pub fn needs_running(state: EngineState) -> bool {
    matches!(state, EngineState::Running | EngineState::Hot | EngineState::Driving)
}

/// Where the engine was left by the answers so far. A check that could not be done left it as it was; a
/// drive ends with a hot engine.
pub fn present(book: &RuleBook, case: &Case) -> Present {
    case.answers
        .iter()
        .filter(|answer| answer.answer.as_deref() != Some("cannot"))
        .filter_map(|answer| book.checks.get(&answer.ask))
        .fold(Present::Unknown, |before, check| after(before, check.engine))
}

/// Where a check leaves the engine.
pub fn after(before: Present, check: EngineState) -> Present {
    match check {
        EngineState::Any => before,
        EngineState::Driving => Present::Known(EngineState::Hot),
        state => Present::Known(state),
    }
}

/// What must not be done: every danger forbids driving; some forbid running as well.
pub fn hazards(book: &RuleBook, case: &Case, standing: &Standing) -> Hazards {
    let mut hazards = Hazards::default();
    for danger in dangers(book, case, Some(standing)) {
        if danger.forbids == Forbids::Running {
            hazards.no_running.get_or_insert_with(|| danger.why.to_owned());
        }
        hazards.no_driving.get_or_insert_with(|| danger.why.to_owned());
    }
    hazards
}

impl Hazards {
    /// Why a check that needs this engine state is not offered, if it is not.
    pub fn against(&self, wanted: EngineState) -> Option<&str> {
        let driving = (wanted == EngineState::Driving).then_some(self.no_driving.as_deref()).flatten();
        // A check on a hot engine that is switched off needs it run first.
        let runs = needs_running(wanted) || wanted == EngineState::HotOff;
        driving.or_else(|| runs.then_some(self.no_running.as_deref()).flatten())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minutes(present: Present, wanted: EngineState) -> (f64, f64) {
        let moves = Routes::new(0.25).moves(present, wanted);
        (moves.iter().map(|m| m.hands).sum(), moves.iter().map(|m| m.wait).sum())
    }

    #[test]
    fn a_cold_check_after_a_hot_one_waits_for_the_engine_to_cool() {
        let moves = Routes::new(0.25).moves(Present::Known(EngineState::Hot), EngineState::Drained);
        let states: Vec<EngineState> = moves.iter().map(|m| m.to).collect();
        assert_eq!(states, [EngineState::HotOff, EngineState::Cold, EngineState::Drained]);
        assert!(moves[1].wait >= 60.0 && moves[1].caution.is_some());
    }

    #[test]
    fn checks_in_the_same_state_need_nothing_between_them() {
        for state in STATES {
            assert_eq!(minutes(Present::Known(state), state), (0.0, 0.0));
            assert_eq!(minutes(Present::Known(state), EngineState::Any), (0.0, 0.0));
        }
    }

    #[test]
    fn every_state_can_be_reached_from_every_other() {
        for from in STATES.into_iter().filter(|&state| state != EngineState::Driving) {
            for to in STATES.into_iter().filter(|&to| to != from) {
                let moves = Routes::new(0.25).moves(Present::Known(from), to);
                assert_eq!(moves.last().map(|m| m.to), Some(to), "{from:?} to {to:?}");
            }
        }
    }

    #[test]
    fn an_engine_nobody_has_looked_at_is_not_taken_to_be_cold() {
        let moves = Routes::new(0.25).moves(Present::Unknown, EngineState::Cold);
        assert!(moves[0].caution.is_some_and(|caution| caution.contains("scalds")));
    }
}
