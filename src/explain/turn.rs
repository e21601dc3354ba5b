//! Which single further answer would put another suspect first.

use crate::case::Case;
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Engine, Evidence, InferenceError};
use crate::questioner::{Question, open_questions};
use crate::rulebook::RuleBook;

/// Answers less likely than this are not worth naming.
const WORTH_NAMING: f64 = 0.02;

/// One answer that would change who is first.
#[derive(Debug, Clone)]
pub struct Turn {
    /// The question.
    pub question: Question,
    /// The answer, as written in a case.
    pub answer: String,
    /// Chance of that answer.
    pub chance: f64,
    /// The part that would then be first.
    pub part: String,
    /// Its chance now.
    pub before: f64,
    /// Its chance then.
    pub after: f64,
    /// The chance then of the part that is first now.
    pub leader_after: f64,
}

/// Every answer to an open question that would put another part first, likeliest answer first.
pub fn turns(
    book: &RuleBook,
    graph: &CauseGraph,
    engine: &Engine,
    case: &Case,
    evidence: &Evidence,
) -> Result<Vec<Turn>, InferenceError> {
    let parts = graph.of_kind(NodeKind::Part);
    let now = engine.posterior(graph.network(), evidence, &parts)?.marginals;
    // Ties go to the name, as in the ranking itself.
    let first = |chances: &[f64]| {
        (0..parts.len()).min_by(|&a, &b| {
            chances[b].total_cmp(&chances[a]).then_with(|| graph.key(parts[a]).cmp(graph.key(parts[b])))
        })
    };
    let Some(leader) = first(&now) else { return Ok(Vec::new()) };
    let questions = open_questions(book, graph, case);
    let candidates: Vec<_> = questions.iter().map(Question::candidate).collect();
    let results = engine.candidates(graph.network(), evidence, &parts, &candidates)?;
    let mut turns = Vec::new();
    for (question, result) in questions.into_iter().zip(results) {
        for (answer, outcome) in question.all_answers().into_iter().zip(&result.outcomes) {
            let Some(then) = first(&outcome.marginals) else { continue };
            if then != leader && outcome.chance >= WORTH_NAMING {
                turns.push(Turn {
                    question: question.clone(),
                    answer,
                    chance: outcome.chance,
                    part: graph.key(parts[then]).to_owned(),
                    before: now[then],
                    after: outcome.marginals[then],
                    leader_after: outcome.marginals[leader],
                });
            }
        }
    }
    turns.sort_by(|a, b| b.chance.total_cmp(&a.chance).then_with(|| a.question.ask.cmp(&b.question.ask)));
    Ok(turns)
}
