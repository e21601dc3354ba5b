//! Does a file have the shape its schema asks for? Every fault of shape is found in one walk, where a reader of typed
//! values would stop at the first.

use serde_json::{Map, Value};

use super::codes::{EMPTY, MISSING_KEY, NOT_A_CHOICE, OUT_OF_RANGE, UNKNOWN_KEY, WRONG_TYPE};
use super::fault::{Code, Fault, Point, Spot};
use super::nearest::nearest;
use super::{FileKind, Route, schema_of};

/// The lists whose keys may be `check/outcome`.
const LINK_LISTS: [&str; 3] = ["raised-by", "leads-to", "shows"];

/// A fault of shape with the node that cannot be used because of it.
pub(super) struct Misshape {
    pub fault: Fault,
    pub route: Route,
    /// True if it is enough to leave out the node itself; otherwise the entry it stands in goes with it.
    pub only_node: bool,
}

/// Walks a file's content along its schema.
pub(super) fn misshapes(kind: FileKind, value: &Value, source: usize) -> Vec<Misshape> {
    let schema = schema_of(kind);
    let mut walk = Walk { root: &schema, source, found: Vec::new() };
    walk.node(&schema, value, &mut Vec::new(), "");
    walk.found
}

struct Walk<'a> {
    root: &'a Value,
    source: usize,
    found: Vec<Misshape>,
}

impl<'a> Walk<'a> {
    /// Follows `$ref`; returns the schema and, if it has one, the name of its type.
    fn resolve(&self, schema: &'a Value) -> (&'a Value, Option<&'a str>) {
        let target =
            schema.get("$ref").and_then(Value::as_str).and_then(|path| path.strip_prefix("#/$defs/"));
        match target {
            Some(name) => (&self.root["$defs"][name], Some(name)),
            None => (schema, schema.get("title").and_then(Value::as_str)),
        }
    }

    fn add(
        &mut self,
        only_node: bool,
        route: &[String],
        code: &'static Code,
        point: fn(Route) -> Point,
        text: Text,
    ) {
        let route = Route(route.to_vec());
        let mut fault =
            Fault::at(code, Spot { source: self.source, point: point(route.clone()) }, text.message)
                .label(text.label);
        fault.help.extend(text.help);
        self.found.push(Misshape { fault, route, only_node });
    }

    fn node(&mut self, schema: &'a Value, value: &Value, route: &mut Vec<String>, about: &str) {
        let (schema, name) = self.resolve(schema);
        let about =
            schema.get("description").and_then(Value::as_str).filter(|_| about.is_empty()).unwrap_or(about);
        if value.is_null() && !route.is_empty() {
            let label = if about.is_empty() {
                "expected a value".to_owned()
            } else {
                format!("expected: {}", said(about))
            };
            let message = format!("nothing stands behind {}", named(route));
            self.add(false, route, &EMPTY, Point::Key, Text::new(message, label));
            return;
        }
        if let Some(choices) = schema.get("anyOf").and_then(Value::as_array) {
            let fitting = choices.iter().find(|choice| accepts(self.resolve(choice).0, value));
            if let Some(choice) = fitting {
                self.node(choice, value, route, about);
            } else {
                let wanted: Vec<String> =
                    choices.iter().filter_map(|choice| kind_wanted(self.resolve(choice).0)).collect();
                self.wrong_type(&wanted.join(" or "), value, route, about);
            }
            return;
        }
        if let Some(choices) = schema.get("oneOf").and_then(Value::as_array) {
            self.choice(choices, value, route);
            return;
        }
        if !accepts(schema, value) {
            let wanted = kind_wanted(schema).unwrap_or_else(|| "something else".to_owned());
            self.wrong_type(&wanted, value, route, about);
            return;
        }
        match value {
            Value::Object(map) => self.map(schema, name, map, route),
            Value::Array(items) => self.list(schema, items, route),
            Value::Number(_) => self.number(schema, value, route),
            Value::String(text) if text.trim().is_empty() => {
                let message = format!("the text of {} is empty", named(route));
                self.add(
                    false,
                    route,
                    &EMPTY,
                    Point::Value,
                    Text::new(message, format!("expected: {}", said(about))),
                );
            }
            _ => {}
        }
    }

