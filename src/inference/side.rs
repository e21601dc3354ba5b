//! Chances of targets nothing was seen below, such as parts: P(no cause brings it on | evidence).
//!
//! Such a target would tie its causes together in the elimination order. Instead, once both sweeps are done, only the buckets
//! on the way between its causes are run again, with tables that also say whether a cause has brought
//! the target on so far ([`Pair`]), or that keep only one share of the story (a plain number). Where the ways have met, the
//! stored adjoint finishes the job. With few causes plain numbers do: P(on) = P(first brings it on) + P(first idle, second
//! brings it on) + ..., a sum, so nothing is lost.

use std::ops::{Add, AddAssign, Mul};

use super::kernels::Value;
use super::lane::{Lane, Wide};
use super::plan::Plan;
use super::reduce::Derived;
use super::runner::Runner;
use super::sweep::Sweep;

/// What the tables on the way hold.
pub(super) trait Side<L>: Value<L> {
    /// Nothing at all.
    const NONE: Self;
    /// An ordinary number: nothing has brought the target on.
    fn off(base: L) -> Self;
    /// Two independent parts of the story combined by OR.
    fn or(self, other: Self) -> Self;
    /// Memory to walk in, whatever it holds.
    fn room(len: usize) -> Vec<Self> {
        vec![Self::NONE; len]
    }
    /// Takes it back for later.
    fn recycle(_room: Vec<Self>) {}
}

/// What the tables on a single way hold: causes have an effect on it.
pub(super) trait Story<L>: Side<L> {
    /// A cause that is absent.
    fn without(self, effect: Effect) -> Self;
    /// A cause that is present.
    fn with(self, effect: Effect) -> Self;
}

/// What a cause does to the share of the story that is kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Effect {
    pub weight: f64,
    /// Plain numbers only: keep the share where this cause brings the target on, not the one where it does not.
    pub on: bool,
}

impl<L: Lane> Side<L> for L {
    const NONE: Self = L::ZERO;
    #[inline]
    fn off(base: L) -> Self {
        base
    }
    #[inline]
    fn or(self, other: Self) -> Self {
        self * other
    }
    fn room(len: usize) -> Vec<Self> {
        Self::buffer(len)
    }
    fn recycle(room: Vec<Self>) {
        <Self as Lane>::recycle(room);
    }
}

impl<L: Lane> Story<L> for L {
    #[inline]
    fn without(self, effect: Effect) -> Self {
        if effect.on { L::ZERO } else { self }
    }
    #[inline]
    fn with(self, effect: Effect) -> Self {
        self * L::splat(if effect.on { effect.weight } else { 1.0 - effect.weight })
    }
}

/// Several plain numbers, one for each of several ways.
impl Side<f64> for Wide {
    const NONE: Self = Self::ZERO;
    #[inline]
    fn off(base: f64) -> Self {
        Self::splat(base)
    }
    #[inline]
    fn or(self, other: Self) -> Self {
        self * other
    }
    fn room(len: usize) -> Vec<Self> {
        Self::buffer(len)
    }
    fn recycle(room: Vec<Self>) {
        <Self as Lane>::recycle(room);
    }
}

/// The share where the target is still absent, and the share where it has been brought on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pair<L> {
    pub absent: L,
    pub present: L,
}

impl<L: Lane> Add for Pair<L> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { absent: self.absent + other.absent, present: self.present + other.present }
    }
}

impl<L: Lane> AddAssign for Pair<L> {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl<L: Lane> Mul<L> for Pair<L> {
    type Output = Self;
    fn mul(self, by: L) -> Self {
        Self { absent: self.absent * by, present: self.present * by }
    }
}

impl<L: Lane> Side<L> for Pair<L> {
    const NONE: Self = Self { absent: L::ZERO, present: L::ZERO };
    fn off(base: L) -> Self {
        Self { absent: base, present: L::ZERO }
    }
    fn or(self, other: Self) -> Self {
        let present = self.absent * other.present + self.present * (other.absent + other.present);
        Self { absent: self.absent * other.absent, present }
    }
}

impl<L: Lane> Story<L> for Pair<L> {
    fn without(self, _: Effect) -> Self {
        self
    }
    fn with(self, effect: Effect) -> Self {
        let (stay, go) = (L::splat(1.0 - effect.weight), L::splat(effect.weight));
        Self { absent: self.absent * stay, present: self.present + self.absent * go }
    }
}

impl<L: Lane> Pair<L> {
    /// Both shares as chances.
    fn normal(self) -> Self {
        let total = self.absent + self.present;
        Self { absent: self.absent.over(total), present: self.present.over(total) }
    }
}

/// The way between several causes in one component.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Way {
    pub component: usize,
    /// Buckets in elimination order, with what the bucket's variable does if it is a cause.
    pub visits: Vec<(usize, Option<Effect>)>,
    /// Causes still in the scope of the last bucket, by bit.
    pub rest: Vec<(u32, Effect)>,
}

/// Several causes in one component.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Group {
    /// The way along which all stay idle; also the way for [`Pair`]s.
    pub idle: Way,
    causes: Vec<Cause>,
}

