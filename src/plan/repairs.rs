//! The repairs a plan may choose from, and the bill of a set of them.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::chances::Chances;
use super::choice::{Bill, MOST_REPAIRS, RepairSet};
use super::layout::{Layout, StepSet, members};
use crate::case::shop::Shop;
use crate::graph::age::{Age, age_of};
use crate::graph::{CauseGraph, NodeKind, wear};
use crate::inference::{InferenceError, NodeId};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::{Band, Urgency, Vehicle, WearBy};

/// Kilometres and hours that count as one year of the horizon. Judgement.
pub const KM_A_YEAR: f64 = 15_000.0;
/// See [`KM_A_YEAR`].
pub const HOURS_A_YEAR: f64 = 250.0;

/// A repair below this chance, not due and not asked for, is not weighed.
const LEAST_CHANCE: f64 = 0.005;

/// The part that stands for the coolant itself: bought whenever the system is drained.
pub const COOLANT: &str = "coolant";

/// What renewing the coolant means where the layout has a step for it.
const FLUSH: &str = "Flush both ways until it runs clear, and fill with the right mix.";

/// A part that is due counts only if what is open anyway spares at least two thirds of its own work.
const SAME_ACCESS: f64 = 1.0 / 3.0;

/// How likely a part is to give out within the horizon.
#[derive(Debug, Clone, PartialEq)]
pub struct Due {
    /// Of the part that is in now.
    pub old: f64,
    /// Of a new one.
    pub new: f64,
    /// Its age in words.
    pub age: String,
}

/// One thing that can be done.
#[derive(Debug, Clone)]
pub struct Repair {
    /// Id: the part, or `part/failure` for a repair that buys no new part.
    pub id: String,
    /// The part.
    pub part: String,
    /// What to do.
    pub action: String,
    /// Advice that belongs to it.
    pub also: Vec<String>,
    /// Failures for which the book asks for this repair.
    pub own: BTreeSet<NodeId>,
    /// All failures it puts right.
    pub cures: BTreeSet<NodeId>,
    /// States and history facts it puts an end to.
    pub clears: BTreeSet<NodeId>,
    /// Steps it needs; none if the layout does not know it.
    pub steps: StepSet,
    /// The step at which it is done.
    pub at: Option<usize>,
    /// Minutes it takes on its own if the layout does not know it.
    pub minutes: Band,
    /// Parts that are bought for it.
    pub items: BTreeSet<String>,
    /// Money beside those parts.
    pub money: Band,
    /// Chance that one of its own failures is present.
    pub chance: f64,
    /// Whether the part is due by age.
    pub due: Option<Due>,
    /// True if it was asked for or is the leading suspect.
    pub must: bool,
    /// What doing it on its own, later, costs.
    pub alone: f64,
    /// Minutes of doing it on its own.
    pub alone_minutes: Band,
    /// What may bring its failures on anew: causes some repair can put right, with their weights.
    pub roots: BTreeMap<NodeId, f64>,
}

/// The case a plan is for.
pub struct Scene<'a> {
    /// The rule book.
    pub book: &'a RuleBook,
    /// The cause graph of the vehicle.
    pub graph: &'a CauseGraph,
    /// The vehicle.
    pub vehicle: &'a Vehicle,
    /// Its layout.
    pub layout: &'a Layout<'a>,
    /// The shop: what an hour, a part and a comeback cost.
    pub shop: &'a Shop,
    /// The day, for ages in years.
    pub today: Option<Date>,
    /// Horizon for parts that are due, in years.
    pub horizon_years: f64,
}

