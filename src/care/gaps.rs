//! What the book lacks, by its cases and by its graph.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::apart::{Apart, apart};
use super::cases::{SavedCase, stale_ids};
use super::compare::rank;
use super::fit::{CaseFit, fit_of};
use super::lints::found;
use crate::case::Case;
use crate::case::replay::{answers_of, vehicle_of};
use crate::graph;
use crate::rulebook::RuleBook;

/// Two suspects are confused by a case if both are at least this likely.
const CONFUSED: f64 = 0.15;

/// A question with at least this distance settles which of two it is: fewer than 1 in 6 go wrong.
const SETTLES: f64 = 0.7;

/// Pairs told.
const PAIRS: usize = 10;

/// A case that fits the book poorly.
#[derive(Debug, Clone)]
pub struct PoorCase {
    /// Its name.
    pub name: String,
    /// Whether it is a known case of the book.
    pub known: bool,
    /// How it fits.
    pub fit: CaseFit,
    /// The first failure found in it, if it was confirmed.
    pub found: Option<String>,
}

/// Poorly fitting cases that share a sign nothing explains.
#[derive(Debug, Clone)]
pub struct Group {
    /// The sign; `None` for cases whose signs are all explained but do not go together.
    pub sign: Option<String>,
    /// The cases, in order of name.
    pub cases: Vec<PoorCase>,
}

/// A failure that no saved case confirmed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unconfirmed {
    /// The failure.
    pub failure: String,
    /// Whether at least a known case of the book expects it.
    pub expected: bool,
    /// In how many saved cases it was looked for and found good.
    pub looked_for: usize,
}

/// Two failures of different parts that a check is missing for.
#[derive(Debug, Clone)]
pub struct Confused {
    /// One of them.
    pub one: String,
    /// The other.
    pub other: String,
    /// Cases that leave both likely, or named one where the other was found.
    pub cases: Vec<String>,
    /// The question that tells them apart best, if any does at all.
    pub best: Option<String>,
    /// How far it does, 0 to 1.
    pub distance: f64,
    /// Vehicles of 1,000 that may still be given to the wrong one of the two after every question: at most what a
    /// check that settles it would save.
    pub mistaken: f64,
}

