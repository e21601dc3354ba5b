//! Which facts about a vehicle are worth asking first.

use crate::rulebook::RuleBook;
use crate::rulebook::entries::FitsIf;

/// How many facts are asked at most.
pub const MOST: usize = 6;

/// The facts that change most, first: those that many entries of the book depend on and that differ most from
/// vehicle to vehicle (entropy of their shares, in bits).
pub fn worth_asking(book: &RuleBook) -> Vec<String> {
    let conditions: Vec<&FitsIf> = book
        .parts
        .values()
        .map(|entry| &entry.fits_if)
        .chain(book.failures.values().map(|entry| &entry.fits_if))
        .chain(book.states.values().map(|entry| &entry.fits_if))
        .chain(book.history.values().map(|entry| &entry.fits_if))
        .chain(book.symptoms.values().map(|entry| &entry.fits_if))
        .chain(book.checks.values().map(|entry| &entry.fits_if))
        .collect();
    let mut ranked: Vec<(f64, &String)> = book
        .facts
        .iter()
        .map(|(id, fact)| {
            let used = conditions.iter().filter(|fits| fits.contains_key(id)).count();
            let spread: f64 = fact
                .options
                .values()
                .map(|option| option.share)
                .filter(|&p| p > 0.0)
                .map(|p| -p * p.log2())
                .sum();
            (used as f64 * spread, id)
        })
        .filter(|(worth, _)| *worth > 0.0)
        .collect();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    ranked.into_iter().take(MOST).map(|(_, id)| id.clone()).collect()
}
