//! Can a customer read what is written for customers?

use super::{Ground, Lint};
use crate::rulebook::readability::grade;
use crate::rulebook::{Code, Fault, Kind, Spot, code};

/// Highest school grade for one short text. A page of such texts must stay far lower; in a single sentence one
/// unavoidable word (`thermostat`) weighs heavily, so the limit is looser. Judgement.
const MOST: f64 = 12.0;

code! {
    /// A text for customers reads harder than school grade 12 (Flesch-Kincaid).
    ///
    /// Long sentences and long words make a text hard. Split the sentence, say it in words of one or two syllables, and
    /// name what the customer sees or feels rather than how it works.
    ///
    /// A text that is missing is an error of its own (`missing-key`, `empty`).
    pub static HARD_TEXT = Note "hard-text", "a customer text that is hard to read";
}

pub(super) struct HardText;

impl Lint for HardText {
    fn codes(&self) -> Vec<&'static Code> {
        vec![&HARD_TEXT]
    }

    fn run(&self, ground: &Ground<'_>) -> Vec<Fault> {
        let book = ground.book;
        let parts = book.parts.iter().map(|(id, e)| (Kind::Part, id, "customer", &e.customer));
        let failures = book.failures.iter().flat_map(|(id, e)| {
            [(Kind::Failure, id, "customer", &e.customer), (Kind::Failure, id, "if-left", &e.if_left)]
        });
        let states = book.states.iter().map(|(id, e)| (Kind::State, id, "customer", &e.customer));
        let history = book.history.iter().map(|(id, e)| (Kind::History, id, "customer", &e.customer));
        let symptoms = book.symptoms.iter().map(|(id, e)| (Kind::Symptom, id, "customer", &e.customer));
        let checks = book.checks.iter().map(|(id, e)| (Kind::Check, id, "customer", &e.customer));
        parts
            .chain(failures)
            .chain(states)
            .chain(history)
            .chain(symptoms)
            .chain(checks)
            .filter_map(|(kind, id, key, text)| {
                let grade = grade(text);
                (grade > MOST).then(|| {
                    let spot = Spot::key(&book.within(kind, id, &[key]));
                    Fault::at(&HARD_TEXT, spot, format!("the text for customers of `{id}` is hard to read"))
                        .label(format!("school grade {grade:.0}; at most {MOST:.0} will do"))
                        .help("shorter sentences, shorter words")
                })
            })
            .collect()
    }
}
