//! An order for steps that wait for each other, with as few changes between neighbours as can be.

use std::collections::BTreeMap;

/// Most partly done jobs that are looked at before settling for a good order instead of the best.
const MOST_STATES: usize = 60_000;

/// An order of steps.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Arranged {
    /// The steps, first first.
    pub order: Vec<usize>,
    /// What its changes cost together.
    pub cost: u32,
    /// True if no order costs less.
    pub best: bool,
}

/// Orders `count` steps so that `waits` (earlier, later) holds and the sum of `change(previous, next)` over neighbours is
/// least; of equals, the one nearest to the given numbering. `None` if the steps wait for each other in a ring.
///
/// Partly done jobs are the sets closed under what waits; the least cost of each with each last step is carried from the
/// small ones to the large (Held & Karp 1962, with precedence). Beyond a limit, always the cheapest next step is taken.
pub fn arrange(
    count: usize,
    waits: &[(usize, usize)],
    change: impl Fn(Option<usize>, usize) -> u32,
) -> Option<Arranged> {
    let mut first = vec![0_u128; count];
    for &(earlier, later) in waits {
        first[later] |= 1 << earlier;
    }
    best(count, &first, &change).or_else(|| greedy(count, &first, &change))
}

type Done = (u128, usize);

fn best(count: usize, first: &[u128], change: &impl Fn(Option<usize>, usize) -> u32) -> Option<Arranged> {
    if count == 0 {
        return Some(Arranged { order: Vec::new(), cost: 0, best: true });
    }
    let ready =
        |done: u128| (0..count).filter(move |&next| done >> next & 1 == 0 && first[next] & !done == 0);
    let mut levels: Vec<BTreeMap<Done, (u32, usize)>> = Vec::with_capacity(count);
    levels.push(ready(0).map(|next| ((1 << next, next), (change(None, next), usize::MAX))).collect());
    let mut states = 0;
    for level in 1..count {
        let mut reached: BTreeMap<Done, (u32, usize)> = BTreeMap::new();
        for (&(done, last), &(cost, _)) in &levels[level - 1] {
            for next in ready(done) {
                let total = cost + change(Some(last), next);
                let entry = reached.entry((done | 1 << next, next)).or_insert((total, last));
                if total < entry.0 {
                    *entry = (total, last);
                }
            }
        }
        states += reached.len();
        if states > MOST_STATES || reached.is_empty() {
            return None;
        }
        levels.push(reached);
    }
    let (&(mut done, mut last), &(cost, _)) = levels[count - 1].iter().min_by_key(|(_, (cost, _))| *cost)?;
    let mut order = vec![last];
    for level in (1..count).rev() {
        let before = levels[level][&(done, last)].1;
        done &= !(1 << last);
        last = before;
        order.push(last);
    }
    order.reverse();
    Some(Arranged { order, cost, best: true })
}

fn greedy(count: usize, first: &[u128], change: &impl Fn(Option<usize>, usize) -> u32) -> Option<Arranged> {
    let (mut done, mut order, mut cost) = (0_u128, Vec::with_capacity(count), 0);
    while order.len() < count {
        let last = order.last().copied();
        let next = (0..count)
            .filter(|&next| done >> next & 1 == 0 && first[next] & !done == 0)
            .min_by_key(|&next| (change(last, next), next))?;
        cost += change(last, next);
        done |= 1 << next;
        order.push(next);
    }
    Some(Arranged { order, cost, best: false })
}
