//! Everything `rules check` finds: what is wrong with a book, and, if nothing is, what is doubtful in it.

use super::cases::SavedCase;
use super::lints::{codes, lint, silence};
use crate::rulebook::{Code, Fault, Faults, RuleBook, Severity, all_codes};

/// All that was found.
#[derive(Debug, Clone)]
pub struct Checked {
    /// What stands, in the order of files and lines.
    pub faults: Faults,
    /// How many warnings and notes the book says are meant.
    pub silenced: usize,
}

/// Every code there is: of reading, of meaning and of the lints.
pub fn every_code() -> Vec<&'static Code> {
    all_codes().into_iter().chain(codes()).collect()
}

/// Completes an inspection of `book`: lints run if the book is sound, `more` faults are added (of known cases
/// replayed), and what the book silences is taken out.
pub fn complete(book: &RuleBook, mut faults: Faults, saved: &[SavedCase], more: Vec<Fault>) -> Checked {
    let mut all = std::mem::take(&mut faults.list);
    if !all.iter().any(|fault| fault.code.severity == Severity::Error) {
        all.extend(lint(book, saved));
    }
    all.extend(more);
    let left = silence(book, all, &every_code());
    faults.add(left.kept, book);
    Checked { faults, silenced: left.silenced }
}
