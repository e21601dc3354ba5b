//! Evidence worked out once, ready for many questions.

use super::candidates::{Batch, Mass, Term, terms};
use super::cores::{spread_out, spread_out_with};
use super::engine::{Candidate, CandidateResult, Engine, InferenceError, Outcome, Posterior, known};
use super::evidence::Evidence;
use super::lane::{Lane, Wide};
use super::narrow::Narrow;
use super::network::{Network, NodeId};
use super::reduce::Place;
use super::sharing::{Factors, Sharing};
use super::solve::Solved;

/// A complement that leaves less than this share of either number is worked out afresh: it has lost six digits.
const KEPT: f64 = 1e-6;

/// Evidence under which the targets' chances are known, and candidate questions can be weighed on the same
/// elimination order.
#[derive(Debug)]
pub struct Prepared<'a> {
    engine: Engine,
    network: &'a Network,
    evidence: Evidence,
    targets: Vec<NodeId>,
    pub(super) posterior: Posterior,
    solved: Option<Solved>,
    /// The same evidence prepared for some of the targets, where that is clearly cheaper.
    pub(super) narrow: Option<Box<Narrow<'a>>>,
}

/// How one outcome is put together.
enum Plan {
    /// A sum of changes.
    Sum(Vec<Part>),
    /// The first sum minus the second.
    Difference(Vec<Part>, Vec<Part>),
}

/// One summand of an outcome.
#[derive(Clone)]
struct Part {
    share: f64,
    /// Which change, or none when nothing is changed.
    change: Option<usize>,
    /// Targets without a variable that are absent here.
    absent: Vec<NodeId>,
}

impl<'a> Prepared<'a> {
    pub(super) fn new(
        engine: Engine,
        network: &'a Network,
        evidence: &Evidence,
        targets: &[NodeId],
        posterior: Posterior,
        solved: Option<Solved>,
    ) -> Self {
        let (evidence, targets) = (evidence.clone(), targets.to_vec());
        Self { engine, network, evidence, targets, posterior, solved, narrow: None }
    }

    /// The chances of the targets as they are now.
    pub fn posterior(&self) -> &Posterior {
        &self.posterior
    }

    /// The chances of the targets, when nothing more is to be asked.
    pub fn into_posterior(self) -> Posterior {
        self.posterior
    }

    /// What every answer to every candidate question would tell about the targets.
    ///
    /// Errors name a candidate that is empty or names a node twice, a node beyond the network, or candidates none
    /// of whose outcomes can happen.
    pub fn candidates(&self, candidates: &[Candidate]) -> Result<Vec<CandidateResult>, InferenceError> {
        let all: Vec<usize> = (0..self.targets.len()).collect();
        self.candidates_on(candidates, &all)
    }

    /// As [`Prepared::candidates`], about some of the targets: `wanted` names them by their places among the targets.
    /// Marginals come in its order. Targets with several causes, such as parts, cost the most; it pays to leave
    /// out those that are not needed.
    ///
    /// # Panics
    ///
    /// If a place is beyond the targets.
    pub fn candidates_on(
        &self,
        candidates: &[Candidate],
        wanted: &[usize],
    ) -> Result<Vec<CandidateResult>, InferenceError> {
        for candidate in candidates {
            known(self.network, &candidate.nodes)?;
            let mut sorted = candidate.nodes.clone();
            sorted.sort_unstable();
            sorted.dedup();
            if sorted.is_empty() || sorted.len() != candidate.nodes.len() {
                return Err(InferenceError::Candidate { nodes: candidate.nodes.clone() });
            }
        }
        match &self.narrow {
            Some(narrow) => narrow.weigh(self, candidates, wanted),
            None => self.weigh(candidates, wanted),
        }
    }

    /// Weighs candidates that have been looked over, all on the elimination of the whole.
    pub(super) fn weigh(
        &self,
        candidates: &[Candidate],
        wanted: &[usize],
    ) -> Result<Vec<CandidateResult>, InferenceError> {
        let found = self.weigh_by_changes(candidates, wanted, f64::INFINITY)?.into_iter();
        found
            .zip(candidates)
            .map(|(found, candidate)| found.map_or_else(|| self.afresh(candidate, wanted), Ok))
            .collect()
    }

