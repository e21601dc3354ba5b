//! Two rule books over all cases: what a change to the book does before anybody has to live with it.
//!
//! Every known case of either book is replayed and every saved case is ranked, under each book, and the two
//! rankings are laid side by side: whether the first suspect changes, which chances move by more than a few points,
//! which known cases break and which mend.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::cases::SavedCase;
use crate::case::{Case, ReplayResult, Shop, Standing, gather, replay, standing};
use crate::graph;
use crate::inference::Engine;
use crate::rulebook::RuleBook;

/// A chance that moves by more than this is told: five points of a hundred.
pub const TOLD: f64 = 0.05;

/// What is first under one book.
#[derive(Debug, Clone, PartialEq)]
pub struct Leader {
    /// The part.
    pub part: String,
    /// Its chance.
    pub chance: f64,
    /// The likeliest of its failures.
    pub failure: Option<String>,
    /// Whether the chance is exact.
    pub exact: bool,
}

/// A part or failure whose chance differs between the books.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// Its id.
    pub id: String,
    /// Its chance under the first book; 0 if that book lacks it.
    pub before: f64,
    /// Its chance under the second.
    pub after: f64,
}

/// Whether a known case says under each book what it expects.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// It passed and passes.
    Still,
    /// It passed and no longer does, or it is new and does not pass.
    Breaks,
    /// It did not pass and does now.
    Mends,
    /// It did not pass and does not.
    StillBroken,
    /// It is new and passes.
    New,
    /// The second book no longer has it.
    Gone,
}

/// One case under both books.
#[derive(Debug, Clone)]
pub struct Shift {
    /// The case's name.
    pub name: String,
    /// For a known case whether it holds; `None` for a saved case.
    pub holds: Option<Holds>,
    /// What is first under the first book.
    pub before: Option<Leader>,
    /// What is first under the second.
    pub after: Option<Leader>,
    /// Parts and failures whose chance moves by more than [`TOLD`], largest move first.
    pub moves: Vec<Move>,
    /// Why a known case does not hold under the second book, or why a case cannot be ranked.
    pub why: Vec<String>,
}

impl Shift {
    /// Whether another part comes first.
    pub fn first_changes(&self) -> bool {
        match (&self.before, &self.after) {
            (Some(before), Some(after)) => before.part != after.part,
            _ => false,
        }
    }

    /// Whether anything about the case is worth a line.
    pub fn tells(&self) -> bool {
        self.first_changes()
            || !self.moves.is_empty()
            || matches!(self.holds, Some(Holds::Breaks | Holds::Mends | Holds::New | Holds::Gone))
            || (self.holds.is_none() && !self.why.is_empty())
    }
}

/// Two books compared.
#[derive(Debug, Clone, Default)]
pub struct Comparison {
    /// Every case: known cases in book order, then saved ones by name.
    pub shifts: Vec<Shift>,
}

impl Comparison {
    /// Known cases that break.
    pub fn broken(&self) -> impl Iterator<Item = &Shift> {
        self.shifts.iter().filter(|shift| shift.holds == Some(Holds::Breaks))
    }

    /// Whether no known case breaks.
    pub fn is_sound(&self) -> bool {
        self.broken().next().is_none()
    }

    /// Cases worth a line.
    pub fn telling(&self) -> impl Iterator<Item = &Shift> {
        self.shifts.iter().filter(|shift| shift.tells())
    }

    /// How many known cases hold under the second book.
    pub fn holding(&self) -> usize {
        let holds = |shift: &&Shift| matches!(shift.holds, Some(Holds::Still | Holds::Mends | Holds::New));
        self.shifts.iter().filter(holds).count()
    }
}

/// Compares two books over the known cases of both and the saved cases given.
pub fn compare(before: &RuleBook, after: &RuleBook, saved: &[SavedCase]) -> Comparison {
    let mut names: Vec<&str> = before.cases.keys().map(String::as_str).collect();
    let there: BTreeSet<&str> = names.iter().copied().collect();
    names.extend(after.cases.keys().map(String::as_str).filter(|name| !there.contains(name)));
    let mut shifts: Vec<Shift> = names.par_iter().map(|name| known(before, after, name)).collect();
    let more: Vec<Shift> = saved.par_iter().map(|case| one_saved(before, after, case)).collect();
    shifts.extend(more);
    Comparison { shifts }
}

