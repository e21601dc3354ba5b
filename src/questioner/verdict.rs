//! Why asking stops, and what to do then.

use super::cost::Remedies;
use super::getting_right::{Plan, Step};
use crate::graph::CauseGraph;

/// Two repairs are rivals, not partners, when the chance of the first being enough is below this.
const SURE_ENOUGH: f64 = 0.6;

/// A runner-up at least this share as likely as the first is a rival.
const RIVAL_SHARE: f64 = 0.5;

/// What is at least so likely is told to the owner even where nothing explains the complaint.
const LIKELY_THERE: f64 = 0.5;

/// Why asking stops, and what to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// One repair is the best bet by far.
    FitThis {
        /// The part.
        part: String,
        /// The failures it is for, likeliest first.
        failures: Vec<String>,
        /// A check, by id, that is cheap beside the repair and would cast the most doubt on it, if it came out well: what a
        /// careful hand does before parts are bought, although it does not pay on the average.
        to_be_sure: Option<String>,
    },
    /// These are best done on the same visit.
    DoTogether {
        /// Parts with the failures they are for.
        repairs: Vec<(String, Vec<String>)>,
        /// True if several of them may well be wrong at once; false if it is one of them and coming back
        /// costs more than the second part.
        all_likely: bool,
    },
    /// No check that can be done here tells these apart.
    CannotTell {
        /// The repair to try first.
        first: (String, Vec<String>),
        /// Its rival.
        rival: (String, Vec<String>),
        /// The check elsewhere that would tell the most, by id.
        would: Option<String>,
    },
    /// Most likely nothing is wrong that explains the complaint.
    NothingWrong {
        /// What normal behaviour explains it, likeliest first.
        normal: Vec<String>,
        /// What is likely wrong all the same, though seldom the reason for such a complaint: parts with their failures,
        /// likeliest first.
        besides: Vec<(String, Vec<String>)>,
    },
    /// The time that may be spent is spent; the best bet so far.
    PatienceSpent {
        /// Part and failures to try first; none if nothing stands out.
        first: Option<(String, Vec<String>)>,
    },
    /// No repair is worth trying on what is known: somebody with other means should look.
    HandOn {
        /// The check elsewhere that would tell the most, by id.
        would: Option<String>,
    },
}

/// Everything a verdict is made from.
pub struct Grounds<'a> {
    /// The graph.
    pub graph: &'a CauseGraph,
    /// The repairs.
    pub remedies: &'a Remedies,
    /// Chance that each repair is called for.
    pub blame: &'a [f64],
    /// Chance of every failure.
    pub chances: &'a [f64],
    /// The plan.
    pub plan: &'a Plan,
    /// The check elsewhere that would tell the most.
    pub would: Option<String>,
    /// The check that would cast the most doubt on the first repair.
    pub to_be_sure: Option<String>,
    /// Whether time ran out, not questions.
    pub out_of_time: bool,
}

impl Grounds<'_> {
    /// The verdict.
    pub fn verdict(&self) -> Verdict {
        let first = self.plan.steps.first();
        if self.out_of_time {
            let first = match first {
                Some(Step::Repair(done)) => Some(self.named(done[0])),
                _ => None,
            };
            return Verdict::PatienceSpent { first };
        }
        match first {
            Some(Step::Leave) => Verdict::NothingWrong { normal: self.normal(), besides: self.besides() },
            Some(Step::Repair(done)) if done.len() > 1 => Verdict::DoTogether {
                repairs: done.iter().map(|&at| self.named(at)).collect(),
                all_likely: done.iter().map(|&at| self.blame[at]).sum::<f64>() > 1.0 + 0.3,
            },
            Some(Step::Repair(done)) => self.one(done[0]),
            Some(Step::HandOn) | None => Verdict::HandOn { would: self.would.clone() },
        }
    }

    fn one(&self, first: usize) -> Verdict {
        let others = (0..self.blame.len()).filter(|&at| at != first);
        let rival = others.max_by(|&a, &b| self.blame[a].total_cmp(&self.blame[b]).then(b.cmp(&a)));
        match rival {
            Some(rival)
                if self.plan.first_enough < SURE_ENOUGH
                    && self.blame[rival] >= RIVAL_SHARE * self.blame[first] =>
            {
                Verdict::CannotTell {
                    first: self.named(first),
                    rival: self.named(rival),
                    would: self.would.clone(),
                }
            }
            _ => {
                let (part, failures) = self.named(first);
                Verdict::FitThis { part, failures, to_be_sure: self.to_be_sure.clone() }
            }
        }
    }

    /// Part and failures of a repair: those at least a tenth as likely as its likeliest.
    fn named(&self, repair: usize) -> (String, Vec<String>) {
        let remedy = &self.remedies.repairs[repair];
        (remedy.part.clone(), self.likely(&remedy.failures))
    }

    fn normal(&self) -> Vec<String> {
        let there = self.remedies.harmless.iter().copied().filter(|&at| self.chances[at] >= 0.05);
        self.likely(&there.collect::<Vec<_>>())
    }

    /// Repairs of what is more likely there than not.
    fn besides(&self) -> Vec<(String, Vec<String>)> {
        let chance = |&at: &usize| {
            let failures = self.remedies.repairs[at].failures.iter();
            failures.map(|&failure| self.chances[failure]).fold(0.0, f64::max)
        };
        let mut there: Vec<usize> =
            (0..self.remedies.repairs.len()).filter(|at| chance(at) >= LIKELY_THERE).collect();
        there.sort_by(|a, b| chance(b).total_cmp(&chance(a)));
        there.into_iter().map(|at| self.named(at)).collect()
    }

    fn likely(&self, failures: &[usize]) -> Vec<String> {
        let mut failures = failures.to_vec();
        failures.sort_by(|&a, &b| self.chances[b].total_cmp(&self.chances[a]).then(a.cmp(&b)));
        let floor = failures.first().map_or(0.0, |&at| self.chances[at] / 10.0);
        failures
            .into_iter()
            .filter(|&at| self.chances[at] >= floor)
            .map(|at| self.graph.key(self.remedies.failures[at]).to_owned())
            .collect()
    }
}