impl Scene<'_> {
    /// Whether a failure is one at all, and not something normal taken for a fault.
    pub fn real(&self, node: NodeId) -> bool {
        self.graph.get(node).kind == NodeKind::Failure
            && self.book.failures.get(self.graph.key(node)).is_some_and(|f| f.urgency != Urgency::Nothing)
    }

    /// Every repair this vehicle can need, in book order, not yet weighed.
    pub fn repairs(&self, chances: &mut Chances<'_>) -> Result<Vec<Repair>, InferenceError> {
        let mut repairs = Vec::new();
        for part in self.book.parts.keys() {
            let failures: Vec<NodeId> =
                self.graph.failures_of(part).into_iter().filter(|&f| self.real(f)).collect();
            // A repair without a price of its own buys the part: whatever ails it, a new one cures it.
            let (mut renewing, mut mending): (Vec<NodeId>, Vec<(String, Vec<NodeId>)>) =
                (Vec::new(), Vec::new());
            for &failure in &failures {
                let Some(entry) = self.book.failures.get(self.graph.key(failure)) else { continue };
                if entry.repair.price.is_none() {
                    renewing.push(failure);
                } else if let Some((_, list)) =
                    mending.iter_mut().find(|(text, _)| *text == entry.repair.action)
                {
                    list.push(failure);
                } else {
                    mending.push((entry.repair.action.clone(), vec![failure]));
                }
            }
            if !renewing.is_empty() {
                repairs.push(self.repair(part, &renewing, &failures, chances)?);
            }
            for (_, list) in mending {
                repairs.push(self.repair(part, &list, &list, chances)?);
            }
        }
        self.find_roots(&mut repairs);
        Ok(repairs)
    }

    fn repair(
        &self,
        part: &str,
        own: &[NodeId],
        cures: &[NodeId],
        chances: &mut Chances<'_>,
    ) -> Result<Repair, InferenceError> {
        let likeliest = own
            .iter()
            .copied()
            .fold(own[0], |best, f| if chances.of(f) > chances.of(best) { f } else { best });
        let key = self.graph.key(likeliest);
        let entry = &self.book.failures[key];
        let renews = entry.repair.price.is_none();
        let at = if renews { self.layout.renews(part) } else { self.layout.mends(key) };
        let steps = at.map_or(0, |at| self.layout.closure(1 << at));
        // Where the layout knows the way, its steps say what small things they use; only what is renewed there counts.
        let here = at.map_or(&[][..], |at| &self.layout.steps[at].step.renews[..]);
        let along = entry.repair.with.iter().filter(|with| at.is_none() || here.contains(with));
        let mut items: BTreeSet<String> = along.filter(|with| *with != COOLANT).cloned().collect();
        let mut cures: BTreeSet<NodeId> = cures.iter().copied().collect();
        if renews {
            items.insert(part.to_owned());
            // What is renewed along with it at the same step is cured as well: a pump's gasket with the pump.
            for with in entry.repair.with.iter().filter(|with| here.contains(with)) {
                cures.extend(self.graph.failures_of(with));
            }
        }
        // What a step on the way puts right anyway counts too: a drained system is filled with the right mix.
        let on_the_way = members(steps).flat_map(|at| &self.layout.steps[at].step.mends);
        cures.extend(on_the_way.filter_map(|id| self.graph.node(id)));
        let clears = members(steps)
            .flat_map(|at| &self.layout.steps[at].step.clears)
            .filter_map(|id| self.graph.node(id))
            .collect();
        let own: BTreeSet<NodeId> = own.iter().copied().collect();
        let chance = chances.any(&own)?;
        let mut repair = Repair {
            id: if renews { part.to_owned() } else { format!("{part}/{key}") },
            part: part.to_owned(),
            action: if renews && part == COOLANT && at.is_some() {
                FLUSH.to_owned()
            } else {
                entry.repair.action.clone()
            },
            also: entry.repair.also.clone(),
            cures,
            clears,
            steps,
            at,
            minutes: if at.is_some() { Band(0.0, 0.0) } else { entry.repair.minutes },
            items,
            money: entry.repair.price.unwrap_or(Band(0.0, 0.0)),
            chance,
            due: if renews { self.due(part, &own) } else { None },
            must: false,
            alone: 0.0,
            alone_minutes: Band(0.0, 0.0),
            roots: BTreeMap::new(),
            own,
        };
        let cost = self.cost_of([&repair]);
        repair.alone = cost.money();
        repair.alone_minutes = cost.minutes;
        Ok(repair)
    }

    /// Chance that the part gives out within the horizon, by the Weibull laws of its failures.
    fn due(&self, part: &str, failures: &BTreeSet<NodeId>) -> Option<Due> {
        let (mut old_lives, mut new_lives, mut age_text) = (1.0, 1.0, None);
        for &node in failures {
            let Some(law) = self.book.failures.get(self.graph.key(node)).and_then(|f| f.wear.as_ref()) else {
                continue;
            };
            let (span, unit) = match law.by {
                WearBy::Km => (self.horizon_years * KM_A_YEAR, "km"),
                WearBy::Hours => (self.horizon_years * HOURS_A_YEAR, "hours"),
                WearBy::Years => (self.horizon_years, "years"),
            };
            let (old, text) = match age_of(self.vehicle, part, law.by, self.today) {
                Age::Known(age) => (
                    wear::chance_within(age, span, law.life, law.shape),
                    format!("{} {unit} old", thousands(age)),
                ),
                Age::UpTo(age) => (
                    wear::chance_within_up_to(age, span, law.life, law.shape),
                    format!("age unknown, at most {} {unit}", thousands(age)),
                ),
                Age::Unknown => continue,
            };
            old_lives *= 1.0 - old;
            new_lives *= 1.0 - wear::chance_within(0.0, span, law.life, law.shape);
            age_text.get_or_insert(text);
        }
        age_text.map(|age| Due { old: 1.0 - old_lives, new: 1.0 - new_lives, age })
    }

    /// Causes of each renewed part's failures that some repair puts right: its roots.
    fn find_roots(&self, repairs: &mut [Repair]) {
        let cleared: BTreeSet<NodeId> = repairs.iter().flat_map(|r| r.clears.iter().copied()).collect();
        let cured: BTreeSet<NodeId> = repairs.iter().flat_map(|r| r.cures.iter().copied()).collect();
        for repair in repairs {
            let mut roots: BTreeMap<NodeId, f64> = BTreeMap::new();
            for &failure in &repair.cures {
                for (cause, weight) in self.graph.causes(failure) {
                    let root = match self.graph.get(cause).kind {
                        NodeKind::Failure => cured.contains(&cause) && !repair.cures.contains(&cause),
                        NodeKind::State | NodeKind::History => cleared.contains(&cause),
                        _ => false,
                    };
                    if root {
                        let lives = roots.entry(cause).or_insert(1.0);
                        *lives *= 1.0 - weight;
                    }
                }
            }
            repair.roots = roots.into_iter().map(|(cause, lives)| (cause, 1.0 - lives)).collect();
        }
    }

    /// What a set of repairs costs, shared work and shared parts once.
    pub fn cost_of<'r>(&self, repairs: impl IntoIterator<Item = &'r Repair>) -> Cost {
        let (mut steps, mut own, mut items, mut money): (StepSet, Band, BTreeSet<&str>, Band) =
            (0, Band(0.0, 0.0), BTreeSet::new(), Band(0.0, 0.0));
        let mut opens = false;
        for repair in repairs {
            steps |= repair.steps;
            own = add(own, repair.minutes);
            money = add(money, repair.money);
            items.extend(repair.items.iter().map(String::as_str));
            opens |= repair.at.is_none() && self.opens_coolant(repair);
        }
        let drained = opens || members(steps).any(|at| self.layout.steps[at].step.drains);
        if drained {
            items.insert(COOLANT);
        }
        for at in members(steps) {
            for used in &self.layout.steps[at].step.uses {
                let price = used.price.unwrap_or(Band(0.0, 0.0));
                let count = f64::from(used.count);
                money = add(money, Band(price.0 * count, price.1 * count));
            }
        }
        let parts = items
            .iter()
            .fold(money, |sum, item| add(sum, self.shop.price(self.book, item).unwrap_or(Band(0.0, 0.0))));
        let minutes = add(self.layout.minutes(steps), own);
        Cost { steps, parts, minutes, drained, labour: self.shop.labour(minutes.middle()) }
    }

    /// Whether the book says that coolant goes with a repair that the layout does not know.
    fn opens_coolant(&self, repair: &Repair) -> bool {
        repair.own.iter().any(|&f| {
            self.book
                .failures
                .get(self.graph.key(f))
                .is_some_and(|f| f.repair.with.iter().any(|w| w == COOLANT))
        })
    }
}

