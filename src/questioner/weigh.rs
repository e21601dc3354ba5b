//! What each open question would tell.
//!
//! The information of a question is taken as the sum over failures of the mutual information between the
//! failure and the answer, in bits (Shannon 1948). Over several failures that depend on each other the sum
//! counts what they share more than once; it ranks questions, it is not a quantity of its own. Bits per
//! minute is one strategy of the questioner.

use super::questions::Question;
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{CandidateResult, Engine, Evidence, InferenceError, NodeId, Prepared};

/// What one answer would do to the part it moves most.
#[derive(Debug, Clone)]
pub struct Effect {
    /// The answer as written in a case.
    pub answer: String,
    /// Chance of this answer.
    pub chance: f64,
    /// The part whose chance it moves most.
    pub part: String,
    /// That part's chance now.
    pub before: f64,
    /// Its chance after this answer.
    pub after: f64,
}

/// One question with what it would tell.
#[derive(Debug, Clone)]
pub struct Weighed {
    /// The question.
    pub question: Question,
    /// Sum over failures of the mutual information with the answer, in bits.
    pub bits: f64,
    /// The effect of each answer, the plain one ("no", "normal") first.
    pub effects: Vec<Effect>,
}

impl Weighed {
    /// Bits for each minute it takes.
    pub fn bits_per_minute(&self) -> f64 {
        self.bits / self.question.minutes.max(0.1)
    }
}

/// Weighs every question exactly, best first by bits per minute; ties keep book order.
pub fn weigh(
    graph: &CauseGraph,
    engine: &Engine,
    evidence: &Evidence,
    questions: Vec<Question>,
) -> Result<Vec<Weighed>, InferenceError> {
    let all = weigh_each(graph, engine, evidence, questions)?;
    let mut weighed: Vec<Weighed> = all.into_iter().map(|(weighed, _)| weighed).collect();
    weighed.sort_by(|a, b| b.bits_per_minute().total_cmp(&a.bits_per_minute()));
    Ok(weighed)
}

/// Weighs every question in the order given, each with the exact chances after every answer: of the
/// failures, then of the parts, in graph order.
pub fn weigh_each(
    graph: &CauseGraph,
    engine: &Engine,
    evidence: &Evidence,
    questions: Vec<Question>,
) -> Result<Vec<(Weighed, CandidateResult)>, InferenceError> {
    let targets: Vec<NodeId> =
        graph.of_kind(NodeKind::Failure).into_iter().chain(graph.of_kind(NodeKind::Part)).collect();
    let prepared = engine.prepare(graph.network(), evidence, &targets)?;
    let places: Vec<usize> = (0..targets.len()).collect();
    weigh_prepared(graph, &prepared, &places, questions)
}

/// The same on evidence that has been prepared for more targets: `places` says where among them the failures,
/// then the parts, stand.
pub fn weigh_prepared(
    graph: &CauseGraph,
    prepared: &Prepared,
    places: &[usize],
    questions: Vec<Question>,
) -> Result<Vec<(Weighed, CandidateResult)>, InferenceError> {
    let failures = graph.of_kind(NodeKind::Failure);
    let parts = graph.of_kind(NodeKind::Part);
    let of = |marginals: &[f64]| places.iter().map(|&at| marginals[at]).collect::<Vec<f64>>();
    let now = of(&prepared.posterior().marginals);
    let candidates: Vec<_> = questions.iter().map(Question::candidate).collect();
    let mut results = prepared.candidates(&candidates)?;
    for outcome in results.iter_mut().flat_map(|result| &mut result.outcomes) {
        outcome.marginals = of(&outcome.marginals);
    }
    let weighed = questions.into_iter().zip(results).map(|(question, result)| {
        let bits = result
            .outcomes
            .iter()
            .map(|outcome| {
                let both = outcome.marginals[..failures.len()].iter().zip(&now);
                outcome.chance * both.map(|(&after, &before)| divergence(after, before)).sum::<f64>()
            })
            .sum();
        let effects = question
            .all_answers()
            .into_iter()
            .zip(&result.outcomes)
            .map(|(answer, outcome)| {
                let (before, after) = (&now[failures.len()..], &outcome.marginals[failures.len()..]);
                let moved = |at: usize| (after[at] - before[at]).abs();
                let most = (0..parts.len()).max_by(|&a, &b| moved(a).total_cmp(&moved(b)).then(b.cmp(&a)));
                let most = most.unwrap_or(0);
                Effect {
                    answer,
                    chance: outcome.chance,
                    part: graph.key(parts[most]).to_owned(),
                    before: before[most],
                    after: after[most],
                }
            })
            .collect();
        (Weighed { question, bits, effects }, result)
    });
    Ok(weighed.collect())
}

/// Kullback-Leibler divergence of a yes/no chance `after` from `before`, in bits.
fn divergence(after: f64, before: f64) -> f64 {
    let term = |p: f64, q: f64| if p > 0.0 && q > 0.0 { p * (p / q).log2() } else { 0.0 };
    (term(after, before) + term(1.0 - after, 1.0 - before)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::divergence;

    /// The one noisy question worked out in the reference page on inference (section 1.7): four exclusive
    /// faults (.4, .3, .2, .1), P(yes | fault) (.9, .9, .05, .05). For a single yes/no variable the mean
    /// divergence is the mutual information: fault 1 or 2 (.7) against the answer gives 0.524238379955 bit.
    #[test]
    fn mean_divergence_is_the_mutual_information() {
        let yes = 0.645;
        let (after_yes, after_no) = (0.63 / yes, 0.07 / (1.0 - yes));
        let bits = yes * divergence(after_yes, 0.7) + (1.0 - yes) * divergence(after_no, 0.7);
        assert!((bits - 0.524_238_379_955).abs() < 1e-11, "{bits}");
    }
}
