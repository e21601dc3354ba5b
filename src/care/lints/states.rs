//! Is every state seen somewhere?

use std::collections::BTreeSet;

use super::{Ground, Lint};
use crate::rulebook::{Code, Effect, Fault, Kind, Spot, code};

code! {
    /// Nothing that can be noticed or measured depends on this state, directly or through others.
    ///
    /// No answer ever makes it more or less likely, so it only passes on a guess. Say under `shows` what it looks like, or
    /// link its causes straight to its effects.
    pub static UNSEEN_STATE = Warning "unseen-state", "a state that nothing observes";
}

pub(super) struct UnseenStates;

impl Lint for UnseenStates {
    fn codes(&self) -> Vec<&'static Code> {
        vec![&UNSEEN_STATE]
    }

    fn run(&self, ground: &Ground<'_>) -> Vec<Fault> {
        let book = ground.book;
        let is_finding = |effect: &Effect| match effect {
            Effect::Outcome { .. } => true,
            Effect::Node(id) => book.symptoms.contains_key(id),
        };
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        let mut waiting: Vec<&str> =
            book.links.iter().filter(|link| is_finding(&link.to)).map(|link| link.from.as_str()).collect();
        while let Some(id) = waiting.pop() {
            if seen.insert(id) {
                waiting.extend(book.links_to(id).map(|link| link.from.as_str()));
            }
        }
        book.states
            .keys()
            .filter(|id| !seen.contains(id.as_str()))
            .map(|id| {
                let spot = Spot::key(&book.within(Kind::State, id, &[]));
                Fault::at(&UNSEEN_STATE, spot, format!("nothing observes the state `{id}`"))
                    .label("no symptom and no check depends on it")
            })
            .collect()
    }
}
