//! Does every finding tell something?

use super::{Ground, Lint};
use crate::rulebook::{Code, Fault, Kind, RuleBook, Spot, code};

/// A finding is worth asking for if some cause makes it at least this many times as likely as it is anyway.
const LEAST_RATIO: f64 = 2.0;

code! {
    /// A symptom or outcome is nearly as common without any of its causes as with them.
    ///
    /// The message gives the best ratio: how many times likelier the finding is with its strongest cause than with
    /// none. At 1 it tells nothing at all; below 2 a page of such findings moves a ranking less than one good check.
    ///
    /// Lower its background if false alarms are rarer than it says, raise the weights, or take the finding out.
    pub static SAYS_NOTHING = Warning "says-nothing", "a finding that carries no information";
}

pub(super) struct SaysNothing;

impl Lint for SaysNothing {
    fn codes(&self) -> Vec<&'static Code> {
        vec![&SAYS_NOTHING]
    }

    fn run(&self, ground: &Ground<'_>) -> Vec<Fault> {
        let book = ground.book;
        let mut faults = Vec::new();
        for (id, symptom) in &book.symptoms {
            let spot = Spot::key(&book.within(Kind::Symptom, id, &["background"]));
            faults.extend(weak(book, id, book.weight(&symptom.background).value, spot));
        }
        for (id, check) in &book.checks {
            for (outcome, entry) in &check.outcomes {
                let spot = Spot::key(&book.within(Kind::Check, id, &["outcomes", outcome, "background"]));
                let key = format!("{id}/{outcome}");
                faults.extend(weak(book, &key, book.weight(&entry.background).value, spot));
            }
        }
        faults
    }
}

fn weak(book: &RuleBook, key: &str, background: f64, spot: Spot) -> Option<Fault> {
    let strongest = book
        .links_to(key)
        .max_by(|a, b| a.weight.value.total_cmp(&b.weight.value).then(b.from.cmp(&a.from)))?;
    let with = 1.0 - (1.0 - background) * (1.0 - strongest.weight.value);
    let ratio = if background > 0.0 { with / background } else { f64::INFINITY };
    (ratio < LEAST_RATIO).then(|| {
        Fault::at(&SAYS_NOTHING, spot, format!("`{key}` carries next to no information"))
            .label(format!(
                "at most {ratio:.1} times as likely with a cause (`{}`) as with none",
                strongest.from
            ))
            .help("lower the background, raise the weights, or take it out")
    })
}