    fn map(
        &mut self,
        schema: &'a Value,
        name: Option<&'a str>,
        map: &Map<String, Value>,
        route: &mut Vec<String>,
    ) {
        let empty = Map::new();
        let properties = schema.get("properties").and_then(Value::as_object);
        let noun = name.map(noun_of).unwrap_or_default();
        for (key, value) in map {
            route.push(key.clone());
            let known = properties.and_then(|properties| properties.get(key));
            match (known, schema.get("additionalProperties")) {
                (Some(property), _) => self.node(property, value, route, about_property(property)),
                (None, Some(rest)) if rest.is_object() => {
                    let names_outcome =
                        matches!(&route[..], [.., list, _] if LINK_LISTS.contains(&list.as_str()));
                    let fits = is_id(key) || names_outcome && key.split('/').all(is_id);
                    if !fits {
                        self.bad_id(key, route);
                    }
                    self.node(rest, value, route, "");
                }
                _ => {
                    let keys: Vec<&str> = properties.unwrap_or(&empty).keys().map(String::as_str).collect();
                    self.unknown_key(key, value, &noun, &keys, route);
                }
            }
            route.pop();
        }
        let required = schema.get("required").and_then(Value::as_array).into_iter().flatten();
        for key in required.filter_map(Value::as_str).filter(|key| !map.contains_key(*key)) {
            let about = properties.and_then(|p| p.get(key)).map_or("", about_property);
            let about = if about.is_empty() {
                properties
                    .and_then(|p| p.get(key))
                    .and_then(|p| self.resolve(p).0.get("description"))
                    .and_then(Value::as_str)
                    .unwrap_or_default()
            } else {
                about
            };
            let message = format!("{} lacks `{key}`", owner(&noun, route));
            let label = if about.is_empty() {
                format!("`{key}` is missing here")
            } else {
                format!("`{key}` is missing here: {}", said(about))
            };
            self.add(false, route, &MISSING_KEY, Point::Key, Text::new(message, label));
        }
        let least = schema.get("minProperties").and_then(Value::as_u64).unwrap_or(0);
        if (map.len() as u64) < least {
            self.too_few(route);
        }
    }

    fn list(&mut self, schema: &'a Value, items: &[Value], route: &mut Vec<String>) {
        let fixed = schema.get("prefixItems").and_then(Value::as_array);
        if let Some(fixed) = fixed
            && fixed.len() != items.len()
        {
            let figures = if items.len() == 1 { "figure" } else { "figures" };
            let message = format!("{} has {} {figures}, not {}", named(route), items.len(), fixed.len());
            let label = "expected a low and a high figure, such as `[90, 150]`";
            self.add(false, route, &WRONG_TYPE, Point::Value, Text::new(message, label));
            return;
        }
        for (number, item) in items.iter().enumerate() {
            route.push(number.to_string());
            if let Some(schema) = fixed.map_or_else(|| schema.get("items"), |fixed| fixed.get(number)) {
                self.node(schema, item, route, "");
            }
            route.pop();
        }
        let least = schema.get("minItems").and_then(Value::as_u64).unwrap_or(0);
        if (items.len() as u64) < least {
            self.too_few(route);
        }
    }

    fn too_few(&mut self, route: &[String]) {
        let message = format!("{} is empty", named(route));
        self.add(false, route, &EMPTY, Point::Key, Text::new(message, "expected at least one entry"));
    }

