//! Repairs as interventions, credit to causes, and conflict, each against a count over every world.

use std::collections::BTreeSet;

use weephole::explain::comeback::{Comeback, Repair, comeback, comes_back};
use weephole::explain::credit::credit;
use weephole::explain::fit::conflict;
use weephole::explain::pull::Subsets;
use weephole::inference::{Engine, Evidence, Network, Node, NodeId};

use super::worlds::{self, World};

fn close(found: f64, expected: f64, what: &str) {
    assert!((found - expected).abs() < 1e-12, "{what}: {found} instead of {expected}");
}

fn agrees(states: &[bool], seen: &[(NodeId, bool)]) -> bool {
    seen.iter().all(|&(node, state)| states[node] == state)
}

fn evidence(seen: &[(NodeId, bool)]) -> Evidence {
    seen.iter().fold(Evidence::new(), |all, &(node, state)| all.observed(node, state))
}

/// Chance that a lasting cause makes one of the renewed failures come back: its links are drawn afresh.
fn again(network: &Network, repair: &Repair, after: &[bool]) -> f64 {
    let spared: f64 = repair
        .renewed
        .iter()
        .flat_map(|&failure| &network.node(failure).parents)
        .filter(|(parent, _)| !repair.past.contains(parent))
        .map(|&(parent, weight)| if after[parent] { 1.0 - weight } else { 1.0 })
        .product();
    1.0 - spared
}

/// Stays, again, either: counted world by world.
fn counted(network: &Network, seen: &[(NodeId, bool)], repair: &Repair) -> [f64; 3] {
    let mut totals = [0.0; 4];
    for world in worlds::all(network) {
        let World { chance, .. } = world;
        let before = world.states(network, &[], &[]);
        if !agrees(&before, seen) {
            continue;
        }
        let absent: Vec<NodeId> = repair.sound.iter().copied().collect();
        let fixed: Vec<(NodeId, bool)> = repair.lasting.iter().map(|&node| (node, before[node])).collect();
        let after = world.states(network, &absent, &fixed);
        let stays = f64::from(u8::from(repair.complaint.iter().any(|&sign| after[sign])));
        let again = again(network, repair, &after);
        for (total, value) in totals.iter_mut().zip([1.0, stays, again, 1.0 - (1.0 - stays) * (1.0 - again)])
        {
            *total += chance * value;
        }
    }
    [totals[1] / totals[0], totals[2] / totals[0], totals[3] / totals[0]]
}

fn after(network: &Network, seen: &[(NodeId, bool)], repair: &Repair) -> Comeback {
    let (engine, seen) = (Engine::default(), evidence(seen));
    let log = engine.posterior(network, &seen, &[]).unwrap().log_evidence;
    let found = comeback(&engine, network, (&seen, log), repair).unwrap().unwrap();
    let either = comes_back(&engine, network, (&seen, log), repair).unwrap().unwrap();
    close(either, found.either, "asked for alone");
    found
}

fn check(network: &Network, seen: &[(NodeId, bool)], repair: &Repair, what: &str) {
    let expected = counted(network, seen, repair);
    let found = after(network, seen, repair);
    close(found.stays, expected[0], &format!("{what}: stays"));
    close(found.again, expected[1], &format!("{what}: again"));
    close(found.either, expected[2], &format!("{what}: either"));
}

/// Rust (0) wears the seal (1), the seal and the hose (2) both let coolant out (3), which drips (4).
fn seal_or_hose() -> Network {
    Network::new(vec![
        Node::root(0.2),
        Node::noisy_or(0.05, vec![(0, 0.3)]),
        Node::root(0.04),
        Node::noisy_or(0.01, vec![(1, 0.8), (2, 0.9)]),
        Node::noisy_or(0.02, vec![(3, 0.85)]),
    ])
    .unwrap()
}

#[test]
fn a_repair_leaves_what_other_causes_still_bring_on() {
    let network = seal_or_hose();
    let repair = Repair {
        sound: BTreeSet::from([1]),
        renewed: BTreeSet::from([1]),
        lasting: BTreeSet::from([1, 2]),
        complaint: vec![4],
        ..Repair::default()
    };
    check(&network, &[(4, true)], &repair, "drip");
    check(&network, &[(0, true), (4, true)], &repair, "rust and drip");
    // With no rust and a sound hose, only the backgrounds can keep it dripping.
    let seen = [(0, false), (2, false), (4, true)];
    check(&network, &seen, &repair, "neither");
    let left = after(&network, &seen, &repair);
    close(left.again, 0.0, "nothing can bring it on again");
}

