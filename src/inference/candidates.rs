//! What each answer to each candidate question would tell, on the one order already compiled.
//!
//! "All absent" only changes own factors of variables: a finding's absence multiplies each cause's present state by
//! `1 - weight`. An effect between, that nothing was seen below, is absent or free to be anything, a sum of two such
//! changes. Wide changes run side by side; "present" follows by complement.

use std::collections::BTreeMap;

use super::lane::Lane;
use super::network::{Network, NodeId};
use super::reduce::{Place, Problem};
use super::runner::Runner;
use super::side::{LEAST_COMPLEMENT, Pair};
use super::solve::Solved;
use super::sweep::Sweep;

/// Beyond this many terms a candidate is worked out by itself.
const MAX_TERMS: usize = 16;

/// Derived targets less likely than this are never found by complement.
const SMALL_CHANCE: f64 = 1e-3;

/// A change of variables' own factors, with the weight it enters a sum with.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Term {
    pub share: f64,
    /// Multipliers of the absent and the present state.
    pub factors: BTreeMap<usize, [f64; 2]>,
    /// Nodes without a variable that the change takes to be absent.
    pub absent: Vec<NodeId>,
}

struct Expansion<'a> {
    network: &'a Network,
    problem: &'a Problem,
    absent: &'a [NodeId],
    terms: Vec<Term>,
}

/// "Every node of `absent` is absent, and `present` (a variable) present" as a sum of changes; none when it is not
/// such a sum.
pub(super) fn terms(
    network: &Network,
    problem: &Problem,
    absent: &[NodeId],
    present: Option<usize>,
) -> Option<Vec<Term>> {
    let mut expansion = Expansion { network, problem, absent, terms: Vec::new() };
    let mut term = Term { share: 1.0, factors: BTreeMap::new(), absent: Vec::new() };
    let mut open = BTreeMap::new();
    if let Some(var) = present {
        term.factors.insert(var, [0.0, 1.0]);
    }
    for &node in absent {
        expansion.absent(node, &mut term, &mut open)?;
    }
    expansion.expand(term, open)?;
    Some(expansion.terms)
}

impl Expansion<'_> {
    /// Puts the absence of `node` into `term`; `open` collects effects between, with what their presence costs.
    fn absent(&self, node: NodeId, term: &mut Term, open: &mut BTreeMap<NodeId, f64>) -> Option<()> {
        match self.problem.places[node] {
            Place::Variable(var) => {
                term.factors.entry(var).or_insert([1.0, 1.0])[1] = 0.0;
                return Some(());
            }
            Place::Known(false) => return Some(()),
            Place::Known(true) | Place::Folded => return None,
            Place::Out | Place::Derived(_) => {}
        }
        if self.network.table(node).is_some() {
            return None;
        }
        let own = self.network.node(node);
        term.absent.push(node);
        term.share *= 1.0 - own.background;
        for &(parent, weight) in &own.parents {
            match self.problem.places[parent] {
                Place::Variable(var) => {
                    term.factors.entry(var).or_insert([1.0, 1.0])[1] *= 1.0 - weight;
                }
                Place::Known(true) => term.share *= 1.0 - weight,
                Place::Known(false) => {}
                Place::Folded => return None,
                // An absent parent has no say; it is dealt with as one of the nodes.
                Place::Out | Place::Derived(_) if self.absent.contains(&parent) => {}
                Place::Out | Place::Derived(_) => *open.entry(parent).or_insert(1.0) *= 1.0 - weight,
            }
        }
        Some(())
    }

    fn expand(&mut self, term: Term, mut open: BTreeMap<NodeId, f64>) -> Option<()> {
        // Effects before their causes, so that each is split once.
        let Some((node, free)) = open.pop_last() else {
            if self.terms.len() == MAX_TERMS {
                return None;
            }
            self.terms.push(term);
            return Some(());
        };
        // (1 - x) + x [absent], where x is what the node's presence costs.
        let mut gone = Term { share: term.share * (1.0 - free), ..term.clone() };
        if free > 0.0 {
            self.expand(Term { share: term.share * free, ..term }, open.clone())?;
        }
        if gone.share > 0.0 {
            self.absent(node, &mut gone, &mut open)?;
            self.expand(gone, open)?;
        }
        Some(())
    }
}

/// A chance of everything seen together with an assumption, and with each target present besides; relative to
/// the chance of what was seen.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mass {
    pub chance: f64,
    pub present: Vec<f64>,
}

/// Evaluates changes, as many at a time as there are lanes.
#[derive(Debug)]
pub(super) struct Batch<'a, L: Lane> {
    solved: &'a Solved,
    /// Places among the targets.
    wanted: &'a [usize],
    sweep: Sweep<L>,
    /// Buckets whose tables are not those of the evidence alone: not run yet, or left over from the last changes.
    stale: Vec<bool>,
    runner: Runner<L, L>,
    pairs: Runner<Pair<L>, L>,
}

