//! What came of many vehicles.

use super::Contender;
use super::visit::Visit;

/// A mean with its standard error.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Mean {
    /// The mean.
    pub value: f64,
    /// Its standard error.
    pub error: f64,
}

impl Mean {
    /// Of these values; 0 of none.
    pub fn of(values: &[f64]) -> Self {
        let n = values.len() as f64;
        if values.is_empty() {
            return Self::default();
        }
        let value = values.iter().sum::<f64>() / n;
        let spread = values.iter().map(|x| (x - value) * (x - value)).sum::<f64>();
        Self { value, error: if n > 1.0 { (spread / (n - 1.0) / n).sqrt() } else { 0.0 } }
    }
}

/// One strategy over all vehicles. Money and minutes are means a vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct Tally {
    /// The strategy.
    pub who: Contender,
    /// Vehicles.
    pub runs: usize,
    /// All the money.
    pub total: Mean,
    /// Money beyond what mending would have cost, had it been known what is wrong.
    pub beyond: Mean,
    /// Money for questions and checks.
    pub checking: Mean,
    /// Money for repairs.
    pub repairing: Mean,
    /// Money for comebacks and handing on.
    pub other: Mean,
    /// Minutes of checking.
    pub minutes: Mean,
    /// Questions and checks.
    pub questions: Mean,
    /// Share of vehicles where the first thing done was right.
    pub first_right: Mean,
    /// Share where the part ranked first had a failure behind the complaint.
    pub top_suspect_right: Mean,
    /// Repairs a vehicle that mended nothing.
    pub needless: Mean,
    /// Comebacks a vehicle.
    pub comebacks: Mean,
    /// Share handed on.
    pub handed_on: Mean,
    /// Unsafe offers over all vehicles.
    pub unsafe_offers: usize,
    /// Contradictory answers over all vehicles.
    pub contradictions: usize,
    /// Total of every vehicle, in order, to compare strategies vehicle by vehicle.
    pub totals: Vec<f64>,
}

impl Tally {
    /// Counts the visits of one strategy.
    pub fn of<'a>(who: Contender, visits: impl Iterator<Item = &'a Visit>) -> Self {
        let visits: Vec<&Visit> = visits.collect();
        let mean =
            |of: &dyn Fn(&Visit) -> f64| Mean::of(&visits.iter().map(|visit| of(visit)).collect::<Vec<_>>());
        let share = |yes: bool| f64::from(u8::from(yes));
        Self {
            who,
            runs: visits.len(),
            total: mean(&Visit::total),
            beyond: mean(&|visit| visit.total() - visit.known),
            checking: mean(&|visit| visit.checking),
            repairing: mean(&|visit| visit.repairing),
            other: mean(&|visit| visit.other),
            minutes: mean(&|visit| visit.minutes),
            questions: mean(&|visit| visit.questions as f64),
            first_right: mean(&|visit| share(visit.first_right)),
            top_suspect_right: mean(&|visit| share(visit.top_suspect_right)),
            needless: mean(&|visit| visit.needless as f64),
            comebacks: mean(&|visit| visit.comebacks as f64),
            handed_on: mean(&|visit| share(visit.handed_on)),
            unsafe_offers: visits.iter().map(|visit| visit.unsafe_offers).sum(),
            contradictions: visits.iter().map(|visit| visit.contradictions).sum(),
            totals: visits.iter().map(|visit| visit.total()).collect(),
        }
    }

    /// By how much dearer `other` is, vehicle by vehicle.
    pub fn saved_against(&self, other: &Self) -> Mean {
        let pairs = self.totals.iter().zip(&other.totals);
        Mean::of(&pairs.map(|(ours, theirs)| theirs - ours).collect::<Vec<_>>())
    }
}
