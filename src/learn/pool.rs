//! Counts of several workshops together: what they know, without their cases.
//!
//! A file of counts says, for every number of the book, how often it fired of how often it could have. No vehicle, no
//! customer, no date. Counts add; where something was hidden they are expected counts under the weights of the workshop that
//! wrote them, so pooling is exact for what was seen and an approximation for the rest.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::book::{Confirmed, Parameter};
use super::fit::{Count, Fitted};

/// Version of the format.
pub const FORMAT: u32 = 1;

/// Largest file of counts that is read, in bytes.
pub const LARGEST: u64 = 8 * 1024 * 1024;

/// A file of counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Counts {
    /// Version of the format.
    pub format: u32,
    /// Title of the rule book the counts were made with.
    pub book: String,
    /// Confirmed cases behind them.
    pub cases: usize,
    /// The counts by number, as [`Parameter`] is written.
    pub counts: BTreeMap<String, Tally>,
}

/// Counts of one number.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Tally {
    /// Times it fired.
    pub fired: f64,
    /// Times it could have.
    pub chances: f64,
}

/// Why a file of counts cannot be used.
#[derive(Debug, Error)]
pub enum PoolError {
    /// It is not one.
    #[error("it is not a file of counts: {0}; `rules learn --counts-out FILE` writes one")]
    NotCounts(String),
    /// It is from a newer program.
    #[error("it is of format {0}, and this program knows formats up to {FORMAT}; use a newer one")]
    Newer(u32),
    /// A count that cannot be.
    #[error(
        "`{number}` fired {fired} times of {chances}; counts are not negative, and nothing fires more often than it can"
    )]
    Impossible {
        /// The number.
        number: String,
        /// Times it fired.
        fired: f64,
        /// Times it could have.
        chances: f64,
    },
}

impl Counts {
    /// The counts of these cases, with what was pooled into them if `with_pooled`.
    pub fn of(confirmed: &Confirmed, fitted: &Fitted, book: &str, cases: usize, with_pooled: bool) -> Self {
        let counts = confirmed.parameters.iter().enumerate().filter_map(|(at, parameter)| {
            let (own, more) = (fitted.counts[at], fitted.pooled[at]);
            let also = f64::from(u8::from(with_pooled));
            let tally =
                Tally { fired: own.fired + also * more.fired, chances: own.chances + also * more.chances };
            (tally.chances > 0.0).then(|| (parameter.to_string(), tally))
        });
        Self { format: FORMAT, book: book.to_owned(), cases, counts: counts.collect() }
    }

    /// Reads a file of counts.
    pub fn read(bytes: &[u8]) -> Result<Self, PoolError> {
        let read: Self =
            serde_json::from_slice(bytes).map_err(|error| PoolError::NotCounts(error.to_string()))?;
        if read.format > FORMAT {
            return Err(PoolError::Newer(read.format));
        }
        for (number, &Tally { fired, chances }) in &read.counts {
            // A share that shrinks the exposure may leave a rounding error of firings over chances.
            let sound =
                fired.is_finite() && chances.is_finite() && fired >= 0.0 && fired <= chances * 1.01 + 1e-6;
            if !sound {
                return Err(PoolError::Impossible { number: number.clone(), fired, chances });
            }
        }
        Ok(read)
    }

    /// Adds these counts to `pooled`, which is in the order of the book's numbers; returns what the book does not have.
    pub fn pour_into(&self, confirmed: &Confirmed, pooled: &mut [Count]) -> Vec<String> {
        let places: BTreeMap<&Parameter, usize> =
            confirmed.parameters.iter().enumerate().map(|(at, parameter)| (parameter, at)).collect();
        let mut unknown = Vec::new();
        for (number, tally) in &self.counts {
            match Parameter::parse(number).and_then(|parameter| places.get(&parameter).copied()) {
                Some(at) => {
                    pooled[at].fired += tally.fired;
                    pooled[at].chances += tally.chances;
                }
                None => unknown.push(number.clone()),
            }
        }
        unknown
    }
}
