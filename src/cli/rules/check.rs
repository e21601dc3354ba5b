//! `rules check`: everything that is wrong with a rule book, and its known cases.

use std::path::PathBuf;

use clap::Args;
use rayon::prelude::*;
use serde_json::json;

use super::{CliError, Context, Exit};
use crate::care::check::{Checked, complete, every_code};
use crate::care::read_saved;
use crate::case::{ReplayResult, replay};
use crate::cli::TextOrJson;
use crate::rulebook::{
    Below, Drawing, Fault, Faults, Inspection, Kind, RuleBook, Severity, inspect, known_case_fault, nearest,
};

/// Arguments of `rules check`.
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// Folders of rules, or single files, laid over the shipped book; without one, the user's own folder
    #[arg(value_name = "DIR")]
    folders: Vec<PathBuf>,
    /// Check the folders as a whole book of their own, without the shipped one
    #[arg(long, requires = "folders")]
    alone: bool,
    /// Leave the known cases out
    #[arg(long)]
    no_cases: bool,
    /// Show notes as well: what is worth knowing and no mistake
    #[arg(long)]
    notes: bool,
    /// Explain a kind of fault instead; without a CODE, list them all
    #[arg(long, value_name = "CODE", num_args = 0..=1, default_missing_value = "", exclusive = true)]
    explain: Option<String>,
    /// How to print
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

/// Checks, prints and says whether anything is wrong.
pub fn run(context: &mut Context, args: &CheckArgs) -> Result<Exit, CliError> {
    if let Some(code) = &args.explain {
        return explain(context, code);
    }
    let mut folders = if args.alone { Vec::new() } else { context.layers() };
    folders.extend(args.folders.iter().cloned());
    if let Some(missing) = folders.iter().find(|folder| !folder.exists()) {
        return Err(CliError::Misuse(format!(
            "there is no folder or file `{}`; name a folder that holds rule files (`*.yaml`)",
            missing.display()
        )));
    }
    let below = if args.alone { Below::Nothing } else { Below::Shipped };
    let Inspection { book, faults, put_off } = inspect(&folders, below);
    // A ranking over half a book would only repeat what is wrong with it.
    let replayed = if args.no_cases || faults.any_errors() { Vec::new() } else { replay_all(&book) };
    let broken: Vec<Fault> = replayed
        .iter()
        .filter(|(_, result)| !result.passes())
        .map(|(id, result)| known_case_fault(&book, id, &wrong_with(result)))
        .collect();
    let counts = Counts { cases: replayed.len(), broken: broken.len(), silenced: 0, hidden: 0 };
    let saved = read_saved(&context.cases());
    let Checked { mut faults, silenced } = complete(&book, faults, &saved.cases, broken);
    let notes = faults.count(Severity::Note);
    let hidden = if args.notes || args.format == TextOrJson::Json { 0 } else { notes };
    if hidden > 0 {
        faults.list.retain(|fault| fault.code.severity > Severity::Note);
    }
    let counts = Counts { silenced, hidden, ..counts };
    let put_off: Vec<&str> = put_off.iter().map(|code| code.name).collect();
    match args.format {
        TextOrJson::Text => text(context, &book, &faults, counts, &put_off, args)?,
        TextOrJson::Json => as_json(context, &book, &faults, counts, &put_off)?,
    }
    Ok(if faults.any_errors() { Exit::No } else { Exit::Done })
}

/// How many known cases were replayed and came out wrong, and how much is not shown.
#[derive(Clone, Copy)]
struct Counts {
    cases: usize,
    broken: usize,
    /// Warnings and notes that the book says are meant.
    silenced: usize,
    /// Notes that are not shown.
    hidden: usize,
}

/// Every known case with how it came out, in book order.
fn replay_all(book: &RuleBook) -> Vec<(&str, ReplayResult)> {
    let cases: Vec<_> = book.cases.iter().collect();
    cases.into_par_iter().map(|(id, case)| (id.as_str(), replay(book, case))).collect()
}

fn wrong_with(result: &ReplayResult) -> Vec<String> {
    let ignored =
        result.ignored.iter().map(|ignored| format!("the answer to `{}`: {}", ignored.ask, ignored.why));
    result.broken.iter().cloned().chain(ignored).collect()
}