    /// Weighs those candidates that can be put together from at most so many changes each.
    pub(super) fn weigh_by_changes(
        &self,
        candidates: &[Candidate],
        wanted: &[usize],
        most: f64,
    ) -> Result<Vec<Option<CandidateResult>>, InferenceError> {
        let Some(solved) = &self.solved else { return Ok(vec![None; candidates.len()]) };
        let mut changes = Vec::new();
        let plans: Vec<Option<Vec<Plan>>> =
            candidates.iter().map(|candidate| self.plan(solved, candidate, most, &mut changes)).collect();
        let now = Mass { chance: 1.0, present: self.now(wanted) };
        let sharing = Sharing::new(&changes);
        let masses = sharing.masses(&run(solved, wanted, &sharing.sweeps), &now);
        let sum = |parts: &[Part]| {
            let mut total = Mass { chance: 0.0, present: vec![0.0; wanted.len()] };
            for &Part { share, change, ref absent } in parts {
                let mass = change.map_or(&now, |change| &masses[change]);
                total.chance += share * mass.chance;
                for (i, (total, present)) in total.present.iter_mut().zip(&mass.present).enumerate() {
                    if !absent.contains(&self.targets[wanted[i]]) {
                        *total += share * present;
                    }
                }
            }
            total
        };
        let planned: Vec<(&Candidate, Option<Vec<Plan>>)> = candidates.iter().zip(plans).collect();
        let assemble = |(candidate, plans): &(&Candidate, Option<Vec<Plan>>)| {
            plans.as_ref().map(|plans| self.assemble(candidate, wanted, plans, sum)).transpose()
        };
        spread_out(&planned, assemble).into_iter().collect()
    }

    /// The changes each outcome of a candidate needs, none when it cannot be put together from at most so many.
    fn plan(
        &self,
        solved: &Solved,
        candidate: &Candidate,
        most: f64,
        changes: &mut Vec<Term>,
    ) -> Option<Vec<Plan>> {
        let nodes = &candidate.nodes;
        let untouched = |&node: &NodeId| {
            self.evidence.pair(node) == (1.0, 1.0)
                && self.evidence.tables().iter().all(|table| !table.nodes.contains(&node))
        };
        if !nodes.iter().all(untouched) {
            return None;
        }
        let first = changes.len();
        let mut add = |absent: &[NodeId], present: Option<usize>| -> Option<Vec<Part>> {
            let terms = terms(self.network, &solved.problem, absent, present)?;
            let part = |term: Term| {
                let change = (!term.factors.is_empty()).then_some(changes.len());
                let (share, absent) = (term.share, term.absent.clone());
                if change.is_some() {
                    changes.push(term);
                }
                Part { share, change, absent }
            };
            Some(terms.into_iter().map(part).collect())
        };
        let mut plans = Vec::with_capacity(nodes.len() + 1);
        let all = add(nodes, None);
        let mut fits = all.is_some();
        let all = all.unwrap_or_default();
        plans.push(Plan::Sum(all.clone()));
        for &node in nodes {
            let others: Vec<NodeId> = nodes.iter().copied().filter(|&other| other != node).collect();
            let plan = match solved.problem.places[node] {
                Place::Variable(var) => add(&others, Some(var)).map(Plan::Sum),
                _ => add(&others, None).map(|others| Plan::Difference(others, all.clone())),
            };
            fits &= plan.is_some();
            plans.extend(plan);
        }
        if !fits || (changes.len() - first) as f64 > most {
            changes.truncate(first);
            return None;
        }
        Some(plans)
    }

