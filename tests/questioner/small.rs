//! Small problems whose true optimum can be worked out by trying everything: a few failures, a few yes/no
//! checks, every belief kept as a full table over all worlds.

use std::collections::BTreeMap;

use rand::Rng;
use weephole::questioner::getting_right::{Attempt, Plan, Stakes, Step, plan};
use weephole::questioner::search::Search;

/// A problem: what may be wrong, what can be checked, what it costs.
pub struct Problem {
    /// Chance of every world (bit `i`: failure `i` is there), given that something is wrong.
    pub worlds: Vec<f64>,
    /// For every check, the chance of "yes" in every world.
    pub checks: Vec<Vec<f64>>,
    /// Cost of every check.
    pub check_costs: Vec<f64>,
    /// Cost of every repair.
    pub repair_costs: Vec<f64>,
    pub stakes: Stakes,
}

/// Ways of choosing the next check; the table that compares all of them is printed on request.
#[allow(dead_code)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Policy {
    /// The check that saves most after its own cost, while any saves something.
    Saving,
    /// The same, but the most saved for each unit of its cost.
    SavingPerCost,
    /// The same as `Saving`, looking two checks ahead.
    TwoSteps,
    /// Most bits for each unit of cost, while any check saves something.
    Bits,
    /// The first check in the list, while any check saves something.
    List,
    /// No checks at all.
    None,
    /// `SavingPerCost`, and two checks ahead where none saves anything.
    TwoAtTheEnd,
    /// The same, and then the most told about the culprit while that pays: what the questioner does.
    SearchAtTheEnd,
    /// Two ahead among the three best by `SavingPerCost`, while any saves something.
    TwoOfThree,
}

impl Policy {
    /// All of them.
    #[allow(dead_code)]
    pub const ALL: [Self; 9] = [
        Self::Saving,
        Self::SavingPerCost,
        Self::TwoAtTheEnd,
        Self::SearchAtTheEnd,
        Self::TwoOfThree,
        Self::TwoSteps,
        Self::Bits,
        Self::List,
        Self::None,
    ];
}

/// What is known: the answers (0 open, 1 no, 2 yes) and the repairs made without success.
type Known = (Vec<u8>, usize);

impl Problem {
    /// A random problem in which several failures may be there at once.
    pub fn random(random: &mut impl Rng, failures: usize, checks: usize) -> Self {
        let priors: Vec<f64> = (0..failures).map(|_| random.random_range(0.03..0.4)).collect();
        let mut worlds: Vec<f64> = (0..1_usize << failures)
            .map(|world| {
                (0..failures).map(|i| if world >> i & 1 == 1 { priors[i] } else { 1.0 - priors[i] }).product()
            })
            .collect();
        worlds[0] = 0.0;
        let checks = (0..checks)
            .map(|_| {
                let background = random.random_range(0.01..0.1);
                let weights: Vec<f64> = (0..failures)
                    .map(|_| if random.random_bool(0.45) { random.random_range(0.5..0.97) } else { 0.0 })
                    .collect();
                (0..1_usize << failures)
                    .map(|world| {
                        let absent = (0..failures).filter(|i| world >> i & 1 == 1).map(|i| 1.0 - weights[i]);
                        1.0 - (1.0 - background) * absent.product::<f64>()
                    })
                    .collect()
            })
            .collect::<Vec<_>>();
        Self {
            worlds,
            check_costs: checks.iter().map(|_| random.random_range(1.0..25.0)).collect(),
            checks,
            repair_costs: priors.iter().map(|_| random.random_range(20.0..300.0)).collect(),
            stakes: Stakes { comeback: 150.0, hand_on: 400.0, leave: 5.0, sound: true },
        }
    }

    pub fn start(&self) -> Known {
        (vec![0; self.checks.len()], 0)
    }

    /// Weight of every world under what is known; repairs made so far were not enough.
    pub fn belief(&self, known: &Known) -> Vec<f64> {
        let weight = |world: usize| {
            let answers = known.0.iter().zip(&self.checks).map(|(answer, yes)| match answer {
                0 => 1.0,
                1 => 1.0 - yes[world],
                _ => yes[world],
            });
            let right = known.1 != 0 && world & !known.1 == 0;
            if right { 0.0 } else { self.worlds[world] * answers.product::<f64>() }
        };
        (0..self.worlds.len()).map(weight).collect()
    }

