//! Expectation-maximisation over all cases, with a Beta prior whose strength is counted in cases.

use rayon::prelude::*;

use super::beta::Beta;
use super::expect::{ExpectError, Expectation, expect};
use super::scores::Forecast;
use super::sheet::Sheet;
use crate::inference::{Engine, NodeId};

/// One number to be learnt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// What it is worth before any case: the author's word.
    pub prior: f64,
    /// How many cases the author's word counts as.
    pub strength: f64,
    /// Where the search starts; the author's word, unless a check wants otherwise.
    pub start: f64,
    /// True by definition: never moved.
    pub held: bool,
    /// What the written number is per: 1,000 for bases, 1 otherwise.
    pub per: f64,
}

impl Settings {
    /// A number whose author's word counts as `strength` cases. 0 and 1 are meant as they are written, and stay.
    pub fn new(prior: f64, strength: f64) -> Self {
        Self { prior, strength, start: prior, held: prior <= 0.0 || prior >= 1.0, per: 1.0 }
    }
}

/// How often a number fired, of how often it could have.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Count {
    /// Times it fired (expected).
    pub fired: f64,
    /// Times it could have.
    pub chances: f64,
}

impl Count {
    /// The number these counts and the author's word come to: the mode of a Beta(s p + 1, s (1 - p) + 1) prior after
    /// them, which is the mean of a Beta(s p, s (1 - p)) one. `None` without any chance to fire.
    fn estimate(self, settings: &Settings) -> Option<f64> {
        // Without a chance to fire there is nothing to learn, not even a rounding error.
        (self.chances > 0.0).then(|| {
            let total = settings.strength + self.chances;
            ((settings.strength * settings.prior + self.fired) / total).clamp(0.0, 1.0)
        })
    }

    fn plus(self, other: Self) -> Self {
        Self { fired: self.fired + other.fired, chances: self.chances + other.chances }
    }

    /// Without another count; rounding never makes it negative.
    fn minus(self, other: Self) -> Self {
        Self { fired: (self.fired - other.fired).max(0.0), chances: (self.chances - other.chances).max(0.0) }
    }
}

/// When to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Most rounds.
    pub rounds: usize,
    /// It has settled when no number moves by more than this.
    pub tolerance: f64,
    /// Effects less likely than this in a case share their credit out in proportion; 0 is exact throughout.
    pub slight: f64,
}

impl Default for Fit {
    fn default() -> Self {
        Self { rounds: 15, tolerance: 2e-3, slight: 0.05 }
    }
}

/// What came out.
#[derive(Debug, Clone)]
pub struct Fitted {
    /// The numbers.
    pub values: Vec<f64>,
    /// Counts of these cases, by number.
    pub counts: Vec<Count>,
    /// Counts pooled from elsewhere, by number.
    pub pooled: Vec<Count>,
    /// Cases that say something about each number: those in which it could have fired with a chance of at
    /// least one in twenty.
    pub bearing: Vec<usize>,
    /// Credits of every case under these numbers.
    pub credits: Vec<Expectation>,
    /// Log likelihood of all cases at the start of each round; the last is that of the result.
    pub log_likelihood: Vec<f64>,
    /// The same with the prior's part: what never falls.
    pub log_posterior: Vec<f64>,
    /// Whether it settled before the rounds ran out.
    pub settled: bool,
}

/// Learns from `sheets`; cases that cannot be used must have been left out before (see [`usable`]).
pub fn fit(
    engine: &Engine,
    sheets: &[Sheet],
    settings: &[Settings],
    pooled: &[Count],
    how: &Fit,
) -> Result<Fitted, ExpectError> {
    let mut values: Vec<f64> = settings.iter().map(|s| s.start).collect();
    let pooled: Vec<Count> =
        (0..settings.len()).map(|p| pooled.get(p).copied().unwrap_or_default()).collect();
    let (mut log_likelihood, mut log_posterior) = (Vec::new(), Vec::new());
    let mut settled = false;
    for round in 0..=how.rounds {
        let credits: Vec<Expectation> = sheets
            .par_iter()
            .map(|sheet| expect(engine, sheet, &values, how.slight))
            .collect::<Result<_, _>>()?;
        let likelihood: f64 =
            sheets.iter().zip(&credits).map(|(sheet, credit)| sheet.times * credit.log_evidence).sum();
        log_likelihood.push(likelihood);
        log_posterior.push(likelihood + log_prior(settings, &values));
        let mut counts = vec![Count::default(); settings.len()];
        let mut bearing = vec![0; settings.len()];
        let terms =
            sheets.iter().zip(&credits).flat_map(|(s, credit)| credit.terms.iter().map(|t| (s.times, t)));
        for (times, term) in terms {
            let at = term.parameter();
            let (fired, chances) = (times * term.fired, times * term.chances(&values));
            counts[at] = counts[at].plus(Count { fired, chances });
            bearing[at] += usize::from(term.could >= 0.05);
        }
        let next: Vec<f64> = (0..settings.len())
            .map(|p| match counts[p].plus(pooled[p]).estimate(&settings[p]) {
                Some(value) if !settings[p].held => value,
                _ => values[p],
            })
            .collect();
        let moved = next.iter().zip(&values).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        if moved <= how.tolerance || round == how.rounds {
            settled |= moved <= how.tolerance;
            return Ok(Fitted {
                values,
                counts,
                pooled,
                bearing,
                credits,
                log_likelihood,
                log_posterior,
                settled,
            });
        }
        values = next;
    }
    unreachable!("the last round returns")
}

