//! The numbers of a rule book as parameters, and its confirmed cases as sheets.

use std::collections::BTreeMap;
use std::fmt;

use super::fit::Settings;
use super::sheet::{Sheet, SheetNode, Slot};
use crate::care::SavedCase;
use crate::case::Said;
use crate::case::evidence::gather_answers;
use crate::graph::{self, CauseGraph, NodeKind};
use crate::rulebook::RuleBook;

/// A number of the rule book that can be learnt.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Parameter {
    /// The base of a failure or history fact.
    Base(String),
    /// The background of a state, symptom or `check/outcome`.
    Background(String),
    /// The weight of a link from a cause to an effect.
    Weight(String, String),
}

impl fmt::Display for Parameter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Base(id) => write!(f, "base of {id}"),
            Self::Background(key) => write!(f, "background of {key}"),
            Self::Weight(from, to) => write!(f, "{from} -> {to}"),
        }
    }
}

impl Parameter {
    /// Reads back what [`Display`](fmt::Display) wrote.
    pub fn parse(text: &str) -> Option<Self> {
        if let Some((from, to)) = text.split_once(" -> ") {
            return Some(Self::Weight(from.to_owned(), to.to_owned()));
        }
        if let Some(id) = text.strip_prefix("base of ") {
            return Some(Self::Base(id.to_owned()));
        }
        text.strip_prefix("background of ").map(|key| Self::Background(key.to_owned()))
    }
}

/// How many cases the author's words count as.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strength {
    /// For a weight: cases in which the cause was there.
    pub weights: f64,
    /// For a base or background, which speak of rare things: vehicles.
    pub bases: f64,
}

impl Default for Strength {
    fn default() -> Self {
        Self { weights: 20.0, bases: 200.0 }
    }
}

/// Confirmed cases made ready for learning.
#[derive(Debug, Clone, Default)]
pub struct Confirmed {
    /// The numbers, in the order of their settings.
    pub parameters: Vec<Parameter>,
    /// The author's word for each, and what it counts as.
    pub settings: Vec<Settings>,
    /// Each number as a word of the scale, if it is written as one.
    pub words: Vec<Option<String>>,
    /// One sheet a confirmed case.
    pub sheets: Vec<Sheet>,
    /// Cases that are not confirmed.
    pub unconfirmed: usize,
    /// What could not be used, one sentence each. It stays in the cases.
    pub left_out: Vec<String>,
}

impl Confirmed {
    /// The place of a number.
    pub fn find(&self, parameter: &Parameter) -> Option<usize> {
        self.parameters.iter().position(|known| known == parameter)
    }
}

/// The numbers of `book`, in its order.
fn parameters(book: &RuleBook, strength: Strength) -> Confirmed {
    let mut all = Confirmed::default();
    let mut add = |parameter: Parameter, value: f64, word: Option<String>, per: f64| {
        let counts_as =
            if matches!(parameter, Parameter::Weight(..)) { strength.weights } else { strength.bases };
        all.parameters.push(parameter);
        all.settings.push(Settings { per, ..Settings::new(value, counts_as) });
        all.words.push(word);
    };
    for (id, history) in &book.history {
        add(Parameter::Base(id.clone()), history.base / 1000.0, None, 1000.0);
    }
    for (id, failure) in &book.failures {
        add(Parameter::Base(id.clone()), failure.base / 1000.0, None, 1000.0);
    }
    for (id, state) in &book.states {
        let weight = book.weight(&state.background);
        add(Parameter::Background(id.clone()), weight.value, weight.word, 1.0);
    }
    for (id, symptom) in &book.symptoms {
        let weight = book.weight(&symptom.background);
        add(Parameter::Background(id.clone()), weight.value, weight.word, 1.0);
    }
    for (id, check) in &book.checks {
        for (outcome, entry) in &check.outcomes {
            let weight = book.weight(&entry.background);
            add(Parameter::Background(format!("{id}/{outcome}")), weight.value, weight.word, 1.0);
        }
    }
    for link in &book.links {
        let parameter = Parameter::Weight(link.from.clone(), link.to.to_string());
        add(parameter, link.weight.value, link.weight.word.clone(), 1.0);
    }
    all
}

