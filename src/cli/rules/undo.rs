//! `rules undo`: the last change to the user's own rules, taken back.

use clap::Args;

use crate::cli::{CliError, Context, Exit};
use crate::report::plain;

/// Arguments of `rules undo`.
#[derive(Debug, Args)]
pub struct UndoArgs {
    /// Say what would be undone, and undo nothing
    #[arg(long)]
    dry_run: bool,
}

/// Undoes the last step of the journal.
pub fn run(context: &mut Context, args: &UndoArgs) -> Result<Exit, CliError> {
    let journal = context.journal();
    let step = if args.dry_run { journal.last() } else { journal.undo() }.map_err(CliError::misuse)?;
    let verb = if args.dry_run { "Would undo" } else { "Undone" };
    writeln!(context.out(), "{verb}: {} ({})", plain(&step.what), plain(&step.when))?;
    for edit in &step.edits {
        let path = plain(&edit.path.display().to_string());
        let what = if edit.before.is_none() { "taken away" } else { "as it was" };
        writeln!(context.out(), "  {path}: {what}")?;
    }
    Ok(Exit::Done)
}
