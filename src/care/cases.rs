//! The saved cases, read for care of the book: those that cannot be read are told, never fatal.

use crate::case::store;
use crate::case::{Case, CaseStore};
use crate::rulebook::RuleBook;

/// One saved case.
#[derive(Debug, Clone)]
pub struct SavedCase {
    /// Its name in the case folder.
    pub name: String,
    /// The case.
    pub case: Case,
}

/// All saved cases that can be read.
#[derive(Debug, Clone, Default)]
pub struct SavedCases {
    /// The cases, by name.
    pub cases: Vec<SavedCase>,
    /// What could not be read, and why; one sentence each.
    pub unreadable: Vec<String>,
}

/// Reads every case of the folder.
pub fn read_saved(store: &CaseStore) -> SavedCases {
    let mut saved = SavedCases::default();
    let names = match store.names() {
        Ok(names) => names,
        Err(error) => {
            saved.unreadable.push(error.to_string());
            return saved;
        }
    };
    for name in names {
        let read = store.path_of(&name).and_then(|path| store::read(&path));
        match read {
            Ok((case, _)) => saved.cases.push(SavedCase { name, case }),
            Err(error) => saved.unreadable.push(error.to_string()),
        }
    }
    saved
}

/// Ids a case names that the book does not have, each with what names it. They stay in the case and are left out
/// of everything worked out from it.
pub fn stale_ids(book: &RuleBook, case: &Case) -> Vec<(String, &'static str)> {
    let mut stale = Vec::new();
    for answer in &case.answers {
        let known = book.symptoms.contains_key(&answer.ask)
            || book.history.contains_key(&answer.ask)
            || book.checks.contains_key(&answer.ask);
        if !known {
            stale.push((answer.ask.clone(), "an answer"));
        }
    }
    for repaired in &case.repaired {
        if !book.failures.contains_key(&repaired.failure) {
            stale.push((repaired.failure.clone(), "a repair"));
        }
    }
    for finding in case.verdict.iter().flat_map(|verdict| &verdict.findings) {
        if !book.failures.contains_key(&finding.failure) {
            stale.push((finding.failure.clone(), "the verdict"));
        }
    }
    stale
}
