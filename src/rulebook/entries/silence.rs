//! Faults that are known and meant.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A warning or note that is known and meant: `rules check` counts it and says no more. Errors cannot be silenced.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Silence {
    /// The fault's code, as `rules check` prints it.
    pub code: String,
    /// The entry it is about: its id, or a place inside it (`pump-seal-worn.shows.coolant-loss`).
    pub at: String,
    /// The other entry, for a fault that is about two.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub with: Option<String>,
    /// Why it is meant.
    pub reason: String,
}
