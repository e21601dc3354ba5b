//! How well failures can be told apart.
//!
//! Each failure is set alone (every other one cut off and absent, and no history told), and the chance of every answer to every question is
//! worked out exactly. Two failures are told apart by a question as far as its answers differ: the total variation
//! distance between the two distributions, 0 if it tells nothing, 1 if one look settles it. With even odds the question
//! then names the wrong one in `(1 - distance) / 2` of all looks, and nothing done with its answer does better.
//! A check's outcomes exclude one another; their chances are put together from those of the single outcomes as if
//! these were independent, two at once being ruled out.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use crate::explain::credit::cut;
use crate::graph::{self, CauseGraph, NodeKind};
use crate::inference::{Engine, Evidence, NodeId};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::{FitsIf, Vehicle};

/// A question as far as telling apart goes.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The symptom or check.
    pub id: String,
    /// Whether it is a check.
    pub is_check: bool,
    nodes: Vec<NodeId>,
}

/// Chances of all answers to all questions, for every failure alone.
#[derive(Debug, Clone)]
pub struct Apart {
    /// The failures, in book order.
    pub failures: Vec<String>,
    /// The questions: symptoms, then checks, in book order.
    pub questions: Vec<Asked>,
    /// For each failure and question the chance of each answer, the plain one first.
    answers: Vec<Vec<Vec<f64>>>,
    /// Which pairs of failures can be on one vehicle.
    fits: Vec<FitsIf>,
}

/// Works out every failure's answers on a vehicle of which nothing is known. `None` if the book has no usable graph.
pub fn apart(book: &RuleBook) -> Option<Apart> {
    let graph = graph::build(book, &Vehicle::default(), None).ok()?;
    let nodes = graph.of_kind(NodeKind::Failure);
    let questions = questions(book, &graph);
    let settled: Vec<NodeId> = nodes.iter().chain(&graph.of_kind(NodeKind::History)).copied().collect();
    let plain = alone(&graph, &settled, None, &questions, &|_| true)?;
    let answers: Option<Vec<Vec<Vec<f64>>>> = nodes
        .par_iter()
        .map(|&failure| {
            let reached = reached(&graph, failure);
            let touched = |question: &Asked| question.nodes.iter().any(|node| reached.contains(node));
            let found = alone(&graph, &settled, Some(failure), &questions, &touched)?;
            // What the failure does not reach is as it is with nothing wrong.
            Some(
                found
                    .into_iter()
                    .zip(&plain)
                    .map(|(own, usual)| own.or_else(|| usual.clone()).unwrap_or_default())
                    .collect(),
            )
        })
        .collect();
    let failures: Vec<String> = nodes.iter().map(|&node| graph.key(node).to_owned()).collect();
    let fits = failures.iter().map(|id| fits_of(book, id)).collect();
    Some(Apart { failures, questions, answers: answers?, fits })
}

/// Answers to the questions that are `wanted`, with one failure or none, and no history.
fn alone(
    graph: &CauseGraph,
    settled: &[NodeId],
    failure: Option<NodeId>,
    questions: &[Asked],
    wanted: &dyn Fn(&Asked) -> bool,
) -> Option<Vec<Option<Vec<f64>>>> {
    let set: BTreeMap<NodeId, bool> = settled.iter().map(|&node| (node, Some(node) == failure)).collect();
    let network = cut(graph.network(), &set);
    let evidence = set.iter().fold(Evidence::new(), |seen, (&node, &there)| seen.observed(node, there));
    let engine = Engine::default();
    questions
        .iter()
        .map(|question| {
            if !wanted(question) {
                return Some(None);
            }
            // One question at a time: only what lies above it takes part.
            let found = engine.posterior(&network, &evidence, &question.nodes).ok()?;
            Some(Some(exclusive(&found.marginals)))
        })
        .collect()
}

/// Everything below a node.
fn reached(graph: &CauseGraph, from: NodeId) -> BTreeSet<NodeId> {
    let mut reached = BTreeSet::new();
    let mut waiting = vec![from];
    while let Some(node) = waiting.pop() {
        if reached.insert(node) {
            waiting.extend(graph.effects(node).into_iter().map(|(effect, _)| effect));
        }
    }
    reached
}

fn questions(book: &RuleBook, graph: &CauseGraph) -> Vec<Asked> {
    let symptoms = book
        .symptoms
        .keys()
        .filter_map(|id| Some(Asked { id: id.clone(), is_check: false, nodes: vec![graph.node(id)?] }));
    let checks = graph.checks().iter().map(|(id, nodes)| Asked {
        id: id.clone(),
        is_check: true,
        nodes: nodes.clone(),
    });
    symptoms.chain(checks).collect()
}

