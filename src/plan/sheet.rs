//! The plan itself: everything a page prints, worked out and in order. It is also the shape of `--format json`.
//!
//! Money is in [`Plan::currency`], minutes are minutes, everything else is in metric units (litres, °C, kPa, N·m, m).

use serde::Serialize;

use super::fluids::Fluids;
use crate::rulebook::entries::{Band, EngineState};

/// A plan for one vehicle.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Plan {
    /// The vehicle.
    pub vehicle: String,
    /// What the customer said, if there is a case.
    pub complaint: Option<String>,
    /// The day it was drawn up (YYYY-MM-DD), if it is known.
    pub day: Option<String>,
    /// The shop, if it has a name.
    pub shop: Option<String>,
    /// The currency of all money.
    pub currency: String,
    /// Price of an hour of work.
    pub labour_rate: f64,
    /// Price of a comeback.
    pub comeback: f64,
    /// The engine layout.
    pub layout: LayoutNote,
    /// Why the vehicle must not be driven until this is done; empty if it may.
    pub do_not_drive: Vec<String>,
    /// What to know before relying on this plan.
    pub notes: Vec<String>,
    /// What to replace and why.
    pub choice: Choice,
    /// What killed the part, and what puts an end to it.
    pub roots: Vec<Root>,
    /// The work, in order.
    pub work: Work,
    /// What to buy besides coolant.
    pub shopping: Vec<Item>,
    /// The coolant sheet, if the system is drained.
    pub fluids: Option<Fluids>,
    /// How the repair is proved.
    pub prove: Vec<ProofLine>,
    /// What to look at afterwards.
    pub watch: Vec<WatchLine>,
    /// What this plan defers to.
    pub closing: String,
}

/// The layout the steps come from.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct LayoutNote {
    /// Its id: a file under `jobs`.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// How it was chosen.
    pub why: String,
    /// Where minutes, fasteners and habits come from.
    pub source: String,
}

/// The set of repairs and what it costs.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Choice {
    /// What is done, the must first.
    pub repairs: Vec<Chosen>,
    /// What was weighed and left out, by what is at stake.
    pub left_out: Vec<LeftOut>,
    /// What could be dropped if money is tight, what saves most for its risk first.
    pub tight: Vec<Tight>,
    /// Parts, fluids and small things.
    pub parts: Band,
    /// Minutes of work without waiting for the engine to cool.
    pub minutes: Band,
    /// Labour for the middle of the minutes.
    pub labour: f64,
    /// Parts and labour, the middle of the bands.
    pub now: f64,
    /// Expected cost in all: now, later, comebacks and new parts ruined.
    pub expected: f64,
    /// Chance that the complaint is still there after the work.
    pub stays: f64,
    /// What that chance means.
    pub stays_means: String,
    /// Whether every chance is exact.
    pub exact: bool,
    /// Repairs weighed against each other.
    pub weighed: usize,
    /// Repairs with some chance that were not weighed.
    pub not_weighed: usize,
    /// Half-decided sets looked at to be sure that none is cheaper.
    pub looked_at: usize,
    /// Horizon for parts that are due, years.
    pub horizon_years: f64,
}

/// One repair that is done.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Chosen {
    /// Id of the repair.
    pub id: String,
    /// Id of the part.
    pub part: String,
    /// The part's name.
    pub name: String,
    /// What to do.
    pub action: String,
    /// Advice that belongs to it.
    pub also: Vec<String>,
    /// Chance that the part has failed.
    pub chance: f64,
    /// True if it was asked for or is the leading suspect.
    pub must: bool,
    /// Why it is in.
    pub because: String,
    /// Minutes it adds now.
    pub adds_minutes: Band,
    /// Money it adds now.
    pub adds_money: f64,
    /// Minutes it takes on its own, later.
    pub alone_minutes: Band,
    /// Money it takes on its own, later.
    pub alone_money: f64,
    /// What having it in saves in expectation.
    pub saves: f64,
    /// The failures it puts right (ids).
    pub cures: Vec<String>,
}

