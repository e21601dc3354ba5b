//! One file: from its bytes to what it holds.

use std::collections::BTreeSet;

use serde::de::DeserializeOwned;
use serde_json::Value;

use super::codes::{BAD_ID, WRONG_TYPE};
use super::gate::read_gated;
use super::layers::Content;
use super::shape::{is_id, misshapes};
use super::yaml::{self, Note};
use super::{Fault, FileKind, Kind, Point, Route, Source, Spot};

/// What could be made of one file.
pub(super) struct Read {
    pub content: Content,
    /// False if nothing of it could be read, so that the ids it holds are not known.
    pub readable: bool,
    pub faults: Vec<Fault>,
}

impl Read {
    fn nothing(faults: Vec<Fault>) -> Self {
        Self { content: Content::Nothing, readable: false, faults }
    }
}

pub(super) fn content_of(number: usize, source: &Source) -> Read {
    if !source.json.is_empty()
        && let Some(content) = from_json(source)
    {
        return Read { content, readable: true, faults: Vec::new() };
    }
    let text = source.text.as_ref();
    let (reading, mut faults) = read_gated(number, text, source.trouble.as_ref());
    let Some(reading) = reading else { return Read::nothing(faults) };
    if source.kind != FileKind::Book && !is_id(source.stem()) {
        faults.push(
            Fault::at(&BAD_ID, Spot::file(number), format!("`{}` cannot be an id", source.stem()))
                .help("the file's name is the id: small letters, digits and single hyphens"),
        );
    }
    let (content, more) = shaped(number, source.kind, reading);
    faults.extend(more);
    Read { content, readable: true, faults }
}

/// A file compiled into the program, if it is as it should be.
fn from_json(source: &Source) -> Option<Content> {
    let json = source.json;
    Some(match source.kind {
        FileKind::Book => {
            Content::Book { file: Box::new(serde_json::from_str(json).ok()?), broken: Vec::new() }
        }
        FileKind::Vehicle => Content::Vehicle(Box::new(serde_json::from_str(json).ok()?)),
        FileKind::Case => Content::Case(Box::new(serde_json::from_str(json).ok()?)),
        FileKind::Job => Content::Job(Box::new(serde_json::from_str(json).ok()?)),
    })
}

/// What a well-formed file holds, without the entries that do not have the shape they should.
fn shaped(number: usize, kind: FileKind, reading: yaml::Reading) -> (Content, Vec<Fault>) {
    let mut value = reading.value;
    if value.is_null() {
        value = Value::Object(serde_json::Map::new());
    }
    let noted: BTreeSet<Route> = reading
        .notes
        .iter()
        .filter_map(|note| match note {
            Note::NotFinite(route) => Some(route.clone()),
            Note::Twice(..) | Note::KeyNotText(..) => None,
        })
        .collect();
    let mut faults = Vec::new();
    let mut broken = Vec::new();
    let mut found = misshapes(kind, &value, number);
    // Leaving out later items of a list first keeps the numbers of the earlier ones.
    found.sort_by(|a, b| b.route.cmp(&a.route));
    for misshape in found {
        if misshape.only_node {
            take(&mut value, &misshape.route.0);
        } else {
            broken.extend(leave_out_entry(&mut value, &misshape.route, kind));
        }
        if !noted.contains(&misshape.route) {
            faults.push(misshape.fault);
        }
    }
    for route in &noted {
        broken.extend(leave_out_entry(&mut value, route, kind));
    }
    let content = match kind {
        FileKind::Book => typed(number, &mut value, kind, &mut faults, &mut broken)
            .map(|file| Content::Book { file: Box::new(file), broken }),
        FileKind::Vehicle => typed(number, &mut value, kind, &mut faults, &mut broken).map(Content::Vehicle),
        FileKind::Case => typed(number, &mut value, kind, &mut faults, &mut broken).map(Content::Case),
        FileKind::Job => typed(number, &mut value, kind, &mut faults, &mut broken).map(Content::Job),
    };
    (content.unwrap_or(Content::Nothing), faults)
}

/// Reads the typed value, leaving out entries it stumbles over. The walk along the schema has found what is wrong
/// before; this catches what a schema cannot say.
fn typed<T: DeserializeOwned>(
    number: usize,
    value: &mut Value,
    kind: FileKind,
    faults: &mut Vec<Fault>,
    broken: &mut Vec<(Kind, String)>,
) -> Option<T> {
    let tries = value
        .as_object()
        .map_or(1, |map| map.values().filter_map(Value::as_object).map(|m| m.len() + 1).sum());
    for _ in 0..=tries {
        if value.is_null() {
            return None;
        }
        match serde_path_to_error::deserialize::<_, T>(&*value) {
            Ok(content) => return Some(content),
            Err(error) => {
                let route = Route(error.path().iter().map(ToString::to_string).collect());
                let spot = Spot { source: number, point: Point::Value(route.clone()) };
                faults.push(
                    Fault::at(&WRONG_TYPE, spot, error.inner().to_string()).label("not what belongs here"),
                );
                broken.extend(leave_out_entry(value, &route, kind));
            }
        }
    }
    None
}

/// Takes the entry that a route leads into out of a file's content; returns which it was, if it has an id.
fn leave_out_entry(value: &mut Value, route: &Route, kind: FileKind) -> Option<(Kind, String)> {
    if kind != FileKind::Book {
        *value = Value::Null;
        return None;
    }
    let depth = if value.get(route.0.first()?)?.is_object() && route.0[0] != "book" { 2 } else { 1 };
    let steps = &route.0[..route.0.len().min(depth)];
    take(value, steps);
    let section = Kind::ALL.into_iter().find(|kind| kind.section() == route.0[0])?;
    Some((section, route.0.get(1)?.clone()))
}

/// Takes the node at the end of a route out.
fn take(value: &mut Value, steps: &[String]) {
    let Some((last, way)) = steps.split_last() else {
        *value = Value::Null;
        return;
    };
    let mut node = value;
    for step in way {
        let next = match node {
            Value::Object(map) => map.get_mut(step),
            Value::Array(items) => step.parse::<usize>().ok().and_then(|n| items.get_mut(n)),
            _ => None,
        };
        let Some(next) = next else { return };
        node = next;
    }
    match node {
        Value::Object(map) => drop(map.shift_remove(last)),
        Value::Array(items) => {
            if let Some(number) = last.parse::<usize>().ok().filter(|&n| n < items.len()) {
                items.remove(number);
            }
        }
        _ => {}
    }
}
