//! What makes a finding or a state dangerous.

use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::value::MapAccessDeserializer;
use serde::de::{self, MapAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize};

/// What must not be done with the vehicle.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Forbids {
    /// It must not be driven. The engine may run where it stands.
    #[default]
    Driving,
    /// The engine must not even run.
    Running,
}

/// Why a vehicle must not be driven: a text alone, or `{say: text, forbids: running, until: [rock-pump-pulley]}`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Severe {
    /// The reason and what not to do, as it is read out to the mechanic and written to the customer.
    pub say: String,
    /// What it forbids.
    pub forbids: Forbids,
    /// Checks that lift it: it holds until each of them has had a result that is not severe itself. Empty: it holds until
    /// something is mended.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub until: Vec<String>,
}

/// The long form.
#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Long {
    say: String,
    #[serde(default)]
    forbids: Forbids,
    #[serde(default)]
    until: Vec<String>,
}

struct SevereVisitor;

impl<'de> Visitor<'de> for SevereVisitor {
    type Value = Severe;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("why the vehicle must not be driven, as a text or as a map with `say`")
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Severe, E> {
        Ok(Severe { say: text.to_owned(), ..Severe::default() })
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Severe, A::Error> {
        let Long { say, forbids, until } = Long::deserialize(MapAccessDeserializer::new(map))?;
        Ok(Severe { say, forbids, until })
    }
}

impl<'de> Deserialize<'de> for Severe {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(SevereVisitor)
    }
}

impl JsonSchema for Severe {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Severe".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Why the vehicle must not be driven: a text, or a map that also says whether the engine may run and which checks lift it.",
            "anyOf": [
                { "type": "string", "description": "why it must not be driven" },
                {
                    "type": "object",
                    "properties": {
                        "say": { "type": "string", "description": "the reason and what not to do" },
                        "forbids": {
                            "description": "what must not be done; `driving` if nothing is said",
                            "oneOf": [
                                { "type": "string", "const": "driving", "description": "it must not be driven" },
                                { "type": "string", "const": "running", "description": "the engine must not even run" }
                            ]
                        },
                        "until": {
                            "type": "array",
                            "description": "checks that lift it: it holds until each has had a result that is not severe itself",
                            "items": { "type": "string" }
                        }
                    },
                    "required": ["say"],
                    "additionalProperties": false
                }
            ]
        })
    }
}
