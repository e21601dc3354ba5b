//! Which sweeps a list of changes needs: fewer than there are changes.
//!
//! Many questions hang on the same cause. Two changes alike need one sweep. And as every mass is a sum over the states of a
//! variable, all changes of one variable alone follow from the mass with it present, `P`, and the mass as it is, `N`:
//! a change by `(a, p)` gives `a (N - P) + p P`. The difference may lose digits where the variable is as good as sure to
//! be present, but then `p P` is nearly all of the sum, unless `p` is very much smaller than `a`; such a
//! change gets a sweep of its own.

use std::collections::BTreeMap;

use super::candidates::{Mass, Term};

/// Multipliers of the absent and the present state, by variable.
pub(super) type Factors = BTreeMap<usize, [f64; 2]>;

/// A change whose `p / a` is below this is swept by itself: with more, a blend keeps ten digits.
const LEAST_RATIO: f64 = 1e-6;

/// How the mass of a change is got.
#[derive(Debug, Clone, Copy, PartialEq)]
enum How {
    /// It is that of a sweep.
    Sweep(usize),
    /// From the sweep with the variable present.
    Blend { sweep: usize, absent: f64, present: f64 },
}

/// The sweeps, and how each change follows from them.
#[derive(Debug)]
pub(super) struct Sharing {
    pub sweeps: Vec<Factors>,
    how: Vec<How>,
}

impl Sharing {
    pub(super) fn new(changes: &[Term]) -> Self {
        // How many different changes of each variable alone could be blended.
        let mut alone: BTreeMap<usize, Vec<[u64; 2]>> = BTreeMap::new();
        for change in changes {
            if let Some((var, pair)) = blends(&change.factors) {
                let known = alone.entry(var).or_default();
                let bits = pair.map(f64::to_bits);
                if !known.contains(&bits) {
                    known.push(bits);
                }
            }
        }
        let mut sharing = Self { sweeps: Vec::new(), how: Vec::with_capacity(changes.len()) };
        let mut places: BTreeMap<Vec<(usize, [u64; 2])>, usize> = BTreeMap::new();
        for change in changes {
            let blend = blends(&change.factors).filter(|(var, _)| alone[var].len() > 1);
            let how = match blend {
                Some((var, [absent, present])) => {
                    let sweep = sharing.sweep(&mut places, &Factors::from([(var, [0.0, 1.0])]));
                    How::Blend { sweep, absent, present }
                }
                None => How::Sweep(sharing.sweep(&mut places, &change.factors)),
            };
            sharing.how.push(how);
        }
        sharing
    }

    fn sweep(&mut self, places: &mut BTreeMap<Vec<(usize, [u64; 2])>, usize>, factors: &Factors) -> usize {
        let key = factors.iter().map(|(&var, pair)| (var, pair.map(f64::to_bits))).collect();
        *places.entry(key).or_insert_with(|| {
            self.sweeps.push(factors.clone());
            self.sweeps.len() - 1
        })
    }

    /// The mass of every change from those of the sweeps; `now` is the mass with nothing changed.
    pub(super) fn masses(&self, swept: &[Mass], now: &Mass) -> Vec<Mass> {
        let one = |how: &How| match *how {
            How::Sweep(at) => swept[at].clone(),
            How::Blend { sweep, absent, present } => {
                let with = &swept[sweep];
                let blend = |now: f64, with: f64| absent * (now - with).max(0.0) + present * with;
                let each = now.present.iter().zip(&with.present);
                Mass {
                    chance: blend(now.chance, with.chance),
                    present: each.map(|(&now, &with)| blend(now, with)).collect(),
                }
            }
        };
        self.how.iter().map(one).collect()
    }
}

/// The variable and its multipliers, if a change is of one variable alone and may be blended.
fn blends(factors: &Factors) -> Option<(usize, [f64; 2])> {
    let mut all = factors.iter();
    let (&var, &pair) = all.next()?;
    let [absent, present] = pair;
    (all.next().is_none() && present > 0.0 && present >= LEAST_RATIO * absent).then_some((var, pair))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(factors: &[(usize, [f64; 2])]) -> Term {
        Term { share: 1.0, factors: factors.iter().copied().collect(), absent: Vec::new() }
    }

    #[test]
    fn changes_of_one_variable_share_a_sweep() {
        let changes = [
            change(&[(3, [1.0, 0.2])]),
            change(&[(3, [1.0, 0.7])]),
            change(&[(3, [0.0, 1.0])]),
            change(&[(3, [1.0, 0.0])]),
            change(&[(4, [1.0, 0.5])]),
            change(&[(3, [1.0, 0.2]), (4, [1.0, 0.5])]),
            change(&[(3, [1.0, 0.2]), (4, [1.0, 0.5])]),
        ];
        let sharing = Sharing::new(&changes);
        // Variable 3 present; 3 absent, which cannot be blended; 4 alone; both.
        assert_eq!(sharing.sweeps.len(), 4);
        // P(3 present) = 0.25, with the target 0.2.
        let now = Mass { chance: 1.0, present: vec![0.6] };
        let swept: Vec<Mass> =
            [0.25, 0.75, 0.9, 0.8].map(|chance| Mass { chance, present: vec![0.8 * chance] }).to_vec();
        let masses = sharing.masses(&swept, &now);
        assert!((masses[0].chance - (0.75 + 0.2 * 0.25)).abs() < 1e-15);
        assert!((masses[0].present[0] - (0.4 + 0.2 * 0.2)).abs() < 1e-15);
        assert!((masses[2].chance - 0.25).abs() < 1e-15);
        assert_eq!(masses[3], swept[1]);
        assert_eq!(masses[5], masses[6]);
    }
}
