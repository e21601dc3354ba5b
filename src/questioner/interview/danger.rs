//! What forbids driving, as the interview says it.

use super::steps::Danger;
use crate::case::{self, Case, Standing};
use crate::rulebook::RuleBook;

/// What the answers and the ranking say against driving, answers first.
pub fn dangers(book: &RuleBook, case: &Case, standing: Option<&Standing>) -> Vec<Danger> {
    let found = case::dangers(book, case, standing).into_iter();
    found.map(|danger| Danger { id: danger.id, why: danger.why.to_owned() }).collect()
}
