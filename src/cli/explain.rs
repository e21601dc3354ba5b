//! `explain`: why these suspects, for the workshop; what it means, for the customer.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::{CliError, Context, Exit, Paint};
use crate::explain::{self, Options};
use crate::inference::Engine;
use crate::report::Plain;
use crate::report::explain::{About, customer, json, workshop};
use crate::report::page::{Page, html, markdown, text};

/// Who reads it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Reader {
    /// Whoever pays: one page in plain words
    Customer,
    /// Whoever works on it: weights, causes, firmness, fit
    Workshop,
}

/// How it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum PageFormat {
    /// Text for a terminal
    #[default]
    Text,
    /// Markdown
    Markdown,
    /// One HTML file with its pictures, which needs nothing else
    Html,
    /// For programs; the shape is documented in docs/json.md
    Json,
}

/// Arguments of `explain`.
#[derive(Debug, Args)]
pub struct ExplainArgs {
    /// A case by name or file
    case: String,
    /// Who reads it
    #[arg(long = "for", value_enum, value_name = "READER", default_value_t = Reader::Workshop)]
    reader: Reader,
    /// How to write it
    #[arg(long, value_enum, default_value_t = PageFormat::Text)]
    format: PageFormat,
    /// Write to this file instead of standard output; it is written whole or not at all
    #[arg(long, value_name = "F")]
    out: Option<PathBuf>,
    /// Seed of the redraws: the same seed gives the same figures
    #[arg(long, default_value_t = 1, value_name = "N")]
    seed: u64,
    /// How often the weights are redrawn
    #[arg(long, default_value_t = 200, value_name = "N", value_parser = clap::value_parser!(u32).range(..=10_000))]
    redraws: u32,
}

/// Explains a case.
pub fn run(context: &mut Context, args: &ExplainArgs) -> Result<Exit, CliError> {
    if let Some(out) = &args.out {
        super::out_file::check(out)?;
    }
    let book = context.book()?;
    let input = context.any_case(&book, &args.case)?;
    let shop = context.shop(&book)?;
    let graph = context.graph(&book, &shop, &input.case)?;
    let options = Options { seed: args.seed, redraws: args.redraws as usize, ..Options::default() };
    let explanation = explain::explain(&book, &graph, &Engine::default(), &input.case, &options)
        .map_err(CliError::misuse)?;
    context.say_ignored(&explanation.ignored);
    let about =
        About { book: &book, graph: &graph, case: &input.case, shop: &shop, explanation: &explanation };
    let page: fn(&About) -> Page = match args.reader {
        Reader::Customer => customer::page,
        Reader::Workshop => workshop::page,
    };
    let paint: Paint = context.paint;
    let written = match args.format {
        PageFormat::Json => format!("{:#}\n", json::explanation(&about, &input.name)),
        PageFormat::Html => html::render(&page(&about)),
        PageFormat::Markdown => markdown::render(&page(&about)),
        // Colours belong on a terminal, not in a file.
        PageFormat::Text if args.out.is_some() => text::render(&page(&about), &Plain),
        PageFormat::Text => text::render(&page(&about), &paint),
    };
    match &args.out {
        Some(out) => {
            super::out_file::write(out, written.as_bytes())?;
            context.say(&format!("written to `{}`", out.display()));
        }
        None => context.out().write_all(written.as_bytes())?,
    }
    Ok(Exit::Done)
}