#[test]
fn taking_the_cause_away_as_well_lowers_the_chance_but_heals_nothing() {
    let network = seal_or_hose();
    let only_history = Repair {
        sound: BTreeSet::from([0]),
        renewed: BTreeSet::new(),
        lasting: BTreeSet::from([1, 2]),
        complaint: vec![4],
        ..Repair::default()
    };
    let seen = [(0, true), (4, true)];
    check(&network, &seen, &only_history, "rust flushed out, seal not renewed");
    let left = after(&network, &seen, &only_history);
    close(left.stays, 1.0, "a flush heals no seal");
    let both = Repair { sound: BTreeSet::from([0, 1]), renewed: BTreeSet::from([1]), ..only_history };
    check(&network, &seen, &both, "rust flushed out, seal renewed");
    let left = after(&network, &seen, &both);
    close(left.again, 0.0, "the rust is gone");
}

#[test]
fn repairs_on_random_networks_match_a_count_over_every_world() {
    for seed in 0..24 {
        let network = worlds::random(6, seed);
        let last = network.len() - 1;
        for (at, seen) in [
            vec![(last, true)],
            vec![(last, true), (last - 1, false)],
            vec![(last, true), (last - 1, true), (2, true)],
        ]
        .into_iter()
        .enumerate()
        {
            let repair = Repair {
                sound: BTreeSet::from([1, 3]),
                renewed: BTreeSet::from([3]),
                lasting: BTreeSet::from([2, 3]),
                past: if seed % 2 == 0 { BTreeSet::new() } else { BTreeSet::from([0]) },
                complaint: vec![last, last - 1],
            };
            check(&network, &seen, &repair, &format!("network {seed}, evidence {at}"));
        }
    }
}

#[test]
fn credit_is_the_chance_that_the_link_fired() {
    for seed in 0..12 {
        let network = worlds::random(6, seed);
        let last = network.len() - 1;
        let seen = [(last, true), (1, false)];
        let engine = Engine::default();
        let targets: Vec<NodeId> = (0..network.len()).collect();
        let now = engine.posterior(&network, &evidence(&seen), &targets).unwrap();
        for node in 0..network.len() {
            let asked = (node, now.marginals[node], now.log_evidence);
            let found = credit(&engine, &network, &evidence(&seen), asked).unwrap();
            let (mut total, mut own) = (0.0, 0.0);
            let mut fired = vec![0.0; network.node(node).parents.len()];
            for world in worlds::all(&network) {
                let states = world.states(&network, &[], &[]);
                if !agrees(&states, &seen) {
                    continue;
                }
                total += world.chance;
                own += world.chance * f64::from(u8::from(world.background[node]));
                for (at, &(parent, _)) in network.node(node).parents.iter().enumerate() {
                    let did = states[parent] && world.links[node][at];
                    fired[at] += world.chance * f64::from(u8::from(did));
                }
            }
            close(found.own, own / total, "background");
            for (&(_, found), fired) in found.causes.iter().zip(&fired) {
                close(found, fired / total, "link");
            }
        }
    }
}

/// Jensen's measure counted out on a small network: two signs of one cause agree, a sign of a cause that the
/// other denies is in conflict.
#[test]
fn conflict_is_counted_as_jensen_defines_it() {
    // Seal (0) and hose (1); the seal shows as a wet weep hole (2) and rust streaks (3), the hose as a wet hose (4).
    let network = Network::new(vec![
        Node::root(0.02),
        Node::root(0.03),
        Node::noisy_or(0.01, vec![(0, 0.8)]),
        Node::noisy_or(0.02, vec![(0, 0.6)]),
        Node::noisy_or(0.01, vec![(1, 0.9)]),
    ])
    .unwrap();
    let chance = |seen: &[(NodeId, bool)]| -> f64 {
        worlds::all(&network)
            .iter()
            .filter(|world| agrees(&world.states(&network, &[], &[]), seen))
            .map(|world| world.chance)
            .sum()
    };
    let measured = |seen: &[(NodeId, bool)]| {
        let pieces: Vec<Evidence> = seen.iter().map(|&piece| evidence(&[piece])).collect();
        let (engine, record) = (Engine::default(), Evidence::new());
        let mut subsets = Subsets::new(&engine, &network, &record, &pieces, &[0, 1]);
        let pulls = subsets.pulls(64, 1).unwrap();
        conflict(&pulls.log_alone, pulls.log_all)
    };
    let by_hand = |seen: &[(NodeId, bool)]| {
        let alone: f64 = seen.iter().map(|&piece| chance(&[piece])).product();
        (alone / chance(seen)).log2()
    };
    for seen in [
        vec![(2, true), (3, true)],
        vec![(2, true), (3, false)],
        vec![(2, true), (3, true), (4, true)],
        vec![(2, false), (3, true), (4, true)],
    ] {
        close(measured(&seen), by_hand(&seen), "conflict");
    }
    assert!(measured(&[(2, true), (3, true)]) < 0.0, "two signs of one fault support each other");
    assert!(measured(&[(2, false), (3, true)]) > 0.0, "a sign without its usual companion is in conflict");
}