/// A complement that leaves less than this is worked out again without it: one that leaves more keeps eleven digits.
pub(super) const LEAST_COMPLEMENT: f64 = 1e-4;

/// Up to so many causes are summed one by one; for more, pairs are cheaper.
const FEW: usize = 3;

impl Way {
    /// The bucket where the causes have met.
    pub(super) fn end(&self) -> usize {
        self.visits.last().expect("a way has an end").0
    }
}

/// How one derived target's chance is put together: independent pieces, combined by OR.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Recipe {
    pub background: f64,
    /// Causes that are alone in their component: variable and weight.
    pub singles: Vec<(usize, f64)>,
    pub groups: Vec<Group>,
}

impl Recipe {
    /// P(target absent), P(target present), given the marginals of the single causes and the shares of the ways.
    pub(super) fn join<L: Lane>(
        &self,
        marginal: impl Fn(usize) -> [L; 2],
        mut share: impl FnMut(usize, &Group) -> Pair<L>,
    ) -> Pair<L> {
        let background = self.background;
        let mut sum = Pair { absent: L::splat(1.0 - background), present: L::splat(background) };
        for &(var, weight) in &self.singles {
            let [zero, one] = marginal(var);
            let (stay, go) = (L::splat(1.0 - weight), L::splat(weight));
            sum = sum.or(Pair { absent: zero + one * stay, present: one * go });
        }
        for (i, group) in self.groups.iter().enumerate() {
            sum = sum.or(share(i, group).normal());
        }
        sum.normal()
    }
}

/// Plans how to find the chance of `derived`.
pub(super) fn recipe(plan: &Plan, derived: &Derived) -> Recipe {
    let mut recipe = Recipe { background: derived.background, ..Recipe::default() };
    let mut placed = Vec::with_capacity(derived.causes.len());
    for &(var, weight) in &derived.causes {
        match plan.bucket_of[var] {
            Some(at) => placed.push((plan.buckets[at].component, at, weight)),
            None => recipe.singles.push((var, weight)),
        }
    }
    placed.sort_unstable_by_key(|&(component, at, _)| (component, at));
    for causes in placed.chunk_by(|a, b| a.0 == b.0) {
        if let &[(_, at, weight)] = causes {
            recipe.singles.push((plan.buckets[at].var, weight));
        } else {
            recipe.groups.push(Group { idle: way(plan, causes, false), causes: causes.to_vec() });
        }
    }
    recipe
}

/// A cause: component, bucket, weight.
type Cause = (usize, usize, f64);

/// The way between `causes`: all idle, or the last one bringing the target on.
fn way(plan: &Plan, causes: &[Cause], last_on: bool) -> Way {
    let mut way = Way { component: causes[0].0, visits: Vec::new(), rest: Vec::new() };
    let last = causes.len() - 1;
    let effect = |i: usize, weight: f64| Effect { weight, on: last_on && i == last };
    // Buckets still to visit, the next one last: with the cause's weight, if one starts there, and whether a changed
    // table arrives there.
    let starts = causes.iter().enumerate().rev();
    let mut todo: Vec<(usize, Option<Effect>, bool)> =
        starts.map(|(i, &(_, at, weight))| (at, Some(effect(i, weight)), false)).collect();
    while let Some((at, effect, _)) = todo.pop() {
        way.visits.push((at, effect));
        let scope = plan.scope(at);
        let bit = |at: usize| scope.iter().position(|&v| v == plan.buckets[at].var);
        // Done where nothing else is on its way and all causes left are at hand.
        if todo.iter().all(|&(other, _, arrives)| !arrives && bit(other).is_some()) {
            let rest = todo.iter().map(|&(other, effect, _)| {
                let bit = bit(other).and_then(|bit| u32::try_from(bit).ok());
                (bit.expect("in scope"), effect.expect("only causes are left"))
            });
            way.rest = rest.collect();
            break;
        }
        let next = plan.buckets[at].next.expect("causes of one component meet");
        match todo.iter_mut().find(|(other, ..)| *other == next) {
            Some(found) => found.2 = true,
            None => {
                let place = todo.partition_point(|&(other, ..)| other > next);
                todo.insert(place, (next, None, true));
            }
        }
    }
    way
}

impl Group {
    /// The shares where the target stays absent and where it is brought on.
    pub(super) fn shares(
        &self,
        plan: &Plan,
        sweep: &Sweep<f64>,
        numbers: &mut Runner<f64, f64>,
        pairs: &mut Runner<Pair<f64>, f64>,
    ) -> Pair<f64> {
        if self.causes.len() > FEW {
            return pairs.run(plan, sweep, &self.idle);
        }
        let (_, at, weight) = self.causes[0];
        let mut present = sweep.marginals[plan.buckets[at].var][1] * weight;
        for end in 2..=self.causes.len() {
            // Those before stay idle, and the last brings the target on.
            let way = way(plan, &self.causes[..end], true);
            present += numbers.run(plan, sweep, &way) / sweep.total(plan, way.end());
        }
        // Only ever a factor beside the other groups, where its last digits do not show.
        Pair { absent: (1.0 - present).max(0.0), present }
    }
}