fn known(before: &RuleBook, after: &RuleBook, name: &str) -> Shift {
    let run = |book: &RuleBook| book.cases.get(name).map(|case| replay(book, case));
    let (old, new) = (run(before), run(after));
    let passes = |result: &ReplayResult| result.passes();
    let holds = match (old.as_ref().map(passes), new.as_ref().map(passes)) {
        (Some(true), Some(true)) => Holds::Still,
        (Some(true) | None, Some(false)) => Holds::Breaks,
        (Some(false), Some(true)) => Holds::Mends,
        (Some(false), Some(false)) => Holds::StillBroken,
        (None, Some(true)) => Holds::New,
        (_, None) => Holds::Gone,
    };
    let why = new.as_ref().map(not_as_expected).unwrap_or_default();
    let (old, new) = (old.and_then(|r| r.standing), new.and_then(|r| r.standing));
    shift(name, Some(holds), old.as_ref(), new.as_ref(), why)
}

/// Everything that keeps a known case from passing.
fn not_as_expected(result: &ReplayResult) -> Vec<String> {
    let ignored = result.ignored.iter().map(|ignored| format!("`{}` not used: {}", ignored.ask, ignored.why));
    result.broken.iter().cloned().chain(ignored).collect()
}

fn one_saved(before: &RuleBook, after: &RuleBook, saved: &SavedCase) -> Shift {
    let (old, new) = (rank(before, &saved.case), rank(after, &saved.case));
    let why = new.as_ref().err().cloned().into_iter().collect();
    shift(&saved.name, None, old.as_ref().ok(), new.as_ref().ok(), why)
}

/// Ranks a saved case as it stands, in an ordinary shop.
pub fn rank(book: &RuleBook, case: &Case) -> Result<Standing, String> {
    let graph = graph::asked(book, &case.vehicle, case.day(), Shop::default().slips)
        .map_err(|error| error.to_string())?;
    let gathered = gather(book, &graph, case);
    standing(book, &graph, &Engine::default(), &gathered.evidence).map_err(|error| error.to_string())
}

fn shift(
    name: &str,
    holds: Option<Holds>,
    before: Option<&Standing>,
    after: Option<&Standing>,
    why: Vec<String>,
) -> Shift {
    let moves = match (before, after) {
        (Some(before), Some(after)) => moved(before, after),
        _ => Vec::new(),
    };
    Shift {
        name: name.to_owned(),
        holds,
        before: before.and_then(leader),
        after: after.and_then(leader),
        moves,
        why,
    }
}

fn leader(standing: &Standing) -> Option<Leader> {
    let first = standing.suspects.first()?;
    Some(Leader {
        part: first.part.clone(),
        chance: first.chance,
        failure: first.failures.first().map(|likely| likely.id.clone()),
        exact: standing.method.is_exact(),
    })
}

fn moved(before: &Standing, after: &Standing) -> Vec<Move> {
    let ids = |standing: &Standing| {
        let parts = standing.suspects.iter().map(|suspect| suspect.part.clone());
        parts.chain(standing.failures.iter().map(|likely| likely.id.clone())).collect::<Vec<_>>()
    };
    let all: BTreeSet<String> = ids(before).into_iter().chain(ids(after)).collect();
    let mut moves: Vec<Move> = all
        .into_iter()
        .map(|id| Move { before: before.chance(&id), after: after.chance(&id), id })
        .filter(|moved| (moved.after - moved.before).abs() > TOLD)
        .collect();
    let size = |moved: &Move| (moved.after - moved.before).abs();
    moves.sort_by(|a, b| size(b).total_cmp(&size(a)).then_with(|| a.id.cmp(&b.id)));
    moves
}
