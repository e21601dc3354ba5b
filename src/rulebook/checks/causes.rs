//! Does every finding and state have a cause?

use super::{BookCheck, Needs};
use crate::rulebook::fault::{Spot, code};
use crate::rulebook::{Code, Fault, Kind, RuleBook};

code! {
    /// A symptom, or an outcome of a check, that no failure, state or history fact shows as.
    ///
    /// Asking for it would tell nothing. Say under a cause's `shows` that it looks like this, or take the finding out.
    pub static UNEXPLAINED = Error "unexplained", "a finding that nothing explains";
}

code! {
    /// A state that no failure, state or history fact brings on.
    ///
    /// It would stand for nothing but its background. Say under a cause's `leads-to` that it brings the state on.
    pub static UNCAUSED = Error "uncaused", "a state that nothing brings on";
}

pub(super) struct Unexplained;

impl BookCheck for Unexplained {
    fn code(&self) -> &'static Code {
        &UNEXPLAINED
    }

    fn needs(&self) -> Needs {
        Needs::SoundBook
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let mut faults = Vec::new();
        for id in book.symptoms.keys().filter(|id| book.links_to(id).next().is_none()) {
            let spot = Spot::key(&book.within(Kind::Symptom, id, &[]));
            faults.push(
                Fault::at(&UNEXPLAINED, spot, format!("nothing in the book explains the symptom `{id}`"))
                    .label("no failure, state or history fact shows it")
                    .help(format!("name `{id}` under `shows` of what causes it")),
            );
        }
        for (id, check) in &book.checks {
            for outcome in check.outcomes.keys() {
                let effect = format!("{id}/{outcome}");
                if book.links_to(&effect).next().is_none() {
                    let spot = Spot::key(&book.within(Kind::Check, id, &["outcomes", outcome]));
                    faults.push(
                        Fault::at(
                            &UNEXPLAINED,
                            spot,
                            format!("nothing in the book explains the outcome `{effect}`"),
                        )
                        .label("no failure, state or history fact shows it")
                        .help(format!("name `{effect}` under `shows` of what causes it")),
                    );
                }
            }
        }
        faults
    }
}

pub(super) struct Uncaused;

impl BookCheck for Uncaused {
    fn code(&self) -> &'static Code {
        &UNCAUSED
    }

    fn needs(&self) -> Needs {
        Needs::SoundBook
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        book.states
            .keys()
            .filter(|id| book.links_to(id).next().is_none())
            .map(|id| {
                let spot = Spot::key(&book.within(Kind::State, id, &[]));
                Fault::at(&UNCAUSED, spot, format!("nothing in the book brings on the state `{id}`"))
                    .label("no failure, state or history fact leads to it")
                    .help(format!("name `{id}` under `leads-to` of what causes it"))
            })
            .collect()
    }
}
