//! Weights and backgrounds.

use super::BookCheck;
use crate::rulebook::entries::WeightSpec;
use crate::rulebook::fault::{Spot, code};
use crate::rulebook::nearest::nearest;
use crate::rulebook::shape::list_or;
use crate::rulebook::{Code, Fault, Kind, RuleBook};

code! {
    /// A weight is given by a word that is not on the book's scale.
    ///
    /// The scale stands under `words` in `book.yaml`; `weephole rules show usually` says what a word is worth. A weight may
    /// always be a number from 0 to 1 instead.
    pub static UNKNOWN_WORD = Error "unknown-word", "a weight word that is not on the scale";
}

code! {
    /// A background says on which vehicles it holds.
    ///
    /// Links may hold on some vehicles only. A background holds wherever its entry does: give the entry itself the condition.
    ///
    /// Before:
    ///
    /// ```yaml
    /// fan-scrape: {background: {is: 0.01, fits-if: {fan: [fixed]}}, ...}
    /// ```
    ///
    /// After:
    ///
    /// ```yaml
    /// fan-scrape: {background: 0.01, fits-if: {fan: [fixed]}, ...}
    /// ```
    pub static CONDITION_ON_BACKGROUND = Error "condition-on-background", "a background with a condition";
}

/// Every weight and background of the book with the spot of its value.
fn weights(book: &RuleBook) -> Vec<(Spot, &WeightSpec)> {
    let links = book.statements().map(|s| (Spot::value(&book.place_of_statement(&s)), s.spec));
    links.chain(backgrounds(book)).collect()
}

/// Every background of the book with the spot of its value.
fn backgrounds(book: &RuleBook) -> impl Iterator<Item = (Spot, &WeightSpec)> {
    let of = move |kind: Kind, id: &str, steps: &[&str]| Spot::value(&book.within(kind, id, steps));
    let states = book.states.iter().map(move |(id, e)| (of(Kind::State, id, &["background"]), &e.background));
    let symptoms =
        book.symptoms.iter().map(move |(id, e)| (of(Kind::Symptom, id, &["background"]), &e.background));
    let outcomes = book.checks.iter().flat_map(move |(id, check)| {
        check.outcomes.iter().map(move |(outcome, e)| {
            (of(Kind::Check, id, &["outcomes", outcome, "background"]), &e.background)
        })
    });
    states.chain(symptoms).chain(outcomes)
}

pub(super) struct UnknownWords;

impl BookCheck for UnknownWords {
    fn code(&self) -> &'static Code {
        &UNKNOWN_WORD
    }

    fn needs(&self) -> super::Needs {
        super::Needs::EveryFile
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let known: Vec<&str> = book.ids(Kind::Word);
        let mut faults = Vec::new();
        for (spot, spec) in weights(book) {
            let Some(word) = spec.word.as_deref().filter(|&word| !book.has_written(Kind::Word, word)) else {
                continue;
            };
            let help = match nearest(word, known.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("the words are {}", list_or(&known)),
            };
            faults.push(
                Fault::at(&UNKNOWN_WORD, spot, format!("the word `{word}` is not on the scale of weights"))
                    .label("expected a word of the scale, or a number from 0 to 1")
                    .help(help),
            );
        }
        faults
    }
}

pub(super) struct ConditionsOnBackgrounds;

impl BookCheck for ConditionsOnBackgrounds {
    fn code(&self) -> &'static Code {
        &CONDITION_ON_BACKGROUND
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let conditional = backgrounds(book).filter(|(_, spec)| !spec.fits_if.is_empty());
        let fault = |(spot, _)| {
            Fault::at(&CONDITION_ON_BACKGROUND, spot, "a background holds wherever its entry does")
                .label("expected a chance without `fits-if`")
                .help("give the entry itself the `fits-if`")
        };
        conditional.map(fault).collect()
    }
}
