//! Access steps as written in a rule file: what has to come off, in which order, to reach a part.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Band, EngineState, Entries, FitsIf};

/// One engine layout: `jobs/*.yaml`, its id is the file's name. See `docs/job-files.md`.
#[derive(Debug, Clone, Default, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Job {
    /// What the layout is called: "water pump behind a belt-driven fan".
    pub name: String,
    /// Where minutes, fasteners and habits come from.
    pub source: String,
    /// Layouts whose steps this one builds on. A step stated here replaces one of the same id there.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub builds_on: Vec<String>,
    /// The vehicle facts it is for. A vehicle that names no layout gets the one that fits its facts best; a layout
    /// without this is never chosen unless it is named.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub suits: FitsIf,
    /// The steps by id.
    pub steps: Entries<Step>,
    /// How the repair is proved, in this order.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub prove: Entries<Proof>,
    /// What is looked at in the days and weeks after, in this order.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub watch: Entries<Watch>,
}

/// One thing that is taken off, opened or done, and how it goes back.
#[derive(Debug, Clone, Default, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Step {
    /// What it is called: "fan and pump pulley".
    pub name: String,
    /// What to do on the way in, an order a line.
    pub undo: Vec<String>,
    /// What to do on the way back; empty if nothing has to go back.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub refit: Vec<String>,
    /// Minutes each way.
    pub minutes: StepMinutes,
    /// What the engine must be like.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub engine: Option<EngineState>,
    /// Tools, by id.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub tools: Vec<String>,
    /// Cautions that stand before the way in, by id.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
    /// Cautions that stand before the way back, by id.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cautions_refit: Vec<String>,
    /// Steps that must have been done: what has to come off first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub after: Vec<String>,
    /// Steps that must wait for this one if both are in the plan: bolts are cracked loose before the belt comes off.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub before: Vec<String>,
    /// Which vehicles need it.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub fits_if: FitsIf,
    /// Parts that can be renewed once it is done.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub renews: Vec<String>,
    /// Failures it puts right without a new part.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub mends: Vec<String>,
    /// States and history facts it puts an end to: the roots that would kill the next part.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub clears: Vec<String>,
    /// History facts that are true from then on if a part is renewed here or the coolant runs out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub leaves: Vec<String>,
    /// True if the coolant runs out.
    pub drains: bool,
    /// Nuts, bolts and screws.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fasteners: Vec<Fastening>,
    /// How the joint is sealed when it goes back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seal: Option<String>,
    /// Small things it uses up.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub uses: Vec<Consumable>,
    /// What to look at while it is open.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub look: Vec<String>,
}

/// Minutes of one step.
#[derive(Debug, Clone, Copy, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct StepMinutes {
    /// On the way in.
    pub undo: Band,
    /// On the way back.
    pub refit: Band,
}

impl Default for StepMinutes {
    fn default() -> Self {
        Self { undo: Band(0.0, 0.0), refit: Band(0.0, 0.0) }
    }
}

/// A kind of nut, bolt or screw in a step, with how it is tightened.
#[derive(Debug, Clone, Default, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Fastening {
    /// Which they are: "pump bolts".
    pub what: String,
    /// How many, as far as layouts agree.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    /// The commonest thread size (`M8`, `5/16 in`): gives a torque band until the maker's figure is found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub size: Option<String>,
    /// Strength grade (`8.8`, `grade 5`).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub grade: Option<String>,
    /// What it goes into.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub into: Option<BoltInto>,
    /// The maker's torque for this very engine, with its source.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub torque: Option<StatedTorque>,
    /// In which order and how many rounds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pattern: Option<String>,
    /// How the bolts are kept until they go back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub keep: Option<String>,
}

/// What a bolt goes into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BoltInto {
    /// Steel or cast iron.
    Iron,
    /// Cast aluminium.
    Aluminium,
}

/// A torque somebody printed.
#[derive(Debug, Clone, Default, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct StatedTorque {
    /// The torque with its unit ("22 N·m").
    pub value: String,
    /// Where it was read.
    pub source: String,
}

/// A small thing that a step uses up.
#[derive(Debug, Clone, Default, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Consumable {
    /// What to buy: "tube of gasket sealer".
    pub item: String,
    /// How many.
    #[serde(default = "one")]
    pub count: u32,
    /// Money for one, in the book's currency.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub price: Option<Band>,
}

fn one() -> u32 {
    1
}

/// One step of proving the repair.
#[derive(Debug, Clone, Default, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Proof {
    /// What it is called.
    pub name: String,
    /// How it is done, an order a line.
    #[serde(rename = "do")]
    pub steps: Vec<String>,
    /// What the engine must be like.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub engine: Option<EngineState>,
    /// Minutes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes: Option<Band>,
    /// Tools, by id.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub tools: Vec<String>,
    /// Cautions that stand before it, by id.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
    /// Which vehicles it suits.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub fits_if: FitsIf,
    /// `true`: only after the coolant was out. `false`: only if it stayed in. Without it, always.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub if_drained: Option<bool>,
    /// What proves the repair.
    pub good: String,
    /// What does not, and what to do then.
    pub bad: String,
}

/// One look after the repair.
#[derive(Debug, Clone, Default, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Watch {
    /// When, in words: "next morning, engine cold".
    pub when: String,
    /// Days after the repair, where it is a day of the calendar.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub days: Option<u32>,
    /// What to look at, a thing a line.
    pub look: Vec<String>,
    /// What sends us back into the interview.
    pub back_if: String,
    /// Symptoms and checks that the interview then starts with, by id.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ask: Vec<String>,
    /// Cautions that stand before it, by id.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
    /// Which vehicles it suits.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub fits_if: FitsIf,
}
