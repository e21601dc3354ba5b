//! The nearest known name to one that is not known.

use super::codes::UNKNOWN_ID;
use super::fault::{Fault, Spot};
use super::{Kind, RuleBook};

/// How alike two names must be for one to be offered instead of the other (Jaro-Winkler, 0 to 1).
const ALIKE: f64 = 0.78;

/// The most alike of the known names, if it is alike at all; the first of equals.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    nearest_several(name, known, 1).first().copied()
}

/// Up to `most` known names that are alike, the likest first; equals stay in order.
pub fn nearest_several<'a>(
    name: &str,
    known: impl IntoIterator<Item = &'a str>,
    most: usize,
) -> Vec<&'a str> {
    let name = name.to_lowercase();
    let mut scored: Vec<(f64, &str)> = known
        .into_iter()
        .map(|candidate| {
            let lower = candidate.to_lowercase();
            // Two letters of a short word the wrong way round.
            let slip =
                if strsim::damerau_levenshtein(&name, &lower) == 1 && name.len() > 2 { ALIKE } else { 0.0 };
            let score = strsim::jaro_winkler(&name, &lower)
                .max(strsim::normalized_damerau_levenshtein(&name, &lower))
                .max(slip);
            (score, candidate)
        })
        .filter(|(score, _)| *score >= ALIKE)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0));
    scored.into_iter().take(most).map(|(_, candidate)| candidate).collect()
}

/// A fault that says an id is not known, and which one may be meant.
pub(super) fn unknown_id(book: &RuleBook, spot: Spot, noun: &str, id: &str, kinds: &[Kind]) -> Fault {
    let fault = Fault::at(&UNKNOWN_ID, spot, format!("the book has no {noun} `{id}`")).label("not known");
    let known = kinds.iter().flat_map(|&kind| book.ids(kind));
    match nearest(id, known) {
        Some(near) => fault.help(format!("did you mean `{near}`?")),
        None => fault,
    }
}
