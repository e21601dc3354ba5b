//! The state machine.

use std::cell::OnceCell;
use std::collections::{BTreeSet, VecDeque};

use thiserror::Error;

use super::danger::dangers;
use super::facts;
use super::outlook::{self, Outlook, Stop};
use super::steps::{AgeStep, Card, Clash, ComplaintStep, Danger, End, FactStep, Glance, Step};
use crate::case::{Answer, Case, SaidError, Shop, Standing};
use crate::graph::{self, CauseGraph, GraphError};
use crate::inference::{Engine, InferenceError};
use crate::questioner::hearing::{Heard, Hearing};
use crate::questioner::{Advice, Choice, Strategy};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Vehicle;

/// Why a reply was not taken, or no step could be made.
#[derive(Debug, Error)]
pub enum InterviewError {
    /// The vehicle's facts do not fit the book.
    #[error(transparent)]
    Vehicle(#[from] GraphError),
    /// The chances could not be worked out.
    #[error(transparent)]
    Inference(#[from] InferenceError),
    /// The answer or reading means nothing to this question.
    #[error(transparent)]
    Said(#[from] SaidError),
    /// What was typed cannot be read.
    #[error("{0}")]
    Typed(String),
    /// The reply does not belong to this step.
    #[error("this step takes no such reply")]
    Unfit,
}

/// Where in the interview the person is.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Place {
    Vehicle,
    /// A fact by its number; the ages follow the last.
    Fact(usize),
    Complaint {
        unheard: Option<String>,
    },
    Heard(Vec<Heard>),
    /// At the next question the questioner advises.
    Next,
    /// At a question picked by hand, or asked again.
    Asking(String),
    Ended,
}

/// Something that comes before the next question.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Interrupt {
    Alert(Vec<Danger>),
    Clash(Clash),
    NoTool(Vec<String>),
}

/// One interview.
pub struct Interview<'b> {
    pub(super) book: &'b RuleBook,
    pub(super) engine: Engine,
    pub(super) shop: Shop,
    pub(super) strategy: Strategy,
    /// Learnt when words are first typed: it takes longer than a question.
    pub(super) hearing: OnceCell<Hearing>,
    pub(super) facts: Vec<String>,
    pub(super) case: Case,
    pub(super) graph: CauseGraph,
    pub(super) place: Place,
    pub(super) interrupts: VecDeque<Interrupt>,
    pub(super) advice: Option<Advice>,
    pub(super) before: Option<Standing>,
    /// The question asked by hand.
    pub(super) by_hand: Option<Choice>,
    pub(super) told: BTreeSet<String>,
    pub(super) beyond: Option<Stop>,
}

impl<'b> Interview<'b> {
    /// Opens an interview on a case: a new one starts with the vehicle, another goes on where it stopped.
    pub fn open(
        book: &'b RuleBook,
        shop: Shop,
        case: Case,
        strategy: Strategy,
    ) -> Result<Self, InterviewError> {
        let graph = graph::asked(book, &case.vehicle, case.day(), shop.slips)?;
        let place = if !case.answers.is_empty() {
            Place::Next
        } else if case.complaint.is_some() || case.vehicle != Vehicle::default() {
            Place::Complaint { unheard: None }
        } else {
            Place::Vehicle
        };
        let mut interview = Self {
            book,
            engine: Engine::default(),
            shop,
            strategy,
            hearing: OnceCell::new(),
            facts: facts::worth_asking(book),
            case,
            graph,
            place,
            interrupts: VecDeque::new(),
            advice: None,
            before: None,
            by_hand: None,
            told: BTreeSet::new(),
            beyond: None,
        };
        if interview.place == Place::Next {
            interview.refresh(None)?;
        }
        Ok(interview)
    }

    /// The case as it stands: to be kept after every reply.
    pub fn case(&self) -> &Case {
        &self.case
    }

    /// The vehicle's graph.
    pub fn graph(&self) -> &CauseGraph {
        &self.graph
    }

    /// The advice behind the present question, while there is one.
    pub fn advice(&self) -> Option<&Advice> {
        self.advice.as_ref()
    }

