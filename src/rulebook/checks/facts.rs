//! Vehicle facts: their options and shares.

use super::{BookCheck, Needs};
use crate::rulebook::fault::{Spot, code};
use crate::rulebook::nearest::nearest;
use crate::rulebook::shape::list_or;
use crate::rulebook::{Code, Fault, Kind, RuleBook};

code! {
    /// A vehicle fact is given a value that is not one of its options.
    ///
    /// The options of every fact stand under `facts`; `weephole rules show pump-drive` lists them.
    pub static UNKNOWN_OPTION = Error "unknown-option", "a value that the vehicle fact does not have";
}

code! {
    /// The shares of a vehicle fact's options do not sum to 1.
    ///
    /// The shares say how common each option is among vehicles, and hold while the fact is unknown: every vehicle has
    /// exactly one of them.
    pub static BAD_SHARES = Error "bad-shares", "shares that do not sum to 1";
}

/// How far a sum of shares may be from 1: two-digit shares that were rounded one by one.
const SLACK: f64 = 1e-6;

pub(super) struct UnknownOptions;

impl BookCheck for UnknownOptions {
    fn code(&self) -> &'static Code {
        &UNKNOWN_OPTION
    }

    fn needs(&self) -> Needs {
        Needs::EveryFile
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let mut faults = Vec::new();
        let entries = book.conditions().filter(|(.., conditions)| !conditions.is_empty());
        let entries = entries.map(|(kind, id, found)| (book.within(kind, id, &["fits-if"]), found));
        let links = book.link_conditions().map(|(_, place, found)| (place, found));
        let jobs = book.job_conditions().map(|(id, way, found)| (book.within(Kind::Job, id, &way), found));
        for (place, conditions) in entries.chain(links).chain(jobs) {
            for (fact, options) in conditions {
                for (number, option) in options.iter().enumerate() {
                    let spot = Spot::value(&place.then(fact.as_str()).then(number.to_string()));
                    faults.extend(unknown(book, spot, fact, option));
                }
            }
        }
        for (id, vehicle) in &book.vehicles {
            for (fact, option) in &vehicle.facts {
                let spot = Spot::value(&book.within(Kind::Vehicle, id, &["facts", fact]));
                faults.extend(unknown(book, spot, fact, option));
            }
        }
        for (id, case) in &book.cases {
            for (fact, option) in &case.facts {
                let spot = Spot::value(&book.within(Kind::Case, id, &["facts", fact]));
                faults.extend(unknown(book, spot, fact, option));
            }
        }
        faults
    }
}

fn unknown(book: &RuleBook, spot: Spot, fact: &str, option: &str) -> Option<Fault> {
    let options = &book.facts.get(fact)?.options;
    if options.contains_key(option) {
        return None;
    }
    let known: Vec<&str> = options.keys().map(String::as_str).collect();
    let fault = Fault::at(&UNKNOWN_OPTION, spot, format!("the vehicle fact `{fact}` cannot be `{option}`"))
        .label(format!("expected {}", list_or(&known)));
    Some(match nearest(option, known) {
        Some(near) => fault.help(format!("did you mean `{near}`?")),
        None => fault,
    })
}

pub(super) struct BadShares;

impl BookCheck for BadShares {
    fn code(&self) -> &'static Code {
        &BAD_SHARES
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (id, fact) in &book.facts {
            let sum: f64 = fact.options.values().map(|option| option.share).sum();
            if (sum - 1.0).abs() > SLACK {
                let spot = Spot::key(&book.within(Kind::Fact, id, &["options"]));
                let sum = (sum * 1e6).round() / 1e6;
                faults.push(
                    Fault::at(&BAD_SHARES, spot, format!("the shares of `{id}` sum to {sum}"))
                        .label("expected shares that sum to 1"),
                );
            }
        }
        faults
    }
}