    fn assemble(
        &self,
        candidate: &Candidate,
        wanted: &[usize],
        plans: &[Plan],
        sum: impl Fn(&[Part]) -> Mass,
    ) -> Result<CandidateResult, InferenceError> {
        let mut masses = Vec::with_capacity(plans.len());
        for (outcome, plan) in plans.iter().enumerate() {
            let (mut mass, lossy) = match plan {
                Plan::Sum(parts) => (sum(parts), false),
                Plan::Difference(whole, part) => difference(&sum(whole), &sum(part)),
            };
            if lossy && let Some(exact) = self.exactly(candidate, wanted, outcome)? {
                mass = exact;
            }
            masses.push(mass);
        }
        let total: f64 = masses.iter().map(|mass| mass.chance).sum();
        if total <= 0.0 {
            return Err(InferenceError::Impossible);
        }
        let outcomes = masses.into_iter().map(|mass| {
            let marginals = if mass.chance > 0.0 {
                mass.present.iter().map(|present| (present / mass.chance).min(1.0)).collect()
            } else {
                self.now(wanted)
            };
            Outcome { chance: mass.chance / total, marginals }
        });
        Ok(CandidateResult { outcomes: outcomes.collect() })
    }

    /// One outcome as further evidence; none when that would not be exact.
    fn exactly(
        &self,
        candidate: &Candidate,
        wanted: &[usize],
        outcome: usize,
    ) -> Result<Option<Mass>, InferenceError> {
        let targets = self.nodes(wanted);
        match self.engine.posterior(self.network, &self.answered(candidate, outcome), &targets) {
            Ok(posterior) if posterior.method.is_exact() => {
                let chance = (posterior.log_evidence - self.posterior.log_evidence).exp();
                let present = posterior.marginals.iter().map(|p| p * chance).collect();
                Ok(Some(Mass { chance, present }))
            }
            Ok(_) => Ok(None),
            Err(InferenceError::Impossible) => {
                Ok(Some(Mass { chance: 0.0, present: vec![0.0; wanted.len()] }))
            }
            Err(other) => Err(other),
        }
    }

    /// The chances of the wanted targets as they are now.
    fn now(&self, wanted: &[usize]) -> Vec<f64> {
        wanted.iter().map(|&at| self.posterior.marginals[at]).collect()
    }

    fn nodes(&self, wanted: &[usize]) -> Vec<NodeId> {
        wanted.iter().map(|&at| self.targets[at]).collect()
    }

    fn answered(&self, candidate: &Candidate, outcome: usize) -> Evidence {
        let answers = candidate.nodes.iter().enumerate();
        answers.fold(self.evidence.clone(), |all, (i, &node)| all.observed(node, i + 1 == outcome))
    }

    /// A candidate worked out by itself, each outcome as further evidence.
    fn afresh(&self, candidate: &Candidate, wanted: &[usize]) -> Result<CandidateResult, InferenceError> {
        let targets = self.nodes(wanted);
        let mut answers = Vec::with_capacity(candidate.nodes.len() + 1);
        for outcome in 0..=candidate.nodes.len() {
            let evidence = self.answered(candidate, outcome);
            answers.push(match self.engine.posterior(self.network, &evidence, &targets) {
                Ok(posterior) => Some(posterior),
                Err(InferenceError::Impossible) => None,
                Err(other) => return Err(other),
            });
        }
        let logs = answers.iter().flatten().map(|posterior| posterior.log_evidence);
        let most = logs.fold(f64::NEG_INFINITY, f64::max);
        if most == f64::NEG_INFINITY {
            return Err(InferenceError::Impossible);
        }
        let weight = |answer: &Option<Posterior>| {
            answer.as_ref().map_or(0.0, |posterior| (posterior.log_evidence - most).exp())
        };
        let total: f64 = answers.iter().map(weight).sum();
        let outcomes = answers.into_iter().map(|answer| Outcome {
            chance: weight(&answer) / total,
            marginals: answer.map_or_else(|| self.now(wanted), |p| p.marginals),
        });
        Ok(CandidateResult { outcomes: outcomes.collect() })
    }
}

/// `whole - part`, and whether a number lost too many digits.
fn difference(whole: &Mass, part: &Mass) -> (Mass, bool) {
    let mut lossy = false;
    let mut minus = |whole: f64, part: f64| {
        let rest = (whole - part).max(0.0);
        lossy |= rest < KEPT * whole;
        rest
    };
    let chance = minus(whole.chance, part.chance);
    let present = whole.present.iter().zip(&part.present).map(|(&w, &p)| minus(w, p)).collect();
    (Mass { chance, present }, lossy)
}