/// What must be true of a vehicle for a failure to be possible on it.
fn fits_of(book: &RuleBook, failure: &str) -> FitsIf {
    let Some(entry) = book.failures.get(failure) else { return FitsIf::new() };
    let mut fits = book.parts.get(&entry.part).map(|part| part.fits_if.clone()).unwrap_or_default();
    for (fact, options) in &entry.fits_if {
        let narrowed = match fits.get(fact) {
            Some(known) => known.iter().filter(|option| options.contains(option)).cloned().collect(),
            None => options.clone(),
        };
        fits.insert(fact.clone(), narrowed);
    }
    fits
}

/// Chances of the plain answer and of each outcome, from the outcomes' own chances.
fn exclusive(chances: &[f64]) -> Vec<f64> {
    let all_absent: f64 = chances.iter().map(|chance| 1.0 - chance).product();
    let mut answers = vec![all_absent];
    for (at, chance) in chances.iter().enumerate() {
        let others: f64 =
            chances.iter().enumerate().filter(|&(other, _)| other != at).map(|(_, c)| 1.0 - c).product();
        answers.push(chance * others);
    }
    let total: f64 = answers.iter().sum();
    if total > 0.0 {
        for chance in &mut answers {
            *chance /= total;
        }
    }
    answers
}

impl Apart {
    /// How far one question tells two failures apart, 0 to 1. Failures and questions by their places in the lists.
    pub fn distance(&self, question: usize, a: usize, b: usize) -> f64 {
        let (p, q) = (&self.answers[a][question], &self.answers[b][question]);
        p.iter().zip(q).map(|(x, y)| (x - y).abs()).sum::<f64>() / 2.0
    }

    /// The question that tells two failures apart best, and how far.
    pub fn best(&self, a: usize, b: usize) -> (usize, f64) {
        (0..self.questions.len())
            .map(|question| (question, self.distance(question, a, b)))
            .fold((0, 0.0), |best, next| if next.1 > best.1 { next } else { best })
    }

    /// Of so many vehicles with one failure and so many with the other, how many are given to the wrong one by whoever
    /// goes by this question and by how common they are.
    pub fn mistaken_after(&self, question: usize, a: (usize, f64), b: (usize, f64)) -> f64 {
        let (p, q) = (&self.answers[a.0][question], &self.answers[b.0][question]);
        p.iter().zip(q).map(|(x, y)| (x * a.1).min(y * b.1)).sum()
    }

    /// The most that are given to the wrong one by whoever asks everything: Bhattacharyya's bound, with the answers of
    /// different questions taken as independent, or what the best question alone leaves if that is less.
    pub fn mistaken_after_all(&self, a: (usize, f64), b: (usize, f64)) -> f64 {
        let alike: f64 = self.answers[a.0]
            .iter()
            .zip(&self.answers[b.0])
            .map(|(p, q)| p.iter().zip(q).map(|(x, y)| (x * y).sqrt()).sum::<f64>())
            .product();
        let single = (0..self.questions.len()).map(|question| self.mistaken_after(question, a, b));
        single.fold((a.1 * b.1).sqrt() * alike, f64::min)
    }

    /// Whether both failures can be on one and the same vehicle.
    pub fn can_meet(&self, a: usize, b: usize) -> bool {
        self.fits[a].iter().all(|(fact, options)| {
            self.fits[b].get(fact).is_none_or(|others| options.iter().any(|option| others.contains(option)))
        })
    }

    /// Every pair that can be on one vehicle, in book order.
    pub fn pairs(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        let count = self.failures.len();
        (0..count)
            .flat_map(move |a| (a + 1..count).map(move |b| (a, b)))
            .filter(|&(a, b)| self.can_meet(a, b))
    }

    /// The place of a failure in the list.
    pub fn place(&self, failure: &str) -> Option<usize> {
        self.failures.iter().position(|id| id == failure)
    }
}

/// How often a question with this distance names the wrong one of two equally likely failures.
pub fn mistaken(distance: f64) -> f64 {
    (1.0 - distance) / 2.0
}

/// The same in words.
pub fn in_words(distance: f64) -> &'static str {
    if distance < 0.05 {
        "nothing tells them apart"
    } else if distance < 0.2 {
        "hardly anything tells them apart"
    } else if distance < 0.4 {
        "they are hard to tell apart"
    } else {
        "they can be told apart"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outcomes_exclude_one_another() {
        let answers = exclusive(&[0.5, 0.5]);
        for answer in &answers {
            assert!((answer - 1.0 / 3.0).abs() < 1e-12, "{answers:?}");
        }
        assert_eq!(exclusive(&[0.3]), vec![0.7, 0.3]);
    }

    #[test]
    fn a_question_that_tells_nothing_is_wrong_half_of_the_time() {
        assert!((mistaken(0.0) - 0.5).abs() < 1e-15);
        assert!((mistaken(1.0) - 0.0).abs() < 1e-15);
    }
}
