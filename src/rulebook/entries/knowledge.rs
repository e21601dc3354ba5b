//! Parts, failures, states, history and symptoms as written in a rule file.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Entries, Severe, WeightSpec};

/// Title and version of a rule book.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct BookHead {
    /// The book's title.
    pub title: String,
    /// Its version, a whole number that rises with every change.
    pub version: u32,
    /// The currency in which price bands are written.
    pub currency: String,
}

/// How a chance is said in words: `say` holds from `at-least` upwards.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct ChanceWord {
    /// Lowest chance for which these words are used, 0 to 1.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub at_least: f64,
    /// The words.
    pub say: String,
}

/// A caution, said before the step it belongs to.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Caution {
    /// The caution in full, plain words.
    pub text: String,
    /// Where it comes from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

/// A tool a check or job step asks for.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Tool {
    /// What it is called.
    pub name: String,
    /// Minutes to fetch it and put it away again, once a visit.
    #[serde(default)]
    #[schemars(range(min = 0.0))]
    pub minutes: f64,
    /// True for what every toolbox has; false for what a roadside or home mechanic may lack.
    #[serde(default)]
    pub common: bool,
}

/// Something that differs from vehicle to vehicle, such as the kind of fan.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct VehicleFact {
    /// The question that settles it.
    pub ask: String,
    /// Its possible values, each with its share among vehicles; the shares sum to 1.
    #[schemars(extend("minProperties" = 1))]
    pub options: Entries<FactOption>,
}

/// One possible value of a vehicle fact.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct FactOption {
    /// What it is called.
    pub name: String,
    /// Share of vehicles that have it, 0 to 1: used while the fact is unknown.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub share: f64,
}

/// Conditions on vehicle facts: every fact named must have one of the values listed.
pub type FitsIf = Entries<Vec<String>>;

/// A low and a high figure, written `[90, 150]`.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, Serialize, JsonSchema)]
pub struct Band(#[schemars(range(min = 0.0))] pub f64, #[schemars(range(min = 0.0))] pub f64);

impl Band {
    /// The middle of the band.
    pub fn middle(self) -> f64 {
        f64::midpoint(self.0, self.1)
    }
}

/// A thing that can be bought or mended.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Part {
    /// What the trade calls it.
    pub name: String,
    /// What it is, for someone who has never opened a bonnet.
    pub customer: String,
    /// Price band of the part in the book's currency.
    pub price: Band,
    /// Which vehicles have it; without this all do.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub fits_if: FitsIf,
    /// Where on the picture of the cooling circuit it sits (an anchor name); see `docs/rule-format.md`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
}

/// How soon a failure must be dealt with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Urgency {
    /// Nothing is wrong, or nothing that matters.
    Nothing,
    /// Plan it with the next service.
    Plan,
    /// Within days; watch the level and the gauge until then.
    Soon,
    /// Do not drive: switch off and deal with it first.
    StopNow,
}

/// What a part's age is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum WearBy {
    /// Kilometres since it was fitted.
    Km,
    /// Engine hours since it was fitted.
    Hours,
    /// Years since it was fitted.
    Years,
}

/// Weibull wear: how the chance of this failure grows with age.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Wear {
    /// What the age is counted in.
    pub by: WearBy,
    /// Characteristic life, in that count: the age by which 63 % have failed.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub life: f64,
    /// Weibull shape: 1 no ageing, 2 to 4 wear-out.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub shape: f64,
    /// Where the life comes from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

/// What mends a failure.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Repair {
    /// What to do, as an order: "Replace the water pump and its gasket."
    #[serde(rename = "do")]
    pub action: String,
    /// Minutes of work from a closed bonnet to a running engine.
    pub minutes: Band,
    /// Money for parts and fluids in the book's currency; without it the part's own price.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Band>,
    /// Other parts that are renewed with it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub with: Vec<String>,
    /// Advice that belongs to the repair: what to do at the same time, what not to forget.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<String>,
}

