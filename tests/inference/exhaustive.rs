//! Random small networks against exhaustive enumeration in exact rationals.

use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;
use weephole::inference::{Candidate, Engine, Evidence, InferenceError, Network, Node, NodeId};

use super::enumeration::{Enumeration, float};

/// Numbers with few binary digits keep the rationals short; some are very small, some are 0 or 1.
fn chance() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => (1_u32..1024).prop_map(|k| f64::from(k) / 1024.0),
        3 => (1_u32..64, 10_i32..24).prop_map(|(k, e)| f64::from(k) * (-f64::from(e) - 6.0).exp2()),
        1 => prop_oneof![Just(0.0), Just(1.0)],
    ]
}

#[derive(Debug, Clone)]
struct Case {
    network: Network,
    evidence: Evidence,
}

fn case() -> impl Strategy<Value = Case> {
    (3_usize..10).prop_flat_map(|len| {
        let node = |id: usize| {
            let links = proptest::collection::vec(proptest::option::weighted(0.45, chance()), id);
            (chance(), links).prop_map(|(background, links)| {
                let parents = links.into_iter().enumerate().filter_map(|(p, w)| w.map(|w| (p, w)));
                Node::noisy_or(background, parents.collect())
            })
        };
        let nodes: Vec<_> = (0..len).map(node).collect();
        let observation = prop_oneof![
            4 => Just(None),
            3 => any::<bool>().prop_map(|state| Some(if state { (0.0, 1.0) } else { (1.0, 0.0) })),
            2 => (chance(), chance()).prop_map(Some),
        ];
        let observations = proptest::collection::vec(observation, len);
        let table = (proptest::sample::subsequence((0..len).collect::<Vec<_>>(), 1..=3), any::<bool>())
            .prop_flat_map(|(nodes, exclusive)| {
                let size = 1 << nodes.len();
                proptest::collection::vec(chance(), size).prop_map(move |mut values| {
                    for (i, value) in values.iter_mut().enumerate() {
                        if exclusive && i.count_ones() > 1 {
                            *value = 0.0;
                        }
                    }
                    (nodes.clone(), values)
                })
            });
        let tables = proptest::collection::vec(table, 0..=2);
        (nodes, observations, tables).prop_map(|(nodes, observations, tables)| {
            let mut evidence = Evidence::new();
            for (id, pair) in observations.into_iter().enumerate() {
                if let Some((absent, present)) = pair {
                    evidence = evidence.likelihood(id, absent, present);
                }
            }
            for (nodes, values) in tables {
                evidence = evidence.table(&nodes, values);
            }
            Case { network: Network::new(nodes).unwrap(), evidence }
        })
    })
}

fn close(found: f64, wanted: f64) -> bool {
    (found - wanted).abs() <= 1e-9 * wanted.abs()
}

