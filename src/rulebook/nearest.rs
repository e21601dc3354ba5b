//! The nearest known name to one that is not known.

use super::codes::UNKNOWN_ID;
use super::fault::{Fault, Spot};
use super::{Kind, RuleBook};

/// How alike two names must be for one to be offered instead of the other (Jaro-Winkler, 0 to 1).
const ALIKE: f64 = 0.78;

/// The most alike of the known names, if it is alike at all; the first of equals.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let name = name.to_lowercase();
    let mut best: Option<(f64, &str)> = None;
    for candidate in known {
        let score = strsim::jaro_winkler(&name, &candidate.to_lowercase())
            .max(strsim::normalized_damerau_levenshtein(&name, &candidate.to_lowercase()));
        if score >= ALIKE && best.is_none_or(|(top, _)| score > top) {
            best = Some((score, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
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
