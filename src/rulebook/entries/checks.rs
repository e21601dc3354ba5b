//! Checks as written in a rule file: what the mechanic does to learn more.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Entries, FitsIf, Severe, WeightSpec};

/// Where a figure comes from, in words.
pub type Source = String;

/// What the engine must be like for a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EngineState {
    /// It does not matter.
    Any,
    /// Off and cold enough for a bare hand on the radiator.
    Cold,
    /// Running, from a cold start, cap on.
    Running,
    /// Fully warm and running, cap on.
    Hot,
    /// Just switched off, still hot: nothing of the cooling system may be opened.
    HotOff,
    /// Off, cold, the drive belt taken off.
    BeltOff,
    /// Off, cold, coolant drained.
    Drained,
    /// On the road.
    Driving,
}

/// What the mechanic does to learn more.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Check {
    /// What it is called.
    pub name: String,
    /// The question its result answers.
    pub ask: String,
    /// What it tells, in plain words for the customer.
    pub customer: String,
    /// What the engine must be like.
    pub engine: EngineState,
    /// Minutes it takes, without warming up or cooling down.
    #[schemars(range(min = 0.0))]
    pub minutes: f64,
    /// Money it uses up (test fluid, strips), in the book's currency.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub cost: Option<f64>,
    /// Tools it needs, by id.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tools: Vec<String>,
    /// Cautions that come before it, by id.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
    /// Which vehicles it makes sense on.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub fits_if: FitsIf,
    /// How it is done.
    #[schemars(length(min = 1))]
    pub steps: Vec<String>,
    /// The normal result, as an answer.
    pub normal: String,
    /// Every result that is not normal. They exclude one another: exactly one of these or the normal result is true.
    #[schemars(extend("minProperties" = 1))]
    pub outcomes: Entries<Outcome>,
    /// If the result is a number: how it is read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<Reading>,
    /// Where the method and its limits come from.
    pub source: Source,
}

/// One result of a check that is not normal.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Outcome {
    /// The result, as an answer.
    pub say: String,
    /// Chance that it is seen with none of its listed causes.
    pub background: WeightSpec,
    /// If it is seen: why the vehicle must not be driven.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub severe: Option<Severe>,
    /// A reading above this limit is this outcome.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub above: Option<Limit>,
    /// A reading below this limit is this outcome (with `above`: between the two).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub below: Option<Limit>,
}

/// How a number is read.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Reading {
    /// What to type: "How far did the needle fall in 5 minutes?"
    pub ask: String,
    /// Unit a bare number is taken in; it also fixes what kind of quantity is meant.
    pub unit: String,
    /// One standard deviation of instrument and eye together, with its unit.
    pub error: String,
    /// Lowest reading that is not a slip of the pen, with its unit.
    pub least: String,
    /// Highest reading that is not a slip of the pen, with its unit.
    pub most: String,
}

/// A limit of a reading: a fixed figure, or a rating or physical quantity of this vehicle plus or less a figure.
#[derive(Debug, Clone, Default, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Limit {
    /// A fixed figure with its unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// A quantity of this vehicle: `cap-rating`, `thermostat-rating`, `thermostat-full`, `boiling-point`,
    /// `water-boiling-point`, `wanted-freeze-point`, `sensor-at-20`, `sensor-hot`, `battery`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub of: Option<String>,
    /// Added to it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plus: Option<String>,
    /// Taken from it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub less: Option<String>,
    /// It is multiplied by this first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub times: Option<f64>,
    /// Used when the vehicle does not say (unknown is always allowed).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub otherwise: Option<String>,
}
