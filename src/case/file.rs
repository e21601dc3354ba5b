//! A case as kept on disk: one YAML file, written anew after every answer.

use jiff::Timestamp;
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::rulebook::entries::Vehicle;

/// Version of the case format that this program writes.
pub const FORMAT: u32 = 1;

/// One vehicle, the answers given so far in their order, and what came of it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Case {
    /// Version of this format.
    pub format: u32,
    /// What the case is about, in a few words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
    /// When it was opened (RFC 3339).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub opened: Option<String>,
    /// The vehicle, in full, so that the case can be read on its own.
    pub vehicle: Vehicle,
    /// What the customer said, word for word.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub complaint: Option<String>,
    /// The symptoms it was brought in for, by id; empty where that was not noted.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub brought: Vec<String>,
    /// The answers, in the order in which they were given.
    pub answers: Vec<Answer>,
    /// Tools that are not here, by id: checks that need one are not offered.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub missing_tools: Vec<String>,
    /// Failures that have been repaired since; they are taken as absent from then on.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub repaired: Vec<Repaired>,
    /// Each time it came back with the same complaint after it had been sent home with nothing done: something is wrong,
    /// then.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub returned: Vec<Returned>,
    /// What was really wrong, once it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
}

/// One answer: what was asked, and what was said or read.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Answer {
    /// Id of the symptom, history fact or check.
    pub ask: String,
    /// `yes`, `no`, `dont-know`, `cannot`; for a check `normal` or the id of an outcome.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub answer: Option<String>,
    /// A number with its unit, for a check that is read off an instrument.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reading: Option<String>,
    /// When it was given (RFC 3339).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<String>,
    /// Anything the mechanic wants to keep with it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl Answer {
    /// An answer in words.
    pub fn said(ask: &str, answer: &str) -> Self {
        Self { ask: ask.to_owned(), answer: Some(answer.to_owned()), ..Self::default() }
    }

    /// An answer read off an instrument.
    pub fn read(ask: &str, reading: &str) -> Self {
        Self { ask: ask.to_owned(), reading: Some(reading.to_owned()), ..Self::default() }
    }
}

/// A failure that was repaired.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Repaired {
    /// Id of the failure.
    pub failure: String,
    /// When it was repaired (RFC 3339).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<String>,
}

/// It came back though nothing had seemed wrong.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Returned {
    /// When it came back (RFC 3339).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<String>,
}

/// What was really wrong, as confirmed at the vehicle.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Verdict {
    /// What was looked at, and how it was: the rest was not looked at.
    pub findings: Vec<Finding>,
    /// A note.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// When it was confirmed (RFC 3339).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<String>,
}

/// One failure that was looked for.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Finding {
    /// Id of the failure.
    pub failure: String,
    /// True if it was there, false if it was looked for and found good.
    pub there: bool,
}

impl Case {
    /// A new case about `vehicle`, opened at `when`.
    pub fn open(vehicle: Vehicle, when: Option<Timestamp>) -> Self {
        Self {
            format: FORMAT,
            vehicle,
            opened: when.map(|at| at.strftime("%Y-%m-%dT%H:%M:%SZ").to_string()),
            ..Self::default()
        }
    }

    /// The day the case was opened, if it says so: ages in years are counted to it, so that a case gives the
    /// same chances whenever it is read.
    pub fn day(&self) -> Option<Date> {
        self.opened.as_ref()?.get(..10)?.parse().ok()
    }

    /// Puts an answer in: a second answer to the same question replaces the first, in its place.
    pub fn put(&mut self, answer: Answer) {
        match self.answers.iter_mut().find(|old| old.ask == answer.ask) {
            Some(old) => *old = answer,
            None => self.answers.push(answer),
        }
    }

    /// Takes the answer to a question out again.
    pub fn take(&mut self, ask: &str) -> Option<Answer> {
        let at = self.answers.iter().position(|answer| answer.ask == ask)?;
        Some(self.answers.remove(at))
    }

    /// The answer to a question, if it has one.
    pub fn answer_to(&self, ask: &str) -> Option<&Answer> {
        self.answers.iter().find(|answer| answer.ask == ask)
    }
}