    /// Goes on with another state of the case, as when somebody else wrote to it too.
    pub fn replace_case(&mut self, case: Case) -> Result<(), InterviewError> {
        self.graph = graph::asked(self.book, &case.vehicle, case.day(), self.shop.slips)?;
        self.case = case;
        self.by_hand = None;
        self.interrupts.clear();
        if !matches!(self.place, Place::Vehicle | Place::Fact(_) | Place::Complaint { .. } | Place::Heard(_))
        {
            self.place = Place::Next;
            self.refresh(None)?;
        }
        Ok(())
    }

    /// What comes next.
    pub fn step(&self) -> Step {
        match self.interrupts.front() {
            Some(Interrupt::Alert(list)) => return Step::Alert(list.clone()),
            Some(Interrupt::Clash(clash)) => return Step::Clash(clash.clone()),
            Some(Interrupt::NoTool(tools)) => return Step::NoTool(tools.clone()),
            None => {}
        }
        match &self.place {
            Place::Vehicle => Step::Vehicle,
            Place::Fact(number) => self.fact_step(*number),
            Place::Complaint { unheard } => Step::Complaint(self.complaint_step(unheard.clone())),
            Place::Heard(heard) => Step::Heard(heard.clone()),
            Place::Ended => self.end(Stop::Asked),
            Place::Asking(_) => match &self.by_hand {
                Some(choice) => self.card(choice),
                None => self.end(Stop::AllAsked),
            },
            Place::Next => self.next(),
        }
    }

    fn next(&self) -> Step {
        let Some(advice) = &self.advice else { return self.end(Stop::AllAsked) };
        let said = |stop: &Stop| self.beyond.as_ref().is_some_and(|said| said.is_like(stop));
        match (outlook::stop(advice), advice.choices.first()) {
            (Some(stop), _) if !said(&stop) => self.end(stop),
            (_, Some(choice)) => self.card(choice),
            (_, None) => self.end(Stop::AllAsked),
        }
    }

    fn fact_step(&self, number: usize) -> Step {
        match number.checked_sub(self.facts.len()) {
            None => {
                let fact = self.facts[number].clone();
                let now = self.case.vehicle.facts.get(&fact).cloned();
                Step::Fact(FactStep { fact, now, number: number + 1, of: self.facts.len() + 2 })
            }
            Some(0) => Step::Age(AgeStep::Distance),
            Some(_) => Step::Age(AgeStep::Built),
        }
    }

    fn complaint_step(&self, unheard: Option<String>) -> ComplaintStep {
        let noted = |answer: &Answer| {
            let symptom = self.book.symptoms.contains_key(&answer.ask);
            let there = match answer.answer.as_deref() {
                Some("yes") if symptom => true,
                Some("no") if symptom => false,
                _ => return None,
            };
            Some((answer.ask.clone(), there))
        };
        ComplaintStep {
            said: self.case.complaint.clone(),
            noted: self.case.answers.iter().filter_map(noted).collect(),
            open: self
                .book
                .symptoms
                .keys()
                .filter(|id| self.graph.node(id).is_some() && self.case.answer_to(id).is_none())
                .cloned()
                .collect(),
            unheard,
        }
    }

    fn glance(&self) -> Glance {
        let standing = self.advice.as_ref().map(|advice| advice.standing.clone());
        Glance {
            dangers: dangers(self.book, &self.case, standing.as_ref()),
            before: self.before.clone(),
            answers: self.case.answers.len(),
            outlook: self.advice.as_ref().map_or(Outlook::default(), outlook::outlook),
            standing,
        }
    }

    fn card(&self, choice: &Choice) -> Step {
        let question = &choice.weighed.question;
        let ask = &question.ask;
        let others = self.advice.iter().flat_map(|advice| &advice.choices);
        let against = |advice: &Advice| advice.hazards.against(question.engine).map(str::to_owned);
        Step::Question(Box::new(Card {
            weighed: choice.weighed.clone(),
            moves: choice.moves.clone(),
            reasons: choice.reasons.clone(),
            unsafe_now: self.advice.as_ref().and_then(against),
            said: self.case.answer_to(ask).cloned(),
            glance: self.glance(),
            others: others.filter(|other| other.weighed.question.ask != *ask).cloned().collect(),
            answers: self.case.answers.clone(),
        }))
    }

    fn end(&self, stop: Stop) -> Step {
        Step::End(Box::new(End {
            stop,
            glance: self.glance(),
            answers: self.case.answers.clone(),
            more: self.advice.as_ref().is_some_and(|advice| !advice.choices.is_empty()),
        }))
    }
}
