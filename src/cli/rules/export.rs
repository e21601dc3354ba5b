//! `rules export`: the cause graph as a picture, a table, or a network other programs read.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::cli::{CliError, Context, Exit, out_file};
use crate::graph;
use crate::report::export::{View, bif, csv, dot, json, svg, xmlbif};
use crate::report::plain;
use crate::rulebook::entries::Vehicle;
use crate::rulebook::{Kind, RuleBook, nearest};

/// In what form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// A picture in the DOT language
    Dot,
    /// A picture for a browser
    Svg,
    /// Bayesian Interchange Format
    Bif,
    /// The same in XML, version 0.3
    Xmlbif,
    /// The network as JSON; the shape is documented in docs/json.md
    Json,
    /// Links and backgrounds as a table
    Csv,
}

/// Arguments of `rules export`.
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// In what form
    #[arg(long, value_enum)]
    format: Form,
    /// Only this entry (or CHECK/OUTCOME) and what is near it: for pictures and tables
    #[arg(long, value_name = "ID")]
    around: Option<String>,
    /// How many links up and down from it
    #[arg(long, value_name = "N", default_value_t = 1, requires = "around", value_parser = clap::value_parser!(u8).range(1..=20))]
    steps: u8,
    /// For one vehicle, by name or file: parts it lacks drop out, ages count [default: any vehicle]
    #[arg(long, value_name = "V")]
    vehicle: Option<String>,
    /// Write to a file instead of standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Exports the graph.
pub fn run(context: &mut Context, args: &ExportArgs) -> Result<Exit, CliError> {
    let book = context.book()?;
    let vehicle = match &args.vehicle {
        Some(name) => context.vehicle(&book, name)?,
        None => Vehicle::default(),
    };
    // Ages in years are averaged, so that the same book gives the same network on any day.
    let graph = graph::build(&book, &vehicle, None).map_err(CliError::misuse)?;
    let view = match &args.around {
        None => View::whole(&book, &graph),
        Some(_) if matches!(args.format, Form::Bif | Form::Xmlbif) => {
            return Err(CliError::misuse(
                "a network is right only as a whole: leave out --around, or ask for dot, svg, csv or json",
            ));
        }
        Some(id) => {
            let centre = graph.node(id).ok_or_else(|| unknown(&book, id))?;
            View::around(&book, &graph, centre, usize::from(args.steps))
        }
    };
    let text = match args.format {
        Form::Dot => dot(&view),
        Form::Svg => svg(&view),
        Form::Bif => bif(&graph),
        Form::Xmlbif => xmlbif(&graph),
        Form::Json => {
            let mut view = view;
            if view.centre.is_none() {
                // A program wants the parts too.
                view.nodes = (0..graph.len()).collect();
            }
            format!("{:#}\n", json(&view))
        }
        Form::Csv => csv(&view),
    };
    match &args.out {
        None => context.out().write_all(text.as_bytes())?,
        Some(path) => {
            out_file::write(path, text.as_bytes())?;
            context.say(&format!("written to {}", plain(&path.display().to_string())));
        }
    }
    Ok(Exit::Done)
}

fn unknown(book: &RuleBook, id: &str) -> CliError {
    let known = Kind::GRAPH.into_iter().flat_map(|kind| book.ids(kind));
    let near = nearest(id, known).map(|near| format!("; did you mean `{near}`?")).unwrap_or_default();
    CliError::Misuse(format!(
        "the graph has no `{}`{near} (checks are named by an outcome: CHECK/OUTCOME)",
        plain(id)
    ))
}
