//! Edits of a rule file that leave every other byte as it is: comments, order, quotation marks, blank lines.
//!
//! An edit is a splice of the text at a place the [outline](super::outline) knows. The result is read again and must
//! hold exactly what was meant before it is taken over; otherwise the text stays as it was.

use std::ops::Range;

use serde_json::{Map, Value};
use thiserror::Error;

use super::gate::read_gated;
use super::outline::{Inner, Outline};
use super::write_yaml::{Style, block, flow, scalar};
use super::{LinkList, Route};
use crate::rulebook::entries::WeightSpec;

/// Why an edit was not made. The text is as it was.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EditError {
    /// The text is not a sound rule file to begin with.
    #[error("the file has to be put right first: {0}")]
    Unsound(String),
    /// The route leads nowhere.
    #[error("there is nothing at `{0}`")]
    Nowhere(String),
    /// Something stands there already.
    #[error("`{0}` is already there")]
    AlreadyThere(String),
    /// The place is written in a way that cannot be edited without touching what is around it.
    #[error("`{0}` is written in a way that cannot be changed on its own; change it by hand")]
    NotAlone(String),
}

/// The text of a rule file that is being edited.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleText {
    text: String,
    value: Value,
}

impl RuleText {
    /// Takes a text that is well-formed; what it means is not asked. An empty text is an empty file.
    pub fn new(text: impl Into<String>) -> Result<Self, EditError> {
        let text = text.into();
        let value = read(&text).map_err(EditError::Unsound)?;
        Ok(Self { text, value })
    }

    /// The text as it stands.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What it holds.
    pub fn value(&self) -> &Value {
        &self.value
    }

    /// What stands at a route.
    pub fn get(&self, route: &Route) -> Option<&Value> {
        route.0.iter().try_fold(&self.value, |node, step| child(node, step))
    }

    /// Puts a text, number or truth value in the place of what stands at a route. What was in quotation marks stays in
    /// the same ones.
    pub fn set(&mut self, route: &Route, value: &Value) -> Result<(), EditError> {
        let mut meant = self.value.clone();
        *node_mut(&mut meant, &route.0).ok_or_else(|| nowhere(route))? = value.clone();
        let outline = Outline::of(&self.text);
        let (key, node) = outline.find(route);
        let span = node.span.clone();
        let old = self.text.get(span.clone()).unwrap_or_default();
        let in_flow = self.in_flow(&outline, route);
        let mut tries = Vec::new();
        if value.is_object() || value.is_array() {
            tries.push(flow(value));
        } else {
            let kept = match old.chars().next() {
                Some('"') => Style::Double,
                Some('\'') => Style::Single,
                _ => Style::Plain,
            };
            tries.push(scalar(value, kept, in_flow));
            tries.push(scalar(value, Style::Double, in_flow));
        }
        // Behind a bare `key:` a blank is needed.
        let lead = if span.is_empty() && key.is_some_and(|key| !self.text[key.end..span.start].contains(' '))
        {
            " "
        } else {
            ""
        };
        for new in tries {
            let at = if span.is_empty() { self.after_colon(&span) } else { span.clone() };
            if self.splice(at, &format!("{lead}{new}"), &meant) {
                return Ok(());
            }
        }
        Err(EditError::NotAlone(route.to_string()))
    }

    /// Adds a key at the end of the map at a route. Maps missing on the way are made.
    pub fn add(&mut self, route: &Route, key: &str, value: &Value) -> Result<(), EditError> {
        let there = self.get(route).and_then(|node| child(node, key)).is_some();
        if there {
            return Err(EditError::AlreadyThere(route.then(key).to_string()));
        }
        // The part of the route that exists; the rest becomes part of what is added.
        let mut depth = route.0.len();
        while depth > 0 && self.get(&Route(route.0[..depth].to_vec())).is_none_or(Value::is_null) {
            depth -= 1;
        }
        let (base, missing) = route.0.split_at(depth);
        let (mut key, mut value) = (key.to_owned(), value.clone());
        for step in missing.iter().rev() {
            let inner = std::mem::replace(&mut key, step.clone());
            value = Value::Object(Map::from_iter([(inner, value)]));
        }
        let base = Route(base.to_vec());
        let mut meant = self.value.clone();
        match node_mut(&mut meant, &base.0) {
            Some(Value::Object(map)) => drop(map.insert(key.clone(), value.clone())),
            _ => return Err(EditError::NotAlone(base.to_string())),
        }
        let outline = Outline::of(&self.text);
        let node = outline.find(&base).1;
        let Inner::Map(entries) = &node.inner else {
            return self.add_to_empty(&base, &key, &value, &meant);
        };
        if self.text[node.span.clone()].starts_with('{') {
            let close = node.span.end - 1;
            let comma = if entries.is_empty() { "" } else { ", " };
            let entry = format!("{comma}{}: {}", scalar_key(&key, true), flow(&value));
            return self.splice(close..close, &entry, &meant).then_some(()).ok_or_else(|| not_alone(&base));
        }
        let Some(((_, first, _), (_, last_key, last))) = entries.first().zip(entries.last()) else {
            return Err(not_alone(&base));
        };
        let indent = self.column(first.start);
        let end = self.deep_end(last).max(last_key.end);
        let parted = base.0.is_empty() || entries.len() > 1 && self.blank_line_before(last_key.start);
        let mut lines = block(&key, &value, indent);
        if parted {
            lines.insert(0, '\n');
        }
        self.insert_after_line(end, &lines, &meant).ok_or_else(|| not_alone(&base))
    }

