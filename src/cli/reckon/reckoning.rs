//! What a reckoning says, and its two forms: text for people, JSON for programs.

use std::io::{self, Write};

use serde::Serialize;
use unicode_width::UnicodeWidthStr;

use crate::units::{Kind, Quantity, Unit, UnitSystem};

/// One named figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Stable name for programs, in kebab-case.
    pub name: &'static str,
    /// Name for people.
    pub label: String,
    /// The number in `unit`, to nine digits; absent when the row is words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// The unit of `value`; empty for plain numbers.
    pub unit: &'static str,
    /// The figure as people read it, in both systems where they differ.
    pub text: String,
}

impl Row {
    /// A figure of `kind`, given in its base unit, shown in `system` first.
    pub fn figure(
        name: &'static str,
        label: impl Into<String>,
        kind: Kind,
        base: f64,
        system: UnitSystem,
    ) -> Row {
        // The fitting unit changes with size; a value just outside the limits of its kind still has to be shown.
        let quantity = Quantity::new(base, kind.base_unit());
        let (unit, text) = match quantity {
            Ok(quantity) => (quantity.fitting_unit(system), quantity.display_both(system)),
            Err(_) => (kind.unit(system), kind.unit(system).format(kind.unit(system).of_base(base))),
        };
        Row {
            name,
            label: label.into(),
            value: Some(nine_digits(unit.of_base(base))),
            unit: unit.symbol(),
            text,
        }
    }

    /// A quantity as it was given.
    pub fn given(
        name: &'static str,
        label: impl Into<String>,
        quantity: Quantity,
        system: UnitSystem,
    ) -> Row {
        Row::figure(name, label, quantity.kind(), quantity.base(), system)
    }

    /// A row of words.
    pub fn words(name: &'static str, label: impl Into<String>, text: impl Into<String>) -> Row {
        Row { name, label: label.into(), value: None, unit: "", text: text.into() }
    }
}

/// Drops the last digits, where rounding differs between machines.
pub(super) fn nine_digits(value: f64) -> f64 {
    format!("{value:.8e}").parse().unwrap_or(value)
}

/// The answer of one `reckon` command. Its JSON form is described in docs/reckon.md.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reckoning {
    /// The subcommand: `boil`.
    pub reckon: &'static str,
    /// What was worked out, in a few words.
    pub title: String,
    /// What can hurt, before anything else.
    pub cautions: Vec<String>,
    /// What was taken as given, defaults included.
    pub given: Vec<Row>,
    /// What follows from it.
    pub results: Vec<Row>,
    /// What it means at the vehicle, in a sentence or two.
    pub meaning: String,
    /// Assumptions and how far the figures can be trusted.
    pub basis: Vec<String>,
    /// Where formulae and tables come from.
    pub sources: Vec<String>,
}

impl Reckoning {
    /// One JSON object on one line.
    pub fn write_json(&self, out: &mut dyn Write) -> io::Result<()> {
        serde_json::to_writer(&mut *out, self)?;
        writeln!(out)
    }

    /// Text, wrapped at `width` columns (at least 30).
    pub fn write_text(&self, out: &mut dyn Write, width: usize) -> io::Result<()> {
        let width = width.max(30);
        paragraph(out, &self.title, "", "", width)?;
        writeln!(out)?;
        for caution in &self.cautions {
            paragraph(out, caution, "CAUTION: ", "         ", width)?;
        }
        if !self.cautions.is_empty() {
            writeln!(out)?;
        }
        table(out, "given", &self.given, width)?;
        table(out, "result", &self.results, width)?;
        paragraph(out, &self.meaning, "", "", width)?;
        writeln!(out)?;
        for basis in &self.basis {
            paragraph(out, basis, "Basis: ", "       ", width)?;
        }
        for source in &self.sources {
            paragraph(out, source, "Source: ", "        ", width)?;
        }
        // A conversion has no figure of a maker's to yield to.
        if self.cautions.is_empty() {
            return Ok(());
        }
        paragraph(out, "The maker's figures come before these.", "", "", width)
    }
}

fn table(out: &mut dyn Write, heading: &str, rows: &[Row], width: usize) -> io::Result<()> {
    if rows.is_empty() {
        return Ok(());
    }
    writeln!(out, "{heading}")?;
    let column = rows.iter().map(|row| row.label.width()).max().unwrap_or(0);
    for row in rows {
        let head = format!("  {}{}  ", row.label, " ".repeat(column - row.label.width()));
        if head.width() + row.text.width() <= width {
            writeln!(out, "{head}{}", row.text)?;
        } else {
            writeln!(out, "  {}", row.label)?;
            paragraph(out, &row.text, "      ", "      ", width)?;
        }
    }
    writeln!(out)
}

/// Wraps `text` between words: the first line starts with `first`, the others with `next`. A number stays on the
/// line of its unit.
fn paragraph(out: &mut dyn Write, text: &str, first: &str, next: &str, width: usize) -> io::Result<()> {
    let mut line = String::from(first);
    let mut empty = true;
    for piece in pieces(text) {
        if !empty && line.width() + 1 + piece.width() > width {
            writeln!(out, "{line}")?;
            next.clone_into(&mut line);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(&piece);
        empty = false;
    }
    writeln!(out, "{line}")
}

/// The words of `text`, numbers joined to the unit behind them.
fn pieces(text: &str) -> Vec<String> {
    let mut pieces: Vec<String> = Vec::new();
    for word in text.split(' ') {
        let bare = word.trim_end_matches(['.', ',', ';', ':', ')']);
        let unit = !bare.is_empty()
            && (bare.starts_with("(US")
                || Unit::ALL.iter().any(|unit| unit.symbol().split(' ').next() == Some(bare)));
        match pieces.last_mut() {
            Some(last)
                if unit && (last.ends_with(|c: char| c.is_ascii_digit()) || bare.starts_with("(US")) =>
            {
                last.push(' ');
                last.push_str(word);
            }
            _ => pieces.push(word.to_owned()),
        }
    }
    pieces
}
