//! How long one ranking, and all candidates, take in this process: for `against_reference.py`, which asks a reference library for
//! the same. Cases come on standard input, one JSON object a line; of each goes out one line of JSON, in seconds.
//!
//! Run by `cargo bench` with nothing on its input it prints nothing.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use std::io::{IsTerminal, stdin};
use std::time::{Duration, Instant};

use serde_json::json;
use weephole::case::{Case, gather};
use weephole::graph::{self, NodeKind};
use weephole::inference::{Candidate, Engine};
use weephole::questioner::{Question, open_questions};
use weephole::rulebook::RuleBook;

/// As often as this, and at least so long: the fastest and the median are told.
const LEAST_RUNS: usize = 5;
const LEAST_TIME: Duration = Duration::from_millis(400);

fn main() {
    if stdin().is_terminal() {
        return;
    }
    let book = RuleBook::shipped();
    let engine = Engine::default();
    for line in stdin().lines() {
        let case: Case = serde_json::from_str(&line.unwrap()).unwrap();
        let graph = graph::build(&book, &case.vehicle, None).unwrap();
        let evidence = gather(&book, &graph, &case).evidence;
        let hidden = graph.hidden();
        let failures: Vec<usize> =
            (0..hidden.len()).filter(|&at| graph.get(hidden[at]).kind == NodeKind::Failure).collect();
        let open: Vec<Question> = open_questions(&book, &graph, &case);
        let candidates: Vec<Candidate> = open.iter().map(Question::candidate).collect();
        let ranking = timed(|| {
            engine.posterior(graph.network(), &evidence, &hidden).unwrap();
        });
        let weighing = timed(|| {
            let prepared = engine.prepare_to_weigh(graph.network(), &evidence, &hidden, &failures).unwrap();
            prepared.candidates_on(&candidates, &failures).unwrap();
        });
        let answers: usize = candidates.iter().map(|candidate| candidate.nodes.len() + 1).sum();
        println!("{}", json!({ "ranking": ranking, "candidates": weighing, "answers": answers }));
    }
}

/// The fastest and the median time of a piece of work, in seconds.
fn timed(work: impl Fn()) -> [f64; 2] {
    let mut times = Vec::new();
    let first = Instant::now();
    while times.len() < LEAST_RUNS || first.elapsed() < LEAST_TIME {
        let start = Instant::now();
        work();
        times.push(start.elapsed().as_secs_f64());
    }
    times.sort_by(f64::total_cmp);
    [times[0], times[times.len() / 2]]
}
