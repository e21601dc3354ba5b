//! What it costs from here until the vehicle is right: repairs tried one after the other, or a few at a time,
//! until the complaint is gone.
//!
//! The pure arithmetic, apart from rule books and graphs. Sources: Kalagnanam & Henrion 1988 for one fault
//! (order by chance over cost); for several independent faults the same exchange of neighbours gives odds
//! over cost. docs/questioner.md derives what is used here.

/// One thing that could be done to the vehicle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Attempt {
    /// Chance that it has to be done before the vehicle is right.
    pub chance: f64,
    /// Money paid whenever it is tried.
    pub cost: f64,
}

/// What a wrong guess costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stakes {
    /// Money paid every time the vehicle comes back not right.
    pub comeback: f64,
    /// Money for which somebody else is sure to find what is wrong; mending it comes on top.
    pub hand_on: f64,
    /// Money for sending it home with nothing done.
    pub leave: f64,
    /// Whether it may be sound. If not, what the chances lack to 1 is that something else is wrong, which only handing
    /// on would find.
    pub sound: bool,
}

/// One step of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// Do these repairs on one visit, by their places in the list of attempts.
    Repair(Vec<usize>),
    /// Do nothing: nothing is wrong.
    Leave,
    /// Hand it on.
    HandOn,
}

/// What to do, in order, each step only if the vehicle is not right after the one before.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Expected money until the vehicle is right.
    pub cost: f64,
    /// The steps.
    pub steps: Vec<Step>,
    /// Chance that the first step is enough.
    pub first_enough: f64,
}

/// Most attempts that are planned; after them the vehicle is handed on.
const MOST: usize = 10;

/// Attempts rarer than this are not planned.
const RARE: f64 = 1e-3;

/// How likely the vehicle is still not right after some attempts.
///
/// Chances that sum to 1 or less are taken to exclude one another, and what is missing to 1 as "nothing has
/// to be done". Chances that sum to more are taken to be independent of each other, given that at least one
/// is there: independent chances `q = m z` with `z = 1 - product (1 - m z)` have exactly the marginals `m`.
struct Odds {
    /// Chance that nothing has to be done.
    nothing: f64,
    /// 0 for the exclusive model.
    z: f64,
}

impl Odds {
    fn of(chances: impl Iterator<Item = f64> + Clone) -> Self {
        let sum: f64 = chances.clone().sum();
        let nothing = (1.0 - sum).max(0.0);
        if sum <= 1.0 + 1e-9 {
            return Self { nothing, z: 0.0 };
        }
        // f(z) = 1 - product(1 - m z) - z is concave, f(0) = 0 and f(1) <= 0: Newton from 1 falls onto its root.
        let mut z = 1.0_f64;
        for _ in 0..40 {
            let (mut absent, mut slope) = (1.0_f64, 0.0_f64);
            let mut certain = false;
            for m in chances.clone() {
                let left = 1.0 - m * z;
                if left <= 1e-12 {
                    certain = true;
                    break;
                }
                absent *= left;
                slope += m / left;
            }
            if certain {
                break;
            }
            let value = 1.0 - absent - z;
            let step = value / (absent * slope - 1.0);
            z -= step;
            if step.abs() < 1e-13 {
                break;
            }
        }
        Self { nothing: 0.0, z: z.clamp(1e-9, 1.0) }
    }

    /// What a chance counts in the order: its odds, or itself where chances exclude each other.
    fn weight(&self, chance: f64) -> f64 {
        let q = chance * self.z;
        chance / (1.0 - q).max(1e-12)
    }
}