impl<'a, L: Lane> Batch<'a, L> {
    pub(super) fn new(solved: &'a Solved, wanted: &'a [usize]) -> Self {
        let mut sweep = Sweep::new(&solved.plan, &solved.problem);
        sweep.scales.clone_from(&solved.sweep.scales);
        let (runner, pairs) = (Runner::new(&solved.plan), Runner::new(&solved.plan));
        let stale = vec![true; solved.plan.buckets.len()];
        Self { solved, wanted, sweep, stale, runner, pairs }
    }

    /// The masses of up to [`Lane::COUNT`] changes.
    pub(super) fn run(&mut self, changes: &[&BTreeMap<usize, [f64; 2]>]) -> Vec<Mass> {
        let solved = self.solved;
        let buckets = &solved.plan.buckets;
        let mut dirty = vec![false; solved.plan.components];
        let mut moved = vec![false; buckets.len()];
        let mut changed: Vec<usize> = Vec::new();
        for (lane, factors) in changes.iter().enumerate() {
            for (&var, by) in *factors {
                for (own, by) in self.sweep.unary[var].iter_mut().zip(by) {
                    own.set(lane, own.get(lane) * by);
                }
                changed.push(var);
                if let Some(at) = solved.plan.bucket_of[var] {
                    dirty[buckets[at].component] = true;
                    moved[at] = true;
                }
            }
        }
        // A change moves only the tables from its variables' buckets down to the end of their component.
        for (at, bucket) in buckets.iter().enumerate() {
            if let (true, Some(next)) = (moved[at], bucket.next) {
                moved[next] = true;
            }
        }
        let Self { sweep, stale, .. } = self;
        sweep.forward(&solved.plan, false, |at| dirty[buckets[at].component] && (moved[at] || stale[at]));
        for (at, _) in buckets.iter().enumerate().filter(|(_, bucket)| dirty[bucket.component]) {
            stale[at] = moved[at];
        }
        self.sweep.backward(&solved.plan, false, |component| dirty[component]);
        let mut chance = L::splat(1.0);
        for (component, _) in dirty.iter().enumerate().filter(|(_, dirty)| **dirty) {
            chance *= self.sweep.roots[component].over(L::splat(solved.sweep.roots[component]));
        }
        changed.sort_unstable();
        changed.dedup();
        for &var in &changed {
            if solved.plan.bucket_of[var].is_none() {
                let [zero, one] = self.sweep.unary[var];
                let [was_zero, was_one] = solved.problem.unary[var];
                chance *= (zero + one).over(L::splat(was_zero + was_one));
            }
        }
        let present = self.targets(&dirty);
        for &var in &changed {
            self.sweep.unary[var] = solved.problem.unary[var].map(L::splat);
        }
        let mass = |lane: usize| {
            let chance = chance.get(lane);
            let present = present.iter().map(|p| if chance > 0.0 { p.get(lane) * chance } else { 0.0 });
            Mass { chance, present: present.collect() }
        };
        (0..changes.len()).map(mass).collect()
    }

    fn targets(&mut self, dirty: &[bool]) -> Vec<L> {
        let solved = self.solved;
        let places = self.wanted.iter().map(|&at| solved.problem.places[solved.targets[at]]);
        places
            .map(|place| match place {
                Place::Known(state) => L::splat(f64::from(u8::from(state))),
                Place::Variable(var) => marginal(solved, &self.sweep, var, dirty)[1],
                Place::Derived(i) => self.derived(i, dirty),
                Place::Out | Place::Folded => unreachable!("targets are kept"),
            })
            .collect()
    }

    /// P(a derived target present | evidence, change).
    fn derived(&mut self, i: usize, dirty: &[bool]) -> L {
        let solved = self.solved;
        let (recipe, shares) = (&solved.recipes[i], &solved.group_shares[i]);
        let Self { sweep, runner, pairs, .. } = self;
        let sweep = &*sweep;
        // A complement costs digits where the chance is small: those keep both shares all the way.
        let whole = solved.derived[i] < SMALL_CHANCE;
        let one = L::splat(1.0);
        let found = recipe.join(
            |var| marginal(solved, sweep, var, dirty),
            |w, group| {
                let way = &group.idle;
                if !dirty[way.component] {
                    let Pair { absent, present } = shares[w];
                    Pair { absent: L::splat(absent), present: L::splat(present) }
                } else if whole {
                    pairs.run(&solved.plan, sweep, way)
                } else {
                    let found: L = runner.run(&solved.plan, sweep, way);
                    let absent = found.over(sweep.total(&solved.plan, way.end()));
                    let present = one.less(absent);
                    // A likely target may be next to impossible after this change.
                    if (0..L::COUNT).any(|lane| present.get(lane) < LEAST_COMPLEMENT) {
                        pairs.run(&solved.plan, sweep, way)
                    } else {
                        Pair { absent, present }
                    }
                }
            },
        );
        found.present
    }
}

/// P(variable absent), P(variable present): from the sweep, or as before where nothing has changed.
fn marginal<L: Lane>(solved: &Solved, sweep: &Sweep<L>, var: usize, dirty: &[bool]) -> [L; 2] {
    match solved.plan.bucket_of[var] {
        Some(at) if !dirty[solved.plan.buckets[at].component] => solved.sweep.marginals[var].map(L::splat),
        _ => sweep.marginals[var],
    }
}