/// A whole number with commas between thousands, from five digits on.
fn thousands(value: f64) -> String {
    crate::units::Unit::KILOMETRE.number(value.round())
}

/// The two bands, end by end.
pub fn add(a: Band, b: Band) -> Band {
    Band(a.0 + b.0, a.1 + b.1)
}

/// What a set of repairs costs now.
#[derive(Debug, Clone, Copy)]
pub struct Cost {
    /// Steps it needs.
    pub steps: StepSet,
    /// Parts, fluids and small things.
    pub parts: Band,
    /// Minutes.
    pub minutes: Band,
    /// Whether the coolant comes out.
    pub drained: bool,
    /// Labour for the middle of the minutes.
    pub labour: f64,
}

impl Cost {
    /// Money for parts and labour, the middle of the bands.
    pub fn money(&self) -> f64 {
        self.parts.middle() + self.labour
    }
}

impl Scene<'_> {
    /// Lets age count only for parts that need the access which is open anyway.
    pub fn only_same_access(&self, repairs: &mut [Repair]) {
        let open = self.cost_of(repairs.iter().filter(|r| r.must)).steps;
        let minutes = |steps: StepSet| self.layout.minutes(steps).middle();
        for repair in repairs.iter_mut().filter(|r| !r.must) {
            let adds = minutes(open | repair.steps) - minutes(open) + repair.minutes.middle();
            if adds > SAME_ACCESS * repair.alone_minutes.middle() {
                repair.due = None;
            }
        }
    }
}