/// Reads the confirmed cases among `saved`.
pub fn gather(book: &RuleBook, saved: &[SavedCase], strength: Strength) -> Confirmed {
    let mut all = parameters(book, strength);
    let places: BTreeMap<Parameter, usize> =
        all.parameters.iter().enumerate().map(|(at, parameter)| (parameter.clone(), at)).collect();
    for SavedCase { name, case } in saved {
        let findings = case.verdict.as_ref().map_or(&[][..], |verdict| &verdict.findings);
        if findings.is_empty() {
            all.unconfirmed += 1;
            continue;
        }
        let graph = match graph::build(book, &case.vehicle, case.day()) {
            Ok(graph) => graph,
            Err(error) => {
                all.left_out.push(format!("`{name}`: {error}"));
                continue;
            }
        };
        // Repairs come after the answers; that something was mended since does not say it was not there.
        let gathered = gather_answers(book, &graph, &case.vehicle, &case.answers);
        for ignored in &gathered.ignored {
            all.left_out.push(format!("`{name}`, the answer to `{}`: {}", ignored.ask, ignored.why));
        }
        let mut verdict = Vec::new();
        for finding in findings {
            match graph.node(&finding.failure) {
                Some(node) => verdict.push((node, finding.there)),
                None => all.left_out.push(format!(
                    "`{name}`, the verdict on `{}`: the book does not have that failure for this vehicle",
                    finding.failure
                )),
            }
        }
        if verdict.is_empty() {
            all.left_out.push(format!("`{name}`: nothing of its verdict is in the book"));
            continue;
        }
        let complaint = gathered.used.iter().find_map(|(ask, said)| {
            let node = graph.node(ask).filter(|_| matches!(said, Said::Yes))?;
            (graph.get(node).kind == NodeKind::Symptom).then_some(node)
        });
        all.sheets.push(Sheet {
            name: name.clone(),
            nodes: nodes(&graph, &all, &places),
            answers: gathered.evidence,
            verdict,
            uncounted: complaint.into_iter().collect(),
            times: 1.0,
        });
    }
    all
}

/// A vehicle's graph with its numbers left open.
fn nodes(graph: &CauseGraph, all: &Confirmed, places: &BTreeMap<Parameter, usize>) -> Vec<SheetNode> {
    let slot = |parameter: Parameter, fixed: f64| {
        places.get(&parameter).map_or_else(|| Slot::fixed(fixed), |&at| Slot::of(at))
    };
    (0..graph.len())
        .map(|id| {
            let node = graph.get(id);
            let own = match node.kind {
                NodeKind::History | NodeKind::Failure => Slot {
                    wear: node.wear.unwrap_or(1.0),
                    share: node.share,
                    ..slot(Parameter::Base(node.key.clone()), node.background)
                },
                NodeKind::Part => Slot::fixed(node.background),
                NodeKind::State | NodeKind::Symptom | NodeKind::Outcome => {
                    slot(Parameter::Background(node.key.clone()), node.background)
                }
            };
            let link = |(cause, weight): (usize, f64)| {
                let parameter = Parameter::Weight(graph.key(cause).to_owned(), node.key.clone());
                // The graph has thinned a link of which it is not known whether it holds on this vehicle.
                let written = places.get(&parameter).map(|&at| all.settings[at].prior);
                let share = written.filter(|&written| written > 0.0).map_or(1.0, |written| weight / written);
                (cause, Slot { share, ..slot(parameter, weight) })
            };
            SheetNode { own, causes: graph.causes(id).into_iter().map(link).collect() }
        })
        .collect()
}
