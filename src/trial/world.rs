//! One simulated vehicle: what is wrong with it, what it shows, and whether a repair cures it.

use std::collections::BTreeMap;

use rand::Rng;
use rand::seq::IndexedRandom;

use super::{Settings, TrialError};
use crate::case::{Answer, Case};
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Network, NodeId};
use crate::questioner::cost::is_harmless;
use crate::questioner::{Question, QuestionKind, all_questions};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Vehicle;

/// Most vehicles drawn in search of one with the complaint.
const MOST_DRAWS: usize = 100_000;

/// Every chance event of the network settled once and for all: which causes, where present, bring on which
/// effects, and which nodes are there by themselves. With these fixed it can be said what would be left of
/// a complaint had a failure not been there.
struct Draws {
    /// Whether each node is there by itself.
    itself: Vec<bool>,
    /// For each node, its causes that bring it on when present.
    live: Vec<Vec<NodeId>>,
}

impl Draws {
    fn new(network: &Network, random: &mut impl Rng) -> Self {
        let mut itself = Vec::with_capacity(network.len());
        let mut live = Vec::with_capacity(network.len());
        for node in network.nodes() {
            itself.push(random.random::<f64>() < node.background);
            let causes = node.parents.iter().filter(|&&(_, weight)| random.random::<f64>() < weight);
            live.push(causes.map(|&(parent, _)| parent).collect());
        }
        Self { itself, live }
    }

    /// What is known beforehand, as the history that the vehicle's file tells, is so.
    fn fix(&mut self, node: NodeId, there: bool) {
        self.itself[node] = there;
        self.live[node].clear();
    }

    /// What is there.
    fn states(&self) -> Vec<bool> {
        let mut states: Vec<bool> = Vec::with_capacity(self.itself.len());
        for (itself, live) in self.itself.iter().zip(&self.live) {
            states.push(*itself || live.iter().any(|&cause| states[cause]));
        }
        states
    }
}

/// One simulated vehicle with its complaint.
pub struct World {
    /// The vehicle file.
    pub vehicle: Vehicle,
    /// The symptom it came in with.
    pub complaint: String,
    /// What is there, by node.
    states: Vec<bool>,
    draws: Draws,
    complaint_node: NodeId,
    /// Failures that are there and need a repair.
    failures: Vec<NodeId>,
    /// The answer to every question, as it will be given.
    answers: BTreeMap<String, String>,
    /// Questions whose answer is wrong.
    wrong: usize,
}

impl World {
    /// Draws vehicles until one has the complaint.
    pub fn draw(
        book: &RuleBook,
        graph: &CauseGraph,
        vehicle: &Vehicle,
        settings: &Settings,
        random: &mut impl Rng,
    ) -> Result<Self, TrialError> {
        let wanted = match &settings.complaint {
            None => None,
            Some(id) => {
                let node = graph.node(id).filter(|&node| graph.get(node).kind == NodeKind::Symptom);
                Some(node.ok_or_else(|| TrialError::Complaint(id.clone()))?)
            }
        };
        let symptoms = graph.of_kind(NodeKind::Symptom);
        for _ in 0..MOST_DRAWS {
            let mut draws = Draws::new(graph.true_network(), random);
            for (fact, &there) in &vehicle.history {
                if let Some(node) = graph.node(fact) {
                    draws.fix(node, there);
                }
            }
            let states = draws.states();
            let shown: Vec<NodeId> = symptoms.iter().copied().filter(|&node| states[node]).collect();
            let complaint = match wanted {
                Some(node) => states[node].then_some(node),
                None => shown.choose(random).copied(),
            };
            let Some(complaint_node) = complaint else { continue };
            let needs_repair = |node: &NodeId| {
                states[*node] && book.failures.get(graph.key(*node)).is_some_and(|f| !is_harmless(f))
            };
            let failures = graph.of_kind(NodeKind::Failure).into_iter().filter(needs_repair).collect();
            let case = Case { vehicle: vehicle.clone(), ..Case::default() };
            let mut world = Self {
                vehicle: vehicle.clone(),
                complaint: graph.key(complaint_node).to_owned(),
                states,
                draws,
                complaint_node,
                failures,
                answers: BTreeMap::new(),
                wrong: 0,
            };
            for question in all_questions(book, graph, &case) {
                let answer = world.settle(&question, settings.wrong, random);
                world.answers.insert(question.ask, answer);
            }
            return Ok(world);
        }
        let complaint = settings.complaint.clone().unwrap_or_else(|| "any symptom".to_owned());
        Err(TrialError::TooRare { complaint, draws: MOST_DRAWS })
    }

    /// What will be answered: the truth, or with chance `wrong` any other answer. Where several outcomes of a
    /// check are there at once, each is as likely to be the one that is seen.
    fn settle(&mut self, question: &Question, wrong: f64, random: &mut impl Rng) -> String {
        let shown: Vec<&String> = question
            .answers
            .iter()
            .filter(|(_, node)| self.states[*node])
            .map(|(answer, _)| answer)
            .collect();
        let plain = question.plain_answer();
        let truth = shown.choose(random).map_or(plain, |answer| answer.as_str()).to_owned();
        let errs = random.random::<f64>() < wrong;
        let others: Vec<String> =
            question.all_answers().into_iter().filter(|answer| *answer != truth).collect();
        // Drawn whether or not it is needed, so that the rate moves nothing but who errs.
        let other = others.choose(random).cloned();
        match other {
            Some(other) if errs && question.ask != self.complaint => {
                self.wrong += 1;
                other
            }
            _ => truth,
        }
    }

    /// The case as the vehicle comes in.
    pub fn case(&self) -> Case {
        let mut case = Case { vehicle: self.vehicle.clone(), ..Case::default() };
        case.put(Answer::said(&self.complaint, "yes"));
        case.brought.push(self.complaint.clone());
        case
    }

    /// The answer to a question.
    pub fn answer(&self, question: &Question) -> &str {
        let plain = if question.kind == QuestionKind::Check { "normal" } else { "no" };
        self.answers.get(&question.ask).map_or(plain, String::as_str)
    }

    /// Failures that are there and bring on the complaint, less those that were mended.
    pub fn culprits(&self, mended: &[NodeId]) -> Vec<NodeId> {
        let left = self.failures.iter().copied().filter(|node| !mended.contains(node));
        left.filter(|&failure| self.leads_to_complaint(failure)).collect()
    }

    /// Whether a failure is there.
    pub fn has(&self, failure: NodeId) -> bool {
        self.states[failure]
    }

    /// Failures that are there and need a repair, whatever they bring on.
    pub fn failures(&self) -> &[NodeId] {
        &self.failures
    }

    /// Whether a failure that is there brings on the complaint, alone or through states. A failure it
    /// brought on in turn is a culprit of its own: mending the first does not undo the second.
    fn leads_to_complaint(&self, failure: NodeId) -> bool {
        let mut reached = vec![false; self.states.len()];
        reached[failure] = true;
        for node in failure + 1..=self.complaint_node {
            let other_failure = self.failures.binary_search(&node).is_ok();
            reached[node] = !other_failure && self.draws.live[node].iter().any(|&cause| reached[cause]);
        }
        reached[self.complaint_node]
    }
}