/// One way in which a part fails.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Failure {
    /// The part that fails.
    pub part: String,
    /// What the trade calls it.
    pub name: String,
    /// What it means, in plain words for the customer.
    pub customer: String,
    /// What happens if it waits, in plain words for the customer.
    pub if_left: String,
    /// How many of 1,000 vehicles brought in with a cooling complaint have it, before any listed cause.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub base: f64,
    /// Why this base and these weights: the source, or "judgement" with its reason.
    pub source: String,
    /// How the base grows with age.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wear: Option<Wear>,
    /// Which vehicles can have it, beyond those that have the part.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub fits_if: FitsIf,
    /// What brings it on: history, states and other failures.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub raised_by: Entries<WeightSpec>,
    /// What it brings on: states and other failures.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub leads_to: Entries<WeightSpec>,
    /// What shows it: symptoms, and outcomes of checks written `check/outcome`.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub shows: Entries<WeightSpec>,
    /// How soon it must be dealt with.
    pub urgency: Urgency,
    /// What mends it.
    pub repair: Repair,
}

/// What the system does because of failures.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct State {
    /// What the trade calls it.
    pub name: String,
    /// What it means, in plain words for the customer.
    pub customer: String,
    /// Chance that it is there with none of its listed causes.
    pub background: WeightSpec,
    /// Why these weights.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// Which vehicles can have it.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub fits_if: FitsIf,
    /// What brings it on, beyond what the causes themselves list.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub raised_by: Entries<WeightSpec>,
    /// What it brings on: failures and other states.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub leads_to: Entries<WeightSpec>,
    /// What shows it.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub shows: Entries<WeightSpec>,
    /// If it is there: why the vehicle must not be driven.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub severe: Option<Severe>,
}

/// A fact about the vehicle's past or setting.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct History {
    /// The fact, as a statement: "run on plain water".
    pub name: String,
    /// The question that settles it, answered yes or no.
    pub ask: String,
    /// The same for the customer.
    pub customer: String,
    /// Of how many of 1,000 vehicles brought in with a cooling complaint it is true.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub base: f64,
    /// Why this base and these weights.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// Which vehicles it can be true of.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub fits_if: FitsIf,
    /// What it brings on: failures and states.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub leads_to: Entries<WeightSpec>,
    /// What shows it.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub shows: Entries<WeightSpec>,
    /// What would put it right from now on, if anything can.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remedy: Option<String>,
}

/// What anyone can notice without a test.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Symptom {
    /// What the trade calls it.
    pub name: String,
    /// The question that settles it, answered yes or no.
    pub ask: String,
    /// How to recognise it and what it is often mistaken for.
    pub notice: String,
    /// How customers put it: words and phrases that free text is matched against.
    #[schemars(length(min = 1))]
    pub words: Vec<String>,
    /// The same in plain words for the customer.
    pub customer: String,
    /// Chance that it is noticed with none of its listed causes.
    pub background: WeightSpec,
    /// Why this background, if it is not judgement.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// Which vehicles can show it.
    #[serde(default, skip_serializing_if = "Entries::is_empty")]
    pub fits_if: FitsIf,
    /// Symptoms that cannot be there at the same time.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub not_with: Vec<String>,
    /// If it is there: why the vehicle must not be driven.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub severe: Option<Severe>,
}

/// Single links and fields changed in an entry of the book below: whatever is named here replaces what
/// stands there, a link weighted `never` is taken out, and everything else stays.
#[derive(Debug, Clone, Default, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Change {
    /// A new base (failures and history).
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub base: Option<f64>,
    /// A new background (states and symptoms).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub background: Option<WeightSpec>,
    /// New backgrounds of a check's outcomes.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub outcomes: Entries<WeightSpec>,
    /// Links from causes.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub raised_by: Entries<WeightSpec>,
    /// Links to states and failures.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub leads_to: Entries<WeightSpec>,
    /// Links to symptoms and outcomes.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub shows: Entries<WeightSpec>,
    /// A new price band (parts).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub price: Option<Band>,
    /// New minutes (checks).
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub minutes: Option<f64>,
    /// Further words customers use (symptoms); they are added to those that stand.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub words: Vec<String>,
    /// Why it was changed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}
