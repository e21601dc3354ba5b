//! A problem solved exactly: compiled, swept both ways, targets read off.

use super::network::NodeId;
use super::plan::{Plan, compile};
use super::reduce::{Place, Problem};
use super::runner::Runner;
use super::side::{Pair, Recipe, recipe};
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
    let (mut numbers, mut pairs) = (Runner::new(&plan), Runner::new(&plan));
    let mut group_shares = Vec::with_capacity(recipes.len());
    let mut derived = Vec::with_capacity(recipes.len());
    for recipe in &recipes {
        let mut shares = Vec::with_capacity(recipe.groups.len());
        let found = recipe.join(
            |var| sweep.marginals[var],
            |_, group| {
                let share = group.shares(&plan, &sweep, &mut numbers, &mut pairs);
                shares.push(share);
                share
            },
        );
        derived.push(found.present);
        group_shares.push(shares);
    }
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
