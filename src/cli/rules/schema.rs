//! `rules schema`: what rule files may hold, for editors.

use clap::{Args, ValueEnum};

use super::{CliError, Context, Exit};
use crate::rulebook::{FileKind, schema_text};

/// Arguments of `rules schema`.
#[derive(Debug, Args)]
pub struct SchemaArgs {
    /// Which kind of file
    #[arg(value_enum, default_value_t = Which::RuleBook)]
    which: Which,
}

/// Kinds of rule file that have a schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Which {
    /// Parts, failures, states, history, symptoms, checks and the rest of the book
    RuleBook,
    /// A vehicle file
    Vehicle,
    /// A known case
    KnownCase,
    /// Access steps of an engine layout
    Job,
}

/// Prints a schema.
pub fn run(context: &mut Context, args: &SchemaArgs) -> Result<Exit, CliError> {
    let kind = match args.which {
        Which::RuleBook => FileKind::Book,
        Which::Vehicle => FileKind::Vehicle,
        Which::KnownCase => FileKind::Case,
        Which::Job => FileKind::Job,
    };
    context.out().write_all(schema_text(kind).as_bytes())?;
    Ok(Exit::Done)
}
