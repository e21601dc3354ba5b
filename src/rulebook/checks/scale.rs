//! The scale of weight words and the words for chances.

use super::BookCheck;
use crate::rulebook::fault::{Spot, code};
use crate::rulebook::{Code, Fault, Kind, Place, Route, RuleBook};

code! {
    /// A range is reversed, or does not hold the figure it belongs to.
    ///
    /// A weight word lies between its own `from` and `to`; a price or time band has its low figure first; the words for
    /// chances stand from the highest to the lowest, and the last begins at 0.
    ///
    /// Before:
    ///
    /// ```yaml
    /// usually: {is: 0.75, from: 0.82, to: 0.65}
    /// ```
    ///
    /// After:
    ///
    /// ```yaml
    /// usually: {is: 0.75, from: 0.65, to: 0.82}
    /// ```
    pub static REVERSED_RANGE = Error "reversed-range", "a range that is reversed or misses its figure";
}

pub(super) struct BadScale;

impl BookCheck for BadScale {
    fn code(&self) -> &'static Code {
        &REVERSED_RANGE
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (word, range) in &book.words {
            if !(range.from <= range.is && range.is <= range.to) {
                let message = format!(
                    "the word `{word}` is {}, outside its own range {} to {}",
                    range.is, range.from, range.to
                );
                faults.push(
                    Fault::at(&REVERSED_RANGE, Spot::key(&book.within(Kind::Word, word, &[])), message)
                        .label("expected `from`, then `is`, then `to`"),
                );
            }
        }
        faults.extend(chance_words(book));
        for (id, part) in &book.parts {
            faults.extend(band(book, Kind::Part, id, &["price"], Some(part.price)));
        }
        for (id, failure) in &book.failures {
            faults.extend(band(
                book,
                Kind::Failure,
                id,
                &["repair", "minutes"],
                Some(failure.repair.minutes),
            ));
            faults.extend(band(book, Kind::Failure, id, &["repair", "price"], failure.repair.price));
        }
        faults
    }
}

fn band(
    book: &RuleBook,
    kind: Kind,
    id: &str,
    steps: &[&str],
    band: Option<crate::rulebook::entries::Band>,
) -> Option<Fault> {
    let band = band.filter(|band| band.0 > band.1)?;
    let spot = Spot::value(&book.within(kind, id, steps));
    let message = format!("the band of `{id}` runs from {} down to {}", band.0, band.1);
    Some(Fault::at(&REVERSED_RANGE, spot, message).label(format!("expected `[{}, {}]`", band.1, band.0)))
}

/// The place of the list of words for chances is that of the uppermost layer that has one.
fn chance_words(book: &RuleBook) -> Vec<Fault> {
    let words = &book.chance_words;
    let Some(source) = book.chances_in else { return Vec::new() };
    let spot = |number: usize| {
        Spot::value(&Place { source, route: Route::of(&["chance-words", &number.to_string(), "at-least"]) })
    };
    let mut faults = Vec::new();
    for (number, pair) in words.windows(2).enumerate() {
        if pair[0].at_least <= pair[1].at_least {
            let message = format!("`{}` does not begin below `{}`", pair[1].say, pair[0].say);
            faults.push(
                Fault::at(&REVERSED_RANGE, spot(number + 1), message)
                    .label(format!("expected less than {}", pair[0].at_least)),
            );
        }
    }
    if let Some(last) = words.last().filter(|last| last.at_least > 0.0) {
        let message = format!("no words for chances below {}", last.at_least);
        faults.push(
            Fault::at(&REVERSED_RANGE, spot(words.len() - 1), message)
                .label("expected the last words to begin at 0"),
        );
    }
    faults
}