fn text(
    context: &mut Context,
    book: &RuleBook,
    faults: &Faults,
    counts: Counts,
    put_off: &[&str],
    args: &CheckArgs,
) -> Result<(), CliError> {
    let drawing = Drawing { colour: context.paint.is_on(), width: context.drawing_err().width };
    let held = Kind::GRAPH.map(|kind| counted(book.ids(kind).len(), kind.noun()));
    let out = context.out();
    if !faults.list.is_empty() {
        out.write_all(faults.draw(drawing).as_bytes())?;
    }
    for change in &book.laid_over {
        writeln!(out, "{}", crate::rulebook::plain::plain(change))?;
    }
    let files = counted(book.sources.len(), "file");
    writeln!(out, "{files}: {}, {}", held.join(", "), counted(book.links.len(), "link"))?;
    if counts.cases > 0 {
        writeln!(
            out,
            "{}, {} as expected",
            counted(counts.cases, "known case"),
            counts.cases - counts.broken
        )?;
    } else if !args.no_cases && faults.any_errors() {
        writeln!(out, "known cases are replayed when the book has no errors")?;
    }
    if !put_off.is_empty() {
        writeln!(out, "looked for once these are put right: {}", put_off.join(", "))?;
    }
    writeln!(out, "{}", faults.counts())?;
    if counts.hidden > 0 {
        writeln!(out, "{} more are notes: `weephole rules check --notes` shows them", counts.hidden)?;
    }
    if counts.silenced > 0 {
        writeln!(out, "{} are silenced by the book, each with its reason", counts.silenced)?;
    }
    if !faults.list.is_empty() {
        let mut codes: Vec<&str> = faults.list.iter().map(|fault| fault.code.name).collect();
        codes.sort_unstable();
        codes.dedup();
        writeln!(out, "`weephole rules check --explain CODE` says more: {}", codes.join(", "))?;
    }
    Ok(())
}

/// "1 part", "57 parts".
fn counted(number: usize, noun: &str) -> String {
    format!("{number} {noun}{}", if number == 1 { "" } else { "s" })
}

fn as_json(
    context: &mut Context,
    book: &RuleBook,
    faults: &Faults,
    counts: Counts,
    put_off: &[&str],
) -> Result<(), CliError> {
    let held: serde_json::Map<String, serde_json::Value> =
        Kind::ALL.into_iter().map(|kind| (kind.section().to_owned(), json!(book.ids(kind).len()))).collect();
    let value = json!({
        "ok": !faults.any_errors(),
        "faults": faults.reports(),
        "put-off": put_off,
        "laid-over": book.laid_over,
        "files": book.sources.len(),
        "entries": held,
        "links": book.links.len(),
        "silenced": counts.silenced,
        "known-cases": { "replayed": counts.cases, "broken": counts.broken },
    });
    writeln!(context.out(), "{value:#}")?;
    Ok(())
}

fn explain(context: &mut Context, name: &str) -> Result<Exit, CliError> {
    let codes = every_code();
    let paint = context.paint;
    if name.is_empty() {
        let width = codes.iter().map(|code| code.name.len()).max().unwrap_or(0);
        let out = context.out();
        for code in codes {
            writeln!(out, "{:width$}  {:7}  {}", code.name, code.severity.to_string(), code.title)?;
        }
        return Ok(Exit::Done);
    }
    let Some(code) = codes.iter().find(|code| code.name == name) else {
        let near = nearest(name, codes.iter().map(|code| code.name));
        let hint = near.map(|near| format!("; did you mean `{near}`?")).unwrap_or_default();
        return Err(CliError::Misuse(format!(
            "there is no kind of fault `{}`{hint} `rules check --explain` lists them all",
            crate::rulebook::plain::plain(name)
        )));
    };
    let out = context.out();
    writeln!(out, "{}\n", paint.heading(&format!("{} ({}): {}", code.name, code.severity, code.title)))?;
    let mut example = false;
    for line in code.doc.lines() {
        // Doc comments begin with the blank behind the slashes; a fence is for the documentation's own pages.
        let line = line.strip_prefix(' ').unwrap_or(line);
        if line.starts_with("```") {
            example = !example;
        } else {
            writeln!(out, "{}{line}", if example { "    " } else { "" })?;
        }
    }
    Ok(Exit::Done)
}
