//! `rules show`: one entry with everything that hangs on it.

use std::io::Write;

use clap::Args;
use serde_json::Value;

use super::{CliError, Context, Exit};
use crate::cli::{Paint, TextOrJson};
use crate::report::wrapped;
use crate::rulebook::plain::plain;
use crate::rulebook::{EntryView, LinkView, PlaceReport};

/// Columns of a text page.
const WIDTH: usize = 100;

/// Columns before the far end of a link.
const LEAD: usize = 38;

/// Arguments of `rules show`.
#[derive(Debug, Args)]
pub struct ShowArgs {
    /// The entry's id; also `check/outcome`, `vehicles/NAME`, `cases/NAME`, `jobs/NAME`
    id: String,
    /// How to print
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

/// Shows one entry.
pub fn run(context: &mut Context, args: &ShowArgs) -> Result<Exit, CliError> {
    let book = context.book()?;
    let view = book.view(&args.id).map_err(|missing| {
        let names: Vec<String> = missing.nearest.iter().map(|id| format!("`{id}`")).collect();
        let hint = match names.as_slice() {
            [] => String::new(),
            [only] => format!("; did you mean {only}?"),
            _ => format!("; the nearest are {}", names.join(", ")),
        };
        CliError::Misuse(format!("the book has no entry `{}`{hint}", plain(&args.id)))
    })?;
    match args.format {
        TextOrJson::Json => {
            writeln!(context.out(), "{:#}", serde_json::to_value(&view).map_err(CliError::misuse)?)?;
        }
        TextOrJson::Text => {
            let paint = context.paint;
            page(context.out(), paint, &view)?;
        }
    }
    Ok(Exit::Done)
}

fn page(out: &mut dyn Write, paint: Paint, view: &EntryView) -> Result<(), CliError> {
    writeln!(out, "{}", paint.heading(&plain(&view.name)))?;
    writeln!(out, "{} `{}`, written in {}", view.kind, plain(&view.id), place(&view.written))?;
    if let Value::Object(fields) = &view.entry {
        writeln!(out)?;
        for (key, value) in fields {
            // Links are listed below with both of their ends.
            if !matches!(key.as_str(), "name" | "raised-by" | "leads-to" | "shows") {
                field(out, key, value, 2)?;
            }
        }
    }
    let is_finding = matches!(view.kind.as_str(), "symptom" | "check" | "outcome");
    links(out, paint, if is_finding { "explained by" } else { "brought on by" }, &view.causes)?;
    let (shows, brings): (Vec<LinkView>, Vec<LinkView>) =
        view.effects.iter().cloned().partition(|link| matches!(link.kind.as_str(), "symptom" | "outcome"));
    links(out, paint, "brings on", &brings)?;
    links(out, paint, "shows as", &shows)?;
    if !view.named_by.is_empty() {
        writeln!(out, "\n{}", paint.heading("named by"))?;
        let names: Vec<String> =
            view.named_by.iter().map(|name| format!("{} `{}`", name.kind, plain(&name.id))).collect();
        writeln!(out, "  {}", wrapped(&names.join(", "), WIDTH, 2))?;
    }
    Ok(())
}

/// One field of an entry, its parts indented below it.
fn field(out: &mut dyn Write, key: &str, value: &Value, indent: usize) -> Result<(), CliError> {
    let (key, margin) = (plain(key), " ".repeat(indent));
    match value {
        Value::Object(parts) if !parts.is_empty() => {
            writeln!(out, "{margin}{key}")?;
            for (key, value) in parts {
                field(out, key, value, indent + 2)?;
            }
        }
        Value::Array(items) if items.iter().any(Value::is_object) => {
            writeln!(out, "{margin}{key}")?;
            for (number, item) in items.iter().enumerate() {
                field(out, &(number + 1).to_string(), item, indent + 2)?;
            }
        }
        Value::Array(items) if items.iter().any(|item| item.as_str().is_some_and(|text| text.len() > 24)) => {
            writeln!(out, "{margin}{key}")?;
            for item in items {
                let lead = indent + 4;
                writeln!(out, "{margin}  - {}", wrapped(&bare(item), WIDTH, lead))?;
            }
        }
        _ => {
            let lead = (indent + key.chars().count() + 2).max(indent + 14);
            let gap = " ".repeat(lead - indent - key.chars().count());
            writeln!(out, "{margin}{key}{gap}{}", wrapped(&bare(value), WIDTH, lead))?;
        }
    }
    Ok(())
}

/// A value without quotes and brackets.
fn bare(value: &Value) -> String {
    match value {
        Value::String(text) => plain(text),
        Value::Array(items) => items.iter().map(bare).collect::<Vec<_>>().join(", "),
        Value::Object(_) => String::new(),
        Value::Number(number) => {
            number.as_f64().map_or_else(|| number.to_string(), |figure| figure.to_string())
        }
        other => other.to_string(),
    }
}

fn links(out: &mut dyn Write, paint: Paint, title: &str, links: &[LinkView]) -> Result<(), CliError> {
    if links.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n{}", paint.heading(title))?;
    for link in links {
        let weight = &link.weight;
        let word = weight.word.as_deref().unwrap_or("a number");
        let range = if weight.from < weight.to {
            format!("{} ({} to {})", weight.value, weight.from, weight.to)
        } else {
            weight.value.to_string()
        };
        let outcome =
            link.outcome.as_ref().map(|outcome| format!(" as `{}`", plain(outcome))).unwrap_or_default();
        writeln!(
            out,
            "  {:<12} {range:<22} {}{outcome}",
            plain(word),
            paint.name(&format!("`{}`", plain(&link.id)))
        )?;
        let source = weight.source.as_ref().map(|source| format!("; {}", plain(source))).unwrap_or_default();
        let conditions =
            link.fits_if.iter().map(|(fact, options)| format!("{fact}: {}", options.join(" or ")));
        let holds: Vec<String> = conditions.map(|condition| plain(&condition)).collect();
        let only = if holds.is_empty() { String::new() } else { format!("; only on {}", holds.join(", ")) };
        let note = format!("{}; {}{only}{source}", plain(&link.name), place(&link.written));
        writeln!(out, "{}{}", " ".repeat(LEAD), paint.faint(&wrapped(&note, WIDTH, LEAD)))?;
    }
    Ok(())
}

fn place(place: &PlaceReport) -> String {
    match place.line {
        Some(line) => format!("{}:{line}", plain(&place.file)),
        None => plain(&place.file),
    }
}
