//! Faults as people and programs read them: routes become file, line and column here.

use std::collections::BTreeMap;
use std::fmt;
use std::ops::Range;

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};
use schemars::JsonSchema;
use serde::Serialize;

use super::outline::{Outline, tidy};
use super::plain::{is_control, plain};
use super::{Fault, Faults, Layer, Point, RuleBook, Severity, Source, Spot};

/// How faults are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Drawing {
    /// True for colours.
    pub colour: bool,
    /// Columns of the terminal.
    pub width: usize,
}

impl Default for Drawing {
    fn default() -> Self {
        Self { colour: false, width: 120 }
    }
}

/// A fault as a program reads it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct FaultReport {
    /// The stable name of its kind; `rules check --explain` says more about it.
    pub code: &'static str,
    /// `error`, `warning` or `note`.
    pub severity: String,
    /// What was found.
    pub message: String,
    /// Where, if it is anywhere in particular.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub place: Option<PlaceReport>,
    /// Other places that have to do with it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<PlaceReport>,
    /// What to do about it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub help: Vec<String>,
}

/// A place as a program reads it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct PlaceReport {
    /// The file: its layer's folder and its path below it.
    pub file: String,
    /// The line, from 1; absent if the file as a whole is meant.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// The column, from 1, in characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<usize>,
    /// What is or should be there.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub label: String,
}

/// Turns spots into spans, reading each file's outline once.
pub(super) struct Locator<'a> {
    sources: &'a [Source],
    outlines: BTreeMap<usize, Outline>,
}

impl<'a> Locator<'a> {
    pub fn new(sources: &'a [Source]) -> Self {
        Self { sources, outlines: BTreeMap::new() }
    }

    /// The bytes a spot points at, within one line where it can be; `None` for the file as a whole.
    pub fn span(&mut self, spot: &Spot) -> Option<Range<usize>> {
        let source = self.sources.get(spot.source)?;
        let text = source.text.as_ref();
        let span = match &spot.point {
            Point::File => return None,
            Point::Span(span) => {
                let start = tidy(span.start..span.start, text).start;
                let end = span.end.clamp(start, text.len());
                start..end
            }
            Point::Key(route) | Point::Value(route) => {
                if route.0.is_empty() {
                    return None;
                }
                let outline = self.outlines.entry(spot.source).or_insert_with(|| Outline::of(text));
                let (key, node) = outline.find(route);
                let whole = node.span.clone();
                match (&spot.point, key) {
                    (Point::Key(_), Some(key)) => key,
                    (_, Some(key)) if whole.is_empty() => key,
                    _ => whole,
                }
            }
        };
        let line_end = text[span.start..].find('\n').map_or(text.len(), |at| span.start + at);
        Some(tidy(span.start..span.end.min(line_end.max(span.start)), text))
    }
}

/// Line and column of a byte, both from 1, the column in characters.
pub(super) fn line_column(text: &str, at: usize) -> (usize, usize) {
    let before = &text[..at.min(text.len())];
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1)
}

impl Faults {
    /// Faults of a book in the order of its files and lines; those of the book as a whole come last.
    pub(super) fn sorted(list: Vec<Fault>, book: &RuleBook) -> Self {
        let mut locator = Locator::new(&book.sources);
        let mut keyed: Vec<((usize, usize), Fault)> = list
            .into_iter()
            .map(|fault| {
                let key = fault.spot.as_ref().map_or((usize::MAX, 0), |spot| {
                    (spot.source, locator.span(spot).map_or(0, |span| span.start))
                });
                (key, fault)
            })
            .collect();
        keyed.sort_by_key(|(key, _)| *key);
        let list = keyed.into_iter().map(|(_, fault)| fault).collect();
        Self { list, sources: book.sources.clone(), layers: book.layers.clone() }
    }

    /// Adds faults found later, by layers above the rule book, and puts all in order again.
    pub fn add(&mut self, more: Vec<Fault>, book: &RuleBook) {
        let mut list = std::mem::take(&mut self.list);
        list.extend(more);
        *self = Self::sorted(list, book);
    }

    /// The faults as a program reads them.
    pub fn reports(&self) -> Vec<FaultReport> {
        let mut locator = Locator::new(&self.sources);
        let mut place = |spot: &Spot, label: &str| {
            let source = &self.sources[spot.source];
            let position = locator.span(spot).map(|span| line_column(&source.text, span.start));
            PlaceReport {
                file: file_name(source, &self.layers),
                line: position.map(|(line, _)| line),
                column: position.map(|(_, column)| column),
                label: plain(label),
            }
        };
        self.list
            .iter()
            .map(|fault| FaultReport {
                code: fault.code.name,
                severity: fault.code.severity.to_string(),
                message: plain(&fault.message),
                place: fault.spot.as_ref().map(|spot| place(spot, &fault.label)),
                also: fault.also.iter().map(|(spot, label)| place(spot, label)).collect(),
                help: fault.help.iter().map(|help| plain(help)).collect(),
            })
            .collect()
    }