/// The cheapest plan found: attempts in the order of odds over cost, cut into visits in the best way.
///
/// A comeback is paid after every visit that leaves the vehicle wrong, so it belongs to the cost of every
/// attempt in the order; attempts go on the same visit where that is cheaper than coming back.
pub fn plan(attempts: &[Attempt], stakes: &Stakes) -> Plan {
    let mut tried: Vec<usize> = (0..attempts.len()).filter(|&at| attempts[at].chance > RARE).collect();
    let odds = Odds::of(tried.iter().map(|&at| attempts[at].chance));
    let ratio =
        |at: usize| odds.weight(attempts[at].chance) / (attempts[at].cost + stakes.comeback).max(1e-9);
    let ratios: Vec<f64> = (0..attempts.len()).map(ratio).collect();
    tried.sort_by(|&a, &b| ratios[b].total_cmp(&ratios[a]));
    let all = tried.clone();
    tried.truncate(MOST);

    // Chance that none of the attempts from each place on (and beyond the list) is needed.
    let n = tried.len();
    let mut none_after = vec![1.0_f64; n + 1];
    let mut sum_after = vec![0.0_f64; n + 1];
    // What mending would cost from each place on if somebody else found what is wrong.
    let mut mending = vec![0.0_f64; n + 1];
    for &at in &all[n..] {
        mending[n] += attempts[at].chance * attempts[at].cost;
        none_after[n] *= 1.0 - attempts[at].chance * odds.z;
        sum_after[n] += attempts[at].chance;
    }
    for k in (0..n).rev() {
        none_after[k] = none_after[k + 1] * (1.0 - attempts[tried[k]].chance * odds.z);
        let Attempt { chance, cost } = attempts[tried[k]];
        sum_after[k] = sum_after[k + 1] + chance;
        mending[k] = mending[k + 1] + chance * cost;
    }
    let elsewhere = if stakes.sound { 0.0 } else { odds.nothing };
    let wrong =
        |k: usize| elsewhere + if odds.z > 0.0 { (1.0 - none_after[k]) / odds.z } else { sum_after[k] };

    // Where doing nothing stands in the order: before the first attempt that is worth less for its money.
    let leave_ratio = odds.nothing / (stakes.leave + stakes.comeback).max(1e-9);
    let leave_at = (stakes.sound && odds.nothing > RARE)
        .then(|| tried.iter().position(|&at| ratios[at] < leave_ratio).unwrap_or(n));

    // Chance of not being right when attempt `k` is next and doing nothing has not been tried, or has.
    let before = |k: usize| wrong(k) + if leave_at.is_some_and(|at| k <= at) { odds.nothing } else { 0.0 };

    // Backwards over the order: `best[k]` is the expected money from attempt `k` on, not divided by the chance
    // of getting there. Doing nothing is a visit of its own, at its place.
    let mut best = vec![0.0_f64; n + 1];
    let mut next = vec![n + 1; n + 1];
    let mut leaves = false;
    for k in (0..=n).rev() {
        let left = wrong(k) + if leave_at.is_some_and(|at| k < at) { odds.nothing } else { 0.0 };
        let (mut cost, mut visit) = (left * stakes.hand_on + mending[k], 0.0);
        for end in k + 1..=n {
            visit += attempts[tried[end - 1]].cost;
            let total = left * visit + before(end) * stakes.comeback + best[end];
            if total < cost {
                (cost, next[k]) = (total, end);
            }
            if Some(end) == leave_at {
                break;
            }
        }
        best[k] = cost;
        if Some(k) == leave_at {
            let leaving = before(k) * stakes.leave + wrong(k) * stakes.comeback + cost;
            let handed_on = before(k) * stakes.hand_on + mending[k];
            leaves = leaving <= handed_on;
            best[k] = leaving.min(handed_on);
        }
    }

    let mut steps = Vec::new();
    let mut k = 0;
    loop {
        if Some(k) == leave_at {
            if !leaves {
                break;
            }
            steps.push(Step::Leave);
        }
        if next[k] > n {
            break;
        }
        steps.push(Step::Repair(tried[k..next[k]].to_vec()));
        k = next[k];
    }
    steps.push(Step::HandOn);
    let first_enough = match &steps[0] {
        Step::Leave => odds.nothing,
        Step::HandOn => 1.0,
        // Never outside 0..=1 by rounding.
        Step::Repair(done) => (before(0) - before(done.len())).clamp(0.0, 1.0),
    };
    Plan { cost: best[0], steps, first_enough }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FREE: Stakes = Stakes { comeback: 0.0, hand_on: 1e12, leave: 0.0, sound: true };

    fn order(plan: &Plan) -> Vec<usize> {
        plan.steps
            .iter()
            .flat_map(|step| if let Step::Repair(done) = step { done.clone() } else { Vec::new() })
            .map(|at| at + 1)
            .collect()
    }

    /// One fault, independent costs (Kalagnanam & Henrion 1988; worked out in the reference page on
    /// inference, 1.6): looking costs (10, 4, 2, 3), mending the one that it was (50, 20, 5, 80).
    #[test]
    fn one_fault_is_looked_for_by_chance_over_cost() {
        let chances = [0.4, 0.3, 0.2, 0.1];
        let attempts: Vec<Attempt> = chances
            .iter()
            .zip([10.0, 4.0, 2.0, 3.0])
            .map(|(&chance, cost)| Attempt { chance, cost })
            .collect();
        let plan = plan(&attempts, &FREE);
        let mending: f64 = chances.iter().zip([50.0, 20.0, 5.0, 80.0]).map(|(p, cost)| p * cost).sum();
        assert_eq!(order(&plan), [3, 2, 1, 4]);
        assert!((plan.cost + mending - 45.5).abs() < 1e-12, "{}", plan.cost + mending);
    }

    /// Several independent faults, known broken (same page): p = (.3, .2, .1, .05), c = (12, 9, 3, 2).
    #[test]
    fn several_faults_are_mended_by_odds_over_cost() {
        let priors = [0.3, 0.2, 0.1, 0.05];
        let broken = 1.0 - priors.iter().map(|p| 1.0 - p).product::<f64>();
        let attempts: Vec<Attempt> = priors
            .iter()
            .zip([12.0, 9.0, 3.0, 2.0])
            .map(|(p, cost)| Attempt { chance: p / broken, cost })
            .collect();
        let plan = plan(&attempts, &FREE);
        assert_eq!(order(&plan), [3, 1, 2, 4]);
        assert!((plan.cost - 18.111_281_657_71).abs() < 1e-9, "{}", plan.cost);
    }

    #[test]
    fn a_cheap_second_repair_is_done_on_the_same_visit_when_coming_back_is_dear() {
        let attempts = [Attempt { chance: 0.6, cost: 50.0 }, Attempt { chance: 0.4, cost: 20.0 }];
        let together = plan(&attempts, &Stakes { comeback: 150.0, hand_on: 1000.0, leave: 0.0, sound: true });
        assert!(matches!(&together.steps[0], Step::Repair(done) if done.len() == 2));
        assert!((together.cost - 70.0).abs() < 1e-9);
        let apart = plan(&attempts, &Stakes { comeback: 1.0, hand_on: 1000.0, leave: 0.0, sound: true });
        assert!(matches!(&apart.steps[0], Step::Repair(done) if done.len() == 1));
    }

    #[test]
    fn nothing_is_mended_when_most_likely_nothing_is_wrong() {
        let attempts = [Attempt { chance: 0.1, cost: 200.0 }];
        let plan = plan(&attempts, &Stakes { comeback: 150.0, hand_on: 400.0, leave: 5.0, sound: true });
        assert_eq!(plan.steps[0], Step::Leave);
        // 5 for leaving it, and in one of ten cases the comeback and the repair.
        assert!((plan.cost - (5.0 + 0.1 * 150.0 + 0.1 * 200.0)).abs() < 1e-9, "{}", plan.cost);
    }

    #[test]
    fn many_dear_repairs_are_not_tried_one_by_one() {
        let attempts = [Attempt { chance: 0.2, cost: 900.0 }; 5];
        let plan = plan(&attempts, &Stakes { comeback: 150.0, hand_on: 400.0, leave: 5.0, sound: true });
        assert_eq!(plan.steps, [Step::HandOn]);
        assert!((plan.cost - 1300.0).abs() < 1e-9);
    }
}
