//! A known case: answers whose right first suspect the trade knows, replayed by `rules check`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Entries;

/// A case whose outcome the trade knows, written before the weights were settled.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct KnownCase {
    /// What it is about, in a line.
    pub title: String,
    /// The vehicle it happened to: the name of a file under `vehicles`; without it nothing is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vehicle: Option<String>,
    /// Values of the book's vehicle facts, beyond or instead of those of the vehicle (`fan: viscous`).
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub facts: Entries<String>,
    /// The answers, in the order in which they were given.
    #[schemars(length(min = 1))]
    pub answers: Vec<KnownAnswer>,
    /// What the ranking must say.
    pub expect: Expected,
    /// Why the trade expects that.
    pub reason: String,
    /// Where the case comes from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// What the case is an example of: `two-at-once`, `look-alike`, `victim`, `normal`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tags: Vec<String>,
}

/// One answer of a known case: exactly one of `answer` and `reading`.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct KnownAnswer {
    /// What was asked: a symptom, a history fact or a check, by id.
    pub ask: String,
    /// `yes`, `no` or `unknown` for a symptom or history fact; for a check the id of an outcome, or `normal`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answer: Option<String>,
    /// A check's reading, with its unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<String>,
}

/// What a known case expects of the ranking. Ids are parts, failures, states or history facts.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Expected {
    /// The part or failure that must come first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub first: Option<String>,
    /// Parts or failures that must stand near the top as well, in any order.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub with: Vec<String>,
    /// How many places from the top `first` and `with` may take up; without it `first` comes first and those of `with`
    /// right behind.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1))]
    pub within: Option<usize>,
    /// Ids whose chance must stay below this (`head-gasket: 0.05`).
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub below: Entries<f64>,
    /// Ids whose chance must be above this.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub above: Entries<f64>,
}