    /// Chance of every failure that was not mended yet.
    fn marginals(&self, belief: &[f64], mended: usize) -> Vec<f64> {
        let total: f64 = belief.iter().sum();
        (0..self.repair_costs.len())
            .map(|i| {
                let there = belief.iter().enumerate().filter(|(world, _)| world & !mended & 1 << i != 0);
                there.map(|(_, w)| w).sum::<f64>() / total
            })
            .collect()
    }

    /// The questioner's plan on what is known, from marginals alone, as in the program.
    pub fn plan(&self, known: &Known) -> Plan {
        let marginals = self.marginals(&self.belief(known), known.1);
        let attempts: Vec<Attempt> = marginals
            .iter()
            .zip(&self.repair_costs)
            .map(|(&chance, &cost)| Attempt { chance, cost })
            .collect();
        plan(&attempts, &self.stakes)
    }

    /// Each answer to a check with its chance and what is known then.
    fn answers(&self, known: &Known, check: usize) -> [(f64, Known); 2] {
        let belief = self.belief(known);
        let total: f64 = belief.iter().sum();
        let yes = belief.iter().zip(&self.checks[check]).map(|(w, p)| w * p).sum::<f64>() / total;
        let with = |answer| {
            let mut answers = known.0.clone();
            answers[check] = answer;
            (answers, known.1)
        };
        [(1.0 - yes, with(1)), (yes, with(2))]
    }

    fn open(known: &Known) -> Vec<usize> {
        (0..known.0.len()).filter(|&check| known.0[check] == 0).collect()
    }

    /// Expected cost of a check and of the plan after it.
    fn later(&self, known: &Known, check: usize) -> f64 {
        let after = self.answers(known, check);
        self.check_costs[check]
            + after.iter().filter(|(p, _)| *p > 0.0).map(|(p, k)| p * self.plan(k).cost).sum::<f64>()
    }

    fn two_later(&self, known: &Known, check: usize) -> f64 {
        let after = self.answers(known, check);
        let best = |k: &Known| {
            let now = self.plan(k).cost;
            Self::open(k).into_iter().map(|next| self.later(k, next)).fold(now, f64::min)
        };
        self.check_costs[check]
            + after.iter().filter(|(p, _)| *p > 0.0).map(|(p, k)| p * best(k)).sum::<f64>()
    }

    fn bits(&self, known: &Known, check: usize) -> f64 {
        let h = |p: f64| if p > 0.0 && p < 1.0 { -p * p.log2() - (1.0 - p) * (1.0 - p).log2() } else { 0.0 };
        let entropy = |k: &Known| self.marginals(&self.belief(k), k.1).into_iter().map(h).sum::<f64>();
        let after = self.answers(known, check);
        entropy(known) - after.iter().filter(|(p, _)| *p > 0.0).map(|(p, k)| p * entropy(k)).sum::<f64>()
    }

    /// What a check is worth to a search.
    fn found(&self, known: &Known, check: usize) -> f64 {
        let blames = |k: &Known| self.marginals(&self.belief(k), k.1);
        let search = Search::new(&blames(known), self.repair_costs.iter().copied(), &self.plan(known));
        let after = self.answers(known, check);
        after.iter().filter(|(p, _)| *p > 0.0).map(|(p, k)| p * search.found(&blames(k))).sum()
    }

