//! The one place that knows the YAML reader. Everything else sees JSON values and routes.

use std::cell::RefCell;
use std::fmt;
use std::ops::Range;

use serde::Serialize;
use serde::de::{self, DeserializeSeed, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};

use super::Route;

/// What a text holds, with what could not be taken over as it stands.
#[derive(Debug)]
pub(super) struct Reading {
    /// The content. Of keys that stand twice the first is kept; what a note is about is `null`.
    pub value: Value,
    /// What was not taken over.
    pub notes: Vec<Note>,
}

/// Something well-formed that a rule file may not hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Note {
    /// A key stands again in the map at this route.
    Twice(Route, String),
    /// A key that is not a text, as it would be printed.
    KeyNotText(Route, String),
    /// Infinity, or not a number.
    NotFinite(Route),
}

/// A text that is not well-formed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Malformed {
    /// What the reader says.
    pub message: String,
    /// Where it stopped.
    pub span: Range<usize>,
    /// Where what it was reading began, if it says so and that is elsewhere.
    pub began: Option<Range<usize>>,
}

/// Reads a text. It must have passed [`outline::forbidden`](super::outline::forbidden) before: this reader takes
/// quadratic time on deeply nested maps and follows aliases without end.
pub(super) fn read(text: &str) -> Result<Reading, Malformed> {
    let notes = RefCell::new(Vec::new());
    let route = RefCell::new(Vec::new());
    let seed = Seed { notes: &notes, route: &route };
    match seed.deserialize(serde_yaml::Deserializer::from_str(text)) {
        Ok(value) => Ok(Reading { value, notes: notes.into_inner() }),
        Err(error) => {
            let at = error.location().map_or(0..0, |place| {
                let start = byte_at(text, place.line(), place.column());
                start..(start + 1)
            });
            let message = error.to_string();
            let began = begun(&message).map(|(line, column)| byte_at(text, line, column));
            let began = began.filter(|&start| start < at.start).map(|start| start..start + 1);
            Err(Malformed { message, span: at, began })
        }
    }
}

/// Line and column of "while ... at line 7 column 15" at the end of what the reader says.
fn begun(message: &str) -> Option<(usize, usize)> {
    let (_, place) = message.rsplit_once(", while ")?.1.rsplit_once(" at line ")?;
    let (line, column) = place.split_once(" column ")?;
    Some((line.parse().ok()?, column.parse().ok()?))
}

/// Writes a value as YAML.
pub(super) fn write<T: Serialize>(value: &T) -> Result<String, String> {
    serde_yaml::to_string(value).map_err(|error| error.to_string())
}

/// The byte at a line and column, both counted from 1, columns in characters.
fn byte_at(text: &str, line: usize, column: usize) -> usize {
    let mut start = 0;
    for (number, content) in text.split_inclusive('\n').enumerate() {
        if number + 1 == line {
            let within =
                content.char_indices().nth(column.saturating_sub(1)).map_or(content.len(), |(at, _)| at);
            return start + within;
        }
        start += content.len();
    }
    text.len()
}

#[derive(Clone, Copy)]
struct Seed<'a> {
    notes: &'a RefCell<Vec<Note>>,
    route: &'a RefCell<Vec<String>>,
}

impl Seed<'_> {
    fn note(&self, note: Note) {
        self.notes.borrow_mut().push(note);
    }

    fn here(&self) -> Route {
        Route(self.route.borrow().clone())
    }
}

