//! The questioner's advice: what to ask or check next, or why to stop.

use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use super::questions::open_questions;
use super::weigh::{Weighed, weigh};
use crate::case::standing::from_posterior;
use crate::case::{Case, Gathered, Standing, gather};
use crate::graph::CauseGraph;
use crate::inference::{Engine, InferenceError};
use crate::rulebook::RuleBook;

/// How the next question is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Strategy {
    /// Most bits for each minute.
    Bits,
    /// The order of the book: symptoms, history, checks.
    List,
    /// Any open question, by this seed.
    Random(u64),
}

/// What the questioner advises.
#[derive(Debug, Clone)]
pub struct Advice {
    /// Where things stand.
    pub standing: Standing,
    /// The answers behind it, and those that could not be used.
    pub gathered: Gathered,
    /// Open questions, best first.
    pub choices: Vec<Weighed>,
}

/// Advises on a case.
pub fn advise(
    book: &RuleBook,
    graph: &CauseGraph,
    engine: &Engine,
    case: &Case,
    strategy: Strategy,
) -> Result<Advice, InferenceError> {
    let gathered = gather(book, graph, case);
    let posterior = engine.posterior(graph.network(), &gathered.evidence, &graph.hidden())?;
    let standing = from_posterior(book, graph, &posterior);
    let questions = open_questions(book, graph, case);
    let order: Vec<String> = questions.iter().map(|question| question.ask.clone()).collect();
    let mut choices = weigh(graph, engine, &gathered.evidence, questions)?;
    let place = |weighed: &Weighed| order.iter().position(|ask| *ask == weighed.question.ask);
    match strategy {
        Strategy::Bits => {}
        Strategy::List => choices.sort_by_key(place),
        Strategy::Random(seed) => {
            choices.sort_by_key(place);
            choices.shuffle(&mut ChaCha8Rng::seed_from_u64(seed));
        }
    }
    Ok(Advice { standing, gathered, choices })
}
