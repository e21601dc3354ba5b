//! `rules try`: two books over the same cases.

use weephole::care::compare::{Holds, TOLD};
use weephole::care::{SavedCase, compare};
use weephole::case::{Answer, Case};
use weephole::rulebook::RuleBook;

use super::book_with_cases;

/// A book in which a failure shows nothing.
fn without_signs(book: &RuleBook, failure: &str) -> RuleBook {
    let mut changed = book.clone();
    changed.links.retain(|link| link.from != failure);
    changed
}

/// A book in which a failure has this base.
fn with_base(book: &RuleBook, failure: &str, base: f64) -> RuleBook {
    let mut changed = book.clone();
    changed.failures.get_mut(failure).unwrap().base = base;
    changed
}

fn saved(name: &str, answers: &[(&str, &str)]) -> SavedCase {
    let answers = answers.iter().map(|(ask, answer)| Answer::said(ask, answer)).collect();
    SavedCase { name: name.to_owned(), case: Case { answers, ..Case::default() } }
}

#[test]
fn the_same_book_moves_nothing() {
    let book = book_with_cases(&["cap-weak", "cap-seal"]);
    let comparison = compare(&book, &book, &[saved("one", &[("bottle-overflows", "yes")])]);
    assert_eq!(comparison.shifts.len(), 3);
    assert!(comparison.is_sound());
    assert_eq!(comparison.telling().count(), 0);
    assert!(comparison.shifts.iter().all(|shift| shift.before == shift.after && shift.before.is_some()));
}

#[test]
fn a_failure_without_its_signs_breaks_the_case_that_expects_it() {
    let before = book_with_cases(&["cap-weak"]);
    let after = without_signs(&before, "cap-spring-weak");
    let comparison = compare(&before, &after, &[]);
    let shift = &comparison.shifts[0];
    assert_eq!(shift.holds, Some(Holds::Breaks));
    assert!(!comparison.is_sound());
    assert!(shift.why[0].contains("`cap-spring-weak` should be first"), "{:?}", shift.why);
    let cap = shift.moves.iter().find(|moved| moved.id == "cap-spring-weak").unwrap();
    assert!(cap.after < cap.before - TOLD);
    // And back again it mends.
    let back = compare(&after, &before, &[]);
    assert_eq!(back.shifts[0].holds, Some(Holds::Mends));
    assert!(back.is_sound());
}

#[test]
fn known_cases_of_one_book_only_are_new_or_gone() {
    let one = book_with_cases(&["cap-seal"]);
    let two = book_with_cases(&["cap-seal", "cap-weak"]);
    let holds = |a: &RuleBook, b: &RuleBook| {
        let comparison = compare(a, b, &[]);
        comparison.shifts.iter().find(|shift| shift.name == "cap-weak").unwrap().holds
    };
    assert_eq!(holds(&one, &two), Some(Holds::New));
    assert_eq!(holds(&two, &one), Some(Holds::Gone));
}

#[test]
fn a_saved_case_tells_which_first_suspect_changes() {
    let before = book_with_cases(&[]);
    let after = with_base(&before, "cap-spring-weak", 400.0);
    let case = saved("weak", &[("crust-at-joint", "yes"), ("steam-from-bonnet", "no")]);
    let comparison = compare(&before, &after, &[case]);
    let shift = &comparison.shifts[0];
    assert_eq!(shift.holds, None);
    assert!(shift.first_changes(), "{:?} -> {:?}", shift.before, shift.after);
    assert_eq!(shift.after.as_ref().unwrap().part, "filler-cap");
}

#[test]
fn an_answer_the_book_no_longer_has_is_left_out_and_told() {
    let book = book_with_cases(&[]);
    let case = saved("old", &[("bottle-overflows", "yes"), ("sign-of-old-times", "yes")]);
    let stale = weephole::care::cases::stale_ids(&book, &case.case);
    assert_eq!(stale, [("sign-of-old-times".to_owned(), "an answer")]);
    assert!(compare(&book, &book, &[case]).shifts[0].after.is_some(), "the rest is still ranked");
}
