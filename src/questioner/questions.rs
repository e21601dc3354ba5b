//! Which questions are open: every symptom, history fact and check this vehicle can have that has no answer.

use crate::case::Case;
use crate::graph::CauseGraph;
use crate::inference::{Candidate, NodeId};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::EngineState;

/// Minutes it takes to put one question and hear the answer.
pub const TALK_MINUTES: f64 = 0.5;

/// What kind of thing is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum QuestionKind {
    /// A symptom: yes or no.
    Symptom,
    /// A history fact: yes or no.
    History,
    /// A check: normal, or one of its outcomes.
    Check,
}

/// One question that may be asked.
#[derive(Debug, Clone)]
pub struct Question {
    /// Id of the symptom, history fact or check.
    pub ask: String,
    /// What kind of thing it is.
    pub kind: QuestionKind,
    /// Its answers that are not "no" or "normal": answer as written in a case, and node.
    pub answers: Vec<(String, NodeId)>,
    /// Minutes it takes.
    pub minutes: f64,
    /// What the engine must be like.
    pub engine: EngineState,
}

impl Question {
    /// The question as inference sees it.
    pub fn candidate(&self) -> Candidate {
        Candidate::exclusive(self.answers.iter().map(|&(_, node)| node).collect::<Vec<_>>())
    }

    /// The answer that denies all others, as written in a case.
    pub fn plain_answer(&self) -> &'static str {
        if self.kind == QuestionKind::Check { "normal" } else { "no" }
    }

    /// All answers that say something, the plain one first, in the order of [`Candidate`] outcomes.
    pub fn all_answers(&self) -> Vec<String> {
        std::iter::once(self.plain_answer().to_owned())
            .chain(self.answers.iter().map(|(answer, _)| answer.clone()))
            .collect()
    }
}

/// Every question this vehicle leaves open: symptoms, then history, then checks, each in book order.
/// Questions already answered, also by "don't know" or "can't do that here", are not open, nor is history
/// that the vehicle file states.
pub fn open_questions(book: &RuleBook, graph: &CauseGraph, case: &Case) -> Vec<Question> {
    let mut questions = all_questions(book, graph, case);
    questions.retain(|question| case.answer_to(&question.ask).is_none());
    questions
}

/// Every question that makes sense on this vehicle, answered or not, in the same order.
pub fn all_questions(book: &RuleBook, graph: &CauseGraph, case: &Case) -> Vec<Question> {
    let yes_no = |ask: &String, kind: QuestionKind| {
        let node = graph.node(ask)?;
        Some(Question {
            ask: ask.clone(),
            kind,
            answers: vec![("yes".to_owned(), node)],
            minutes: TALK_MINUTES,
            engine: EngineState::Any,
        })
    };
    let symptoms = book.symptoms.keys().filter_map(|ask| yes_no(ask, QuestionKind::Symptom));
    let history = book
        .history
        .keys()
        .filter(|fact| !case.vehicle.history.contains_key(fact.as_str()))
        .filter_map(|ask| yes_no(ask, QuestionKind::History));
    let checks = graph.checks().iter().filter_map(|(ask, nodes)| {
        let check = book.checks.get(ask)?;
        let answers: Vec<(String, NodeId)> = nodes
            .iter()
            .map(|&node| {
                let key = graph.key(node);
                (key.rsplit('/').next().unwrap_or(key).to_owned(), node)
            })
            .collect();
        if answers.is_empty() {
            return None;
        }
        let ask = ask.clone();
        Some(Question {
            ask,
            kind: QuestionKind::Check,
            answers,
            minutes: check.minutes,
            engine: check.engine,
        })
    });
    symptoms.chain(history).chain(checks).collect()
}
