//! A reading near a limit counts for less than one far from it: swept across its limit, a reading moves chances
//! smoothly and never flips a ranking by one step of the instrument.

use std::fmt::Write;

use weephole::case::evidence::gather_answers;
use weephole::case::{Answer, Standing, standing};
use weephole::graph;
use weephole::inference::Engine;
use weephole::rulebook::RuleBook;
use weephole::rulebook::entries::Vehicle;

fn after(book: &RuleBook, vehicle: &Vehicle, others: &[Answer], check: &str, reading: &str) -> Standing {
    let graph = graph::build(book, vehicle, None).unwrap();
    let mut answers = others.to_vec();
    answers.push(Answer::read(check, reading));
    let gathered = gather_answers(book, &graph, vehicle, &answers);
    assert!(gathered.ignored.is_empty(), "{:?}", gathered.ignored);
    standing(book, &graph, &Engine::default(), &gathered.evidence).unwrap()
}

/// The cap of the pickup is stamped 13 psi (89.6 kPa); below 7 kPa under its mark it is rejected
/// (TM 5-3820-254-14&P para 4-13: a 7 psi cap more than 1 psi off). The sweep crosses that limit in steps of 1 kPa.
#[test]
fn a_cap_reading_swept_across_its_limit_moves_the_chance_smoothly() {
    let book = RuleBook::shipped();
    let vehicle = book.vehicles["pickup"].clone();
    let others = [Answer::said("boiling-over", "yes")];
    let mut table = String::from("opens at   cap spring weak   first suspect\n");
    let mut last: Option<(f64, String)> = None;
    for kpa in 70..=95 {
        let standing = after(&book, &vehicle, &others, "cap-test", &format!("{kpa} kPa"));
        let chance = standing.chance("cap-spring-weak");
        let first = standing.failures[0].id.clone();
        let _ = writeln!(table, "{kpa:>4} kPa   {chance:>15.4}   {first}");
        if let Some((before, _)) = &last {
            assert!(
                chance <= before + 1e-12,
                "a higher opening pressure made a weak spring likelier at {kpa} kPa"
            );
            assert!(
                before - chance < 0.2,
                "one kPa moved the chance from {before:.3} to {chance:.3} at {kpa} kPa"
            );
        }
        last = Some((chance, first));
    }
    insta::assert_snapshot!("cap_sweep", table);
}

/// One kPa, less than the instrument's own error, either side of the limit leaves the same first suspect as the
/// limit itself, for every check of the book that is read in kPa.
#[test]
fn one_kilopascal_across_a_limit_never_flips_the_first_suspect() {
    let book = RuleBook::shipped();
    let vehicle = book.vehicles["pickup"].clone();
    for (check, sign, limit) in
        [("cap-test", "boiling-over", 82.6), ("pressure-test", "level-drops-slowly", 4.0)]
    {
        let others = [Answer::said(sign, "yes")];
        let first = |kpa: f64| {
            let standing = after(&book, &vehicle, &others, check, &format!("{kpa} kPa"));
            standing.suspects[0].part.clone()
        };
        let at = first(limit);
        assert_eq!(first(limit - 0.5), at, "{check} just below its limit");
        assert_eq!(first(limit + 0.5), at, "{check} just above its limit");
    }
}