/// The repairs that are weighed against each other: all that must be done, then by what is at stake. Returns how many
/// others had some chance but were not weighed.
pub fn shortlist(mut repairs: Vec<Repair>, comeback: f64) -> (Vec<Repair>, usize) {
    let at_stake = |repair: &Repair| {
        let due = repair.due.as_ref().map_or(0.0, |due| (due.old - due.new).max(0.0));
        repair.chance * (repair.alone + comeback) + due * repair.alone
    };
    let could_clear = |repair: &Repair| !repair.clears.is_empty();
    repairs.retain(|r| {
        r.must
            || r.chance >= LEAST_CHANCE
            || r.due.as_ref().is_some_and(|d| d.old - d.new > 0.02)
            || could_clear(r)
    });
    let mut order: Vec<usize> = (0..repairs.len()).collect();
    order.sort_by(|&a, &b| {
        let (a, b) = (&repairs[a], &repairs[b]);
        (b.must, could_clear(b)).cmp(&(a.must, could_clear(a))).then(at_stake(b).total_cmp(&at_stake(a)))
    });
    let beyond = order.split_off(order.len().min(MOST_REPAIRS));
    let mut kept: Vec<(usize, Repair)> = Vec::new();
    for (at, repair) in repairs.into_iter().enumerate() {
        if !beyond.contains(&at) {
            kept.push((at, repair));
        }
    }
    kept.sort_by_key(|(at, _)| order.iter().position(|o| o == at));
    (kept.into_iter().map(|(_, repair)| repair).collect(), beyond.len())
}

/// The bill of the repairs of one case.
pub struct CaseBill<'a, 'c> {
    /// The case.
    pub scene: &'a Scene<'a>,
    /// The repairs that are weighed.
    pub repairs: &'a [Repair],
    /// The chances.
    pub chances: &'a mut Chances<'c>,
}

impl CaseBill<'_, '_> {
    /// The repairs of a set.
    pub fn of(&self, set: RepairSet) -> Vec<&Repair> {
        self.repairs.iter().enumerate().filter(|(at, _)| set >> at & 1 == 1).map(|(_, r)| r).collect()
    }

    /// Chance that a failure which no repair of `set` puts right still causes the complaint.
    pub fn still_there(&mut self, set: RepairSet) -> Result<f64, InferenceError> {
        let chosen = self.of(set);
        let right = chosen.iter().flat_map(|r| r.cures.iter().chain(&r.clears)).copied().collect();
        self.chances.stays(&right)
    }

    /// Chance that repair `at` is needed once `set` has put right what it can; `None` if nothing is left to it.
    pub fn still_needed(&mut self, at: usize, set: RepairSet) -> Result<Option<f64>, InferenceError> {
        let repair = &self.repairs[at];
        let others = self.repairs.iter().enumerate().filter(|&(other, _)| set >> other & 1 == 1);
        let cured: BTreeSet<NodeId> =
            others.flat_map(|(_, r)| r.cures.intersection(&repair.own).copied()).collect();
        if cured.len() == repair.own.len() {
            return Ok(None);
        }
        if cured.is_empty() {
            return Ok(Some(repair.chance));
        }
        let left: BTreeSet<NodeId> = repair.own.difference(&cured).copied().collect();
        self.chances.any(&left).map(Some)
    }

    /// Chance that what `righted` leaves in place ruins the new part of repair `at`.
    pub fn ruined(&mut self, at: usize, righted: RepairSet) -> Result<f64, InferenceError> {
        let mut put_right: BTreeSet<NodeId> = BTreeSet::new();
        for repair in self.of(righted) {
            put_right.extend(repair.cures.iter().chain(&repair.clears));
        }
        let left: BTreeMap<NodeId, f64> = self.repairs[at]
            .roots
            .iter()
            .filter(|(cause, _)| !put_right.contains(cause))
            .map(|(&cause, &weight)| (cause, weight))
            .collect();
        self.chances.brought_on(&left)
    }
}

impl Bill for CaseBill<'_, '_> {
    type Error = InferenceError;

    fn len(&self) -> usize {
        self.repairs.len()
    }

    fn now(&self, set: RepairSet) -> f64 {
        self.scene.cost_of(self.of(set)).money()
    }

    fn later(&mut self, at: usize, set: RepairSet) -> Result<f64, InferenceError> {
        let chance = self.still_needed(at, set)?;
        let repair = &self.repairs[at];
        // A part that gives out later by age is a new job, not a comeback.
        let due = repair.due.as_ref().map_or(0.0, |due| (due.old - due.new).max(0.0));
        Ok(chance.map_or(0.0, |chance| (chance + (1.0 - chance) * due) * repair.alone))
    }

    fn missed(&mut self, set: RepairSet) -> Result<f64, InferenceError> {
        Ok(self.scene.shop.comeback * self.still_there(set)?)
    }

    fn again(&mut self, set: RepairSet, righted: RepairSet) -> Result<f64, InferenceError> {
        let mut sum = 0.0;
        for at in (0..self.repairs.len()).filter(|at| set >> at & 1 == 1) {
            if !self.repairs[at].roots.is_empty() {
                let price = self.repairs[at].alone + self.scene.shop.comeback;
                sum += self.ruined(at, righted)? * price;
            }
        }
        Ok(sum)
    }
}
