//! What was really wrong: the verdict of a case.
//!
//! A verdict tells three things apart, because learning must: what was found, what was looked at and found good,
//! and what was not looked at. Only the first two are written down; of the rest nothing is known.

use std::fmt;

use thiserror::Error;

use crate::case::{Case, Finding, Verdict};
use crate::rulebook::{Kind, RuleBook, nearest};

/// Why something cannot be confirmed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ConfirmError {
    /// The book has no such part or failure.
    #[error("the book has no {noun} `{id}`{}", hint(.nearest.as_deref()))]
    Unknown {
        /// What was looked for.
        noun: &'static str,
        /// The id given.
        id: String,
        /// The nearest id the book has.
        nearest: Option<String>,
    },
    /// The failure is one of another part.
    #[error("`{failure}` is a failure of `{owner}`, not of `{part}`; write `{owner}/{failure}`")]
    OtherPart {
        /// The failure.
        failure: String,
        /// The part it belongs to.
        owner: String,
        /// The part given.
        part: String,
    },
    /// A part alone does not say what was wrong with it.
    #[error("say which failure of `{part}` was found; it has {failures}")]
    WhichFailure {
        /// The part.
        part: String,
        /// Its failures, as a list.
        failures: String,
    },
    /// Found and found good at once.
    #[error("`{0}` is named both as found and as found good")]
    Both(String),
    /// Nothing to record.
    #[error(
        "say what was found (`--found PART/FAILURE`) or what was looked at and found good (`--not PART/FAILURE`)"
    )]
    Nothing,
}

fn hint(nearest: Option<&str>) -> String {
    nearest.map(|id| format!("; did you mean `{id}`?")).unwrap_or_default()
}

/// One failure of a verdict, with what the verdict said of it before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// The failure.
    pub failure: String,
    /// Whether it was there.
    pub there: bool,
    /// What an earlier verdict said, if it said something else.
    pub corrects: bool,
}

impl fmt::Display for Told {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.failure)
    }
}

/// Reads `PART/FAILURE`, or a failure alone. `whole_part` lets a part alone stand for all its failures.
pub fn failures_meant(book: &RuleBook, text: &str, whole_part: bool) -> Result<Vec<String>, ConfirmError> {
    let unknown = |noun, kinds: &[Kind], id: &str| {
        let near = nearest(id, kinds.iter().flat_map(|&kind| book.ids(kind))).map(str::to_owned);
        ConfirmError::Unknown { noun, id: id.to_owned(), nearest: near }
    };
    let Some((part, failure)) = text.split_once('/') else {
        if book.failures.contains_key(text) {
            return Ok(vec![text.to_owned()]);
        }
        if !book.parts.contains_key(text) {
            return Err(unknown("part or failure", &[Kind::Part, Kind::Failure], text));
        }
        let failures: Vec<String> = book.failures_of(text).map(|(id, _)| id.to_owned()).collect();
        if whole_part {
            return Ok(failures);
        }
        let listed: Vec<String> = failures.iter().map(|id| format!("`{text}/{id}`")).collect();
        return Err(ConfirmError::WhichFailure { part: text.to_owned(), failures: listed.join(", ") });
    };
    if !book.parts.contains_key(part) {
        return Err(unknown("part", &[Kind::Part], part));
    }
    match book.failures.get(failure) {
        None => {
            let of_part: Vec<&str> = book.failures_of(part).map(|(id, _)| id).collect();
            let near = nearest(failure, of_part.iter().copied())
                .map(|id| format!("{part}/{id}"))
                .or_else(|| nearest(failure, book.ids(Kind::Failure)).map(str::to_owned));
            Err(ConfirmError::Unknown { noun: "failure", id: failure.to_owned(), nearest: near })
        }
        Some(entry) if entry.part != part => Err(ConfirmError::OtherPart {
            failure: failure.to_owned(),
            owner: entry.part.clone(),
            part: part.to_owned(),
        }),
        Some(_) => Ok(vec![failure.to_owned()]),
    }
}

/// Writes down what was found and what was found good. What an earlier verdict said of other failures stays; of the
/// same failures the new word counts. Returns what was told, found ones first.
pub fn confirm(
    book: &RuleBook,
    case: &mut Case,
    found: &[String],
    good: &[String],
    note: Option<&str>,
    when: Option<String>,
) -> Result<Vec<Told>, ConfirmError> {
    let mut told: Vec<(String, bool)> = Vec::new();
    for (texts, there) in [(found, true), (good, false)] {
        for text in texts {
            for failure in failures_meant(book, text, !there)? {
                match told.iter().find(|(known, _)| *known == failure) {
                    // A part found good as a whole does not deny the failure named as found in it.
                    Some((_, true)) if !there && !text.contains('/') && book.parts.contains_key(text) => {}
                    Some((_, known)) if *known != there => return Err(ConfirmError::Both(failure)),
                    Some(_) => {}
                    None => told.push((failure, there)),
                }
            }
        }
    }
    if told.is_empty() {
        return Err(ConfirmError::Nothing);
    }
    let verdict = case.verdict.get_or_insert_with(Verdict::default);
    let mut result = Vec::new();
    for (failure, there) in told {
        let mut corrects = false;
        match verdict.findings.iter_mut().find(|finding| finding.failure == failure) {
            Some(finding) => {
                corrects = finding.there != there;
                finding.there = there;
            }
            None => verdict.findings.push(Finding { failure: failure.clone(), there }),
        }
        result.push(Told { failure, there, corrects });
    }
    verdict.findings.sort_by_key(|finding| !finding.there);
    if let Some(note) = note {
        verdict.note = Some(note.to_owned());
    }
    verdict.when = when;
    Ok(result)
}