    /// Takes out what stands at a route, with a comment behind it on its lines; comments above it stay. A map or list
    /// that would be left empty goes as well.
    pub fn remove(&mut self, route: &Route) -> Result<(), EditError> {
        self.get(route).ok_or_else(|| nowhere(route))?;
        let mut route = route.clone();
        while let Some((_, parent)) = route.0.split_last() {
            let alone = match self.get(&Route(parent.to_vec())) {
                Some(Value::Object(map)) => map.len() == 1,
                Some(Value::Array(items)) => items.len() == 1,
                _ => false,
            };
            if !alone || parent.is_empty() {
                break;
            }
            route = Route(parent.to_vec());
        }
        let Some((last, parent)) = route.0.split_last() else { return Err(nowhere(&route)) };
        let mut meant = self.value.clone();
        match node_mut(&mut meant, parent) {
            Some(Value::Object(map)) => drop(map.shift_remove(last)),
            Some(Value::Array(items)) => drop(items.remove(last.parse().map_err(|_| nowhere(&route))?)),
            _ => return Err(nowhere(&route)),
        }
        let outline = Outline::of(&self.text);
        let holder = outline.find(&Route(parent.to_vec())).1;
        let (key, node) = outline.find(&route);
        let start = key.as_ref().map_or(node.span.start, |key| key.start);
        let end = self.deep_end(node).max(key.map_or(0, |key| key.end));
        let in_brackets = self.text[holder.span.clone()].starts_with(['{', '[']);
        let span = if in_brackets {
            self.with_comma(start..end, &holder.span)
        } else {
            self.whole_lines(start, end)
        };
        let Some(span) = span else { return Err(not_alone(&route)) };
        // The last key of the whole file leaves an empty file, which holds nothing rather than an empty map.
        if matches!(&meant, Value::Object(map) if map.is_empty()) {
            meant = Value::Null;
        }
        self.splice(span, "", &meant).then_some(()).ok_or_else(|| not_alone(&route))
    }

    /// States a link in an entry's list, or gives it another weight if it is stated there. `entry` is the route of the
    /// entry: its section and id.
    pub fn set_link(
        &mut self,
        entry: &Route,
        list: LinkList,
        other: &str,
        weight: &WeightSpec,
    ) -> Result<(), EditError> {
        self.get(entry).ok_or_else(|| nowhere(entry))?;
        let lists = entry.then(list.key());
        let route = lists.then(other);
        let value = serde_json::to_value(weight).unwrap_or(Value::Null);
        match (self.get(&route), &value) {
            (None, _) => self.add(&lists, other, &value),
            // A weight that names its source keeps it, unless a new one comes with another.
            (Some(Value::Object(_)), Value::Object(new)) => {
                let new = new.clone();
                for (key, value) in new {
                    if self.get(&route.then(key.as_str())).is_some() {
                        self.set(&route.then(key.as_str()), &value)?;
                    } else {
                        self.add(&route, &key, &value)?;
                    }
                }
                Ok(())
            }
            (Some(Value::Object(_)), _) => self.set(&route.then("is"), &value),
            (Some(_), _) => self.set(&route, &value),
        }
    }

    /// Takes a link out of an entry's list; an emptied list goes as well.
    pub fn remove_link(&mut self, entry: &Route, list: LinkList, other: &str) -> Result<(), EditError> {
        self.remove(&entry.then(list.key()).then(other))
    }

    /// Replaces a stretch of the text if what comes out holds exactly what is meant.
    fn splice(&mut self, at: Range<usize>, with: &str, meant: &Value) -> bool {
        let mut text = String::with_capacity(self.text.len() + with.len());
        text.push_str(&self.text[..at.start]);
        text.push_str(with);
        text.push_str(&self.text[at.end..]);
        match read(&text) {
            Ok(value) if same(&value, meant) => {
                self.text = text;
                self.value = value;
                true
            }
            _ => false,
        }
    }

    fn insert_after_line(&mut self, end: usize, lines: &str, meant: &Value) -> Option<()> {
        let (at, lead) = match self.text[end..].find('\n') {
            Some(newline) => (end + newline + 1, ""),
            None => (self.text.len(), "\n"),
        };
        self.splice(at..at, &format!("{lead}{lines}"), meant).then_some(())
    }

