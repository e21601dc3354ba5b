//! What each open question would tell.
//!
//! The information of a question is taken as the sum over failures of the mutual information between the
//! failure and the answer, in bits (Shannon 1948). Over several failures that depend on each other the sum
//! counts what they share more than once; it ranks questions, it is not a quantity of its own. Bits per
//! minute is one strategy of the questioner.

use super::questions::Question;
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{CandidateResult, Engine, Evidence, InferenceError, NodeId, Outcome, Prepared};

/// One answer a question may get.
#[derive(Debug, Clone)]
pub struct Effect {
    /// The answer as written in a case.
    pub answer: String,
    /// Chance of this answer.
    pub chance: f64,
    /// What it would do to the part it moves most; none where that has not been worked out.
    pub moves: Option<Moved>,
}

/// How the chance of a part would change.
#[derive(Debug, Clone)]
pub struct Moved {
    /// The part.
    pub part: String,
    /// Its chance now.
    pub before: f64,
    /// Its chance then.
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

/// Weighs one question, with what its answers do to the parts.
pub fn weigh(
    graph: &CauseGraph,
    engine: &Engine,
    evidence: &Evidence,
    question: Question,
) -> Result<Weighed, InferenceError> {
    let hidden = graph.hidden();
    let prepared = engine.prepare(graph.network(), evidence, &hidden)?;
    let failures = graph.of_kind(NodeKind::Failure);
    let wanted = places(&hidden, &failures);
    let weighed = weigh_each(&prepared, &wanted, failures.len(), vec![question])?;
    let mut weighed: Vec<Weighed> = weighed.into_iter().map(|(weighed, _)| weighed).collect();
    foresee(graph, &prepared, &hidden, weighed.iter_mut())?;
    Ok(weighed.pop().expect("one question was weighed"))
}

/// Where nodes stand among the targets of prepared evidence.
pub(super) fn places(targets: &[NodeId], nodes: &[NodeId]) -> Vec<usize> {
    nodes.iter().map(|node| targets.iter().position(|target| target == node).expect("a target")).collect()
}

/// Weighs every question in the order given, each with the exact chances of the `wanted` targets after every
/// answer. The first `failures` of them are the failures.
pub(super) fn weigh_each(
    prepared: &Prepared,
    wanted: &[usize],
    failures: usize,
    questions: Vec<Question>,
) -> Result<Vec<(Weighed, CandidateResult)>, InferenceError> {
    let now: Vec<f64> = wanted[..failures].iter().map(|&at| prepared.posterior().marginals[at]).collect();
    let candidates: Vec<_> = questions.iter().map(Question::candidate).collect();
    let results = prepared.candidates_on(&candidates, wanted)?;
    let weighed = questions.into_iter().zip(results).map(|(question, result)| {
        let told = |outcome: &Outcome| {
            let both = outcome.marginals[..failures].iter().zip(&now);
            outcome.chance * both.map(|(&after, &before)| divergence(after, before)).sum::<f64>()
        };
        let bits = result.outcomes.iter().map(told).sum();
        let answers = question.all_answers().into_iter().zip(&result.outcomes);
        let effects =
            answers.map(|(answer, outcome)| Effect { answer, chance: outcome.chance, moves: None }).collect();
        (Weighed { question, bits, effects }, result)
    });
    Ok(weighed.collect())
}

/// Fills in what each answer would do to the parts. Apart from weighing, because the chance of a part takes
/// longer than those of all failures.
pub(super) fn foresee<'a>(
    graph: &CauseGraph,
    prepared: &Prepared,
    targets: &[NodeId],
    weighed: impl Iterator<Item = &'a mut Weighed>,
) -> Result<(), InferenceError> {
    let weighed: Vec<&mut Weighed> = weighed.collect();
    let parts = graph.of_kind(NodeKind::Part);
    let wanted = places(targets, &parts);
    let candidates: Vec<_> = weighed.iter().map(|weighed| weighed.question.candidate()).collect();
    let results = prepared.candidates_on(&candidates, &wanted)?;
    for (weighed, result) in weighed.into_iter().zip(results) {
        for (effect, outcome) in weighed.effects.iter_mut().zip(result.outcomes) {
            let before = |at: usize| prepared.posterior().marginals[wanted[at]];
            let moved = |at: usize| (outcome.marginals[at] - before(at)).abs();
            let most = (0..parts.len()).max_by(|&a, &b| moved(a).total_cmp(&moved(b)).then(b.cmp(&a)));
            effect.moves = most.map(|most| Moved {
                part: graph.key(parts[most]).to_owned(),
                before: before(most),
                after: outcome.marginals[most],
            });
        }
    }
    Ok(())
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
