//! How a command ends, turned into a number once.

use std::process::ExitCode;

use thiserror::Error;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Done.
    Done,
    /// The answer is "no": a check found faults, a known case broke.
    No,
    /// Wrong use or unreadable input.
    Misuse,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(match exit {
            Exit::Done => 0,
            Exit::No => 1,
            Exit::Misuse => 2,
        })
    }
}

/// Why a command could not be carried out.
#[derive(Debug, Error)]
pub enum CliError {
    /// Wrong use or unreadable input, in a sentence that says what to do.
    #[error("{0}")]
    Misuse(String),
    /// Faults already rendered with their places; printed as they are.
    #[error("{0}")]
    Rendered(String),
    /// Writing the result failed. A closed pipe is not an error.
    #[error("cannot write the result: {0}")]
    Output(#[from] std::io::Error),
}

impl CliError {
    /// A wrong-use error from anything that can be shown.
    pub fn misuse(message: impl std::fmt::Display) -> Self {
        Self::Misuse(message.to_string())
    }
}
