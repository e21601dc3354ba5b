//! The shipped book against pyAgrum: frozen values made by `pyagrum_reference.py` beside this file.

use serde_json::Value;
use weephole::case::evidence::gather_answers;
use weephole::case::standing::Likely;
use weephole::case::{Answer, Case, standing};
use weephole::graph::{self, NodeKind};
use weephole::inference::{Candidate, Engine, Method};
use weephole::questioner::all_questions;
use weephole::rulebook::RuleBook;
use weephole::rulebook::entries::Vehicle;

const WITHIN: f64 = 1e-9;

#[test]
fn every_chance_of_the_shipped_book_agrees_with_the_reference_library() {
    let sets: Vec<Value> = serde_json::from_str(include_str!("pyagrum_reference.json")).unwrap();
    assert!(sets.len() >= 40, "{} sets of answers", sets.len());
    let book = RuleBook::shipped();
    let vehicle = Vehicle::default();
    let graph = graph::build(&book, &vehicle, None).unwrap();
    let mut compared = 0;
    for set in &sets {
        let case = set["case"].as_str().unwrap();
        let answers: Vec<Answer> = set["answers"]
            .as_array()
            .unwrap()
            .iter()
            .map(|a| Answer::said(a["ask"].as_str().unwrap(), a["answer"].as_str().unwrap()))
            .collect();
        let gathered = gather_answers(&book, &graph, &vehicle, &answers);
        assert!(gathered.ignored.is_empty(), "{case}: {:?}", gathered.ignored);
        let found = standing(&book, &graph, &Engine::default(), &gathered.evidence).unwrap();
        assert!(found.method.is_exact(), "{case}");
        let log = set["log-evidence"].as_f64().unwrap();
        assert!((found.log_evidence - log).abs() < WITHIN, "{case}: ln P {} and {log}", found.log_evidence);
        for (id, reference) in set["chances"].as_object().unwrap() {
            let among =
                |list: &[Likely]| list.iter().find(|likely| likely.id == *id).map(|likely| likely.chance);
            let chance = among(&found.states).or_else(|| among(&found.history));
            let chance = chance.unwrap_or_else(|| found.chance(id));
            let reference = reference.as_f64().unwrap();
            assert!((chance - reference).abs() < WITHIN, "{case}: {id} {chance} and {reference}");
            compared += 1;
        }
    }
    assert!(compared > 40 * 20, "{compared} chances");
}

/// After a noise or a leak most questions are weighed without the states that have to do with heat: the same chances as with
/// them, to the last digits but two or three.
#[test]
fn questions_weighed_on_failures_alone_get_the_same_chances() {
    let book = RuleBook::shipped();
    let vehicle = book.vehicles["pickup"].clone();
    let graph = graph::build(&book, &vehicle, None).unwrap();
    let (engine, hidden) = (Engine::default(), graph.hidden());
    let failures: Vec<usize> =
        (0..hidden.len()).filter(|&at| graph.get(hidden[at]).kind == NodeKind::Failure).collect();
    let candidates: Vec<Candidate> = all_questions(&book, &graph, &Case::default())
        .iter()
        .map(weephole::questioner::Question::candidate)
        .collect();
    for signs in [&[("grinding-noise", "yes")][..], &[("weep-hole-seepage", "yes"), ("low-coolant", "yes")]] {
        let answers: Vec<Answer> = signs.iter().map(|&(ask, answer)| Answer::said(ask, answer)).collect();
        let evidence = gather_answers(&book, &graph, &vehicle, &answers).evidence;
        let cost =
            |targets: &[usize]| match engine.posterior(graph.network(), &evidence, targets).unwrap().method {
                Method::Exact { cost } => cost.operations,
                Method::Sampled { .. } => f64::INFINITY,
            };
        let alone: Vec<usize> = failures.iter().map(|&at| hidden[at]).collect();
        assert!(cost(&alone) < 0.2 * cost(&hidden), "the states cost most of the work");
        let whole = engine.prepare(graph.network(), &evidence, &hidden).unwrap();
        let narrow = engine.prepare_to_weigh(graph.network(), &evidence, &hidden, &failures).unwrap();
        let whole = whole.candidates_on(&candidates, &failures).unwrap();
        let narrow = narrow.candidates_on(&candidates, &failures).unwrap();
        for (whole, narrow) in whole.iter().zip(&narrow) {
            assert_eq!(whole.outcomes.len(), narrow.outcomes.len());
            for (whole, narrow) in whole.outcomes.iter().zip(&narrow.outcomes) {
                let close = |a: f64, b: f64| (a - b).abs() <= WITHIN * a.max(b).max(1e-9);
                assert!(close(whole.chance, narrow.chance), "{} and {}", whole.chance, narrow.chance);
                for (&a, &b) in whole.marginals.iter().zip(&narrow.marginals) {
                    assert!(close(a, b), "{a} and {b}");
                }
            }
        }
    }
}
