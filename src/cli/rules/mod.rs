//! `rules`: care of the rule book. One file a subcommand.

mod add;
mod check;
mod export;
mod gaps;
mod learn;
mod schema;
mod show;
mod trying;
mod undo;

use std::path::Path;

use clap::Subcommand;

use super::{CliError, Context, Exit};
use crate::care::addition::stage;
use crate::care::journal::Edit;
use crate::rulebook::RuleBook;

/// Subcommands of `rules`.
#[derive(Debug, Subcommand)]
pub enum RulesCommand {
    /// Check the rule book, or folders laid over it, and replay its known cases
    ///
    /// Exit status 1 if anything is wrong.
    Check(check::CheckArgs),
    /// Show an entry: what it causes and what causes it, with weights, sources and where it is written
    Show(show::ShowArgs),
    /// Print the JSON Schema of a kind of rule file, for editors that complete and check as you type
    Schema(schema::SchemaArgs),
    /// Teach the book a failure it lacks: asks, shows what it would do to every case, then writes to your own rules
    ///
    /// Exit status 1 if nothing was written because the book would not load with it or a known case breaks.
    Add(add::AddArgs),
    /// Export the cause graph: as a picture, as a table, or as a network that other programs read
    Export(export::ExportArgs),
    /// Learn weights, backgrounds and bases from the confirmed cases: shows old, new and how well what was found is foretold
    ///
    /// Exit status 1 if nothing was written because the cases are not foretold better or a known case breaks.
    Learn(learn::LearnArgs),
    /// Take back the last change to your own rules
    Undo(undo::UndoArgs),
    /// Say what the cases and the graph show to be missing: patterns, confirmations, checks
    Gaps(gaps::GapsArgs),
    /// Compare the book with a folder of rules laid over it, on every known and saved case
    ///
    /// Exit status 1 if a known case breaks.
    Try(trying::TryArgs),
}

/// Runs a subcommand.
pub fn run(context: &mut Context, command: RulesCommand) -> Result<Exit, CliError> {
    match command {
        RulesCommand::Check(args) => check::run(context, &args),
        RulesCommand::Show(args) => show::run(context, &args),
        RulesCommand::Schema(args) => schema::run(context, &args),
        RulesCommand::Add(args) => add::run(context, &args),
        RulesCommand::Export(args) => export::run(context, &args),
        RulesCommand::Learn(args) => learn::run(context, &args),
        RulesCommand::Undo(args) => undo::run(context, &args),
        RulesCommand::Gaps(args) => gaps::run(context, &args),
        RulesCommand::Try(args) => trying::run(context, &args),
    }
}

/// The book as it would be with the user's own rules edited; none, with its faults told, if it would not load.
fn staged(context: &Context, own: &Path, edits: &[Edit], what: &str) -> Result<Option<RuleBook>, CliError> {
    let staged = stage(&context.layers(), own, edits)
        .map_err(|error| CliError::Misuse(format!("cannot try the new {what}: {error}")))?;
    match staged {
        Ok(after) => Ok(Some(after)),
        Err(faults) => {
            let shown = context.render(&faults);
            context.say(shown.trim_end());
            context.say(&context.paint_err.danger("The book would not load with this. Nothing was written."));
            Ok(None)
        }
    }
}
