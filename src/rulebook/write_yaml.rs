//! Values as YAML text in the manner of the shipped files: block maps, short lists and maps in brackets, quotation marks
//! only where they are needed.

use std::fmt::Write as _;

use serde_json::Value;

/// How a text is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Style {
    /// Without quotation marks where it can be.
    Plain,
    /// In single ones, where it can be.
    Single,
    /// In double ones.
    Double,
}

/// Longest map or list written in brackets on one line, in bytes.
const LONGEST_FLOW: usize = 72;

/// One text, number or truth value on one line.
pub(super) fn scalar(value: &Value, style: Style, in_flow: bool) -> String {
    match value {
        Value::String(text) => {
            let one_line = !text.chars().any(char::is_control);
            match style {
                Style::Plain if is_plain(text, in_flow) => text.clone(),
                Style::Single if one_line => format!("'{}'", text.replace('\'', "''")),
                _ => double_quoted(text),
            }
        }
        other => other.to_string(),
    }
}

/// A value in brackets on one line.
pub(super) fn flow(value: &Value) -> String {
    match value {
        Value::Object(map) => {
            let entries: Vec<String> =
                map.iter().map(|(key, value)| format!("{}: {}", key_text(key, true), flow(value))).collect();
            format!("{{{}}}", entries.join(", "))
        }
        Value::Array(items) => format!("[{}]", items.iter().map(flow).collect::<Vec<_>>().join(", ")),
        other => scalar(other, Style::Plain, true),
    }
}

/// A key with its value as lines, the key at this column, with a line end at the end.
pub(super) fn block(key: &str, value: &Value, indent: usize) -> String {
    let mut text = String::new();
    write_entry(&mut text, key, value, indent);
    text
}

fn write_entry(text: &mut String, key: &str, value: &Value, indent: usize) {
    let margin = " ".repeat(indent);
    let key = key_text(key, false);
    match value {
        Value::Object(map) if !fits_on_line(value) => {
            let _ = writeln!(text, "{margin}{key}:");
            for (key, value) in map {
                write_entry(text, key, value, indent + 2);
            }
        }
        Value::Array(items) if !fits_on_line(value) => {
            let _ = writeln!(text, "{margin}{key}:");
            for item in items {
                let line = match item {
                    Value::Object(_) | Value::Array(_) => flow(item),
                    _ => scalar(item, Style::Plain, false),
                };
                let _ = writeln!(text, "{margin}  - {line}");
            }
        }
        Value::Object(_) | Value::Array(_) => {
            let _ = writeln!(text, "{margin}{key}: {}", flow(value));
        }
        _ => {
            let _ = writeln!(text, "{margin}{key}: {}", scalar(value, Style::Plain, false));
        }
    }
}

/// Short lists of words and figures, and short maps of them with no more than four keys, stand in brackets.
fn fits_on_line(value: &Value) -> bool {
    let flat = |item: &Value| !item.is_object() && !item.is_array();
    let shaped = match value {
        Value::Object(map) => map.is_empty() || map.len() <= 4 && map.values().all(flat),
        Value::Array(items) => items.is_empty() || items.iter().all(flat),
        _ => true,
    };
    shaped && flow(value).len() <= LONGEST_FLOW
}

fn key_text(key: &str, in_flow: bool) -> String {
    if is_plain(key, in_flow) { key.to_owned() } else { double_quoted(key) }
}

/// JSON's way of quoting is YAML's double-quoted style.
fn double_quoted(text: &str) -> String {
    Value::String(text.to_owned()).to_string()
}

/// True if a text may stand without quotation marks and is still read as that text, by readers of every YAML version.
fn is_plain(text: &str, in_flow: bool) -> bool {
    const WORDS: [&str; 12] = ["yes", "no", "on", "off", "true", "false", "null", "none", "y", "n", "~", ""];
    let first = text.chars().next().unwrap_or(' ');
    let number_like = first.is_ascii_digit() || matches!(first, '+' | '-' | '.');
    !WORDS.contains(&text.to_lowercase().as_str())
        && (!number_like || text.contains(' '))
        && !text.starts_with(|c: char| c.is_whitespace() || "-?:,[]{}#&*!|>'\"%@`=<~".contains(c))
        && !text.ends_with(|c: char| c.is_whitespace() || c == ':')
        && !text.contains(": ")
        && !text.contains(" #")
        && !text
            .chars()
            .any(|c| c.is_control() || matches!(c, '\u{feff}' | '\u{2028}' | '\u{2029}' | '\u{85}'))
        && !(in_flow && text.contains([',', '[', ']', '{', '}', ':']))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn an_entry_is_written_in_the_manner_of_the_shipped_files() {
        let value = json!({
            "part": "water-pump", "name": "pump: worn", "base": 4.5,
            "wear": {"by": "km", "life": 170_000, "shape": 3},
            "shows": {"grinding-noise": "usually", "rock-pump-pulley/play": {"is": 0.8, "source": "counted, 12 cases"}},
            "steps": ["Take hold of the pulley at the top and the bottom, and rock it to and fro.", "Listen, no."],
            "tools": ["torch"],
        });
        let text = block("pump-worn", &value, 2);
        assert_eq!(
            text,
            concat!(
                "  pump-worn:\n",
                "    part: water-pump\n",
                "    name: \"pump: worn\"\n",
                "    base: 4.5\n",
                "    wear: {by: km, life: 170000, shape: 3}\n",
                "    shows:\n",
                "      grinding-noise: usually\n",
                "      rock-pump-pulley/play: {is: 0.8, source: \"counted, 12 cases\"}\n",
                "    steps:\n",
                "      - Take hold of the pulley at the top and the bottom, and rock it to and fro.\n",
                "      - Listen, no.\n",
                "    tools: [torch]\n",
            )
        );
    }

    #[test]
    fn what_could_be_read_as_something_else_stands_in_quotation_marks() {
        for text in [
            "yes", "No", "null", "12", "1.5e3", "-3", "- x", "a: b", "a #b", "{a", " a", "a ", "*a", "&a",
            "!a",
        ] {
            assert!(!is_plain(text, false), "{text}");
        }
        for text in ["pump", "16 psi", "a:b", "it's", "R&D", "1/2 in of play"] {
            assert!(is_plain(text, false), "{text}");
        }
        assert!(!is_plain("a, b", true));
    }
}
