//! Tests of: rulebook.

mod edits;

use weephole::rulebook::{Kind, RuleBook};

#[test]
fn shipped_book_has_its_scale_of_words() {
    let book = RuleBook::shipped();
    assert_eq!(book.kind_of("usually"), Some(Kind::Word));
    assert!((book.words["usually"].is - 0.75).abs() < 1e-12);
}
