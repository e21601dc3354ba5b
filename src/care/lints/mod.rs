//! What is doubtful in a sound book: one lint a file, each with its codes, and the reasons for which a warning is
//! silenced.
//!
//! A lint may use inference and the saved cases, which the checks of the rule book itself cannot. To add one, write a
//! file with a struct that implements [`Lint`], declare its [`Code`] there, and put it into [`LINTS`].

mod cautions;
mod evidence;
mod information;
mod signs;
mod silence;
mod sources;
mod states;
mod texts;
mod worth;

use super::apart::{Apart, apart};
use super::cases::SavedCase;
use crate::rulebook::{Code, Fault, RuleBook};

pub(super) use evidence::found;
pub use silence::{Silenced, silence};

/// What lints look at.
#[derive(Debug)]
pub struct Ground<'a> {
    /// A book without errors.
    pub book: &'a RuleBook,
    /// The saved cases.
    pub saved: &'a [SavedCase],
    /// How failures are told apart; `None` if the book gives no graph.
    pub apart: Option<Apart>,
}

/// One lint.
pub trait Lint: Sync {
    /// The kinds of fault it finds.
    fn codes(&self) -> Vec<&'static Code>;

    /// Every fault of these kinds, in book order.
    fn run(&self, ground: &Ground<'_>) -> Vec<Fault>;
}

/// Every lint, in the order in which they run.
pub static LINTS: &[&dyn Lint] = &[
    &signs::SameSigns,
    &information::SaysNothing,
    &evidence::NoCase,
    &worth::NeverWorth,
    &states::UnseenStates,
    &cautions::NoCaution,
    &sources::NoSource,
    &texts::HardText,
];

/// Every code of the lints and of silencing.
pub fn codes() -> Vec<&'static Code> {
    LINTS.iter().flat_map(|lint| lint.codes()).chain(silence::codes()).collect()
}

/// Runs every lint on a book without errors.
pub fn lint(book: &RuleBook, saved: &[SavedCase]) -> Vec<Fault> {
    let ground = Ground { book, saved, apart: apart(book) };
    LINTS.iter().flat_map(|lint| lint.run(&ground)).collect()
}
