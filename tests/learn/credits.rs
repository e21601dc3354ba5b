//! The expectation step: worked figures, another way of working it out, and what must not count.

use std::collections::BTreeMap;

use proptest::prelude::*;
use weephole::inference::{Engine, Evidence, Network, Node, NodeId};
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

    /// The credits equal those read off the same network spelt out: a node for every link, there when it fired.
    #[test]
    fn credits_equal_those_of_the_network_spelt_out(drawn in drawn()) {
        let engine = Engine::default();
        let sheet = sheet(&drawn);
        let credits = expect(&engine, &sheet, &drawn.values, 0.0).unwrap();
        let mut nodes: Vec<Node> = Vec::new();
        let mut place: Vec<NodeId> = Vec::new();
        let mut fires: BTreeMap<usize, NodeId> = BTreeMap::new();
        for node in &drawn.nodes {
            let mut links = Vec::new();
            for (cause, slot) in [(None, node.own)].into_iter().chain(node.causes.iter().map(|&(c, s)| (Some(c), s))) {
                let chance = slot.chance(&drawn.values);
                nodes.push(match cause {
                    None => Node::root(chance),
                    Some(cause) => Node::noisy_or(0.0, vec![(place[cause], chance)]),
                });
                fires.insert(slot.parameter.unwrap(), nodes.len() - 1);
                links.push(nodes.len() - 1);
            }
            nodes.push(Node::any_of(links));
            place.push(nodes.len() - 1);
        }
        let evidence = drawn.states.iter().enumerate().fold(Evidence::new(), |all, (node, state)| match state {
            Some(there) => all.observed(place[node], *there),
            None => all,
        });
        let network = Network::new(nodes).unwrap();
        let all: Vec<NodeId> = (0..network.len()).collect();
        let wanted = engine.posterior(&network, &evidence, &all).unwrap();
        prop_assert!((wanted.log_evidence - credits.log_evidence).abs() < 1e-9);
        for term in &credits.terms {
            let wanted = wanted.marginals[fires[&term.parameter()]];
            prop_assert!((term.fired - wanted).abs() < 1e-9, "{}: {} is not {wanted}", term.parameter(), term.fired);
        }
    }

    /// Credit shared out in proportion is never off by more than the stated chance, and its sum is the same.
    #[test]
    fn slight_effects_share_their_credit(drawn in drawn()) {
        let sheet = sheet(&drawn);
        let exact = expect(&Engine::default(), &sheet, &drawn.values, 0.0).unwrap();
        let quick = expect(&Engine::default(), &sheet, &drawn.values, 0.1).unwrap();
        prop_assert_eq!(exact.terms.len(), quick.terms.len());
        for (exact, quick) in exact.terms.iter().zip(&quick.terms) {
            prop_assert!((exact.fired - quick.fired).abs() <= 0.1 + 1e-12);
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
