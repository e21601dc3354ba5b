//! A vehicle file. Every line of it may be left out: unknown is always allowed.

use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, Visitor};
use serde::{Deserialize, Deserializer, Serialize};

use super::Entries;

/// A date known as well as it is known: `YYYY`, `YYYY-MM` or `YYYY-MM-DD`. A bare year is a number in YAML and is taken
/// as well.
struct LooseDate;

impl Visitor<'_> for LooseDate {
    type Value = Option<String>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a date: YYYY, YYYY-MM or YYYY-MM-DD")
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Option<String>, E> {
        Ok(Some(text.to_owned()))
    }

    fn visit_u64<E: de::Error>(self, year: u64) -> Result<Option<String>, E> {
        Ok(Some(year.to_string()))
    }

    fn visit_i64<E: de::Error>(self, year: i64) -> Result<Option<String>, E> {
        Ok(Some(year.to_string()))
    }

    fn visit_unit<E: de::Error>(self) -> Result<Option<String>, E> {
        Ok(None)
    }
}

impl JsonSchema for LooseDate {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Date".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "anyOf": [
            { "type": "string", "pattern": "^[0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?$" },
            { "type": "integer", "minimum": 1900, "maximum": 2999 }
        ] })
    }
}

fn loose_date<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<String>, D::Error> {
    deserializer.deserialize_any(LooseDate)
}

/// What is known about one vehicle. Quantities are text with a unit ("16 psi", "88 °C", "9.5 L").
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Vehicle {
    /// What it is called: "the village minibus".
    pub name: Option<String>,
    /// Values of the book's vehicle facts (`fan: viscous`).
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub facts: Entries<String>,
    /// Ratings stamped on parts.
    pub ratings: Ratings,
    /// The coolant in it.
    pub coolant: CoolantFill,
    /// Kilometres run.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub km: Option<f64>,
    /// Engine hours run.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub hours: Option<f64>,
    /// Year it was built.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1880, max = 2999))]
    pub built: Option<i16>,
    /// When parts were last fitted; what is not listed is as old as the vehicle, if that is known.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub fitted: Entries<Fitted>,
    /// Height above the sea where it mostly works.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub altitude: Option<String>,
    /// Coldest weather it must stand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub coldest: Option<String>,
    /// Effective pulley diameters.
    pub pulleys: Pulleys,
    /// Points of the coolant temperature sensor's curve.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sensor: Vec<SensorPoint>,
    /// History facts known to be true or false (`plain-water: true`).
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub history: Entries<bool>,
    /// The access layout used by the plan (a file under `rules/jobs`).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub layout: Option<String>,
    /// Anything else worth knowing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Ratings stamped on parts of this vehicle.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Ratings {
    /// Opening pressure of the cap.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cap: Option<String>,
    /// Temperature at which the thermostat starts to open.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thermostat: Option<String>,
    /// Temperature at which it is fully open.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thermostat_full: Option<String>,
    /// Current the electric fan draws in good order.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fan_current: Option<String>,
}

/// The coolant in the vehicle.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct CoolantFill {
    /// Kind: `ethylene-glycol`, `propylene-glycol` or `water`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
    /// What the whole system holds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub capacity: Option<String>,
    /// What comes out at the drain; the rest stays in block and heater.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drains: Option<String>,
    /// Share of concentrate by volume ("50 %").
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mix: Option<String>,
    /// When it was filled (YYYY or YYYY-MM or YYYY-MM-DD).
    #[serde(skip_serializing_if = "Option::is_none", deserialize_with = "loose_date")]
    #[schemars(with = "LooseDate")]
    pub filled: Option<String>,
}

/// When a part was last fitted.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Fitted {
    /// The vehicle's kilometres at the time.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub km: Option<f64>,
    /// The engine's hours at the time.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub hours: Option<f64>,
    /// The date (YYYY or YYYY-MM or YYYY-MM-DD).
    #[serde(skip_serializing_if = "Option::is_none", deserialize_with = "loose_date")]
    #[schemars(with = "LooseDate")]
    pub date: Option<String>,
}

/// Effective pulley diameters.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Pulleys {
    /// Crankshaft pulley.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub crankshaft: Option<String>,
    /// Water pump pulley.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pump: Option<String>,
}

/// One point of a sensor's curve.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct SensorPoint {
    /// Temperature.
    pub at: String,
    /// Resistance at that temperature.
    pub ohms: String,
}
