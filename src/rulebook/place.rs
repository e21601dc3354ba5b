//! Where things are written: files, layers, and routes into a file.

use std::borrow::Cow;
use std::fmt;

use super::gate::Trouble;

/// The way from the top of a file to one of its nodes: keys of maps and, for lists, numbers from 0.
///
/// A route outlives edits of the lines above it and needs no positions while a book is read; a position is
/// worked out from it only when a message is shown.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Route(pub Vec<String>);

impl Route {
    /// A route of the given steps.
    pub fn of(steps: &[&str]) -> Self {
        Self(steps.iter().map(|&s| s.to_owned()).collect())
    }

    /// This route with one more step.
    #[must_use]
    pub fn then(&self, step: impl Into<String>) -> Self {
        let mut steps = self.0.clone();
        steps.push(step.into());
        Self(steps)
    }
}

impl fmt::Display for Route {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0.join("."))
    }
}

/// A place in the book: a file and a route into it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// Which file: an index into [`RuleBook::sources`](super::RuleBook::sources).
    pub source: usize,
    /// Where in the file.
    pub route: Route,
}

impl Place {
    /// The place one step further in.
    #[must_use]
    pub fn then(&self, step: impl Into<String>) -> Self {
        Self { source: self.source, route: self.route.then(step) }
    }
}

/// What a file of a rule folder holds; the first folder of its path says it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FileKind {
    /// Parts, failures, checks and so on: everywhere but in the folders below.
    Book,
    /// One vehicle: `vehicles/*.yaml`, its id is the file's name.
    Vehicle,
    /// One known case: `cases/*.yaml`, its id is the file's name.
    Case,
    /// Access steps of one engine layout: `jobs/*.yaml`, its id is the file's name.
    Job,
}

impl FileKind {
    /// The kind of file at a path below a rule folder.
    pub fn of(path: &str) -> Self {
        match path.split_once('/').map(|(folder, _)| folder) {
            Some("vehicles") => Self::Vehicle,
            Some("cases") => Self::Case,
            Some("jobs") => Self::Job,
            _ => Self::Book,
        }
    }
}

/// One file of a rule book.
#[derive(Debug, Clone)]
pub struct Source {
    /// Which layer it belongs to: 0 is the lowest.
    pub layer: usize,
    /// Its path below the layer's folder, with `/` between folders.
    pub path: String,
    /// What it holds.
    pub kind: FileKind,
    /// Its text.
    pub text: Cow<'static, str>,
    /// Its content as JSON, if it was compiled into the program.
    pub(super) json: &'static str,
    /// What is wrong with its bytes.
    pub(super) trouble: Option<Trouble>,
}

impl Source {
    /// The file's name without folders and ending: the id of a vehicle, known case or layout.
    pub fn stem(&self) -> &str {
        let name = self.path.rsplit('/').next().unwrap_or(&self.path);
        name.strip_suffix(".yaml").or_else(|| name.strip_suffix(".yml")).unwrap_or(name)
    }
}

/// One folder of rules, laid over those before it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layer {
    /// What it is called in messages: `rules` for the shipped book, otherwise the folder as it was given.
    pub name: String,
    /// True for the book compiled into the program.
    pub shipped: bool,
}