/// All that is missing.
#[derive(Debug, Clone, Default)]
pub struct Gaps {
    /// Poorly fitting cases, largest group first.
    pub poor: Vec<Group>,
    /// Failures never confirmed, in book order.
    pub unconfirmed: Vec<Unconfirmed>,
    /// The checks the book lacks most, most valuable first.
    pub confused: Vec<Confused>,
    /// Ids that saved cases name and the book does not have: case, id, where.
    pub stale: Vec<(String, String, &'static str)>,
    /// Cases that could not be looked at, and why.
    pub left_out: Vec<String>,
    /// How many cases were looked at.
    pub looked_at: usize,
}

/// One case to look at.
struct Look {
    name: String,
    known: bool,
    case: Case,
}

/// What is seen of one case.
struct Seen {
    poor: Option<PoorCase>,
    /// Pairs of failures left likely.
    pairs: Vec<(String, String)>,
}

/// Finds what the book lacks.
pub fn gaps(book: &RuleBook, saved: &[SavedCase]) -> Gaps {
    let known = book.cases.iter().map(|(name, known)| Look {
        name: name.clone(),
        known: true,
        case: Case { vehicle: vehicle_of(book, known), answers: answers_of(known), ..Case::default() },
    });
    let own =
        saved.iter().map(|saved| Look { name: saved.name.clone(), known: false, case: saved.case.clone() });
    let looks: Vec<Look> = own.chain(known).collect();
    let seen: Vec<Result<Seen, String>> = looks.par_iter().map(|look| see(book, look)).collect();
    let mut gaps = Gaps { looked_at: looks.len(), ..Gaps::default() };
    let mut poor = Vec::new();
    let mut confused: BTreeMap<(String, String), Vec<String>> = BTreeMap::new();
    for (look, seen) in looks.iter().zip(seen) {
        match seen {
            Ok(seen) => {
                poor.extend(seen.poor);
                for pair in seen.pairs {
                    confused.entry(pair).or_default().push(look.name.clone());
                }
            }
            Err(why) => gaps.left_out.push(format!("{}: {why}", look.name)),
        }
    }
    gaps.poor = grouped(poor);
    gaps.unconfirmed = unconfirmed(book, saved);
    gaps.confused = missing_checks(book, &confused);
    for saved in saved {
        gaps.stale.extend(
            stale_ids(book, &saved.case).into_iter().map(|(id, what)| (saved.name.clone(), id, what)),
        );
    }
    gaps
}

fn see(book: &RuleBook, look: &Look) -> Result<Seen, String> {
    let graph = graph::build(book, &look.case.vehicle, look.case.day()).map_err(|error| error.to_string())?;
    let fit = fit_of(book, &graph, &look.name, &look.case).map_err(|error| error.to_string())?;
    let standing = rank(book, &look.case)?;
    let truth: Vec<&str> = found(&look.case).filter(|id| book.failures.contains_key(*id)).collect();
    let likely: Vec<&str> =
        standing.failures.iter().filter(|f| f.chance >= CONFUSED).map(|f| f.id.as_str()).take(3).collect();
    let mut pairs = BTreeSet::new();
    let mut add = |a: &str, b: &str| {
        let part = |id: &str| book.failures.get(id).map(|failure| &failure.part);
        if a != b && part(a) != part(b) {
            pairs.insert(in_order(a, b));
        }
    };
    if truth.is_empty() {
        // Two failures that explain different signs are both there, not confused: one must be able to stand in.
        for (at, a) in likely.iter().enumerate() {
            for b in &likely[at + 1..] {
                if standing.chance(a) + standing.chance(b) <= 1.2 {
                    add(a, b);
                }
            }
        }
    } else if let Some(first) = standing.failures.first()
        && !truth.contains(&first.id.as_str())
    {
        for truth in &truth {
            add(truth, &first.id);
        }
    }
    let poor = fit.is_poor().then(|| PoorCase {
        name: look.name.clone(),
        known: look.known,
        fit,
        found: truth.first().map(|&id| id.to_owned()),
    });
    Ok(Seen { poor, pairs: pairs.into_iter().collect() })
}

fn in_order(a: &str, b: &str) -> (String, String) {
    if a < b { (a.to_owned(), b.to_owned()) } else { (b.to_owned(), a.to_owned()) }
}

/// Puts cases together that share a sign: each goes where most others are.
fn grouped(poor: Vec<PoorCase>) -> Vec<Group> {
    let mut sharing: BTreeMap<&str, usize> = BTreeMap::new();
    for case in &poor {
        for sign in &case.fit.unexplained {
            *sharing.entry(&sign.finding).or_default() += 1;
        }
    }
    let of: Vec<Option<String>> = poor
        .iter()
        .map(|case| {
            let signs = case.fit.unexplained.iter().map(|sign| sign.finding.as_str());
            // Of signs that equally many share, the one that is explained worst.
            signs.rev().max_by_key(|sign| sharing[sign]).map(str::to_owned)
        })
        .collect();
    let mut groups: BTreeMap<Option<String>, Vec<PoorCase>> = BTreeMap::new();
    for (sign, case) in of.into_iter().zip(poor) {
        groups.entry(sign).or_default().push(case);
    }
    let mut groups: Vec<Group> = groups.into_iter().map(|(sign, cases)| Group { sign, cases }).collect();
    let worst = |group: &Group| {
        group
            .cases
            .iter()
            .flat_map(|case| &case.fit.unexplained)
            .map(|sign| sign.of_itself)
            .fold(0.0, f64::max)
    };
    groups.sort_by(|a, b| {
        let first = b.sign.is_some().cmp(&a.sign.is_some());
        first
            .then(b.cases.len().cmp(&a.cases.len()))
            .then(worst(b).total_cmp(&worst(a)))
            .then(a.sign.cmp(&b.sign))
    });
    for group in &mut groups {
        group.cases.sort_by(|a, b| a.name.cmp(&b.name));
    }
    groups
}

fn unconfirmed(book: &RuleBook, saved: &[SavedCase]) -> Vec<Unconfirmed> {
    let confirmed: BTreeSet<&str> = saved.iter().flat_map(|saved| found(&saved.case)).collect();
    let expected: BTreeSet<&str> = book
        .cases
        .values()
        .flat_map(|known| known.expect.first.iter().chain(&known.expect.with))
        .map(String::as_str)
        .collect();
    let looked_for = |id: &str| {
        let good = |saved: &&SavedCase| {
            let findings = saved.case.verdict.iter().flat_map(|verdict| &verdict.findings);
            findings.into_iter().any(|finding| finding.failure == id && !finding.there)
        };
        saved.iter().filter(good).count()
    };
    book.failures
        .keys()
        .filter(|id| !confirmed.contains(id.as_str()))
        .map(|id| Unconfirmed {
            failure: id.clone(),
            expected: expected.contains(id.as_str()),
            looked_for: looked_for(id),
        })
        .collect()
}

/// Pairs that cases confuse, then pairs that the graph alone cannot tell apart; what would save most first.
fn missing_checks(book: &RuleBook, seen: &BTreeMap<(String, String), Vec<String>>) -> Vec<Confused> {
    let Some(apart) = apart(book) else { return Vec::new() };
    let mut list: Vec<Confused> = apart
        .pairs()
        .filter(|&(a, b)| {
            let part = |at: usize| book.failures.get(&apart.failures[at]).map(|failure| &failure.part);
            part(a) != part(b)
        })
        .map(|(a, b)| confused(book, &apart, a, b, seen))
        // Where a question exists that settles it, the question was not asked; no check is missing.
        .filter(|pair| pair.mistaken > 0.0 && pair.distance < SETTLES)
        .collect();
    list.sort_by(|a, b| {
        b.cases.len().cmp(&a.cases.len()).then(b.mistaken.total_cmp(&a.mistaken)).then(a.one.cmp(&b.one))
    });
    list.truncate(PAIRS);
    list
}

fn confused(
    book: &RuleBook,
    apart: &Apart,
    a: usize,
    b: usize,
    seen: &BTreeMap<(String, String), Vec<String>>,
) -> Confused {
    let (one, other) = (apart.failures[a].clone(), apart.failures[b].clone());
    let base = |id: &String| book.failures.get(id).map_or(0.0, |failure| failure.base);
    let (question, distance) = apart.best(a, b);
    let mistaken = apart.mistaken_after_all((a, base(&one)), (b, base(&other)));
    Confused {
        cases: seen.get(&in_order(&one, &other)).cloned().unwrap_or_default(),
        best: (distance > 0.0).then(|| apart.questions[question].id.clone()),
        distance,
        mistaken,
        one,
        other,
    }
}
