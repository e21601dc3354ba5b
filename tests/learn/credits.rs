//! The expectation step: worked figures, another way of working it out, and what must not count.

use proptest::prelude::*;
use weephole::explain::credit::credit;
use weephole::inference::{Engine, NodeId};
use weephole::learn::expect::{Expectation, expect};
use weephole::learn::{Sheet, SheetNode, Slot};

use super::{near, node, seen};

fn fired(expectation: &Expectation, parameter: usize) -> f64 {
    expectation.terms.iter().filter(|term| term.parameter() == parameter).map(|term| term.fired).sum()
}

/// Two causes with weights 0.4 and 0.8, background 0.05: figures recomputed from the equations by hand.
#[test]
fn known_causes_share_the_credit() {
    let nodes =
        [node(Slot::fixed(0.1), &[]), node(Slot::fixed(0.05), &[]), node(Slot::of(2), &[(0, 0), (1, 1)])];
    let values = [0.4, 0.8, 0.05];
    let case = seen(&nodes, &[(0, true), (1, true), (2, true)]);
    let credits = expect(&Engine::default(), &case, &values, 0.0).unwrap();
    near(fired(&credits, 0), 0.451_467_268_623, 1e-12);
    near(fired(&credits, 1), 0.902_934_537_246, 1e-12);
    near(fired(&credits, 2), 0.056_433_408_578, 1e-12);
    // The causes hidden.
    let case = seen(&nodes, &[(2, true)]);
    let credits = expect(&Engine::default(), &case, &values, 0.0).unwrap();
    near(credits.log_evidence.exp(), 0.124_48, 1e-14);
    near(fired(&credits, 0), 0.321_336_760_925, 1e-12);
    near(fired(&credits, 1), 0.321_336_760_925, 1e-12);
    near(fired(&credits, 2), 0.401_670_951_157, 1e-12);
    near(credits.terms.iter().find(|t| t.parameter() == 0).unwrap().could, 0.363_753_213_368, 1e-12);
    near(credits.terms.iter().find(|t| t.parameter() == 1).unwrap().could, 0.328_406_169_666, 1e-12);
    // Nothing there: nothing fired, though it could have.
    let case = seen(&nodes, &[(0, true), (2, false)]);
    let credits = expect(&Engine::default(), &case, &values, 0.0).unwrap();
    near(credits.terms.iter().map(|term| term.fired).sum(), 0.0, 0.0);
    near(credits.terms.iter().find(|t| t.parameter() == 0).unwrap().could, 1.0, 0.0);
}

/// What nothing was seen of says nothing: counting it would only confirm the book.
#[test]
fn a_case_says_nothing_about_what_it_does_not_touch() {
    let nodes = [
        node(Slot::of(0), &[]),
        node(Slot::of(1), &[(0, 2)]),
        node(Slot::of(3), &[(0, 4)]),
        node(Slot::of(5), &[(0, 6)]),
    ];
    let values = [0.1, 0.02, 0.7, 0.03, 0.6, 0.04, 0.5];
    let mut case = seen(&nodes, &[(1, true), (3, false)]);
    let told = |case: &Sheet| -> Vec<usize> {
        let mut told: Vec<usize> = expect(&Engine::default(), case, &values, 0.0)
            .unwrap()
            .terms
            .iter()
            .map(weephole::learn::expect::Term::parameter)
            .collect();
        told.sort_unstable();
        told
    };
    assert_eq!(told(&case), [0, 1, 2, 5, 6]);
    // The complaint's own numbers are not moved by it; what it says about its cause still counts.
    case.uncounted = vec![1];
    assert_eq!(told(&case), [0, 5, 6]);
    let cause = expect(&Engine::default(), &case, &values, 0.0).unwrap();
    assert!(fired(&cause, 0) > 0.5);
}

#[derive(Debug, Clone)]
struct Drawn {
    nodes: Vec<SheetNode>,
    values: Vec<f64>,
    states: Vec<Option<bool>>,
    other: f64,
}

/// Small networks, every number a parameter of its own.
fn drawn() -> impl Strategy<Value = Drawn> {
    (3_usize..9).prop_flat_map(|len| {
        let links = proptest::collection::vec(any::<bool>(), len * len);
        let numbers = proptest::collection::vec(0.01_f64..0.99, len * len + len);
        let states = proptest::collection::vec(proptest::option::weighted(0.5, any::<bool>()), len);
        (links, numbers, states, 0.01_f64..0.99).prop_map(move |(links, values, states, other)| {
            let nodes = (0..len)
                .map(|id| {
                    let causes: Vec<(NodeId, usize)> = (0..id)
                        .filter(|cause| links[id * len + cause])
                        .map(|c| (c, len + id * len + c))
                        .collect();
                    node(Slot::of(id), &causes)
                })
                .collect();
            Drawn { nodes, values, states, other }
        })
    })
}

fn sheet(drawn: &Drawn) -> Sheet {
    let states: Vec<(NodeId, bool)> =
        drawn.states.iter().enumerate().filter_map(|(node, state)| Some((node, (*state)?))).collect();
    seen(&drawn.nodes, &states)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    /// The credits equal those worked out by cutting each effect from its causes, another way altogether.
    #[test]
    fn credits_equal_those_of_cutting_the_effect_off(drawn in drawn()) {
        let engine = Engine::default();
        let sheet = sheet(&drawn);
        let credits = expect(&engine, &sheet, &drawn.values, 0.0).unwrap();
        let network = sheet.network(&drawn.values).unwrap();
        let all: Vec<NodeId> = (0..network.len()).collect();
        let chances = engine.posterior(&network, &sheet.answers, &all).unwrap();
        prop_assert!((chances.log_evidence - credits.log_evidence).abs() < 1e-9);
        let len = network.len();
        for term in &credits.terms {
            let p = term.parameter();
            let (effect, cause) = if p < len { (p, None) } else { ((p - len) / len, Some((p - len) % len)) };
            let asked = (effect, chances.marginals[effect], chances.log_evidence);
            let whole = credit(&engine, &network, &sheet.answers, asked).unwrap();
            let wanted = match cause {
                None => whole.own,
                Some(cause) => whole.causes.iter().find(|&&(node, _)| node == cause).unwrap().1,
            };
            prop_assert!((term.fired - wanted).abs() < 1e-9, "{p}: {} is not {wanted}", term.fired);
        }
    }

    /// The likelihood with one number changed, foretold from the credits, equals the one worked out anew.
    #[test]
    fn a_changed_number_changes_the_likelihood_as_foretold(drawn in drawn()) {
        let engine = Engine::default();
        let sheet = sheet(&drawn);
        let credits = expect(&engine, &sheet, &drawn.values, 0.0).unwrap();
        for term in &credits.terms {
            let p = term.parameter();
            let mut values = drawn.values.clone();
            values[p] = drawn.other;
            let anew = expect(&engine, &sheet, &values, 0.0).unwrap().log_evidence;
            let foretold = term.ratio(drawn.values[p], drawn.other).ln();
            prop_assert!((anew - credits.log_evidence - foretold).abs() < 1e-8);
        }
    }
}
