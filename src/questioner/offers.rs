//! Which questions can be put now, what each would need first, and which checks are withheld and why. No
//! chances are worked out here.

use super::cost::{Outlay, Workplace};
use super::engine_state::{self, Hazards, Move, Present};
use super::questions::{Question, all_questions};
use crate::case::{Case, Shop, Standing};
use crate::graph::CauseGraph;
use crate::rulebook::RuleBook;

/// A question that can be put now.
#[derive(Debug, Clone)]
pub struct Offer {
    /// The question.
    pub question: Question,
    /// What has to be done first, in order.
    pub moves: Vec<Move>,
    /// What it costs, the moves included.
    pub outlay: Outlay,
}

/// A check that makes sense but cannot be offered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Withheld {
    /// The check.
    pub ask: String,
    /// Why not, in words.
    pub why: String,
    /// True if it would be unsafe; false if it merely cannot be done here.
    pub unsafe_now: bool,
}

/// Everything that may be asked, sorted into what can be put and what cannot.
#[derive(Debug, Clone)]
pub struct Offers {
    /// What the engine is like now.
    pub present: Present,
    /// What must not be done to this vehicle.
    pub hazards: Hazards,
    /// What can be asked, in book order.
    pub open: Vec<Offer>,
    /// What is not offered, and why.
    pub withheld: Vec<Withheld>,
    /// The questions withheld only because they cannot be done here.
    pub elsewhere: Vec<Question>,
    /// Minutes spent on the answers so far.
    pub spent: f64,
}

impl Offers {
    /// Sorts everything that makes sense on this vehicle. A question that has an answer is neither offered nor
    /// withheld, unless the answer was "can't do that here".
    pub fn of(book: &RuleBook, graph: &CauseGraph, shop: &Shop, case: &Case, standing: &Standing) -> Self {
        let hazards = engine_state::hazards(book, case, standing);
        let workplace = Workplace::after(book, shop, case);
        let all = all_questions(book, graph, case);
        let spent = spent(book, shop, case, &all);
        let (mut open, mut withheld, mut elsewhere) = (Vec::new(), Vec::new(), Vec::new());
        for question in all {
            let answer = case.answer_to(&question.ask);
            let cannot = answer.is_some_and(|answer| answer.answer.as_deref() == Some("cannot"));
            if answer.is_some() && !cannot {
                continue;
            }
            if let Some((why, unsafe_now)) = refused(book, &question, &hazards, &workplace, cannot) {
                withheld.push(Withheld { ask: question.ask.clone(), why, unsafe_now });
                if !unsafe_now {
                    elsewhere.push(question);
                }
                continue;
            }
            let moves = workplace.moves(&question);
            let outlay = workplace.outlay(&question, &moves);
            open.push(Offer { question, moves, outlay });
        }
        Self { present: workplace.present, hazards, open, withheld, elsewhere, spent }
    }
}

/// Why a question is not offered, and whether that is for safety.
fn refused(
    book: &RuleBook,
    question: &Question,
    hazards: &Hazards,
    workplace: &Workplace,
    cannot: bool,
) -> Option<(String, bool)> {
    if let Some(why) = hazards.against(question.engine) {
        return Some((why.to_owned(), true));
    }
    if cannot {
        return Some(("you said that it cannot be done here".to_owned(), false));
    }
    let tool = workplace.lacking(question)?;
    let name = book.tools.get(tool).map_or(tool, |tool| &tool.name);
    Some((format!("it needs: {name}; there is none here"), false))
}

/// Minutes spent on the answers of a case, in their order.
fn spent(book: &RuleBook, shop: &Shop, case: &Case, all: &[Question]) -> f64 {
    let mut so_far = Case { vehicle: case.vehicle.clone(), ..Case::default() };
    let mut workplace = Workplace::after(book, shop, &so_far);
    let mut minutes = 0.0;
    for answer in &case.answers {
        let question = all.iter().find(|question| question.ask == answer.ask);
        if let Some(question) = question.filter(|_| answer.answer.as_deref() != Some("cannot")) {
            minutes += workplace.outlay(question, &workplace.moves(question)).minutes();
        }
        so_far.answers.push(answer.clone());
        if book.checks.contains_key(&answer.ask) {
            workplace = Workplace::after(book, shop, &so_far);
        }
    }
    minutes
}
