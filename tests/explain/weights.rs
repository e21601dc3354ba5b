//! Weight of evidence against published figures and against its own laws.

use std::collections::BTreeMap;

use weephole::explain::pull::{Pulls, Subsets, decibans};
use weephole::inference::{Engine, Evidence, Network, Node, NodeId};

use super::worlds;

fn weigh(network: &Network, seen: &[(NodeId, bool)], targets: &[NodeId], budget: usize) -> Pulls {
    let pieces: Vec<Evidence> =
        seen.iter().map(|&(node, state)| Evidence::new().observed(node, state)).collect();
    let (engine, record) = (Engine::default(), Evidence::new());
    Subsets::new(&engine, network, &record, &pieces, targets).pulls(budget, 7).unwrap()
}

fn close(found: f64, expected: f64, within: f64, what: &str) {
    assert!((found - expected).abs() < within, "{what}: {found} instead of {expected}");
}

/// A hypothesis with `prior` and `count` signs, each with the same chance given it and without it.
fn signs(prior: f64, given: f64, without: f64, count: usize) -> Network {
    let mut nodes = vec![Node::root(prior)];
    // Net weights: P(sign | h) = 1 - (1 - without)(1 - w).
    nodes.extend(
        (0..count).map(|_| Node::noisy_or(without, vec![(0, 1.0 - (1.0 - given) / (1.0 - without))])),
    );
    Network::new(nodes).unwrap()
}

/// Twenty heads of a penny: 3 decibans each, from -40 to 20 (General Report on Tunny, page 39; exact figures
/// recomputed: 3.0103 each, 20.205999 in the end).
#[test]
fn twenty_heads_speak_for_the_double_headed_penny_as_turing_has_it() {
    let network = signs(1.0 / 10_001.0, 1.0, 0.5, 20);
    let seen: Vec<(NodeId, bool)> = (1..=20).map(|sign| (sign, true)).collect();
    let found = weigh(&network, &seen, &[0], 200);
    close(found.start[0], -40.0, 1e-9, "start");
    for pull in &found.pulls[0] {
        close(pull.in_order, 3.010_299_956_639_812, 1e-9, "each head");
        close(pull.alone, pull.in_order, 1e-9, "first or later");
        close(pull.fair, pull.in_order, 1e-9, "in any order");
    }
    close(found.end[0], 20.205_999_132_796_24, 1e-9, "end");
}

/// Jaynes' widgets: one third against one sixth bad, prior 1/11. Bad +3.0103 db, good -0.9691 db; six of each
/// +2.2472 db in the end (recomputed exactly; the prior and chances are the published ones).
#[test]
fn widgets_good_and_bad() {
    let network = signs(1.0 / 11.0, 1.0 / 3.0, 1.0 / 6.0, 12);
    let seen: Vec<(NodeId, bool)> = (1..=12).map(|sign| (sign, sign % 2 == 0)).collect();
    let found = weigh(&network, &seen, &[0], 100);
    close(found.start[0], -10.0, 1e-9, "start");
    close(found.pulls[0][1].in_order, 3.010_299_956_6, 1e-9, "bad");
    close(found.pulls[0][0].in_order, -0.969_100_130_1, 1e-9, "good");
    close(found.end[0], 2.247_2, 1e-4, "end");
}

/// Prevalence 0.01, sensitivity 0.8, false alarms 0.096: a ratio of 8.3333, 9.2082 db.
#[test]
fn one_test_of_a_rare_disease() {
    let network = signs(0.01, 0.8, 0.096, 1);
    let found = weigh(&network, &[(1, true)], &[0], 8);
    close(found.pulls[0][0].alone, 9.208_187_539_5, 1e-9, "the test");
}

/// Asia (Lauritzen & Spiegelhalter 1988): A, S, T, L, B, E, X, D. D is a full table over E and B.
fn asia() -> Network {
    let up = |without: f64, with: f64| 1.0 - (1.0 - with) / (1.0 - without);
    let nodes = vec![
        Node::root(0.01),
        Node::root(0.5),
        Node::noisy_or(0.01, vec![(0, up(0.01, 0.05))]),
        Node::noisy_or(0.01, vec![(1, up(0.01, 0.1))]),
        Node::noisy_or(0.3, vec![(1, up(0.3, 0.6))]),
        Node::any_of([2, 3]),
        Node::noisy_or(0.05, vec![(5, up(0.05, 0.98))]),
        Node::noisy_or(0.1, vec![(4, 0.5), (5, 0.5)]),
    ];
    // Bit 0 is bronchitis (node 4), bit 1 is "either" (node 5).
    Network::with_tables(nodes, BTreeMap::from([(7, vec![0.1, 0.8, 0.7, 0.9])])).unwrap()
}