impl<'de> DeserializeSeed<'de> for Seed<'_> {
    type Value = Value;

    fn deserialize<D: de::Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Seed<'_> {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a text, a number, a list or a map")
    }

    fn visit_bool<E: de::Error>(self, truth: bool) -> Result<Value, E> {
        Ok(Value::Bool(truth))
    }

    fn visit_i64<E: de::Error>(self, number: i64) -> Result<Value, E> {
        Ok(Value::Number(number.into()))
    }

    fn visit_u64<E: de::Error>(self, number: u64) -> Result<Value, E> {
        Ok(Value::Number(number.into()))
    }

    fn visit_f64<E: de::Error>(self, number: f64) -> Result<Value, E> {
        if let Some(number) = Number::from_f64(number) {
            return Ok(Value::Number(number));
        }
        self.note(Note::NotFinite(self.here()));
        Ok(Value::Null)
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Value, E> {
        Ok(Value::String(text.to_owned()))
    }

    fn visit_unit<E: de::Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_none<E: de::Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        loop {
            self.route.borrow_mut().push(list.len().to_string());
            let item = items.next_element_seed(self);
            self.route.borrow_mut().pop();
            match item? {
                Some(item) => list.push(item),
                None => return Ok(Value::Array(list)),
            }
        }
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Value, A::Error> {
        let mut map = Map::new();
        while let Some(key) = entries.next_key_seed(KeySeed)? {
            let (name, is_text) = match key {
                Key::Text(name) => (name, true),
                Key::Other(name) => (name, false),
            };
            self.route.borrow_mut().push(name.clone());
            let value = entries.next_value_seed(self);
            self.route.borrow_mut().pop();
            let value = value?;
            if !is_text {
                self.note(Note::KeyNotText(self.here(), name));
            } else if map.contains_key(&name) {
                self.note(Note::Twice(self.here(), name));
            } else {
                map.insert(name, value);
            }
        }
        Ok(Value::Object(map))
    }
}

/// A map's key: a text, or what else was written there.
enum Key {
    Text(String),
    Other(String),
}

struct KeySeed;

impl<'de> DeserializeSeed<'de> for KeySeed {
    type Value = Key;

    fn deserialize<D: de::Deserializer<'de>>(self, deserializer: D) -> Result<Key, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for KeySeed {
    type Value = Key;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a key")
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Key, E> {
        Ok(Key::Text(text.to_owned()))
    }

    fn visit_bool<E: de::Error>(self, truth: bool) -> Result<Key, E> {
        Ok(Key::Other(truth.to_string()))
    }

    fn visit_i64<E: de::Error>(self, number: i64) -> Result<Key, E> {
        Ok(Key::Other(number.to_string()))
    }

    fn visit_u64<E: de::Error>(self, number: u64) -> Result<Key, E> {
        Ok(Key::Other(number.to_string()))
    }

    fn visit_f64<E: de::Error>(self, number: f64) -> Result<Key, E> {
        Ok(Key::Other(number.to_string()))
    }

    fn visit_unit<E: de::Error>(self) -> Result<Key, E> {
        Ok(Key::Other("null".to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Key, A::Error> {
        while items.next_element::<de::IgnoredAny>()?.is_some() {}
        Ok(Key::Other("[...]".to_owned()))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Key, A::Error> {
        while entries.next_entry::<de::IgnoredAny, de::IgnoredAny>()?.is_some() {}
        Ok(Key::Other("{...}".to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn notes(text: &str) -> Vec<Note> {
        read(text).map(|reading| reading.notes).unwrap_or_default()
    }

    #[test]
    fn keys_that_stand_twice_are_noted_and_the_first_is_kept() {
        let reading = read("a: {b: 1, b: 2}\n").expect("well-formed");
        assert_eq!(reading.value, serde_json::json!({"a": {"b": 1}}));
        assert_eq!(reading.notes, [Note::Twice(Route::of(&["a"]), "b".into())]);
    }

    #[test]
    fn numbers_that_are_none_and_keys_that_are_no_text_are_noted() {
        assert_eq!(notes("a: [1, .nan, -.inf]\n").len(), 2);
        assert_eq!(notes("1: x\ntrue: y\n~: z\n[k]: v\n").len(), 4);
    }

    #[test]
    fn a_malformed_text_says_where() {
        let text = "é:\n  name: a text: with a colon\n";
        let wrong = read(text).expect_err("two colons");
        assert_eq!(&text[wrong.span], ":");
    }
}