    fn number(&mut self, schema: &Value, value: &Value, route: &[String]) {
        let bound = |key: &str| schema.get(key).and_then(Value::as_f64);
        let Some(number) = value.as_f64() else { return };
        let label = if let Some(above) = bound("exclusiveMinimum").filter(|&low| number <= low) {
            format!("expected a number above {above}")
        } else {
            match (bound("minimum"), bound("maximum")) {
                (Some(low), Some(high)) if number < low || number > high => {
                    format!("expected a number from {low} to {high}")
                }
                (Some(low), None) if number < low => format!("expected {low} or more"),
                _ => return,
            }
        };
        let mut text = Text::new(format!("{} is {value}", named(route)), label);
        if bound("maximum") == Some(1.0) && (2.0..=100.0).contains(&number) {
            text.help = Some(format!("{value} in 100 is written {}", number / 100.0));
        }
        self.add(false, route, &OUT_OF_RANGE, Point::Value, text);
    }

    fn choice(&mut self, choices: &[Value], value: &Value, route: &[String]) {
        let known: Vec<&str> =
            choices.iter().filter_map(|choice| choice.get("const")).filter_map(Value::as_str).collect();
        let written = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
        if known.contains(&written.as_str()) {
            return;
        }
        let mut text = Text::new(
            format!("{} cannot be `{written}`", named(route)),
            format!("expected {}", list_or(&known)),
        );
        text.help = nearest(&written, known).map(|near| format!("did you mean `{near}`?"));
        self.add(false, route, &NOT_A_CHOICE, Point::Value, text);
    }

    fn unknown_key(&mut self, key: &str, value: &Value, noun: &str, keys: &[&str], route: &[String]) {
        let holder = owner(noun, &route[..route.len() - 1]);
        let mut text = Text::new(format!("unknown key `{key}` in {holder}"), "not a key here");
        text.help = match nearest(key, keys.iter().copied()) {
            Some(near) => Some(format!("did you mean `{near}`?")),
            None if value.is_null() => {
                Some("a comma ends a text inside `{...}`: if it belongs to the text, put the text in quotation marks".into())
            }
            None => Some(format!("its keys are {}", list_and(keys))),
        };
        self.add(true, route, &UNKNOWN_KEY, Point::Key, text);
    }

    fn bad_id(&mut self, key: &str, route: &[String]) {
        let text = Text::new(
            format!("`{key}` cannot be an id"),
            "expected small letters, digits and single hyphens",
        );
        self.add(true, route, &super::codes::BAD_ID, Point::Key, text);
    }

    fn wrong_type(&mut self, wanted: &str, value: &Value, route: &[String], about: &str) {
        let message = match route.last() {
            Some(_) => format!("{} is {}, not {wanted}", named(route), found(value)),
            None => format!("this file is {}, not {wanted}", found(value)),
        };
        let label = if about.is_empty() {
            format!("expected {wanted}")
        } else {
            format!("expected {wanted}: {}", said(about))
        };
        let mut text = Text::new(message, label);
        if wanted.starts_with("a text") && (value.is_number() || value.is_boolean()) {
            text.help = Some(format!("to write it as a text, put it in quotation marks: `\"{value}\"`"));
        }
        self.add(false, route, &WRONG_TYPE, Point::Value, text);
    }
}

/// The words of one fault.
struct Text {
    message: String,
    label: String,
    help: Option<String>,
}

impl Text {
    fn new(message: impl Into<String>, label: impl Into<String>) -> Self {
        Self { message: message.into(), label: label.into(), help: None }
    }
}

/// True for what may be an id: small letters and digits in groups joined by single hyphens.
pub fn is_id(text: &str) -> bool {
    !text.is_empty()
        && text.split('-').all(|group| {
            !group.is_empty() && group.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit())
        })
}