/// Weights in order in Asia, worked out from its published rows: for lung cancer D +2.939809268198, then X
/// +11.560071143109, then S +2.032892062773; X first gives +12.154554815486. The whole stays +16.532772474080.
#[test]
fn in_asia_the_order_changes_the_parts_but_not_the_whole() {
    let found = weigh(&asia(), &[(7, true), (6, true), (1, true)], &[3], 64);
    let pulls = &found.pulls[0];
    close(pulls[0].in_order, 2.939_809_268_198, 1e-9, "D first");
    close(pulls[1].in_order, 11.560_071_143_109, 1e-9, "then X");
    close(pulls[2].in_order, 2.032_892_062_773, 1e-9, "then S");
    close(pulls[1].alone, 12.154_554_815_486, 1e-9, "X first");
    close(pulls.iter().map(|pull| pull.in_order).sum(), 16.532_772_474_080, 1e-9, "in order");
    close(pulls.iter().map(|pull| pull.fair).sum(), 16.532_772_474_080, 1e-9, "in no order");
    let reordered = weigh(&asia(), &[(1, true), (6, true), (7, true)], &[3], 64);
    for (here, there) in [(0, 2), (1, 1), (2, 0)] {
        close(reordered.pulls[0][here].fair, pulls[there].fair, 1e-9, "the fair weight has no order");
    }
    assert!((reordered.pulls[0][2].in_order - pulls[0].in_order).abs() > 0.1);
}

/// Pearl's burglary alarm: given the alarm, an earthquake explains the burglary away (0.3736 to 0.0033).
#[test]
fn the_earthquake_explains_the_burglary_away() {
    // A given B and E is a full table: bit 0 burglary, bit 1 earthquake.
    let nodes = vec![Node::root(0.001), Node::root(0.002), Node::noisy_or(0.001, vec![(0, 0.9), (1, 0.2)])];
    let network = Network::with_tables(nodes, BTreeMap::from([(2, vec![0.001, 0.94, 0.29, 0.95])])).unwrap();
    let pieces = [Evidence::new().present(2), Evidence::new().present(1)];
    let (engine, record) = (Engine::default(), Evidence::new());
    let mut subsets = Subsets::new(&engine, &network, &record, &pieces, &[0]);
    let found = subsets.interplay(0, 1.0).unwrap();
    assert_eq!(found.len(), 1);
    let alone = decibans(0.373_551_228_282) - decibans(0.001);
    let explained = decibans(0.003_268_423_588) - decibans(0.001);
    close(found[0].first_without, alone, 1e-6, "the alarm by itself");
    close(found[0].first_with, explained, 1e-6, "the alarm beside the earthquake");
    assert!(found[0].together() < -20.0, "they take from each other");
}

/// Every order-free weight is the mean over all orders, counted one by one.
#[test]
fn the_fair_weight_is_the_mean_over_all_orders() {
    for seed in 0..6 {
        let network = worlds::random(7, 100 + seed);
        let seen = [(6, true), (5, false), (4, true), (3, true)];
        let exact = weigh(&network, &seen, &[0, 1], 16);
        assert_eq!(exact.orders, None);
        let mut means = [[0.0; 4]; 2];
        let orders = permutations(4);
        for order in &orders {
            let reordered: Vec<(NodeId, bool)> = order.iter().map(|&at| seen[at]).collect();
            let found = weigh(&network, &reordered, &[0, 1], 16);
            for (target, mean) in means.iter_mut().enumerate() {
                for (place, &at) in order.iter().enumerate() {
                    mean[at] += found.pulls[target][place].in_order / orders.len() as f64;
                }
            }
        }
        for target in 0..2 {
            for at in 0..4 {
                close(exact.pulls[target][at].fair, means[target][at], 1e-9, "mean");
            }
        }
    }
}

/// With too little to spend on every order, drawn orders still add up, and say how far off each part may be.
#[test]
fn drawn_orders_add_up_and_state_their_error() {
    let network = worlds::random(11, 3);
    let seen: Vec<(NodeId, bool)> = (2..11).map(|node| (node, node % 3 != 0)).collect();
    let exact = weigh(&network, &seen, &[0], 512);
    let drawn = weigh(&network, &seen, &[0], 300);
    assert_eq!((exact.orders, drawn.orders), (None, Some(32)));
    let sum: f64 = drawn.pulls[0].iter().map(|pull| pull.fair).sum();
    close(sum, drawn.end[0] - drawn.start[0], 1e-9, "sum");
    for (drawn, exact) in drawn.pulls[0].iter().zip(&exact.pulls[0]) {
        close(drawn.fair, exact.fair, 5.0 * drawn.fair_error + 1e-9, "within five standard errors");
    }
}

fn permutations(count: usize) -> Vec<Vec<usize>> {
    if count == 0 {
        return vec![Vec::new()];
    }
    permutations(count - 1)
        .into_iter()
        .flat_map(|order| {
            (0..count).map(move |place| {
                let mut longer = order.clone();
                longer.insert(place, count - 1);
                longer
            })
        })
        .collect()
}