/// Plans with more entries than this are run for one change at a time, so that memory stays within bounds: with all
/// lanes this many take 32 MB on each core.
const WIDE_ENTRIES: usize = 1_000_000;

/// The mass of every change, in their order.
fn run(solved: &Solved, wanted: &[usize], changes: &[Factors]) -> Vec<Mass> {
    if solved.plan.values + solved.plan.adjoints > WIDE_ENTRIES {
        run_on::<f64>(solved, wanted, changes)
    } else {
        run_on::<Wide>(solved, wanted, changes)
    }
}

/// Runs all changes, those that touch near buckets side by side, the batches on all cores.
fn run_on<L: Lane>(solved: &Solved, wanted: &[usize], changes: &[Factors]) -> Vec<Mass> {
    let place = solved.plan.places();
    let touched = |change: &Factors| {
        let mut places: Vec<(usize, usize)> =
            change.keys().filter_map(|&var| solved.plan.bucket_of[var]).map(|at| place[at]).collect();
        places.sort_unstable();
        let mut components: Vec<usize> = places.iter().map(|&(component, _)| component).collect();
        components.dedup();
        (components, places.first().copied())
    };
    let mut order: Vec<_> = changes.iter().enumerate().map(|(i, change)| (touched(change), i)).collect();
    order.sort();
    let chunks: Vec<&[(_, usize)]> = order.chunks(L::COUNT).collect();
    let masses = spread_out_with(
        &chunks,
        || Batch::<L>::new(solved, wanted),
        |batch, chunk| batch.run(&chunk.iter().map(|&(_, i)| &changes[i]).collect::<Vec<_>>()),
    );
    let mut masses: Vec<(usize, Mass)> =
        order.iter().map(|&(_, i)| i).zip(masses.into_iter().flatten()).collect();
    masses.sort_unstable_by_key(|&(i, _)| i);
    masses.into_iter().map(|(_, mass)| mass).collect()
}

#[cfg(test)]
mod tests {
    use super::super::network::Node;
    use super::*;

    /// Big plans are run a change at a time; small ones, as in all other tests, four side by side. Both say the same.
    #[test]
    fn one_at_a_time_and_side_by_side_agree() {
        let weights =
            |causes: &[usize]| causes.iter().map(|&c| (c, 0.15 + 0.07 * c as f64)).collect::<Vec<_>>();
        let mut nodes: Vec<Node> = (0..5).map(|i| Node::root(0.02 + 0.03 * f64::from(i))).collect();
        nodes.push(Node::noisy_or(0.01, weights(&[0, 1, 2])));
        nodes.extend(
            [&[0, 3, 5][..], &[1, 4], &[5, 2, 3], &[4], &[0, 1, 2, 3, 4]]
                .map(|c| Node::noisy_or(0.05, weights(c))),
        );
        let network = Network::new(nodes).expect("parents first");
        let evidence = Evidence::new().present(6).present(8);
        let targets: Vec<NodeId> = (0..6).chain([10]).collect();
        let prepared = Engine::default().prepare(&network, &evidence, &targets).expect("possible");
        let solved = prepared.solved.as_ref().expect("narrow");
        let mut changes = Vec::new();
        for nodes in [vec![7], vec![9], vec![7, 9]] {
            prepared.plan(solved, &Candidate::exclusive(nodes), f64::INFINITY, &mut changes).expect("fits");
        }
        assert!(changes.len() >= 4);
        let changes: Vec<Factors> = changes.into_iter().map(|change| change.factors).collect();
        let wanted: Vec<usize> = (0..targets.len()).collect();
        let (one, wide) =
            (run_on::<f64>(solved, &wanted, &changes), run_on::<Wide>(solved, &wanted, &changes));
        for (one, wide) in one.iter().zip(&wide) {
            assert!((one.chance - wide.chance).abs() < 1e-14);
            assert!(one.present.iter().zip(&wide.present).all(|(a, b)| (a - b).abs() < 1e-14));
        }
    }
}