    /// The faults drawn one after another, each with the line it is in and a pointer.
    pub fn draw(&self, drawing: Drawing) -> String {
        let mut locator = Locator::new(&self.sources);
        let base = if drawing.colour { Renderer::styled() } else { Renderer::plain() };
        let renderer = base.decor_style(DecorStyle::Ascii).term_width(drawing.width.max(40));
        let mut text = String::new();
        for fault in &self.list {
            text.push_str(&self.draw_one(fault, &mut locator, &renderer));
            text.push_str("\n\n");
        }
        text
    }

    /// "2 errors, 1 warning".
    pub fn counts(&self) -> String {
        let said: Vec<String> = [Severity::Error, Severity::Warning, Severity::Note]
            .into_iter()
            .filter_map(|severity| match self.count(severity) {
                0 => None,
                1 => Some(format!("1 {severity}")),
                n => Some(format!("{n} {severity}s")),
            })
            .collect();
        if said.is_empty() { "no faults".to_owned() } else { said.join(", ") }
    }

    fn draw_one(&self, fault: &Fault, locator: &mut Locator<'_>, renderer: &Renderer) -> String {
        let level = match fault.code.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
            Severity::Note => Level::NOTE,
        };
        let mut group =
            level.primary_title(plain(&fault.message)).id(fault.code.name).elements(Vec::<Origin>::new());
        let mut marks: Vec<Mark> = Vec::new();
        if let Some(spot) = &fault.spot {
            marks.push(Mark {
                source: spot.source,
                span: locator.span(spot),
                label: plain(&fault.label),
                main: true,
            });
        }
        for (spot, label) in &fault.also {
            marks.push(Mark {
                source: spot.source,
                span: locator.span(spot),
                label: plain(label),
                main: false,
            });
        }
        while !marks.is_empty() {
            let source = marks[0].source;
            let (here, rest): (Vec<Mark>, Vec<Mark>) =
                marks.into_iter().partition(|mark| mark.source == source);
            marks = rest;
            group = self.draw_source(group, source, &here);
        }
        for help in &fault.help {
            group = group.element(Level::HELP.message(plain(help)));
        }
        renderer.render(&[group])
    }

    fn draw_source<'a>(&'a self, group: Group<'a>, source: usize, marks: &[Mark]) -> Group<'a> {
        let source = &self.sources[source];
        let name = plain(&file_name(source, &self.layers));
        let spans: Vec<&Range<usize>> = marks.iter().filter_map(|mark| mark.span.as_ref()).collect();
        let (Some(first), Some(last)) =
            (spans.iter().map(|s| s.start).min(), spans.iter().map(|s| s.end).max())
        else {
            return group.element(Origin::path(name));
        };
        // Only the lines that matter go to the renderer, which would otherwise look through the whole file.
        let text = source.text.as_ref();
        let start = text[..first].rfind('\n').map_or(0, |at| at + 1);
        let end = text[last..].find('\n').map_or(text.len(), |at| last + at);
        let lines = harmless(&text[start..end]);
        let length = lines.len();
        let mut snippet = Snippet::source(lines).line_start(line_column(text, start).0).path(name);
        for mark in marks {
            let Some(span) = &mark.span else { continue };
            let from = (span.start - start).min(length);
            let to = (span.end - start).clamp(from, length);
            let kind = if mark.main { AnnotationKind::Primary } else { AnnotationKind::Context };
            snippet = snippet.annotation(kind.span(from..to).label(mark.label.clone()));
        }
        group.element(snippet)
    }
}

struct Mark {
    source: usize,
    span: Option<Range<usize>>,
    label: String,
    main: bool,
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.draw(Drawing::default()), self.counts())
    }
}

impl std::error::Error for Faults {}

/// A text with every character that steers a terminal replaced by one that takes as many bytes, so that spans stay
/// right.
fn harmless(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\t' => c,
            '\r' => ' ',
            c if is_control(c) => match c.len_utf8() {
                1 => '?',
                2 => '\u{bf}',
                _ => '\u{fffd}',
            },
            c => c,
        })
        .collect()
}

pub(super) fn file_name(source: &Source, layers: &[Layer]) -> String {
    let folder = layers.get(source.layer).map_or("", |layer| layer.name.as_str());
    match folder.trim_end_matches('/') {
        "" | "." => source.path.clone(),
        folder => format!("{folder}/{}", source.path),
    }
}