/// One repair that is left out.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct LeftOut {
    /// Id of the repair.
    pub id: String,
    /// The part's name.
    pub name: String,
    /// What it would be.
    pub action: String,
    /// Chance that it is still needed once the rest is done.
    pub chance: f64,
    /// Minutes it would add now.
    pub adds_minutes: Band,
    /// Money it would add now.
    pub adds_money: f64,
    /// Minutes on its own, later.
    pub alone_minutes: Band,
    /// Money on its own, later.
    pub alone_money: f64,
    /// What putting it in would lose in expectation.
    pub loses: f64,
    /// Why it is left out.
    pub because: String,
}

/// Something that can wait if money is tight.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Tight {
    /// What is dropped: names.
    pub without: Vec<String>,
    /// Money saved today.
    pub spares: f64,
    /// Minutes saved today.
    pub spares_minutes: Band,
    /// What that is expected to cost more in all.
    pub costs: f64,
    /// Chance that the complaint is still there then.
    pub stays: f64,
    /// True for the least that can be done at all.
    pub bare: bool,
}

/// A root cause.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Root {
    /// Id of the history fact, state or failure.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Chance that it is there.
    pub chance: f64,
    /// The new part it would ruin.
    pub ruins: String,
    /// The repair of this plan that puts an end to it.
    pub righted_by: Option<String>,
    /// What else puts it right.
    pub remedy: Option<String>,
}

/// The work in order.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Work {
    /// The way in.
    pub undo: Vec<StepLine>,
    /// Repairs whose access the layout does not know.
    pub loose: Vec<Loose>,
    /// The way back.
    pub refit: Vec<StepLine>,
    /// What waits for what: (earlier, later, true if it only waits when both are done).
    pub waits: Vec<(String, String, bool)>,
    /// True if no order changes engine state and tools less often.
    pub best_order: bool,
    /// All tools by name.
    pub tools: Vec<String>,
    /// Tools that the shop lacks, by name.
    pub lacks: Vec<String>,
}

/// One step, one way.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct StepLine {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// What comes first.
    pub cautions: Vec<String>,
    /// Orders.
    pub lines: Vec<String>,
    /// Minutes, this way.
    pub minutes: Band,
    /// What the engine must be like.
    pub engine: EngineState,
    /// Tools by name.
    pub tools: Vec<String>,
    /// Names of what is renewed here.
    pub renews: Vec<String>,
    /// How bolts are kept (way in).
    pub keep: Vec<String>,
    /// Torques (way back).
    pub torques: Vec<Torque>,
    /// Sealing (way back).
    pub seal: Option<String>,
    /// What to look at (way in).
    pub look: Vec<String>,
}

/// A torque, with where it comes from.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Torque {
    /// Which bolts.
    pub what: String,
    /// How many.
    pub count: Option<u32>,
    /// Size and grade, if they are stated.
    pub size: Option<String>,
    /// Lower and upper end, N·m; `None` if only the maker can say.
    pub band: Option<(f64, f64)>,
    /// Where the figure comes from.
    pub source: String,
    /// In which order.
    pub pattern: Option<String>,
}

/// A repair whose access the layout does not know.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Loose {
    /// The part's name.
    pub name: String,
    /// What to do.
    pub action: String,
    /// Minutes.
    pub minutes: Band,
}

/// Something to buy.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Item {
    /// What.
    pub name: String,
    /// How many.
    pub count: u32,
    /// Price band of one.
    pub price: Option<Band>,
}

/// One step of proving.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct ProofLine {
    /// Its name.
    pub name: String,
    /// What comes first.
    pub cautions: Vec<String>,
    /// Orders.
    pub lines: Vec<String>,
    /// What the engine must be like.
    pub engine: EngineState,
    /// Minutes.
    pub minutes: Band,
    /// Tools by name.
    pub tools: Vec<String>,
    /// What proves the repair.
    pub good: String,
    /// What does not, and what to do then.
    pub bad: String,
}

/// One look afterwards.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct WatchLine {
    /// When, in words.
    pub when: String,
    /// The date (YYYY-MM-DD), if the day of the plan is known.
    pub date: Option<String>,
    /// What comes first.
    pub cautions: Vec<String>,
    /// What to look at.
    pub look: Vec<String>,
    /// What sends us back into the interview.
    pub back_if: String,
    /// The questions it then starts with, by name.
    pub ask: Vec<String>,
}

/// What every plan ends with.
pub const CLOSING: &str = "This plan defers to the maker's figures, to local codes and to licensed practice. Where the maker's \
book says otherwise, the maker is right. Used coolant and old parts go where local rules say.";
