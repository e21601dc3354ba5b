//! Severe findings: does what they forbid agree with what they say?

use super::BookCheck;
use crate::rulebook::entries::{Forbids, Severe};
use crate::rulebook::fault::{Spot, code};
use crate::rulebook::{Code, Fault, Kind, RuleBook};

code! {
    /// A severe text says that the engine must not run, but the rule forbids only driving.
    ///
    /// The questioner goes by `forbids`, not by the text: without it, checks with the engine running would still be offered.
    ///
    /// Before:
    ///
    /// ```yaml
    /// severe: The pulley can come off. Do not run the engine.
    /// ```
    ///
    /// After:
    ///
    /// ```yaml
    /// severe: {say: The pulley can come off. Do not run the engine., forbids: running}
    /// ```
    pub static SEVERE_SAYS_MORE = Error "severe-says-more", "a severe text that says more than it forbids";
}

/// How a text says it.
const SAYS_RUNNING: [&str; 4] = ["not run the engine", "not start the engine", "not run it", "not start it"];

pub(super) struct SevereSaysMore;

impl BookCheck for SevereSaysMore {
    fn code(&self) -> &'static Code {
        &SEVERE_SAYS_MORE
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let says_more = |severe: &Severe| {
            let text = severe.say.to_lowercase();
            severe.forbids == Forbids::Driving && SAYS_RUNNING.iter().any(|words| text.contains(words))
        };
        let found = book.severe().filter(|(.., severe)| says_more(severe));
        let fault = |(kind, id, way, _): (Kind, &str, Vec<&str>, &Severe)| {
            let message = format!("`{id}` says that the engine must not run, but forbids only driving");
            Fault::at(&SEVERE_SAYS_MORE, Spot::key(&book.within(kind, id, &way)), message)
                .label("expected `forbids: running` here, or a text about driving alone")
                .help("write `severe: {say: ..., forbids: running}`")
        };
        found.map(fault).collect()
    }
}