/// True if a schema allows values of this JSON type at all.
fn accepts(schema: &Value, value: &Value) -> bool {
    let fits = |wanted: &str| match wanted {
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64() || value.as_f64().is_some_and(|n| n.fract() == 0.0),
        "boolean" => value.is_boolean(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        "null" => value.is_null(),
        _ => true,
    };
    match schema.get("type") {
        Some(Value::String(wanted)) => fits(wanted),
        Some(Value::Array(wanted)) => wanted.iter().filter_map(Value::as_str).any(fits),
        _ => match schema.get("anyOf").and_then(Value::as_array) {
            Some(choices) => choices.iter().any(|choice| accepts(choice, value)),
            None => !value.is_null(),
        },
    }
}

/// What a schema asks for, in words; `None` for nothing at all.
fn kind_wanted(schema: &Value) -> Option<String> {
    let word = |wanted: &str| {
        Some(match wanted {
            "string" => "a text",
            "number" => "a number",
            "integer" => "a whole number",
            "boolean" => "`true` or `false`",
            "array" => "a list",
            "object" => "a map",
            _ => return None,
        })
    };
    match schema.get("type") {
        Some(Value::String(wanted)) => word(wanted).map(str::to_owned),
        Some(Value::Array(wanted)) => {
            let words: Vec<&str> = wanted.iter().filter_map(Value::as_str).filter_map(word).collect();
            Some(words.join(" or "))
        }
        _ => schema.get("oneOf").map(|_| "a text".to_owned()),
    }
}

/// What a value is, in words.
fn found(value: &Value) -> String {
    match value {
        Value::Null => "empty".to_owned(),
        Value::Bool(truth) => format!("the truth value `{truth}`"),
        Value::Number(number) => format!("the number {number}"),
        Value::String(text) => {
            let short: String = text.chars().take(30).collect();
            format!("the text `{short}{}`", if text.chars().count() > 30 { "..." } else { "" })
        }
        Value::Array(_) => "a list".to_owned(),
        Value::Object(_) => "a map".to_owned(),
    }
}

/// The end of a route as it is named in a sentence.
fn named(route: &[String]) -> String {
    match route {
        [] => "this file".to_owned(),
        [.., list, item] => match item.parse::<usize>() {
            Ok(number) => format!("item {} of `{list}`", number + 1),
            Err(_) => format!("`{item}`"),
        },
        [only] => format!("`{only}`"),
    }
}

/// The map at the end of a route as it is named in a sentence: "the failure `pump-bearing-worn`".
fn owner(noun: &str, route: &[String]) -> String {
    match route.last() {
        None => format!("this {noun}"),
        Some(last) if last == noun || last.parse::<usize>().is_ok() || noun.is_empty() => named(route),
        Some(last) => format!("the {noun} `{last}`"),
    }
}

/// A type's name as a noun: `VehicleFact` is "vehicle fact".
fn noun_of(name: &str) -> String {
    let mut words = String::new();
    for c in name.chars() {
        if c.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(c.to_lowercase());
    }
    match words.as_str() {
        "book file" => "rule file".to_owned(),
        "expected" => "expect".to_owned(),
        "coolant fill" => "coolant".to_owned(),
        _ => words,
    }
}

fn about_property(property: &Value) -> &str {
    property.get("description").and_then(Value::as_str).unwrap_or_default()
}

/// The first sentence of a description, without its stop.
fn said(about: &str) -> String {
    let line = about.lines().next().unwrap_or_default();
    let sentence = line.split_once(". ").map_or(line, |(first, _)| first).trim_end_matches('.');
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// a, b or c, without marks.
pub(super) fn one_of(items: &[&str]) -> String {
    match items {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [start @ .., end] => format!("{} or {end}", start.join(", ")),
    }
}

/// `a`, `b` or `c`.
pub(super) fn list_or(items: &[&str]) -> String {
    joined(items, "or")
}

/// `a`, `b` and `c`.
pub(super) fn list_and(items: &[&str]) -> String {
    joined(items, "and")
}

fn joined(items: &[&str], last: &str) -> String {
    let quoted: Vec<String> = items.iter().map(|item| format!("`{item}`")).collect();
    match &quoted[..] {
        [] => "none".to_owned(),
        [only] => only.clone(),
        [start @ .., end] => format!("{} {last} {end}", start.join(", ")),
    }
}
