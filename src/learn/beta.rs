//! The Beta distribution: what is known of a chance after so many times out of so many.

/// Most steps of the continued fraction; it converges in about `sqrt(max(a, b))`.
const MOST_STEPS: usize = 10_000;

/// A Beta distribution with both parameters above 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beta {
    /// Times it happened, with the prior's.
    pub a: f64,
    /// Times it did not, with the prior's.
    pub b: f64,
}

impl Beta {
    /// Its mean.
    pub fn mean(self) -> f64 {
        self.a / (self.a + self.b)
    }

    /// Its standard deviation.
    pub fn deviation(self) -> f64 {
        let n = self.a + self.b;
        (self.a * self.b / (n + 1.0)).sqrt() / n
    }

    /// Chance that the value is at most `x`: the regularised incomplete beta function, by its continued fraction
    /// (Abramowitz & Stegun 26.5.8, evaluated by Lentz's method).
    pub fn cumulative(self, x: f64) -> f64 {
        let Self { a, b } = self;
        if x <= 0.0 {
            return 0.0;
        }
        if x >= 1.0 {
            return 1.0;
        }
        let log_front =
            libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b) + a * x.ln() + b * (-x).ln_1p();
        let front = log_front.exp();
        // The fraction converges fast below the mean; above it the mirrored one does.
        if x < (a + 1.0) / (a + b + 2.0) {
            front * fraction(a, b, x) / a
        } else {
            1.0 - front * fraction(b, a, 1.0 - x) / b
        }
    }

    /// The value below which it lies with chance `p`, by bisection to the last digit.
    pub fn quantile(self, p: f64) -> f64 {
        let (mut low, mut high) = (0.0_f64, 1.0_f64);
        for _ in 0..200 {
            let middle = f64::midpoint(low, high);
            if middle <= low || middle >= high {
                break;
            }
            if self.cumulative(middle) < p { low = middle } else { high = middle }
        }
        f64::midpoint(low, high)
    }

    /// The range that leaves as much out below as above and holds the value with chance `share`.
    pub fn range(self, share: f64) -> (f64, f64) {
        let out = (1.0 - share) / 2.0;
        (self.quantile(out), self.quantile(1.0 - out))
    }

    /// Chance of `k` times out of the next `n`.
    pub fn predictive(self, k: u32, n: u32) -> f64 {
        let ln_beta = |a: f64, b: f64| libm::lgamma(a) + libm::lgamma(b) - libm::lgamma(a + b);
        let (k, n) = (f64::from(k), f64::from(n));
        let ways = libm::lgamma(n + 1.0) - libm::lgamma(k + 1.0) - libm::lgamma(n - k + 1.0);
        (ways + ln_beta(self.a + k, self.b + n - k) - ln_beta(self.a, self.b)).exp()
    }
}

fn fraction(a: f64, b: f64, x: f64) -> f64 {
    let least = 1e-300;
    let held = |value: f64| if value.abs() < least { least } else { value };
    let mut c = 1.0;
    let mut d = 1.0 / held(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    for step in 1..MOST_STEPS {
        let m = step as f64;
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut change = 1.0;
        for term in [even, odd] {
            d = 1.0 / held(1.0 + term * d);
            c = held(1.0 + term / c);
            change = c * d;
            value *= change;
        }
        if (change - 1.0).abs() < 1e-15 {
            break;
        }
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, wanted: f64, within: f64) {
        assert!((found - wanted).abs() <= within, "{found} is not {wanted}");
    }

    /// 437 girls of 980 births: Gelman and others, Bayesian Data Analysis (from memory; digits recomputed with
    /// `SciPy` 1.17's `scipy.stats.beta`).
    #[test]
    fn births_after_a_uniform_prior() {
        let girls = Beta { a: 438.0, b: 544.0 };
        near(girls.mean(), 0.446_028_513_238, 1e-12);
        near(girls.deviation(), 0.015_854_343_318, 1e-12);
        let (low, high) = girls.range(0.95);
        near(low, 0.415_065_492_455, 1e-11);
        near(high, 0.477_199_770_629, 1e-11);
    }

    /// The same with priors of mean 0.485 worth so many births.
    #[test]
    fn births_after_priors_of_several_strengths() {
        let rows = [
            (2.0, 0.445_961),
            (5.0, 0.446_080),
            (10.0, 0.446_277),
            (20.0, 0.446_664),
            (100.0, 0.449_506),
            (200.0, 0.452_516),
        ];
        for (strength, median) in rows {
            let girls = Beta { a: 0.485 * strength + 437.0, b: 0.515 * strength + 543.0 };
            near(girls.quantile(0.5), median, 6e-7);
        }
        let (low, high) = Beta { a: 0.485 * 200.0 + 437.0, b: 0.515 * 200.0 + 543.0 }.range(0.95);
        near(low, 0.424_236, 6e-7);
        near(high, 0.481_001, 6e-7);
    }

    #[test]
    fn three_of_four_after_two_of_ten() {
        let after = Beta { a: 5.0, b: 9.0 };
        near(after.mean(), 5.0 / 14.0, 1e-15);
        let (low, high) = after.range(0.90);
        near(low, 0.165_659_43, 6e-9);
        near(high, 0.572_619_34, 6e-9);
        let wanted = [
            0.150_210_084_034,
            0.288_865_546_218,
            0.288_865_546_218,
            0.183_823_529_412,
            0.073_529_411_765,
            0.014_705_882_353,
        ];
        for (k, wanted) in (0..).zip(wanted) {
            near(after.predictive(k, 5), wanted, 1e-12);
        }
    }

    /// Beta(a, 1) has the closed form `x^a`; far tails and fractions of a case must hold too.
    #[test]
    fn closed_forms() {
        for a in [0.02, 0.5, 1.0, 7.0, 300.0] {
            for x in [0.001, 0.3, 0.9, 0.999] {
                near(Beta { a, b: 1.0 }.cumulative(x), f64::powf(x, a), 1e-13);
                near(Beta { a: 1.0, b: a }.cumulative(x), 1.0 - f64::powf(1.0 - x, a), 1e-13);
            }
        }
    }
}