/// The prior's part of what is maximised, less a constant.
fn log_prior(settings: &[Settings], values: &[f64]) -> f64 {
    let part = |weight: f64, chance: f64| {
        if weight > 0.0 { weight * chance.max(f64::MIN_POSITIVE).ln() } else { 0.0 }
    };
    let of = |s: &Settings, value: f64| {
        part(s.strength * s.prior, value) + part(s.strength * (1.0 - s.prior), 1.0 - value)
    };
    settings.iter().zip(values).filter(|(s, _)| !s.held).map(|(s, &value)| of(s, value)).sum()
}

impl Fitted {
    /// Each number as learnt from all cases but one: that case's own credits taken out, those of the others left as
    /// they are. Exact where nothing is hidden, one step of the refit otherwise.
    pub fn without(&self, settings: &[Settings], case: usize) -> Vec<f64> {
        let mut own = vec![Count::default(); settings.len()];
        for term in &self.credits[case].terms {
            let at = term.parameter();
            own[at] = own[at].plus(Count { fired: term.fired, chances: term.chances(&self.values) });
        }
        (0..settings.len())
            .map(|p| {
                let rest = self.counts[p].minus(own[p]).plus(self.pooled[p]);
                match rest.estimate(&settings[p]) {
                    Some(value) if !settings[p].held => value,
                    _ => settings[p].prior,
                }
            })
            .collect()
    }

    /// What is known of a number: the author's word and the cases together. The counts are expected ones, so with
    /// much hidden the range is somewhat too narrow.
    pub fn known(&self, settings: &[Settings], parameter: usize) -> Beta {
        let all = self.counts[parameter].plus(self.pooled[parameter]);
        let Settings { prior, strength, .. } = settings[parameter];
        let (a, b) = (strength * prior + all.fired, strength * (1.0 - prior) + all.chances - all.fired);
        Beta { a: a.max(1e-9), b: b.max(1e-9) }
    }
}

/// Parts the cases into those that can be learnt from, and the reasons why the others cannot.
pub fn usable(
    engine: &Engine,
    sheets: Vec<Sheet>,
    settings: &[Settings],
) -> (Vec<Sheet>, Vec<(String, ExpectError)>) {
    let start: Vec<f64> = settings.iter().map(|s| s.start).collect();
    let tried: Vec<Option<ExpectError>> =
        sheets.par_iter().map(|sheet| expect(engine, sheet, &start, 1.1).err()).collect();
    let (mut kept, mut refused) = (Vec::new(), Vec::new());
    for (sheet, error) in sheets.into_iter().zip(tried) {
        match error {
            None => kept.push(sheet),
            Some(error) => refused.push((sheet.name, error)),
        }
    }
    (kept, refused)
}

/// The chance, from the answers alone, of everything that was looked at in the end. `values` gives the numbers to
/// use for each case.
pub fn foretell(
    engine: &Engine,
    sheets: &[Sheet],
    values: impl Fn(usize) -> Vec<f64> + Sync,
) -> Result<Vec<Forecast>, ExpectError> {
    let of_case = |(at, sheet): (usize, &Sheet)| -> Result<Vec<Forecast>, ExpectError> {
        let network = sheet.network(&values(at))?;
        let targets: Vec<NodeId> = sheet.verdict.iter().map(|&(node, _)| node).collect();
        let chances = engine.posterior(&network, &sheet.answers, &targets)?.marginals;
        let pairs = sheet.verdict.iter().zip(chances);
        Ok(pairs.map(|(&(_, there), chance)| Forecast { chance, there }).collect())
    };
    let all: Vec<Vec<Forecast>> = sheets.par_iter().enumerate().map(of_case).collect::<Result<_, _>>()?;
    Ok(all.into_iter().flatten().collect())
}
