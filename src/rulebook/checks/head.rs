//! The book's title.

use super::BookCheck;
use crate::rulebook::fault::code;
use crate::rulebook::{Code, Fault, RuleBook};

code! {
    /// The book has no title: no file has a section `book`.
    ///
    /// A whole book says what it is:
    ///
    /// ```yaml
    /// book:
    ///   title: Rules of the Thornby Weir workshop
    ///   version: 1
    ///   currency: EUR
    /// ```
    ///
    /// A folder laid over another book needs none. `rules check --alone` checks a folder as a whole book.
    pub static NO_TITLE = Error "no-title", "a book without a title";
}

pub(super) struct NoTitle;

impl BookCheck for NoTitle {
    fn code(&self) -> &'static Code {
        &NO_TITLE
    }

    fn needs(&self) -> super::Needs {
        super::Needs::EveryFile
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        if !book.head.title.is_empty() || book.sources.is_empty() {
            return Vec::new();
        }
        vec![
            Fault::of_book(&NO_TITLE, "this book has no title: no file has a section `book`")
                .help("if the folder is meant to lie over the shipped book, check it without `--alone`"),
        ]
    }
}
