//! What can be wrong with a rule book: one value for one fault, rendered elsewhere.

use std::fmt;
use std::ops::Range;

use super::{Layer, Place, Route, Source};

/// How much a fault matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing.
    Note,
    /// Probably a mistake; the book can be used.
    Warning,
    /// The book cannot be used like this.
    Error,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        })
    }
}

/// One kind of fault: its stable name, and what `rules check --explain NAME` says about it.
#[derive(Debug)]
pub struct Code {
    /// The name printed with every fault of this kind; it never changes its meaning.
    pub name: &'static str,
    /// What is wrong, in a few words.
    pub title: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// What it means, why it matters, an example and what to write instead.
    pub doc: &'static str,
}

/// Declares a [`Code`] as a static whose doc comment is what the user reads.
macro_rules! code {
    ($(#[doc = $doc:literal])+ $vis:vis static $ident:ident = $severity:ident $name:literal, $title:literal;) => {
        $(#[doc = $doc])+
        $vis static $ident: $crate::rulebook::Code = $crate::rulebook::Code {
            name: $name,
            title: $title,
            severity: $crate::rulebook::Severity::$severity,
            doc: concat!($($doc, "\n"),+),
        };
    };
}
pub(crate) use code;

/// What part of a place is pointed at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Point {
    /// The file as a whole.
    File,
    /// Bytes of the file's text.
    Span(Range<usize>),
    /// The key at the end of a route.
    Key(Route),
    /// The value at the end of a route.
    Value(Route),
}

/// Where a fault is: a file and a point in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spot {
    /// Which file: an index into the sources.
    pub source: usize,
    /// Where in it.
    pub point: Point,
}

impl Spot {
    /// The file as a whole.
    pub fn file(source: usize) -> Self {
        Self { source, point: Point::File }
    }

    /// The key at the end of a place's route.
    pub fn key(place: &Place) -> Self {
        Self { source: place.source, point: Point::Key(place.route.clone()) }
    }

    /// The value at the end of a place's route.
    pub fn value(place: &Place) -> Self {
        Self { source: place.source, point: Point::Value(place.route.clone()) }
    }
}

/// One thing that is wrong with a rule book.
#[derive(Debug, Clone)]
pub struct Fault {
    /// What kind of fault.
    pub code: &'static Code,
    /// What was found: a lower-case sentence with names in backticks.
    pub message: String,
    /// Where, if it is anywhere in particular.
    pub spot: Option<Spot>,
    /// What stands beside the pointer: what was expected there.
    pub label: String,
    /// Other places that have to do with it, each with what it is.
    pub also: Vec<(Spot, String)>,
    /// What to do about it.
    pub help: Vec<String>,
}

impl Fault {
    /// A fault at a spot.
    pub fn at(code: &'static Code, spot: Spot, message: impl Into<String>) -> Self {
        Self {
            code,
            message: message.into(),
            spot: Some(spot),
            label: String::new(),
            also: Vec::new(),
            help: Vec::new(),
        }
    }

    /// A fault of the whole book.
    pub fn of_book(code: &'static Code, message: impl Into<String>) -> Self {
        Self {
            code,
            message: message.into(),
            spot: None,
            label: String::new(),
            also: Vec::new(),
            help: Vec::new(),
        }
    }

    /// Says what was expected at the spot.
    #[must_use]
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    /// Points at another place as well.
    #[must_use]
    pub fn also(mut self, spot: Spot, label: impl Into<String>) -> Self {
        self.also.push((spot, label.into()));
        self
    }

    /// Says what to do about it.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help.push(help.into());
        self
    }
}

/// Faults together with the files they point into.
#[derive(Debug, Clone, Default)]
pub struct Faults {
    /// The faults: by file, then place in the file.
    pub list: Vec<Fault>,
    /// The files they point into.
    pub sources: Vec<Source>,
    /// The layers the files belong to.
    pub layers: Vec<Layer>,
}

impl Faults {
    /// True if a fault makes the book unusable.
    pub fn any_errors(&self) -> bool {
        self.list.iter().any(|fault| fault.code.severity == Severity::Error)
    }

    /// How many faults there are of one severity.
    pub fn count(&self, severity: Severity) -> usize {
        self.list.iter().filter(|fault| fault.code.severity == severity).count()
    }
}
