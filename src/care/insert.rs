//! Entries put into a rule file that a person keeps: every line that was there stays as it was.
//!
//! Only whole entries are put in, at the end of their section or in a new section at the end of the file. The result
//! is read back and compared with what was meant; a file this cannot be done in (a section in braces, an id that
//! already stands there) is left alone, and the entries go into a file of their own.

use std::ops::Range;

use serde_json::{Map, Value};

use crate::rulebook::documents;

/// Puts the sections of `addition` into `text`. `None` if that cannot be done without touching other lines.
pub fn insert(text: &str, addition: &str) -> Option<String> {
    let (old, new) = (read(text)?, read(addition)?);
    let mut result = text.to_owned();
    if !result.is_empty() && !result.ends_with('\n') {
        result.push('\n');
    }
    for (section, lines) in sections(addition) {
        let body = &addition[lines];
        match sections(&result).into_iter().find(|(name, _)| *name == section) {
            None => {
                if !result.trim().is_empty() {
                    result.push('\n');
                }
                result.push_str(body.trim_end());
                result.push('\n');
            }
            Some((_, there)) => {
                let entries = body.split_once('\n').map_or("", |(_, entries)| entries);
                let wanted = indent_of(&result[there.clone()])?;
                let moved = shift(entries, indent_of(body)?, wanted);
                let at = there.start + end_of_entries(&result[there]);
                result.insert_str(at, &moved);
            }
        }
    }
    (read(&result)? == merged(old, new)?).then_some(result)
}

fn read(text: &str) -> Option<Map<String, Value>> {
    match documents::read::<Value>(text.as_bytes()).ok()? {
        Value::Object(map) => Some(map),
        Value::Null => Some(Map::new()),
        _ => None,
    }
}

/// What both hold; `None` if an id stands in both.
fn merged(mut old: Map<String, Value>, new: Map<String, Value>) -> Option<Map<String, Value>> {
    for (section, value) in new {
        match (old.get_mut(&section), value) {
            (None | Some(Value::Null), value) => {
                old.insert(section, value);
            }
            (Some(Value::Object(there)), Value::Object(more)) => {
                for (id, entry) in more {
                    if there.insert(id, entry).is_some() {
                        return None;
                    }
                }
            }
            (Some(Value::Array(there)), Value::Array(more)) => there.extend(more),
            _ => return None,
        }
    }
    Some(old)
}

/// The top sections of a file: key, and the bytes from its line to the line before the next key. Comments right
/// above a key belong to it.
fn sections(text: &str) -> Vec<(&str, Range<usize>)> {
    let mut found: Vec<(&str, Range<usize>)> = Vec::new();
    let mut at = 0;
    let mut remarks: Option<usize> = None;
    for line in text.split_inclusive('\n') {
        let first = line.chars().next().unwrap_or('\n');
        if first == '#' {
            remarks.get_or_insert(at);
        } else if first.is_alphabetic() && line.contains(':') {
            let key = line.split(':').next().unwrap_or_default();
            if let Some((_, last)) = found.last_mut() {
                last.end = remarks.unwrap_or(at);
            }
            found.push((key, at..text.len()));
            remarks = None;
        } else {
            remarks = None;
        }
        at += line.len();
    }
    found
}

/// How far the entries of a section stand in; `None` if it has none on lines of their own.
fn indent_of(section: &str) -> Option<usize> {
    let entry = section.lines().skip(1).find(|line| !is_empty_or_remark(line))?;
    let indent = entry.len() - entry.trim_start().len();
    (indent > 0 || entry.starts_with('-')).then_some(indent)
}

/// The end of the last entry of a section, before blank lines and comments that follow it at the margin.
fn end_of_entries(section: &str) -> usize {
    let (mut at, mut end) = (0, 0);
    for line in section.split_inclusive('\n') {
        at += line.len();
        if !is_empty_or_remark(line) || line.starts_with(' ') && !line.trim().is_empty() {
            end = at;
        }
    }
    end
}

fn is_empty_or_remark(line: &str) -> bool {
    let line = line.trim();
    line.is_empty() || line.starts_with('#')
}

/// Moves lines from one indent to another.
fn shift(lines: &str, from: usize, to: usize) -> String {
    let mut moved = String::new();
    for line in lines.trim_end().lines() {
        let bare = line.strip_prefix(&" ".repeat(from)).unwrap_or(line.trim_start());
        if !line.trim().is_empty() {
            moved.push_str(&" ".repeat(to));
            moved.push_str(bare);
        }
        moved.push('\n');
    }
    moved
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "# mine\nfailures:\n    # the first\n    a: {x: 1}   # kept\n\n# about parts\nparts:\n    p:\n        name: it\n";

    #[test]
    fn a_section_grows_at_its_end_and_every_line_stays() {
        let addition = "failures:\n  # new\n  b:\n    x: 2\nstates:\n  s: {y: 1}\n";
        let result = insert(FILE, addition).expect("it fits");
        assert_eq!(
            result,
            "# mine\nfailures:\n    # the first\n    a: {x: 1}   # kept\n    # new\n    b:\n      x: 2\n\n# about parts\nparts:\n    p:\n        name: it\n\nstates:\n  s: {y: 1}\n"
        );
    }

    #[test]
    fn what_cannot_be_done_line_by_line_is_refused() {
        assert_eq!(insert("failures: {a: {x: 1}}\n", "failures:\n  b: {x: 2}\n"), None);
        assert_eq!(insert(FILE, "failures:\n  a: {x: 2}\n"), None, "the id stands there");
        assert_eq!(insert("not: [closed\n", "failures:\n  b: {x: 2}\n"), None);
    }

    #[test]
    fn an_empty_file_takes_everything() {
        assert_eq!(insert("", "parts:\n  p: {n: 1}\n").as_deref(), Some("parts:\n  p: {n: 1}\n"));
        assert_eq!(
            insert("# only a remark", "parts:\n  p: {n: 1}\n").as_deref(),
            Some("# only a remark\n\nparts:\n  p: {n: 1}\n")
        );
    }
}
