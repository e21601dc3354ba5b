//! Learnt numbers into the user's own rules, as changes to single fields, every other line left as it stands.

use std::path::Path;

use serde_json::{Map, Value, json};
use thiserror::Error;

use super::book::Parameter;
use crate::care::journal::{Edit, JournalError, present};
use crate::rulebook::edit::{EditError, RuleText};
use crate::rulebook::{Kind, Route, RuleBook};

/// The file of the user's rule folder that learnt numbers go into.
pub const FILE: &str = "learnt.yaml";

const HEAD: &str = "# Numbers learnt from confirmed cases, laid over the book. Yours to edit: `weephole rules learn` changes numbers\n\
     # and adds entries, and `weephole rules undo` takes the last change out again.\n";

/// One number to write.
#[derive(Debug, Clone, PartialEq)]
pub struct Learnt {
    /// Which.
    pub parameter: Parameter,
    /// Its new chance, 0 to 1, already rounded.
    pub chance: f64,
}

/// Why the numbers cannot be written.
#[derive(Debug, Error)]
pub enum WriteError {
    /// The file system said no.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// The book has no place for it.
    #[error("the book states `{0}` nowhere, so it cannot be changed")]
    NoPlace(String),
    /// The file cannot be edited without touching other lines.
    #[error("`{path}` cannot be edited: {why}; move it aside or write its numbers by hand")]
    Edit {
        /// The file.
        path: String,
        /// What is in the way.
        why: EditError,
    },
}

/// Where a number is changed: the entry, and the keys below it.
fn route(book: &RuleBook, parameter: &Parameter) -> Option<(String, Vec<String>)> {
    match parameter {
        Parameter::Base(id) => Some((id.clone(), vec!["base".to_owned()])),
        Parameter::Background(key) => match key.split_once('/') {
            Some((check, outcome)) => {
                Some((check.to_owned(), vec!["outcomes".to_owned(), outcome.to_owned()]))
            }
            None => Some((key.clone(), vec!["background".to_owned()])),
        },
        Parameter::Weight(from, to) => {
            let stated = book.statements().find(|statement| statement.ends() == (from.as_str(), to.as_str()));
            stated.map(|s| (s.owner.to_owned(), vec![s.list.key().to_owned(), s.other.to_owned()]))
        }
    }
}

/// A number as it is written: bases per 1,000, three places.
fn written(parameter: &Parameter, chance: f64) -> Value {
    let per = if matches!(parameter, Parameter::Base(_)) { 1000.0 } else { 1.0 };
    let number = (chance * per * 1000.0).round() / 1000.0;
    json!(number)
}

/// The edit that puts `learnt` into the rule folder `own`. `source` says where the numbers come from; it stands in
/// every entry that changes.
pub fn edit(book: &RuleBook, own: &Path, learnt: &[Learnt], source: &str) -> Result<Edit, WriteError> {
    let path = own.join(FILE);
    let before = present(&path)?;
    let mut wanted = Map::new();
    for Learnt { parameter, chance } in learnt {
        let (id, keys) = route(book, parameter).ok_or_else(|| WriteError::NoPlace(parameter.to_string()))?;
        let mut at = wanted.entry(id).or_insert_with(|| json!({}));
        for key in &keys[..keys.len() - 1] {
            at = &mut at[key.as_str()];
            if at.is_null() {
                *at = json!({});
            }
        }
        at[keys[keys.len() - 1].as_str()] = written(parameter, *chance);
    }
    for (id, entry) in &mut wanted {
        // Only entries of these kinds can say where their numbers come from.
        if book.kind_of(id).is_some_and(Kind::shares_ids) {
            entry["source"] = json!(source);
        }
    }
    let old = before.clone().unwrap_or_else(|| HEAD.to_owned());
    let after =
        put(&old, &wanted).map_err(|why| WriteError::Edit { path: path.display().to_string(), why })?;
    Ok(Edit { path, before, after: Some(after) })
}

/// `text` with the entries in its `change` section: new ones at the end, single fields of those that stand there. Every
/// other line stays as it is, or it is an error.
pub fn put(text: &str, wanted: &Map<String, Value>) -> Result<String, EditError> {
    let mut file = RuleText::new(text)?;
    for (id, entry) in wanted {
        let route = Route::of(&["change", id]);
        if file.get(&route).is_none() {
            file.add(&Route::of(&["change"]), id, entry)?;
        } else {
            lay_over(&mut file, &route, entry)?;
        }
    }
    Ok(file.text().to_owned())
}

/// Sets every field of `entry` in the entry at `route`.
fn lay_over(file: &mut RuleText, route: &Route, entry: &Value) -> Result<(), EditError> {
    for (key, value) in entry.as_object().into_iter().flatten() {
        let at = route.then(key);
        match file.get(&at) {
            None => file.add(route, key, value)?,
            Some(_) if value.is_object() => lay_over(file, &at, value)?,
            // A weight with its own source keeps its shape.
            Some(Value::Object(_)) => file.set(&at.then("is"), value)?,
            Some(_) => file.set(&at, value)?,
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rulebook::documents;

    fn wanted(value: Value) -> Map<String, Value> {
        value.as_object().expect("a map").clone()
    }

    const FILE: &str = "# ours\nchange:\n  # pumps wear fast here\n  pump-seal-worn:\n    base: 40   # was 30\n    shows:\n      drip: {is: 0.8, source: counted}\n      'squeal': 0.2\n    source: hard water\n\n# symptoms below\nsymptoms: {}\n";

    #[test]
    fn a_number_is_changed_and_every_other_line_stays() {
        let new = json!({"pump-seal-worn": {"base": 44.125, "shows": {"drip": 0.812, "squeal": 0.25}}});
        let after = put(FILE, &wanted(new)).expect("it can be edited");
        let lines: Vec<(&str, &str)> = FILE.lines().zip(after.lines()).filter(|(a, b)| a != b).collect();
        assert_eq!(
            lines,
            [
                ("    base: 40   # was 30", "    base: 44.125   # was 30"),
                ("      drip: {is: 0.8, source: counted}", "      drip: {is: 0.812, source: counted}"),
                ("      'squeal': 0.2", "      'squeal': 0.25"),
            ]
        );
        assert_eq!(FILE.lines().count(), after.lines().count());
    }

    #[test]
    fn new_entries_and_new_fields_are_added() {
        let new = json!({"pump-seal-worn": {"shows": {"gauge/low": 0.5}}, "cap-weak": {"base": 3.5, "source": "x"}});
        let after = put(FILE, &wanted(new)).expect("it can be edited");
        for line in FILE.lines() {
            assert!(after.contains(line), "`{line}` is gone from\n{after}");
        }
        let back: Value = documents::read(after.as_bytes()).expect("well-formed");
        assert_eq!(back["change"]["pump-seal-worn"]["shows"]["gauge/low"], json!(0.5));
        assert_eq!(back["change"]["cap-weak"]["base"], json!(3.5));
    }

    #[test]
    fn a_new_file_starts_with_what_it_is() {
        let after = put(HEAD, &wanted(json!({"cap-weak": {"base": 3.5}}))).expect("it can be written");
        assert!(after.starts_with(HEAD), "{after}");
        let back: Value = documents::read(after.as_bytes()).expect("well-formed");
        assert_eq!(back, json!({"change": {"cap-weak": {"base": 3.5}}}));
    }

    #[test]
    fn what_is_not_yaml_is_left_alone() {
        assert!(put("change: [\n", &wanted(json!({"a": {"base": 1}}))).is_err());
    }
}