    /// The check a policy does next, if any.
    fn choose(&self, policy: Policy, known: &Known) -> Option<usize> {
        let open = Self::open(known);
        let now = self.plan(known).cost;
        let saved = |check: usize| now - self.later(known, check);
        let most = |of: &dyn Fn(usize) -> f64| {
            open.iter().copied().max_by(|&a, &b| of(a).total_cmp(&of(b)).then(b.cmp(&a)))
        };
        let worth_it = || open.iter().any(|&check| saved(check) > 0.0);
        match policy {
            Policy::None => None,
            Policy::Saving => most(&saved).filter(|&check| saved(check) > 0.0),
            Policy::SavingPerCost => {
                most(&|check| saved(check) / self.check_costs[check]).filter(|&check| saved(check) > 0.0)
            }
            Policy::TwoSteps => {
                let saved = |check: usize| now - self.two_later(known, check);
                most(&saved).filter(|&check| saved(check) > 1e-9)
            }
            Policy::TwoAtTheEnd => {
                let two = |check: usize| now - self.two_later(known, check);
                most(&|check| saved(check) / self.check_costs[check])
                    .filter(|&check| saved(check) > 0.0)
                    .or_else(|| most(&two).filter(|&check| two(check) > 1e-9))
            }
            Policy::SearchAtTheEnd => self.choose(Policy::TwoAtTheEnd, known).or_else(|| {
                let found = |check: usize| self.found(known, check) - self.check_costs[check];
                most(&found).filter(|&check| found(check) > 0.0)
            }),
            Policy::TwoOfThree => {
                let two = |check: usize| now - self.two_later(known, check);
                let rate = |check: usize| saved(check) / self.check_costs[check];
                let mut best = open.clone();
                best.sort_by(|&a, &b| rate(b).total_cmp(&rate(a)));
                best.truncate(3);
                best.into_iter().max_by(|&a, &b| two(a).total_cmp(&two(b))).filter(|&check| two(check) > 1e-9)
            }
            Policy::Bits => {
                most(&|check| self.bits(known, check) / self.check_costs[check]).filter(|_| worth_it())
            }
            Policy::List => open.first().copied().filter(|_| worth_it()),
        }
    }

    /// Exact expected cost of a policy that repairs by the questioner's plan.
    pub fn cost_of(&self, policy: Policy, known: &Known, memo: &mut BTreeMap<Known, f64>) -> f64 {
        if let Some(&cost) = memo.get(known) {
            return cost;
        }
        let cost = match self.choose(policy, known) {
            Some(check) => {
                let mut cost = self.check_costs[check];
                for (chance, after) in self.answers(known, check) {
                    if chance > 0.0 {
                        cost += chance * self.cost_of(policy, &after, memo);
                    }
                }
                cost
            }
            None => match self.plan(known).steps.first() {
                Some(Step::Repair(done)) => {
                    let set = done.iter().fold(0, |set, &i| set | 1 << i);
                    let (visit, wrong) = self.visit(known, set);
                    if wrong <= 1e-12 {
                        visit
                    } else {
                        let after = (known.0.clone(), known.1 | set);
                        visit + wrong * self.cost_of(policy, &after, memo)
                    }
                }
                _ => self.handed_on(known),
            },
        };
        memo.insert(known.clone(), cost);
        cost
    }

    /// Cost of a visit with these repairs, the comeback included, and the chance that it was not enough.
    fn visit(&self, known: &Known, set: usize) -> (f64, f64) {
        let belief = self.belief(known);
        let total: f64 = belief.iter().sum();
        let done = known.1 | set;
        let wrong =
            belief.iter().enumerate().filter(|(world, _)| world & !done != 0).map(|(_, w)| w).sum::<f64>()
                / total;
        let repairs: f64 =
            (0..self.repair_costs.len()).filter(|i| set >> i & 1 == 1).map(|i| self.repair_costs[i]).sum();
        (repairs + wrong * self.stakes.comeback, wrong)
    }

    fn handed_on(&self, known: &Known) -> f64 {
        let marginals = self.marginals(&self.belief(known), known.1);
        self.stakes.hand_on + marginals.iter().zip(&self.repair_costs).map(|(p, cost)| p * cost).sum::<f64>()
    }

    /// The true optimum: every check, every set of repairs, at every point.
    pub fn optimum(&self, known: &Known, memo: &mut BTreeMap<Known, f64>) -> f64 {
        if let Some(&cost) = memo.get(known) {
            return cost;
        }
        let mut best = self.handed_on(known);
        for set in (1..self.worlds.len()).filter(|set| set & known.1 == 0) {
            let (visit, wrong) = self.visit(known, set);
            let after = (known.0.clone(), known.1 | set);
            let cost = if wrong <= 1e-12 { visit } else { visit + wrong * self.optimum(&after, memo) };
            best = best.min(cost);
        }
        for check in Self::open(known) {
            let mut cost = self.check_costs[check];
            for (chance, after) in self.answers(known, check) {
                if chance > 0.0 {
                    cost += chance * self.optimum(&after, memo);
                }
            }
            best = best.min(cost);
        }
        memo.insert(known.clone(), best);
        best
    }
}
