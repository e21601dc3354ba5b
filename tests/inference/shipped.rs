//! The shipped book against pyAgrum: frozen values made by `pyagrum_reference.py` beside this file.

use serde_json::Value;
use weephole::case::evidence::gather_answers;
use weephole::case::standing::Likely;
use weephole::case::{Answer, standing};
use weephole::graph;
use weephole::inference::Engine;
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
