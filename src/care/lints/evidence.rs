//! Which weights rest on no case?

use std::collections::{BTreeMap, BTreeSet};

use super::{Ground, Lint};
use crate::case::replay::answers_of;
use crate::case::said::{Said, interpret};
use crate::case::{Answer, Case};
use crate::rulebook::{Code, Fault, Kind, RuleBook, Spot, code};

code! {
    /// Of a failure's weights none, or only some, has ever been put to the proof by a case.
    ///
    /// A weight is borne out by a case if the failure was there (confirmed, or expected by a known case) and the sign
    /// was asked for, whatever the answer. Until then it is its author's word. `rules learn` never moves it either.
    ///
    /// Confirm cases as they come; where a case is known, write it down under `cases`.
    pub static NO_CASE = Note "no-case", "weights that no case supports";
}

pub(super) struct NoCase;

impl Lint for NoCase {
    fn codes(&self) -> Vec<&'static Code> {
        vec![&NO_CASE]
    }

    fn run(&self, ground: &Ground<'_>) -> Vec<Fault> {
        let book = ground.book;
        let proved = proved(ground);
        let nothing = BTreeSet::new();
        let mut faults = Vec::new();
        for id in book.failures.keys() {
            let asked = proved.get(id).unwrap_or(&nothing);
            let shown: Vec<String> = book
                .links_from(id)
                .filter(|link| is_finding(book, &link.to.to_string()))
                .map(|link| link.to.to_string())
                .collect();
            let open: Vec<String> = shown
                .iter()
                .filter(|key| !asked.contains(key.as_str()))
                .map(|key| format!("`{key}`"))
                .collect();
            if open.is_empty() {
                continue;
            }
            let spot = Spot::key(&book.within(Kind::Failure, id, &["shows"]));
            let message = format!("{} of {} weights of `{id}` rest on no case", open.len(), shown.len());
            let label =
                if proved.contains_key(id) { "partly its author's word" } else { "all its author's word" };
            faults.push(Fault::at(&NO_CASE, spot, message).label(label).help(open.join(", ")));
        }
        faults
    }
}

fn is_finding(book: &RuleBook, key: &str) -> bool {
    key.contains('/') || book.symptoms.contains_key(key)
}

/// For every failure that was there in a case: the findings that were asked for.
fn proved(ground: &Ground<'_>) -> BTreeMap<String, BTreeSet<String>> {
    let book = ground.book;
    let mut proved: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut note = |failure: &str, answers: &[Answer]| {
        if book.failures.contains_key(failure) {
            proved.entry(failure.to_owned()).or_default().extend(asked(book, answers));
        }
    };
    for known in book.cases.values() {
        let answers = answers_of(known);
        for failure in known.expect.first.iter().chain(&known.expect.with) {
            note(failure, &answers);
        }
    }
    for saved in ground.saved {
        for failure in found(&saved.case) {
            note(failure, &saved.case.answers);
        }
    }
    proved
}

/// The failures that were really there.
pub(in crate::care) fn found(case: &Case) -> impl Iterator<Item = &str> {
    let findings = case.verdict.iter().flat_map(|verdict| &verdict.findings);
    findings.filter(|finding| finding.there).map(|finding| finding.failure.as_str())
}

/// The findings that answers speak about.
fn asked(book: &RuleBook, answers: &[Answer]) -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    for answer in answers {
        match interpret(book, answer) {
            Ok(Said::Yes | Said::No) => {
                keys.insert(answer.ask.clone());
            }
            Ok(Said::Normal | Said::Outcome(_) | Said::Reading(_)) => {
                let outcomes = book.checks.get(&answer.ask).map(|check| check.outcomes.keys());
                keys.extend(
                    outcomes.into_iter().flatten().map(|outcome| format!("{}/{outcome}", answer.ask)),
                );
            }
            Ok(Said::DontKnow | Said::Cannot) | Err(_) => {}
        }
    }
    keys
}
