//! Completion scripts and the manual page.

use clap::{Args, Command};
use clap_complete::Shell;

use super::{CliError, Context, Exit};

/// Arguments of `completions`.
#[derive(Debug, Args)]
pub struct CompletionsArgs {
    /// The shell
    shell: Shell,
}

/// Prints the completion script of a shell.
pub fn completions(
    context: &mut Context,
    args: &CompletionsArgs,
    command: &mut Command,
) -> Result<Exit, CliError> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, command, "weephole", &mut script);
    context.out().write_all(&script)?;
    Ok(Exit::Done)
}

/// Prints the manual page in roff.
pub fn manual(context: &mut Context, command: Command) -> Result<Exit, CliError> {
    let mut page = Vec::new();
    clap_mangen::Man::new(command).render(&mut page)?;
    context.out().write_all(&page)?;
    Ok(Exit::Done)
}
