//! Does everything say where it comes from?

use super::{Ground, Lint};
use crate::rulebook::entries::{Entries, WeightSpec};
use crate::rulebook::{Code, Fault, Kind, Place, Spot, code};

code! {
    /// A figure stands without a source.
    ///
    /// A word of the scale is its author's judgement and says so by being a word. A bare number looks as if somebody had
    /// counted: say who, or that it is judgement, in the entry's `source` or in the weight's own
    /// (`{is: 0.4, source: counted in 52 cases of this workshop}`). Cautions say where they were read.
    pub static NO_SOURCE = Note "no-source", "a figure without a source";
}

/// Texts that name nothing.
const EMPTY_SOURCES: [&str; 5] = ["todo", "tbd", "?", "unknown", "none"];

pub(super) struct NoSource;

impl Lint for NoSource {
    fn codes(&self) -> Vec<&'static Code> {
        vec![&NO_SOURCE]
    }

    fn run(&self, ground: &Ground<'_>) -> Vec<Fault> {
        let book = ground.book;
        let mut faults = Vec::new();
        let named = |source: &str| !EMPTY_SOURCES.contains(&source.trim().to_lowercase().as_str());
        let has = |source: Option<&String>| source.is_some_and(|source| named(source));
        let mut fault = |place: &Place, what: String| {
            faults.push(Fault::at(&NO_SOURCE, Spot::key(place), what).label("where does this come from?"));
        };
        let numbers = |links: &Entries<WeightSpec>| -> Vec<String> {
            let bare = |spec: &WeightSpec| {
                spec.number.is_some_and(|n| n > 0.0 && n < 1.0) && !has(spec.source.as_ref())
            };
            links.iter().filter(|(_, spec)| bare(spec)).map(|(id, _)| id.clone()).collect()
        };
        for (id, history) in book.history.iter().filter(|(_, history)| !has(history.source.as_ref())) {
            fault(&book.within(Kind::History, id, &["base"]), format!("the base of `{id}` has no source"));
            for (list, links) in [("leads-to", &history.leads_to), ("shows", &history.shows)] {
                for other in numbers(links) {
                    let place = book.within(Kind::History, id, &[list, &other]);
                    fault(&place, format!("the weight of `{other}` is a number without a source"));
                }
            }
        }
        for (id, state) in book.states.iter().filter(|(_, state)| !has(state.source.as_ref())) {
            let lists =
                [("raised-by", &state.raised_by), ("leads-to", &state.leads_to), ("shows", &state.shows)];
            for (list, links) in lists {
                for other in numbers(links) {
                    let place = book.within(Kind::State, id, &[list, &other]);
                    fault(&place, format!("the weight of `{other}` is a number without a source"));
                }
            }
        }
        for (id, _) in book.failures.iter().filter(|(_, failure)| !named(&failure.source)) {
            fault(
                &book.within(Kind::Failure, id, &["source"]),
                format!("the source of `{id}` names nothing"),
            );
        }
        for (id, _) in book.checks.iter().filter(|(_, check)| !named(&check.source)) {
            fault(&book.within(Kind::Check, id, &["source"]), format!("the source of `{id}` names nothing"));
        }
        for (id, _) in book.cautions.iter().filter(|(_, caution)| !has(caution.source.as_ref())) {
            fault(&book.within(Kind::Caution, id, &[]), format!("the caution `{id}` has no source"));
        }
        faults
    }
}
