//! The rule book as written: one Rust type for every kind of entry a YAML file may hold.
//!
//! These types say what a file may contain; they are what the JSON Schema is made from. What an entry
//! *means* (which ids exist, which limits apply) is settled by the checked [`RuleBook`](super::RuleBook).

mod checks;
mod jobs;
mod knowledge;
mod known_case;
mod severe;
mod silence;
mod vehicle;
mod weight;

pub use checks::{Check, EngineState, Limit, Outcome, Reading, Source};
pub use jobs::{BoltInto, Consumable, Fastening, Job, Proof, StatedTorque, Step, StepMinutes, Watch};
pub use knowledge::{
    Band, BookHead, Caution, ChanceWord, Change, FactOption, Failure, FitsIf, History, Part, Repair, State,
    Symptom, Tool, Urgency, VehicleFact, Wear, WearBy,
};
pub use known_case::{Expected, KnownAnswer, KnownCase};
pub use severe::{Forbids, Severe};
pub use silence::Silence;
pub use vehicle::{CoolantFill, Fitted, Pulleys, Ratings, SensorPoint, Vehicle};
pub use weight::{WeightSpec, WordRange};

use indexmap::IndexMap;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A map that keeps the order of the file; the order of the book is the order of the baseline strategy.
pub type Entries<T> = IndexMap<String, T>;

/// One rule file. Any section may stand in any file; ids are unique over the whole book.
#[derive(Debug, Clone, Default, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct BookFile {
    /// Title and version of the book (once in the whole book).
    pub book: Option<BookHead>,
    /// The scale of weight words: what each word is worth, and its range.
    pub words: Entries<WordRange>,
    /// How a chance is put into words for a customer, highest first.
    pub chance_words: Vec<ChanceWord>,
    /// Cautions that checks, repairs and job steps refer to.
    pub cautions: Entries<Caution>,
    /// Tools that checks and job steps refer to.
    pub tools: Entries<Tool>,
    /// What may differ from vehicle to vehicle, and how common each kind is.
    pub facts: Entries<VehicleFact>,
    /// Things that can be bought or mended.
    pub parts: Entries<Part>,
    /// Ways in which parts fail.
    pub failures: Entries<Failure>,
    /// What the system does because of failures.
    pub states: Entries<State>,
    /// Facts about the vehicle's past or setting.
    pub history: Entries<History>,
    /// What anyone can notice without a test.
    pub symptoms: Entries<Symptom>,
    /// What the mechanic does to learn more.
    pub checks: Entries<Check>,
    /// Single links and fields changed in entries of the book below (in a folder laid over it).
    pub change: Entries<Change>,
    /// Ids taken out of the book below.
    pub remove: Vec<String>,
    /// Faults that are known and meant, each with its reason.
    pub silence: Vec<Silence>,
}
