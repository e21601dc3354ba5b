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

/// Every weight and background of the book with the spot of its value.
fn weights(book: &RuleBook) -> Vec<(Spot, &WeightSpec)> {
    let links = book.statements().map(|s| (Spot::value(&book.place_of_statement(&s)), s.spec));
    let of = |kind: Kind, id: &str, steps: &[&str]| Spot::value(&book.within(kind, id, steps));
    let states = book.states.iter().map(|(id, e)| (of(Kind::State, id, &["background"]), &e.background));
    let symptoms =
        book.symptoms.iter().map(|(id, e)| (of(Kind::Symptom, id, &["background"]), &e.background));
    let outcomes = book.checks.iter().flat_map(|(id, check)| {
        check.outcomes.iter().map(move |(outcome, e)| {
            (of(Kind::Check, id, &["outcomes", outcome, "background"]), &e.background)
        })
    });
    links.chain(states).chain(symptoms).chain(outcomes).collect()
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
