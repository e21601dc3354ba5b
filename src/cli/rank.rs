//! `rank`: the suspects of a case, without questions.

use std::io::BufRead;

use clap::Args;
use rayon::prelude::*;
use serde_json::json;

use super::{CliError, Context, Exit, TextOrJson};
use crate::case::{Case, Shop, gather, history_alone, standing};
use crate::graph::CauseGraph;
use crate::inference::Engine;
use crate::questioner::{Questioner, Strategy};
use crate::report::{json as shape, plain, standing as page};
use crate::rulebook::RuleBook;

/// Longest line that `rank -` reads, in bytes.
const LONGEST_LINE: usize = 1024 * 1024;

/// Most lines of `rank -` that are ranked side by side.
const BLOCK: usize = 256;

/// Graphs of vehicles that are kept from one block of lines to the next.
const MOST_GRAPHS: usize = 64;

/// Arguments of `rank`.
#[derive(Debug, Args)]
pub struct RankArgs {
    /// A case by name or file, or a known case of the rule book; `-` reads one case a line (JSON) from standard input
    case: String,
    /// How many suspects to list
    #[arg(long, default_value_t = 8, value_name = "N")]
    top: usize,
    /// How to print
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

/// Ranks one case, or every case of standard input.
pub fn run(context: &mut Context, args: &RankArgs) -> Result<Exit, CliError> {
    let book = context.book()?;
    if args.case == "-" {
        return many(context, &book, args.top);
    }
    let input = context.any_case(&book, &args.case)?;
    let shop = context.shop(&book)?;
    let graph = context.graph(&book, &shop, &input.case)?;
    let engine = Engine::default();
    let mut questioner = Questioner::new(&book, &graph, &engine, &shop);
    if args.format == TextOrJson::Json {
        // Whoever reads it with a program gets what every answer to every question would do.
        questioner.foreseen = usize::MAX;
    }
    let advice = questioner.advise(&input.case, Strategy::Worth).map_err(CliError::misuse)?;
    let history = history_alone(&graph, &advice.gathered.evidence);
    let before = standing(&book, &graph, &engine, &history).map_err(CliError::misuse)?;
    context.say_ignored(&advice.gathered.ignored);
    match args.format {
        TextOrJson::Json => {
            let value = shape::advice(&book, &input.name, &advice, &before, args.top);
            writeln!(context.out(), "{value:#}")?;
        }
        TextOrJson::Text => {
            let paint = context.paint;
            let text = page::text(&book, &advice, &before, &shop.currency(&book), args.top, &paint);
            write!(context.out(), "{text}")?;
        }
    }
    Ok(Exit::Done)
}

/// Ranks every line of standard input: a case as JSON in, a result as JSON out, in the same order. A line
/// that is no case gives a line with its `error`; the rest goes on, and the exit status says so.
fn many(context: &mut Context, book: &RuleBook, top: usize) -> Result<Exit, CliError> {
    let mut exit = Exit::Done;
    let shop = context.shop(book)?;
    let mut graphs: Vec<(Case, CauseGraph)> = Vec::new();
    let mut input = std::io::BufReader::with_capacity(LONGEST_LINE, std::io::stdin().lock());
    let mut number = 0_usize;
    loop {
        // As many lines as have come in, so that a program that waits for each answer gets it.
        let mut lines: Vec<(usize, Result<Vec<u8>, CliError>)> = Vec::new();
        while lines.is_empty() || lines.len() < BLOCK && input.buffer().contains(&b'\n') {
            let mut line = Vec::new();
            if std::io::Read::take(&mut input, LONGEST_LINE as u64 + 1).read_until(b'\n', &mut line)? == 0 {
                break;
            }
            number += 1;
            let line = if line.len() > LONGEST_LINE {
                skip_line(&mut input, line)?;
                Err(CliError::Misuse(format!("longer than {LONGEST_LINE} bytes; a case is shorter")))
            } else {
                Ok(line)
            };
            lines.push((number, line));
        }
        if lines.is_empty() {
            return Ok(exit);
        }
        if graphs.len() > MOST_GRAPHS {
            graphs.clear();
        }
        let mut cases = Vec::with_capacity(lines.len());
        for (number, line) in lines {
            match line {
                Ok(line) if line.trim_ascii().is_empty() => {}
                Ok(line) => cases.push((number, prepare(context, book, &shop, &mut graphs, &line))),
                Err(error) => cases.push((number, Err(error))),
            }
        }
        let rank = |(case, at): (Case, usize)| one(book, &graphs[at].1, &case, top);
        let ranked: Vec<_> =
            cases.into_par_iter().map(|(number, case)| (number, case.and_then(rank))).collect();
        for (number, value) in ranked {
            let value = value.unwrap_or_else(|error| {
                exit = Exit::Misuse;
                json!({ "line": number, "error": plain(&error.to_string()) })
            });
            writeln!(context.out(), "{value}")?;
        }
        context.out().flush()?;
    }
}

/// Reads on to the end of a line, of which the beginning is given, and keeps nothing.
fn skip_line(input: &mut impl std::io::BufRead, mut line: Vec<u8>) -> std::io::Result<()> {
    while line.last() != Some(&b'\n') {
        line.clear();
        if std::io::Read::take(&mut *input, LONGEST_LINE as u64).read_until(b'\n', &mut line)? == 0 {
            break;
        }
    }
    Ok(())
}

/// Reads a case, and finds its graph or builds it: recorded cases mostly share a few vehicles.
fn prepare(
    context: &Context,
    book: &RuleBook,
    shop: &Shop,
    graphs: &mut Vec<(Case, CauseGraph)>,
    line: &[u8],
) -> Result<(Case, usize), CliError> {
    let case: Case =
        serde_json::from_slice(line).map_err(|error| CliError::Misuse(format!("not a case: {error}")))?;
    let same = |known: &Case| known.vehicle == case.vehicle && known.day() == case.day();
    let at = match graphs.iter().position(|(known, _)| same(known)) {
        Some(at) => at,
        None => {
            graphs.push((case.clone(), context.graph(book, shop, &case)?));
            graphs.len() - 1
        }
    };
    Ok((case, at))
}

fn one(book: &RuleBook, graph: &CauseGraph, case: &Case, top: usize) -> Result<serde_json::Value, CliError> {
    let gathered = gather(book, graph, case);
    let standing = standing(book, graph, &Engine::default(), &gathered.evidence).map_err(CliError::misuse)?;
    let name = case.title.as_deref().unwrap_or("");
    Ok(shape::ranking(book, name, &standing, &gathered.ignored, top))
}
