//! How well chances foretell what is found: log score, Brier score and its parts, calibration.

/// A chance, and whether it came true.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// The chance that was given, 0 to 1.
    pub chance: f64,
    /// Whether it was there.
    pub there: bool,
}

/// Chances nearer to 0 or 1 than this are scored as if they stopped there: one flat "never" proved wrong must
/// not drown everything else.
const FLOOR: f64 = 1e-6;

impl Forecast {
    fn outcome(self) -> f64 {
        f64::from(u8::from(self.there))
    }

    /// Surprise at what was found, in nats.
    pub fn surprise(self) -> f64 {
        let chance = if self.there { self.chance } else { 1.0 - self.chance };
        -chance.clamp(FLOOR, 1.0).ln()
    }
}

/// Mean surprise in nats: the log score. Lower is better; 0 for no forecasts.
pub fn log_score(forecasts: &[Forecast]) -> f64 {
    mean(forecasts.iter().map(|forecast| forecast.surprise()))
}

/// Mean squared distance, from 0 to 1: half of the score as Brier (1950) summed it over both outcomes.
pub fn brier(forecasts: &[Forecast]) -> f64 {
    mean(forecasts.iter().map(|forecast| (forecast.chance - forecast.outcome()).powi(2)))
}

fn mean(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let count = values.len();
    if count == 0 { 0.0 } else { values.sum::<f64>() / count as f64 }
}

/// Forecasts of about one chance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// Lower edge of the bin.
    pub from: f64,
    /// Upper edge; chances at it belong to the next bin, except in the last.
    pub to: f64,
    /// Forecasts in it.
    pub count: usize,
    /// Their mean chance.
    pub chance: f64,
    /// Share of them that came true.
    pub share: f64,
}

/// The forecasts in `bins` bins of equal width; empty bins are left out.
pub fn calibration(forecasts: &[Forecast], bins: usize) -> Vec<Bin> {
    let width = 1.0 / bins as f64;
    (0..bins)
        .filter_map(|at| {
            let (from, to) = (at as f64 * width, (at + 1) as f64 * width);
            let within = |chance: f64| chance >= from && (chance < to || at + 1 == bins);
            let inside: Vec<&Forecast> = forecasts.iter().filter(|f| within(f.chance)).collect();
            (!inside.is_empty()).then(|| Bin {
                from,
                to,
                count: inside.len(),
                chance: mean(inside.iter().map(|f| f.chance)),
                share: mean(inside.iter().map(|f| f.outcome())),
            })
        })
        .collect()
}

/// Murphy's (1973) parts of the Brier score: `reliability - resolution + uncertainty`, exact when all forecasts
/// of a bin are equal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parts {
    /// How far chances are from shares; 0 is best.
    pub reliability: f64,
    /// How far the bins tell cases apart; more is better.
    pub resolution: f64,
    /// What anyone faces who knows only how often it is true.
    pub uncertainty: f64,
    /// Mean distance of chance and share over the forecasts ("expected calibration error").
    pub calibration_error: f64,
}

impl Parts {
    /// The parts over these bins.
    pub fn of(bins: &[Bin]) -> Self {
        let total: usize = bins.iter().map(|bin| bin.count).sum();
        let over = |value: &dyn Fn(&Bin) -> f64| -> f64 {
            bins.iter().map(|bin| bin.count as f64 * value(bin)).sum::<f64>() / total.max(1) as f64
        };
        let base = over(&|bin| bin.share);
        Self {
            reliability: over(&|bin| (bin.chance - bin.share).powi(2)),
            resolution: over(&|bin| (bin.share - base).powi(2)),
            uncertainty: base * (1.0 - base),
            calibration_error: over(&|bin| (bin.chance - bin.share).abs()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, wanted: f64) {
        assert!((found - wanted).abs() <= 1e-12, "{found} is not {wanted}");
    }

    /// Recomputed by hand in exact fractions; the original score sums over both outcomes and is twice ours.
    #[test]
    fn seven_forecasts() {
        let chances = [0.9, 0.8, 0.7, 0.6, 0.3, 0.2, 0.1];
        let there = [true, true, false, true, false, false, false];
        let forecasts: Vec<Forecast> =
            chances.into_iter().zip(there).map(|(chance, there)| Forecast { chance, there }).collect();
        near(brier(&forecasts), 0.12);
        near(log_score(&forecasts), 0.389_783_072_282);
        near(log_score(&forecasts) / std::f64::consts::LN_2, 0.562_338_105_404);
    }

    /// A made-up table, its parts recomputed in exact fractions.
    #[test]
    fn the_parts_of_a_table() {
        let mut forecasts = Vec::new();
        for (chance, count, ones) in [(0.1, 40, 3), (0.3, 30, 10), (0.5, 20, 9), (0.7, 30, 22), (0.9, 40, 37)]
        {
            forecasts.extend((0..count).map(|i| Forecast { chance, there: i < ones }));
        }
        // Bins of a fifth, so that each chance stands in the middle of its own.
        let parts = Parts::of(&calibration(&forecasts, 5));
        near(brier(&forecasts), 0.145);
        near(parts.reliability, 0.001_041_666_667);
        near(parts.resolution, 0.106_002_604_167);
        near(parts.uncertainty, 0.249_960_937_5);
        near(parts.calibration_error, 0.031_25);
        near(parts.reliability - parts.resolution + parts.uncertainty, 0.145);
        near(1.0 - brier(&forecasts) / parts.uncertainty, 0.419_909_360_838);
    }

    #[test]
    fn a_flat_never_proved_wrong_is_bad_but_finite() {
        let wrong = Forecast { chance: 0.0, there: true };
        assert!(wrong.surprise() > 13.0 && wrong.surprise() < 14.0);
        near(log_score(&[]), 0.0);
    }
}
