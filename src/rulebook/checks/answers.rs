//! Do the answers and expectations of known cases mean something?

use super::{BookCheck, Needs};
use crate::rulebook::entries::{Check, KnownAnswer};
use crate::rulebook::fault::{Spot, code};
use crate::rulebook::nearest::nearest;
use crate::rulebook::quantities::{figure, unit_of};
use crate::rulebook::shape::list_or;
use crate::rulebook::{Code, Fault, Kind, RuleBook};

code! {
    /// An answer of a known case is not one its question takes, or an expectation is not one that can be met.
    ///
    /// A symptom or history fact is answered `yes` or `no`; a check by one of its outcomes or `normal`, or by a `reading` if
    /// it is read as a number; anything by `dont-know` or `cannot`. Every answer has exactly one of `answer` and `reading`.
    /// `below` and `above` are chances from 0 to 1.
    pub static BAD_ANSWER = Error "bad-answer", "an answer or expectation that means nothing";
}

pub(super) struct BadAnswers;

impl BookCheck for BadAnswers {
    fn code(&self) -> &'static Code {
        &BAD_ANSWER
    }

    fn needs(&self) -> Needs {
        Needs::EveryFile
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (id, case) in &book.cases {
            for (number, answer) in case.answers.iter().enumerate() {
                faults.extend(of_answer(book, id, number, answer));
            }
            for (key, chances) in [("below", &case.expect.below), ("above", &case.expect.above)] {
                for (entry, chance) in chances {
                    if !(0.0..=1.0).contains(chance) {
                        let spot = Spot::value(&book.within(Kind::Case, id, &["expect", key, entry]));
                        faults.push(
                            Fault::at(&BAD_ANSWER, spot, format!("{chance} is not a chance"))
                                .label("expected 0 to 1"),
                        );
                    }
                }
            }
            let expect = &case.expect;
            let empty = expect.first.is_none() && expect.with.is_empty() && expect.below.is_empty();
            if empty && expect.above.is_empty() {
                let spot = Spot::key(&book.within(Kind::Case, id, &["expect"]));
                faults.push(
                    Fault::at(&BAD_ANSWER, spot, "this case expects nothing")
                        .label("expected `first`, `with`, `below` or `above`"),
                );
            }
        }
        faults
    }
}

fn of_answer(book: &RuleBook, id: &str, number: usize, answer: &KnownAnswer) -> Option<Fault> {
    let number = number.to_string();
    let place = |key: &str| book.within(Kind::Case, id, &["answers", &number, key]);
    let ask = &answer.ask;
    let check = book.checks.get(ask);
    if check.is_none() && !book.symptoms.contains_key(ask) && !book.history.contains_key(ask) {
        // Not known, or not usable as it is written: a fault of its own.
        return None;
    }
    match (&answer.answer, &answer.reading) {
        (Some(word), None) => in_words(ask, check, word, Spot::value(&place("answer"))),
        (None, Some(text)) => as_number(ask, check, text, Spot::value(&place("reading"))),
        (answer, _) => {
            let message = match answer {
                Some(_) => format!("`{ask}` has both an `answer` and a `reading`"),
                None => format!("`{ask}` has neither an `answer` nor a `reading`"),
            };
            Some(Fault::at(&BAD_ANSWER, Spot::value(&place("ask")), message).label("expected one of the two"))
        }
    }
}

fn in_words(ask: &str, check: Option<&Check>, word: &str, spot: Spot) -> Option<Fault> {
    let mut takes: Vec<&str> = match check {
        None => vec!["yes", "no"],
        Some(check) => std::iter::once("normal").chain(check.outcomes.keys().map(String::as_str)).collect(),
    };
    takes.extend(["dont-know", "cannot"]);
    if takes.contains(&word) {
        return None;
    }
    let fault = Fault::at(&BAD_ANSWER, spot, format!("`{ask}` cannot be answered `{word}`"))
        .label(format!("expected {}", list_or(&takes)));
    Some(match nearest(word, takes) {
        Some(near) => fault.help(format!("did you mean `{near}`?")),
        None => fault,
    })
}

fn as_number(ask: &str, check: Option<&Check>, text: &str, spot: Spot) -> Option<Fault> {
    let Some((reading, unit)) = check.and_then(|check| Some((check.reading.as_ref()?, unit_of(check)?)))
    else {
        return Some(
            Fault::at(&BAD_ANSWER, spot, format!("`{ask}` is not read as a number"))
                .label("expected an `answer`"),
        );
    };
    let value = match figure(text, unit) {
        Ok(value) => value,
        Err(why) => {
            return Some(
                Fault::at(&BAD_ANSWER, spot, why).label(format!("expected {}", unit.kind().described())),
            );
        }
    };
    let (least, most) = (figure(&reading.least, unit).ok()?, figure(&reading.most, unit).ok()?);
    if (least..=most).contains(&value) {
        return None;
    }
    let message = format!("the reading `{text}` of `{ask}` lies outside what can be read");
    Some(
        Fault::at(&BAD_ANSWER, spot, message)
            .label(format!("expected {} to {}", reading.least, reading.most)),
    )
}
