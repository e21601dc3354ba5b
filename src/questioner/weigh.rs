//! What each open question would tell.
//!
//! The information of a question is taken as the sum over failures of the mutual information between the
//! failure and the answer, in bits (Shannon 1948). Over several failures that depend on each other the sum
//! counts what they share more than once; it ranks questions, it is not a quantity of its own. Bits per
//! minute is one strategy of the questioner.

use super::questions::Question;
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{CandidateResult, Engine, Evidence, InferenceError, NodeId, Prepared, spread_out};

/// One answer a question may get.
#[derive(Debug, Clone)]
pub struct Effect {
    /// The answer as written in a case.
    pub answer: String,
    /// Chance of this answer.
    pub chance: f64,
    /// What it would do to the part it moves most; none where that has not been worked out.
    pub moves: Option<Moved>,
    /// Parts among which that part is, for [`foresee`].
    leaning: Vec<NodeId>,
}

/// Among how many parts the one that an answer moves most is looked for: those whose failures move most by sum.
/// Failures of one part seldom come together, so the sum is near the part's own chance, and the first few are enough.
const LEANING: usize = 3;

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
    let (mut weighed, _) = weigh_each(graph, &prepared, &wanted, vec![question])?.swap_remove(0);
    foresee(graph, &prepared, &hidden, std::iter::once(&mut weighed))?;
    Ok(weighed)
}

/// Where nodes stand among the targets of prepared evidence.
pub(super) fn places(targets: &[NodeId], nodes: &[NodeId]) -> Vec<usize> {
    nodes.iter().map(|node| targets.iter().position(|target| target == node).expect("a target")).collect()
}

/// Weighs every question in the order given, each with the exact chances of the `wanted` targets after every
/// answer. The failures stand first among them.
pub(super) fn weigh_each(
    graph: &CauseGraph,
    prepared: &Prepared,
    wanted: &[usize],
    questions: Vec<Question>,
) -> Result<Vec<(Weighed, CandidateResult)>, InferenceError> {
    let failures = graph.of_kind(NodeKind::Failure);
    let now: Vec<f64> =
        wanted[..failures.len()].iter().map(|&at| prepared.posterior().marginals[at]).collect();
    let candidates: Vec<_> = questions.iter().map(Question::candidate).collect();
    let results = prepared.candidates_on(&candidates, wanted)?;
    let mut owners = vec![None; graph.len()];
    for part in graph.of_kind(NodeKind::Part) {
        for (failure, _) in graph.causes(part) {
            owners[failure] = Some(part);
        }
    }
    let owners: Vec<Option<NodeId>> = failures.iter().map(|&failure| owners[failure]).collect();
    let pairs: Vec<(Question, CandidateResult)> = questions.into_iter().zip(results).collect();
    let told = spread_out(&pairs, |(question, result)| {
        let mut bits = 0.0;
        let mut effects = Vec::with_capacity(result.outcomes.len());
        for (answer, outcome) in question.all_answers().into_iter().zip(&result.outcomes) {
            let after = &outcome.marginals[..failures.len()];
            let told = after.iter().zip(&now).map(|(&after, &before)| divergence(after, before));
            bits += outcome.chance * told.sum::<f64>();
            let mut shifts = vec![0.0; graph.len()];
            for ((owner, after), now) in owners.iter().zip(after).zip(&now) {
                if let Some(part) = *owner {
                    shifts[part] += after - now;
                }
            }
            let leaning = most_moved(&shifts);
            effects.push(Effect { answer, chance: outcome.chance, moves: None, leaning });
        }
        (bits, effects)
    });
    let weighed = pairs
        .into_iter()
        .zip(told)
        .map(|((question, result), (bits, effects))| (Weighed { question, bits, effects }, result));
    Ok(weighed.collect())
}

/// The places of the largest shifts, up or down, largest first.
fn most_moved(shifts: &[f64]) -> Vec<NodeId> {
    let mut order: Vec<NodeId> = (0..shifts.len()).filter(|&at| shifts[at] != 0.0).collect();
    let larger = |&a: &NodeId, &b: &NodeId| shifts[b].abs().total_cmp(&shifts[a].abs()).then(a.cmp(&b));
    if order.len() > LEANING {
        order.select_nth_unstable_by(LEANING - 1, larger);
        order.truncate(LEANING);
    }
    order.sort_unstable_by(larger);
    order
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
    let effects = weighed.iter().flat_map(|weighed| &weighed.effects);
    let mut parts: Vec<NodeId> = effects.flat_map(|effect| effect.leaning.iter().copied()).collect();
    parts.sort_unstable();
    parts.dedup();
    let wanted = places(targets, &parts);
    let candidates: Vec<_> = weighed.iter().map(|weighed| weighed.question.candidate()).collect();
    let results = prepared.candidates_on(&candidates, &wanted)?;
    for (weighed, result) in weighed.into_iter().zip(results) {
        for (effect, outcome) in weighed.effects.iter_mut().zip(result.outcomes) {
            let moved = effect.leaning.iter().map(|&part| {
                let at = parts.binary_search(&part).expect("every leaning is among the parts");
                (part, prepared.posterior().marginals[wanted[at]], outcome.marginals[at])
            });
            let most =
                moved.max_by(|a, b| (a.2 - a.1).abs().total_cmp(&(b.2 - b.1).abs()).then(b.0.cmp(&a.0)));
            effect.moves =
                most.map(|(part, before, after)| Moved { part: graph.key(part).to_owned(), before, after });
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
