//! Benches, run by `cargo bench`: each with its limit, if it has one. Never timed tests: they print, they do not fail.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "../support/networks.rs"]
#[allow(dead_code)]
mod networks;
mod questioner;
#[path = "../support/tenfold.rs"]
mod tenfold;
#[path = "../support/trials.rs"]
mod trials;

use divan::{Bencher, black_box};
use weephole::case::{Answer, Case, gather, standing};
use weephole::graph::{self, CauseGraph};
use weephole::inference::{Candidate, Engine, Evidence};
use weephole::rulebook::RuleBook;

use networks::{SHIPPED, Synthetic, TENFOLD, rule_book, two_layers};

fn main() {
    divan::main();
}

/// The pickup with twelve answers, eight of them yes.
fn twelve_answers(book: &RuleBook) -> Case {
    let mut case = Case::open(book.vehicles["pickup"].clone(), None);
    for (ask, answer) in [
        ("grinding-noise", "yes"),
        ("pulley-wobble", "yes"),
        ("weep-hole-seepage", "yes"),
        ("belt-squeal", "yes"),
        ("rusty-coolant", "yes"),
        ("hot-at-idle", "yes"),
        ("low-coolant", "yes"),
        ("rock-pump-pulley", "play"),
        ("bubbles-in-bottle", "no"),
        ("milky-oil", "no"),
        ("look-belt", "normal"),
        ("wet-radiator", "no"),
    ] {
        case.put(Answer::said(ask, answer));
    }
    case
}

struct Bench {
    book: RuleBook,
    graph: CauseGraph,
    evidence: Evidence,
}

impl Bench {
    fn new() -> Self {
        let book = RuleBook::shipped();
        let case = twelve_answers(&book);
        let graph = graph::build(&book, &case.vehicle, None).unwrap();
        let gathered = gather(&book, &graph, &case);
        assert!(gathered.ignored.is_empty(), "{:?}", gathered.ignored);
        Self { book, graph, evidence: gathered.evidence }
    }
}

/// Bar 50 ms, the process itself included; this is everything but starting the process.
#[divan::bench]
fn start_to_first_question(bencher: Bencher) {
    bencher.bench(|| {
        let book = RuleBook::shipped();
        let case = Case::open(book.vehicles["pickup"].clone(), None);
        let graph = graph::build(&book, &case.vehicle, None).unwrap();
        black_box(graph.len())
    });
}

#[divan::bench]
fn load_the_shipped_book(bencher: Bencher) {
    bencher.bench(RuleBook::shipped);
}

/// Bar 0.5 ms.
#[divan::bench]
fn one_ranking_with_12_answers(bencher: Bencher) {
    let bench = Bench::new();
    bencher.bench(|| {
        standing(&bench.book, &bench.graph, &Engine::default(), black_box(&bench.evidence)).unwrap()
    });
}

fn rank_synthetic(bencher: Bencher, made: &Synthetic, present: usize, absent: usize) {
    let evidence = made.answers(7, 2, present, absent);
    let targets = made.targets();
    bencher.bench(|| Engine::default().posterior(&made.network, black_box(&evidence), &targets).unwrap());
}

fn weigh_synthetic(bencher: Bencher, made: &Synthetic, present: usize, absent: usize) {
    let evidence = made.answers(7, 2, present, absent);
    let targets = made.targets();
    let candidates: Vec<Candidate> = made.unanswered(&evidence).into_iter().map(Candidate::yes_no).collect();
    bencher.bench(|| {
        Engine::default().candidates(&made.network, black_box(&evidence), &targets, &candidates).unwrap()
    });
}

#[divan::bench]
fn made_up_book_ranking(bencher: Bencher) {
    rank_synthetic(bencher, &rule_book(1, SHIPPED), 6, 6);
}

#[divan::bench]
fn made_up_book_all_candidates(bencher: Bencher) {
    weigh_synthetic(bencher, &rule_book(1, SHIPPED), 6, 6);
}

/// A made-up book of ten times as many failures, states and findings, tied together as closely: too tangled for exact
/// work, so this is the sampler. Weighing every candidate by sampling would take hours and is not benched.
#[divan::bench(sample_count = 1, sample_size = 1)]
fn ten_times_the_book_ranking_by_sampling(bencher: Bencher) {
    rank_synthetic(bencher, &rule_book(1, TENFOLD), 6, 6);
}

/// Bars 50 ms with 16 findings present, 1 s with 20.
#[divan::bench(args = [8, 12, 16, 20], sample_count = 10)]
fn ranking_600_failures_4000_findings(bencher: Bencher, present: usize) {
    rank_synthetic(bencher, &two_layers(1, 600, 4_000, 40_000), present, 4);
}
