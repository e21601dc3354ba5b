//! What one answer means: the bridge between the words in a case file and the entries of the rule book.

use thiserror::Error;

use super::file::Answer;
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Check;
use crate::units::Quantity;

/// What was said to one question.
#[derive(Debug, Clone, PartialEq)]
pub enum Said {
    /// A symptom or history fact is there.
    Yes,
    /// It is not.
    No,
    /// A check came out normal.
    Normal,
    /// A check came out with this outcome.
    Outcome(String),
    /// A check was read off an instrument.
    Reading(Quantity),
    /// Not known: says nothing about the vehicle.
    DontKnow,
    /// It cannot be done here: says nothing about the vehicle, and it is not asked again.
    Cannot,
}

impl Said {
    /// Whether it says anything about the vehicle.
    pub fn tells(&self) -> bool {
        !matches!(self, Self::DontKnow | Self::Cannot)
    }
}

/// Why an answer means nothing to this book.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SaidError {
    /// The book has no such symptom, history fact or check.
    #[error("the book has no symptom, history fact or check called `{ask}`{}", hint(.nearest.as_deref()))]
    UnknownQuestion {
        /// The id asked for.
        ask: String,
        /// The nearest id the book has.
        nearest: Option<String>,
    },
    /// The answer is not one this question takes.
    #[error("`{ask}` cannot be answered `{answer}`; it takes {takes}")]
    UnknownAnswer {
        /// The question.
        ask: String,
        /// The answer given.
        answer: String,
        /// The answers it takes.
        takes: String,
    },
    /// Neither an answer nor a reading.
    #[error("`{ask}` has neither an `answer` nor a `reading`")]
    Nothing {
        /// The question.
        ask: String,
    },
    /// Both an answer and a reading.
    #[error("`{ask}` has both an `answer` and a `reading`; give one")]
    Both {
        /// The question.
        ask: String,
    },
    /// A reading for a question that is not read off an instrument.
    #[error("`{ask}` is not read as a number; it takes {takes}")]
    NotRead {
        /// The question.
        ask: String,
        /// The answers it takes.
        takes: String,
    },
    /// The reading cannot be understood, or cannot be true.
    #[error("the reading of `{ask}`: {why}")]
    Reading {
        /// The question.
        ask: String,
        /// What is wrong with it.
        why: String,
    },
}

fn hint(nearest: Option<&str>) -> String {
    nearest.map(|id| format!("; did you mean `{id}`?")).unwrap_or_default()
}

/// What an answer of a case file means in this book.
pub fn interpret(book: &RuleBook, answer: &Answer) -> Result<Said, SaidError> {
    let ask = answer.ask.clone();
    let check = book.checks.get(&ask);
    if check.is_none() && !book.symptoms.contains_key(&ask) && !book.history.contains_key(&ask) {
        let nearest = nearest_question(book, &ask);
        return Err(SaidError::UnknownQuestion { ask, nearest });
    }
    match (&answer.answer, &answer.reading) {
        (None, None) => Err(SaidError::Nothing { ask }),
        (Some(_), Some(_)) => Err(SaidError::Both { ask }),
        (Some(word), None) => in_words(&ask, check, word),
        (None, Some(text)) => as_number(&ask, check, text),
    }
}

fn in_words(ask: &str, check: Option<&Check>, word: &str) -> Result<Said, SaidError> {
    match (word, check) {
        ("dont-know", _) => Ok(Said::DontKnow),
        ("cannot", _) => Ok(Said::Cannot),
        ("yes", None) => Ok(Said::Yes),
        ("no", None) => Ok(Said::No),
        ("normal", Some(_)) => Ok(Said::Normal),
        (outcome, Some(check)) if check.outcomes.contains_key(outcome) => {
            Ok(Said::Outcome(outcome.to_owned()))
        }
        _ => Err(SaidError::UnknownAnswer {
            ask: ask.to_owned(),
            answer: word.to_owned(),
            takes: takes(check),
        }),
    }
}

fn as_number(ask: &str, check: Option<&Check>, text: &str) -> Result<Said, SaidError> {
    let Some(reading) = check.and_then(|check| check.reading.as_ref()) else {
        return Err(SaidError::NotRead { ask: ask.to_owned(), takes: takes(check) });
    };
    super::reading::parse(reading, text)
        .map(Said::Reading)
        .map_err(|why| SaidError::Reading { ask: ask.to_owned(), why })
}

/// The answers a question takes, as a sentence part.
fn takes(check: Option<&Check>) -> String {
    let words: Vec<String> = match check {
        None => vec!["`yes`".to_owned(), "`no`".to_owned()],
        Some(check) => std::iter::once("`normal`".to_owned())
            .chain(check.outcomes.keys().map(|outcome| format!("`{outcome}`")))
            .collect(),
    };
    let number = check.and_then(|check| check.reading.as_ref());
    let number = number.map(|r| format!(", a reading in {}", r.unit)).unwrap_or_default();
    format!("{}, `dont-know`, `cannot`{number}", words.join(", "))
}

fn nearest_question(book: &RuleBook, ask: &str) -> Option<String> {
    book.symptoms
        .keys()
        .chain(book.history.keys())
        .chain(book.checks.keys())
        .map(|id| (strsim::damerau_levenshtein(id, ask), id))
        .filter(|(distance, _)| *distance <= ask.len() / 3 + 1)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, id)| id.clone())
}
