//! Weights: a word of the scale or a number from 0 to 1, with an optional source and condition.

use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, MapAccess, Visitor};
use serde::ser::SerializeMap;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::FitsIf;

/// What one word of the scale is worth as a chance, with the range within which it may be redrawn.
#[derive(Debug, Clone, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct WordRange {
    /// The chance this word stands for, 0 to 1.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub is: f64,
    /// Lowest chance still meant by the word.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub from: f64,
    /// Highest chance still meant by the word.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub to: f64,
    /// Where the number comes from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

/// A weight as written: `often`, `0.7`, or `{is: often, source: where it was read, fits-if: {fan: [electric]}}`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct WeightSpec {
    /// The word, if a word was written.
    pub word: Option<String>,
    /// The number, if a number was written.
    pub number: Option<f64>,
    /// Where this very weight comes from; without one the entry's own source holds.
    pub source: Option<String>,
    /// For a link: on which vehicles it holds. Empty: on all that have both of its ends.
    pub fits_if: FitsIf,
}

impl WeightSpec {
    /// A weight written as a word of the scale.
    pub fn word(word: &str) -> Self {
        Self { word: Some(word.to_owned()), ..Self::default() }
    }

    /// A weight written as a number.
    pub fn number(number: f64) -> Self {
        Self { number: Some(number), ..Self::default() }
    }
}

struct WeightVisitor {
    nested: bool,
}

impl<'de> Visitor<'de> for WeightVisitor {
    type Value = WeightSpec;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a weight: a word of the scale such as `often`, or a number from 0 to 1")
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<WeightSpec, E> {
        Ok(WeightSpec::word(text))
    }

    fn visit_f64<E: de::Error>(self, number: f64) -> Result<WeightSpec, E> {
        Ok(WeightSpec::number(number))
    }

    fn visit_i64<E: de::Error>(self, number: i64) -> Result<WeightSpec, E> {
        Ok(WeightSpec::number(number as f64))
    }

    fn visit_u64<E: de::Error>(self, number: u64) -> Result<WeightSpec, E> {
        Ok(WeightSpec::number(number as f64))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<WeightSpec, A::Error> {
        if self.nested {
            return Err(de::Error::custom("`is` takes a word of the scale or a number, not a map"));
        }
        let mut weight: Option<WeightSpec> = None;
        let mut source = None;
        let mut fits_if = FitsIf::new();
        while let Some(key) = map.next_key::<String>()? {
            match key.as_str() {
                "is" => weight = Some(map.next_value::<Bare>()?.0),
                "source" => source = Some(map.next_value::<String>()?),
                "fits-if" => fits_if = map.next_value::<FitsIf>()?,
                other => return Err(de::Error::unknown_field(other, &["is", "source", "fits-if"])),
            }
        }
        let mut weight = weight.ok_or_else(|| de::Error::missing_field("is"))?;
        weight.source = source;
        weight.fits_if = fits_if;
        Ok(weight)
    }
}

struct Bare(WeightSpec);

impl<'de> Deserialize<'de> for Bare {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(WeightVisitor { nested: true }).map(Bare)
    }
}

impl<'de> Deserialize<'de> for WeightSpec {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(WeightVisitor { nested: false })
    }
}

impl Serialize for WeightSpec {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let number = self.number.unwrap_or(0.0);
        let entries = 1 + usize::from(self.source.is_some()) + usize::from(!self.fits_if.is_empty());
        if entries == 1 {
            return match &self.word {
                Some(word) => serializer.serialize_str(word),
                None => serializer.serialize_f64(number),
            };
        }
        let mut map = serializer.serialize_map(Some(entries))?;
        match &self.word {
            Some(word) => map.serialize_entry("is", word)?,
            None => map.serialize_entry("is", &number)?,
        }
        if let Some(source) = &self.source {
            map.serialize_entry("source", source)?;
        }
        if !self.fits_if.is_empty() {
            map.serialize_entry("fits-if", &self.fits_if)?;
        }
        map.end()
    }
}

impl JsonSchema for WeightSpec {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Weight".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "The chance that a cause, alone, brings on its effect: a word of the scale or a number from 0 to 1, or a map with `is` and with `source`, `fits-if` or both.",
            "anyOf": [
                { "type": "string", "description": "a word of the book's scale, such as `often`" },
                { "type": "number", "minimum": 0, "maximum": 1, "description": "a chance" },
                {
                    "type": "object",
                    "description": "a weight that names its own source, or that holds on some vehicles only",
                    "properties": {
                        "is": { "anyOf": [ { "type": "string" }, { "type": "number", "minimum": 0, "maximum": 1 } ] },
                        "source": { "type": "string" },
                        "fits-if": {
                            "type": "object",
                            "description": "for a link: the vehicle facts under which it holds",
                            "additionalProperties": { "type": "array", "items": { "type": "string" } }
                        }
                    },
                    "required": ["is"],
                    "additionalProperties": false
                }
            ]
        })
    }
}
