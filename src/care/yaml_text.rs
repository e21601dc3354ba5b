//! Entries as the YAML a person would write: block style, short lists in brackets, quotation marks only where
//! they are needed.

use std::fmt::Write;

use serde_json::{Map, Value};

/// Lists of plain values up to this many characters stand on one line.
const ONE_LINE: usize = 90;

/// Words that a YAML reader may take for something else than text.
const NOT_TEXT: [&str; 11] = ["yes", "no", "true", "false", "null", "on", "off", "y", "n", "~", "nan"];

/// A map as a block, every line after `indent` spaces. Empty values and `null` are left out.
pub fn block(map: &Map<String, Value>, indent: usize) -> String {
    let mut text = String::new();
    for (key, value) in map {
        entry(&mut text, key, value, indent);
    }
    text
}

fn entry(text: &mut String, key: &str, value: &Value, indent: usize) {
    let key = scalar_text(key, false);
    let pad = " ".repeat(indent);
    match value {
        Value::Null => {}
        Value::Object(map) if map.is_empty() => {}
        Value::Array(list) if list.is_empty() => {}
        Value::Object(map) => {
            let _ = write!(text, "{pad}{key}:\n{}", block(map, indent + 2));
        }
        Value::Array(list) => match in_brackets(list) {
            Some(line) if line.len() + key.len() + indent < ONE_LINE => {
                let _ = writeln!(text, "{pad}{key}: {line}");
            }
            _ => {
                let _ = writeln!(text, "{pad}{key}:");
                for item in list {
                    match item {
                        Value::Object(map) => match in_braces(map) {
                            Some(line) => {
                                let _ = writeln!(text, "{pad}  - {line}");
                            }
                            None => {
                                let inner = block(map, indent + 4);
                                let _ = write!(text, "{pad}  - {}", inner.trim_start());
                            }
                        },
                        other => {
                            let _ = writeln!(text, "{pad}  - {}", scalar(other, false));
                        }
                    }
                }
            }
        },
        other => {
            let _ = writeln!(text, "{pad}{key}: {}", scalar(other, false));
        }
    }
}

/// A list of plain values on one line; `None` if it holds texts that read like sentences, or lists or maps.
fn in_brackets(list: &[Value]) -> Option<String> {
    let sentence = |value: &Value| value.as_str().is_some_and(|text| text.len() > 40 || text.ends_with('.'));
    if list.iter().any(|value| value.is_object() || value.is_array() || sentence(value)) {
        return None;
    }
    let items: Vec<String> = list.iter().map(|value| scalar(value, true)).collect();
    Some(format!("[{}]", items.join(", ")))
}

/// A small map of plain values on one line.
fn in_braces(map: &Map<String, Value>) -> Option<String> {
    if map.values().any(|value| value.is_object() || value.is_array()) {
        return None;
    }
    let items: Vec<String> = map
        .iter()
        .map(|(key, value)| format!("{}: {}", scalar_text(key, true), scalar(value, true)))
        .collect();
    Some(format!("{{{}}}", items.join(", ")))
}

fn scalar(value: &Value, in_flow: bool) -> String {
    match value {
        Value::String(text) => scalar_text(text, in_flow),
        Value::Number(number) => match number.as_f64() {
            // Whole numbers are written without a fraction; all of them are far below 2^53.
            Some(whole) if whole.fract() == 0.0 && whole.abs() < 1e15 => format!("{whole:.0}"),
            _ => number.to_string(),
        },
        other => other.to_string(),
    }
}

/// A text, in quotation marks if a reader could take it for something else.
fn scalar_text(text: &str, in_flow: bool) -> String {
    let starts_well = text.chars().next().is_some_and(char::is_alphabetic);
    let risky = text.contains(": ")
        || text.contains(" #")
        || text.ends_with(':')
        || text.ends_with(' ')
        || text.chars().any(|c| c.is_control() || (in_flow && ",[]{}:".contains(c)))
        || NOT_TEXT.contains(&text.to_lowercase().as_str());
    if starts_well && !risky {
        text.to_owned()
    } else {
        // A JSON string is a YAML string in double quotation marks.
        Value::String(text.to_owned()).to_string()
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::rulebook::documents;

    #[test]
    fn what_is_written_reads_back_the_same() {
        let value = json!({
            "plain": "the needle falls", "colon": "say: this", "hash": "a # b", "yes": "yes", "number-like": "12",
            "numbers": [1, 2.5, -3], "words": ["a, b", "c", "null"], "nested": {"x": {"is": "half", "source": "a {b}"}},
            "steps": ["Engine cold.", "Take it off: now."], "line\u{7}": "two\nlines", "dash": "- x", "at": "@x",
            "maps": [{"ask": "a", "answer": "yes"}, {"deep": {"er": [1]}}], "end": "colon:", "empty": ""
        });
        let text = block(value.as_object().expect("a map"), 0);
        let back: Value = documents::read(text.as_bytes()).expect("well-formed");
        // Numbers may come back as whole ones.
        assert_eq!(back.to_string().replace(".0", ""), value.to_string().replace(".0", ""), "{text}");
    }

    #[test]
    fn it_reads_as_a_person_would_write_it() {
        let value =
            json!({"cap": {"price": [8.0, 25.0], "also": ["Wipe the seat."], "none": null, "gone": []}});
        assert_eq!(
            block(value.as_object().expect("a map"), 0),
            "cap:\n  price: [8, 25]\n  also:\n    - Wipe the seat.\n"
        );
    }
}