    /// Adds to a file that holds nothing yet, or below a key with nothing behind it.
    fn add_to_empty(
        &mut self,
        base: &Route,
        key: &str,
        value: &Value,
        meant: &Value,
    ) -> Result<(), EditError> {
        if !base.0.is_empty() {
            return Err(not_alone(base));
        }
        let lead = if self.text.is_empty() || self.text.ends_with('\n') { "" } else { "\n" };
        let end = self.text.len();
        let lines = format!("{lead}{}", block(key, value, 0));
        self.splice(end..end, &lines, meant).then_some(()).ok_or_else(|| not_alone(base))
    }

    /// True if a node stands inside `{...}` or `[...]`.
    fn in_flow(&self, outline: &Outline, route: &Route) -> bool {
        (0..route.0.len()).any(|depth| {
            let node = outline.find(&Route(route.0[..depth].to_vec())).1;
            self.text[node.span.clone()].starts_with(['{', '['])
        })
    }

    /// Where the last thing in a node ends; comments behind it are not part of it.
    fn deep_end(&self, node: &Outline) -> usize {
        if self.text[node.span.clone()].starts_with(['{', '[']) {
            return node.span.end;
        }
        match &node.inner {
            Inner::Leaf => node.span.end,
            Inner::Map(entries) => {
                entries.last().map_or(node.span.end, |(_, key, value)| self.deep_end(value).max(key.end))
            }
            Inner::List(items) => items.last().map_or(node.span.end, |item| self.deep_end(item)),
        }
    }

    fn column(&self, at: usize) -> usize {
        at - self.text[..at].rfind('\n').map_or(0, |newline| newline + 1)
    }

    fn blank_line_before(&self, at: usize) -> bool {
        let line = self.text[..at].rfind('\n').map_or(0, |newline| newline + 1);
        self.text[..line].ends_with("\n\n")
    }

    /// The place behind the colon of a key without a value.
    fn after_colon(&self, span: &Range<usize>) -> Range<usize> {
        let at = self.text[span.start..].find(':').map_or(span.start, |colon| span.start + colon + 1);
        at..at
    }

    /// The whole lines of a block, if nothing else stands before it on its first line.
    fn whole_lines(&self, start: usize, end: usize) -> Option<Range<usize>> {
        let from = self.text[..start].rfind('\n').map_or(0, |newline| newline + 1);
        let lead = self.text[from..start].trim();
        if !(lead.is_empty() || lead == "-" && !self.text[start..end].contains('\n')) {
            return None;
        }
        let to = self.text[end..].find('\n').map_or(self.text.len(), |newline| end + newline + 1);
        Some(from..to)
    }

    /// An item inside brackets with the comma that parts it from its neighbour.
    fn with_comma(&self, span: Range<usize>, holder: &Range<usize>) -> Option<Range<usize>> {
        let after = &self.text[span.end..holder.end];
        let blanks = after.len() - after.trim_start().len();
        if after.trim_start().starts_with(',') {
            let rest = &after[blanks + 1..];
            let gap = rest.len() - rest.trim_start_matches(' ').len();
            return Some(span.start..span.end + blanks + 1 + gap);
        }
        let before = &self.text[holder.start..span.start];
        let comma = before.trim_end();
        comma.ends_with(',').then(|| holder.start + comma.len() - 1..span.end)
    }
}

fn read(text: &str) -> Result<Value, String> {
    match read_gated(0, text, None) {
        (Some(reading), faults) if faults.is_empty() => Ok(match reading.value {
            // An empty file is a map without entries.
            Value::Null => Value::Object(Map::new()),
            value => value,
        }),
        (_, faults) => Err(faults.first().map(|fault| fault.message.clone()).unwrap_or_default()),
    }
}

/// Equal as far as a reader can tell: an empty file and an empty map are one, and 3 is 3.0.
fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Object(map), Value::Null) | (Value::Null, Value::Object(map)) => map.is_empty(),
        (Value::Object(a), Value::Object(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|((ka, va), (kb, vb))| ka == kb && same(va, vb))
        }
        (Value::Array(a), Value::Array(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b)),
        (Value::Number(a), Value::Number(b)) => a == b || a.as_f64() == b.as_f64(),
        _ => a == b,
    }
}

fn child<'a>(node: &'a Value, step: &str) -> Option<&'a Value> {
    match node {
        Value::Object(map) => map.get(step),
        Value::Array(items) => step.parse::<usize>().ok().and_then(|number| items.get(number)),
        _ => None,
    }
}

fn node_mut<'a>(root: &'a mut Value, steps: &[String]) -> Option<&'a mut Value> {
    steps.iter().try_fold(root, |node, step| match node {
        Value::Object(map) => map.get_mut(step),
        Value::Array(items) => step.parse::<usize>().ok().and_then(|number| items.get_mut(number)),
        _ => None,
    })
}

fn scalar_key(key: &str, in_flow: bool) -> String {
    scalar(&Value::String(key.to_owned()), Style::Plain, in_flow)
}

fn nowhere(route: &Route) -> EditError {
    EditError::Nowhere(route.to_string())
}

fn not_alone(route: &Route) -> EditError {
    EditError::NotAlone(route.to_string())
}
