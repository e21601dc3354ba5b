//! The set of repairs with the least expected cost: branch and bound over all sets, exact.
//!
//! For a set S of repairs the bill is
//!
//! ```text
//! now(S)        parts and minutes, shared access once        never falls as S grows; an addition saves
//!                                                             least when everything else is already in
//! + later(S)    what was left out and is not put right by    each left out on its own; never rises as S grows
//!               something else, by its chance and its age
//! + missed(S)   price of a comeback x chance that something  never rises as S grows
//!               left out still causes the complaint
//! + again(S)    what kills the new part once more            less with every root that S puts right
//! ```
//!
//! A set is decided repair by repair. The bound of a half-decided set takes `now` of what is in, plus for each open repair
//! the lesser of what it adds when everything else is in and what leaving it out costs; `missed` as if all open ones were
//! in; `again` of what is in as if all open ones put their roots right. No set below a bound that is not lower than the
//! best set found can be better.

/// A set of repairs: bit `i` is repair `i`.
pub type RepairSet = u32;

/// Most repairs that are weighed against each other.
pub const MOST_REPAIRS: usize = 16;

/// What a set of repairs costs.
pub trait Bill {
    /// Why a chance could not be had.
    type Error;
    /// Number of repairs.
    fn len(&self) -> usize;
    /// Whether there are none.
    fn is_empty(&self) -> bool {
        self.len() == 0
    }
    /// Parts and minutes of a set. Submodular: what one more adds never grows with the set.
    fn now(&self, set: RepairSet) -> f64;
    /// What leaving repair `at` out is expected to cost later, when `set` is done and puts right what it can.
    fn later(&mut self, at: usize, set: RepairSet) -> Result<f64, Self::Error>;
    /// Price of a comeback times the chance that something no repair of `set` puts right still causes the complaint.
    fn missed(&mut self, set: RepairSet) -> Result<f64, Self::Error>;
    /// What the roots left in place by `righted` are expected to do to the new parts of `set`.
    fn again(&mut self, set: RepairSet, righted: RepairSet) -> Result<f64, Self::Error>;
}

/// The bill of one set.
pub fn total<B: Bill>(bill: &mut B, set: RepairSet) -> Result<f64, B::Error> {
    Ok(bill.now(set) + left_out(bill, set)? + bill.missed(set)? + bill.again(set, set)?)
}

/// What is left out, each by its chance.
pub fn left_out<B: Bill>(bill: &mut B, set: RepairSet) -> Result<f64, B::Error> {
    let mut sum = 0.0;
    for at in (0..bill.len()).filter(|&at| set >> at & 1 == 0) {
        sum += bill.later(at, set)?;
    }
    Ok(sum)
}

/// The best set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Best {
    /// The set; of equals the first found, repairs left out before put in.
    pub set: RepairSet,
    /// Its bill.
    pub total: f64,
    /// How many half-decided sets were looked at; enumeration looks at 2^n whole ones.
    pub looked_at: usize,
}

/// The cheapest set that holds all of `must`.
pub fn cheapest<B: Bill>(bill: &mut B, must: RepairSet) -> Result<Best, B::Error> {
    let all: RepairSet =
        if bill.is_empty() { 0 } else { RepairSet::MAX >> (RepairSet::BITS as usize - bill.len()) };
    let mut open: Vec<usize> = (0..bill.len()).filter(|&at| must >> at & 1 == 0).collect();
    // The clearest decisions first, so that bounds bite early.
    let mut clear = Vec::with_capacity(bill.len());
    for at in 0..bill.len() {
        let adds = bill.now(all) - bill.now(all & !(1 << at));
        clear.push((bill.later(at, must)? - adds).abs());
    }
    open.sort_by(|&a, &b| clear[b].total_cmp(&clear[a]).then(a.cmp(&b)));
    let start = total(bill, must)?;
    let mut search = Search { bill, open, best: Best { set: must, total: start, looked_at: 0 } };
    search.branch(0, must, all)?;
    Ok(search.best)
}

struct Search<'a, B: Bill> {
    bill: &'a mut B,
    open: Vec<usize>,
    best: Best,
}

impl<B: Bill> Search<'_, B> {
    /// Decides the open repairs from `depth` on; `set` is in, `most` is in or still open.
    fn branch(&mut self, depth: usize, set: RepairSet, most: RepairSet) -> Result<(), B::Error> {
        self.best.looked_at += 1;
        let Some(&at) = self.open.get(depth) else {
            let total = total(self.bill, set)?;
            if total < self.best.total - 1e-9 {
                self.best = Best { set, total, ..self.best };
            }
            return Ok(());
        };
        if self.bound(depth, set, most)? >= self.best.total - 1e-9 {
            return Ok(());
        }
        let (with, without) = (set | 1 << at, most & !(1 << at));
        // Into the likelier half first: a good set early cuts the rest.
        let adds = self.bill.now(with) - self.bill.now(set);
        if adds < self.bill.later(at, set)? {
            self.branch(depth + 1, with, most)?;
            self.branch(depth + 1, set, without)
        } else {
            self.branch(depth + 1, set, without)?;
            self.branch(depth + 1, with, most)
        }
    }

    fn bound(&mut self, depth: usize, set: RepairSet, most: RepairSet) -> Result<f64, B::Error> {
        let bill = &mut *self.bill;
        let mut bound = bill.now(set) + left_out(bill, most)?;
        for &at in &self.open[depth..] {
            let others = most & !(1 << at);
            let adds = bill.now(most) - bill.now(others);
            bound += adds.min(bill.later(at, others)?).max(0.0);
        }
        Ok(bound + bill.missed(most)? + bill.again(set, most)?)
    }
}