fn config() -> ProptestConfig {
    let regressions = FileFailurePersistence::Direct("tests/inference/regressions.txt");
    ProptestConfig {
        cases: 192,
        failure_persistence: Some(Box::new(regressions)),
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn every_answer_equals_enumeration(case in case(), picks in proptest::collection::vec(any::<u32>(), 4)) {
        let Case { network, evidence } = case;
        let truth = Enumeration::new(&network, &evidence);
        let all: Vec<NodeId> = (0..network.len()).collect();
        let engine = Engine::default();
        let total = float(&truth.weight(&[]));
        let answer = engine.posterior(&network, &evidence, &all);
        if total == 0.0 {
            prop_assert_eq!(answer.unwrap_err(), InferenceError::Impossible);
            return Ok(());
        }
        let answer = answer.unwrap();
        prop_assert!(close(answer.log_evidence.exp(), total), "{} {}", answer.log_evidence.exp(), total);
        for (&node, &found) in all.iter().zip(&answer.marginals) {
            let wanted = truth.chance(&[(node, true)]);
            prop_assert!(close(found, wanted), "node {}: {} instead of {}", node, found, wanted);
        }
        // A few targets alone, in any order: other nodes may then be barren.
        let some: Vec<NodeId> = picks.iter().map(|&p| p as usize % network.len()).collect();
        let partial = engine.posterior(&network, &evidence, &some).unwrap();
        for (&node, &found) in some.iter().zip(&partial.marginals) {
            prop_assert!(close(found, truth.chance(&[(node, true)])));
        }
        let mut states: Vec<(NodeId, bool)> = some.iter().map(|&n| (n, picks[0] >> n & 1 == 1)).collect();
        states.sort_unstable();
        states.dedup();
        let joint = engine.joint(&network, &evidence, &states).unwrap();
        prop_assert!(close(joint, truth.chance(&states)));
    }

    #[test]
    fn candidates_equal_enumeration(case in case(), split in any::<u32>()) {
        let Case { network, evidence } = case;
        let truth = Enumeration::new(&network, &evidence);
        prop_assume!(float(&truth.weight(&[])) > 0.0);
        let all: Vec<NodeId> = (0..network.len()).collect();
        let mut candidates: Vec<Candidate> = all.iter().map(|&n| Candidate::yes_no(n)).collect();
        let picked: Vec<NodeId> = all.iter().copied().filter(|&n| split >> n & 1 == 1).take(3).collect();
        if !picked.is_empty() {
            candidates.push(Candidate::exclusive(picked));
        }
        // Weighed on some targets only, the others may be done without.
        let few: Vec<NodeId> = all.iter().copied().filter(|&n| split.rotate_left(11) >> n & 1 == 1).collect();
        let engine = Engine::default();
        let to_weigh = engine.prepare_to_weigh(&network, &evidence, &all, &few).unwrap();
        for candidate in &candidates {
            let found = engine.candidates(&network, &evidence, &all, std::slice::from_ref(candidate));
            let on_few = to_weigh.candidates_on(std::slice::from_ref(candidate), &few);
            let outcome = |o: usize| -> Vec<(NodeId, bool)> {
                candidate.nodes.iter().enumerate().map(|(i, &n)| (n, i + 1 == o)).collect()
            };
            let weights: Vec<_> = (0..=candidate.nodes.len()).map(|o| truth.weight(&outcome(o))).collect();
            let total: num_rational::BigRational = weights.iter().sum();
            if float(&total) == 0.0 {
                prop_assert_eq!(found.unwrap_err(), InferenceError::Impossible);
                prop_assert_eq!(on_few.unwrap_err(), InferenceError::Impossible);
                continue;
            }
            let (found, on_few) = (found.unwrap(), on_few.unwrap());
            prop_assert_eq!(found[0].outcomes.len(), weights.len());
            for (o, (weight, result)) in weights.iter().zip(&found[0].outcomes).enumerate() {
                let wanted = float(&(weight / &total));
                prop_assert!(close(result.chance, wanted), "{:?} outcome {}: {} instead of {}", candidate, o, result.chance, wanted);
                prop_assert!(close(on_few[0].outcomes[o].chance, wanted));
                if wanted == 0.0 {
                    continue;
                }
                for (&node, &found) in few.iter().zip(&on_few[0].outcomes[o].marginals) {
                    let mut states = outcome(o);
                    states.push((node, true));
                    let wanted = float(&(truth.weight(&states) / weight));
                    prop_assert!(close(found, wanted), "{:?} outcome {} node {} of few: {} instead of {}", candidate, o, node, found, wanted);
                }
                for &node in &all {
                    let mut states = outcome(o);
                    states.push((node, true));
                    let wanted = float(&(truth.weight(&states) / weight));
                    let found = result.marginals[node];
                    prop_assert!(close(found, wanted), "{:?} outcome {} node {}: {} instead of {}", candidate, o, node, found, wanted);
                }
            }
        }
    }
}
