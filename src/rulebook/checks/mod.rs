//! What a book must mean: one check a file, each a struct with one line of metadata and one method.
//!
//! To add a check, write a file with a struct that implements [`BookCheck`], declare its [`Code`] there (its doc
//! comment is what `rules check --explain` prints), and put both into the lists below.

mod answers;
mod causes;
mod cycles;
mod dates;
mod facts;
mod figures;
mod head;
mod jobs;
mod limits;
mod references;
mod reveals;
mod scale;
mod severe;
mod weights;

use super::{Code, Fault, Kind, RuleBook, Spot, codes};

/// How much of a book must have been read before a check makes sense.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needs {
    /// It looks at entries one by one.
    Entries,
    /// It asks whether an id exists, so every file must have been readable.
    EveryFile,
    /// It asks what is missing in the whole, so nothing may have been left out.
    SoundBook,
}

/// One check of what a book means.
pub trait BookCheck: Sync {
    /// The kind of fault it finds.
    fn code(&self) -> &'static Code;

    /// When it can run.
    fn needs(&self) -> Needs {
        Needs::Entries
    }

    /// Every fault of this kind, in book order.
    fn run(&self, book: &RuleBook) -> Vec<Fault>;
}

/// Every check, in the order in which they run.
pub static REGISTRY: &[&dyn BookCheck] = &[
    &head::NoTitle,
    &scale::BadScale,
    &references::UnknownIds,
    &references::WrongKinds,
    &weights::UnknownWords,
    &weights::ConditionsOnBackgrounds,
    &facts::UnknownOptions,
    &facts::BadShares,
    &figures::BadFigures,
    &limits::BadLimits,
    &dates::BadDates,
    &answers::BadAnswers,
    &cycles::Cycles,
    &jobs::UnknownSteps,
    &jobs::StepRings,
    &jobs::IdleSteps,
    &jobs::StepFigures,
    &severe::SevereSaysMore,
    &reveals::Unrevealed,
    &causes::Unexplained,
    &causes::Uncaused,
];

/// Every code the rule book knows: those of reading and laying over, then those of the checks.
pub fn all_codes() -> Vec<&'static Code> {
    let mut all: Vec<&'static Code> = codes::READING.to_vec();
    for check in REGISTRY {
        if !all.iter().any(|code| code.name == check.code().name) {
            all.push(check.code());
        }
    }
    all.push(&codes::KNOWN_CASE);
    all
}

/// The fault of a known case that came out otherwise than it expects; the replay belongs to a layer above.
pub fn known_case_fault(book: &RuleBook, id: &str, wrong: &[String]) -> Fault {
    let place = book.within(Kind::Case, id, &["expect"]);
    let message = format!("the known case `{id}` does not come out as expected");
    let mut fault = Fault::at(&codes::KNOWN_CASE, Spot::key(&place), message).label("what it expects");
    fault.help = wrong.to_vec();
    fault
}
