//! A problem solved exactly: compiled, swept both ways, targets read off.

use super::compile::compile;
use super::lane::{Lane, Wide};
use super::network::NodeId;
use super::plan::Plan;
use super::reduce::{Place, Problem};
use super::runner::Runner;
use super::side::{LEAST_COMPLEMENT, Pair, Recipe, Way, recipe};
use super::sweep::Sweep;

/// Everything known about a problem once it is solved.
#[derive(Debug)]
pub(super) struct Solved {
    pub problem: Problem,
    pub plan: Plan,
    pub targets: Vec<NodeId>,
    /// How each derived target is put together.
    pub recipes: Vec<Recipe>,
    /// What was found at the end of each group of each recipe.
    pub group_shares: Vec<Vec<Pair<f64>>>,
    /// P(present | evidence) of each derived target.
    pub derived: Vec<f64>,
    pub sweep: Sweep<f64>,
    pub log_evidence: f64,
    /// In target order.
    pub marginals: Vec<f64>,
}

/// `ln P(evidence)` alone: minus infinity when the evidence cannot happen.
pub(super) fn log_evidence(problem: &Problem, order: &[usize]) -> f64 {
    let plan = compile(problem, order);
    let mut sweep = Sweep::<f64>::new(&plan, problem);
    sweep.forward(&plan, true, |_| true);
    constants(problem) + sweep.log(&plan, 0)
}

fn constants(problem: &Problem) -> f64 {
    problem.constants.iter().map(|c| c.ln()).sum()
}

/// Solves for the targets; none when the evidence cannot happen.
pub(super) fn solve(problem: Problem, order: &[usize], targets: &[NodeId]) -> Option<Solved> {
    let plan = compile(&problem, order);
    let mut sweep = Sweep::<f64>::new(&plan, &problem);
    sweep.forward(&plan, true, |_| true);
    let log_evidence = constants(&problem) + sweep.log(&plan, 0);
    if log_evidence == f64::NEG_INFINITY {
        return None;
    }
    sweep.backward(&plan, true, |_| true);
    let recipes: Vec<Recipe> = problem.derived.iter().map(|derived| recipe(&plan, derived)).collect();
    let group_shares = shares(&plan, &sweep, &recipes);
    let found = |(recipe, shares): (&Recipe, &Vec<Pair<f64>>)| {
        recipe.join(|var| sweep.marginals[var], |group, _| shares[group]).present
    };
    let derived: Vec<f64> = recipes.iter().zip(&group_shares).map(found).collect();
    let marginals = targets
        .iter()
        .map(|&target| match problem.places[target] {
            Place::Known(state) => f64::from(u8::from(state)),
            Place::Variable(var) => sweep.marginals[var][1],
            Place::Derived(i) => derived[i],
            Place::Out | Place::Folded => unreachable!("targets are kept"),
        })
        .collect();
    let targets = targets.to_vec();
    Some(Solved { problem, plan, targets, recipes, group_shares, derived, sweep, log_evidence, marginals })
}

/// The share of every group of every recipe: where its causes all stay idle, and where the target is brought on.
fn shares(plan: &Plan, sweep: &Sweep<f64>, recipes: &[Recipe]) -> Vec<Vec<Pair<f64>>> {
    let mut shares: Vec<Vec<Pair<f64>>> =
        recipes.iter().map(|recipe| vec![Pair { absent: 1.0, present: 0.0 }; recipe.groups.len()]).collect();
    let groups = |(at, recipe): (usize, &Recipe)| (0..recipe.groups.len()).map(move |group| (at, group));
    let mut open: Vec<(usize, usize)> = recipes.iter().enumerate().flat_map(groups).collect();
    let idle = |&(at, group): &(usize, usize)| &recipes[at].groups[group].idle;
    // Ways that end near each other share the most.
    open.sort_by_key(|place| (idle(place).end(), idle(place).visits.len()));
    let mut together = Runner::<Wide, f64>::new(plan);
    let mut found = Vec::with_capacity(open.len());
    for chunk in open.chunks(Wide::COUNT) {
        let ways: Vec<&Way> = chunk.iter().map(idle).collect();
        let ends = together.run_together(plan, sweep, &ways);
        found
            .extend(ways.iter().enumerate().map(|(lane, way)| ends.get(lane) / sweep.total(plan, way.end())));
    }
    let (mut numbers, mut pairs) = (Runner::new(plan), Runner::new(plan));
    for (&(at, group), absent) in open.iter().zip(found) {
        let present = (1.0 - absent).max(0.0);
        shares[at][group] = if present < LEAST_COMPLEMENT {
            recipes[at].groups[group].shares(plan, sweep, &mut numbers, &mut pairs)
        } else {
            Pair { absent, present }
        };
    }
    shares
}
