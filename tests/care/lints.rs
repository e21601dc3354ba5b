//! Lints: what is doubtful in a sound book.

use weephole::care::check::every_code;
use weephole::care::lints::lint;
use weephole::rulebook::RuleBook;

#[test]
fn the_shipped_book_shows() {
    let book = RuleBook::shipped();
    let t = std::time::Instant::now();
    let faults = lint(&book, &[]);
    eprintln!("{:?}", t.elapsed());
    for fault in &faults {
        eprintln!("{} {} | {} | {}", fault.code.severity, fault.code.name, fault.message, fault.label);
    }
    assert!(every_code().len() > 20);
}
