//! Can every failure be found out?

use std::collections::BTreeSet;

use super::{BookCheck, Needs};
use crate::rulebook::fault::{Spot, code};
use crate::rulebook::{Code, Effect, Fault, Kind, RuleBook};

code! {
    /// Nothing that can be noticed or measured depends on this failure, directly or through states and other failures.
    ///
    /// Such a failure keeps its base for ever: no answer makes it more or less likely, and it can only stand in the way.
    ///
    /// Say what shows it, or which state it brings on.
    pub static UNREVEALED = Error "unrevealed", "a failure that nothing can reveal";
}

pub(super) struct Unrevealed;

impl BookCheck for Unrevealed {
    fn code(&self) -> &'static Code {
        &UNREVEALED
    }

    fn needs(&self) -> Needs {
        Needs::SoundBook
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        // From the findings back along the links: what is not reached shows nowhere.
        let mut shown: BTreeSet<&str> = BTreeSet::new();
        let is_finding = |effect: &Effect| match effect {
            Effect::Outcome { .. } => true,
            Effect::Node(id) => book.symptoms.contains_key(id),
        };
        let mut waiting: Vec<&str> =
            book.links.iter().filter(|link| is_finding(&link.to)).map(|link| link.from.as_str()).collect();
        while let Some(id) = waiting.pop() {
            if shown.insert(id) {
                waiting.extend(book.links_to(id).map(|link| link.from.as_str()));
            }
        }
        book.failures
            .keys()
            .filter(|id| !shown.contains(id.as_str()))
            .map(|id| {
                let spot = Spot::key(&book.within(Kind::Failure, id, &[]));
                Fault::at(&UNREVEALED, spot, format!("nothing can reveal the failure `{id}`"))
                    .label("no symptom and no check depends on it")
                    .help(
                        "say under `shows` what it looks like, or under `leads-to` which state it brings on",
                    )
            })
            .collect()
    }
}
