//! Published tables, and frozen answers of two independent eliminations (tests/inference/fixtures.json).
//!
//! Sources of the textbook networks: fever, Russell & Norvig, Artificial Intelligence: A Modern Approach (noisy-OR
//! table); burglary, Pearl 1988 as printed there; sprinkler, the same book; Asia, Lauritzen & Spiegelhalter
//! 1988. Asia, burglary and sprinkler have tables that no noisy-OR gives: they run as full tables.

use std::collections::BTreeMap;

use serde_json::Value;
use weephole::inference::{Candidate, Engine, Evidence, Network, Node, NodeId};

fn fixtures() -> Value {
    serde_json::from_str(include_str!("fixtures.json")).unwrap()
}

struct Named {
    network: Network,
    ids: BTreeMap<String, NodeId>,
}

impl Named {
    fn id(&self, name: &str) -> NodeId {
        self.ids[name]
    }

    fn evidence(&self, json: &Value) -> Evidence {
        let seen = json.as_object().unwrap().iter();
        seen.fold(Evidence::new(), |all, (name, state)| all.observed(self.id(name), state == 1))
    }
}

/// The nodes of a fixture in an order with parents first; full tables where `p1` is given.
fn named(json: &Value) -> Named {
    let mut left: Vec<&Value> = json["nodes"].as_array().unwrap().iter().collect();
    let mut ids: BTreeMap<String, NodeId> = BTreeMap::new();
    let (mut nodes, mut tables) = (Vec::new(), BTreeMap::new());
    let parent_name = |p: &Value| p.as_str().or_else(|| p["name"].as_str()).unwrap().to_owned();
    while !left.is_empty() {
        let before = left.len();
        left.retain(|node| {
            let parents = node["parents"].as_array().unwrap();
            if !parents.iter().all(|p| ids.contains_key(&parent_name(p))) {
                return true;
            }
            let id = nodes.len();
            let weight = |p: &Value| p.get("w").and_then(Value::as_f64).unwrap_or(1.0);
            let links = parents.iter().map(|p| (ids[&parent_name(p)], weight(p))).collect();
            if let Some(rows) = node.get("p1") {
                let mut table = vec![f64::NAN; 1 << parents.len()];
                for (states, chance) in rows.as_object().unwrap() {
                    let bits = states.bytes().enumerate();
                    let index = bits.fold(0, |index, (i, c)| index | usize::from(c == b'1') << i);
                    table[index] = chance.as_f64().unwrap();
                }
                if parents.is_empty() {
                    nodes.push(Node::root(table[0]));
                } else {
                    nodes.push(Node::noisy_or(0.0, links));
                    tables.insert(id, table);
                }
            } else {
                nodes.push(Node::noisy_or(node["leak"].as_f64().unwrap(), links));
            }
            ids.insert(node["name"].as_str().unwrap().to_owned(), id);
            false
        });
        assert!(left.len() < before, "a cycle in the fixture");
    }
    Named { network: Network::with_tables(nodes, tables).unwrap(), ids }
}

fn assert_close(found: f64, wanted: f64, what: &str) {
    assert!((found - wanted).abs() <= 1e-9 * wanted.abs(), "{what}: {found} instead of {wanted}");
}

fn check_posterior(net: &Named, query: &Value, what: &str) -> Evidence {
    let evidence = net.evidence(&query["evidence"]);
    let wanted = query["posterior"].as_object().unwrap();
    let targets: Vec<NodeId> = wanted.keys().map(|name| net.id(name)).collect();
    let answer = Engine::default().posterior(&net.network, &evidence, &targets).unwrap();
    assert!(answer.method.is_exact());
    let log = query["log_p_e"].as_f64().unwrap_or_else(|| query["p_e"].as_f64().unwrap().ln());
    assert!((answer.log_evidence - log).abs() < 1e-9, "{what}: ln P(e) {} not {log}", answer.log_evidence);
    for ((name, wanted), found) in wanted.iter().zip(&answer.marginals) {
        assert_close(*found, wanted.as_f64().unwrap(), &format!("{what}, P({name} | {})", query["evidence"]));
    }
    evidence
}

#[test]
fn textbook_networks_give_their_exact_fractions() {
    let fixtures = fixtures();
    let networks = fixtures["textbook"].as_array().unwrap();
    assert_eq!(networks.len(), 4);
    let mut queries = 0;
    for json in networks {
        let net = named(json);
        for query in json["queries"].as_array().unwrap() {
            check_posterior(&net, query, json["name"].as_str().unwrap());
            queries += 1;
        }
    }
    assert!(queries > 20, "only {queries} queries read");
}

#[test]
fn random_networks_give_the_frozen_answers() {
    let fixtures = fixtures();
    let mut candidates = 0;
    for json in fixtures["random"].as_array().unwrap() {
        let (net, what) = (named(json), json["name"].as_str().unwrap());
        for query in json["queries"].as_array().unwrap() {
            let evidence = check_posterior(&net, query, what);
            for candidate in query["candidates"].as_array().unwrap() {
                let finding = candidate["finding"].as_str().unwrap();
                let targets: Vec<&String> = candidate["post_yes"].as_object().unwrap().keys().collect();
                let ids: Vec<NodeId> = targets.iter().map(|name| net.id(name)).collect();
                let asked = [Candidate::yes_no(net.id(finding))];
                let results = Engine::default().candidates(&net.network, &evidence, &ids, &asked).unwrap();
                let [no, yes] = &results[0].outcomes[..] else { panic!("two outcomes") };
                let p_yes = candidate["p_yes"].as_f64().unwrap();
                assert_close(yes.chance, p_yes, &format!("{what}, P({finding} yes)"));
                assert_close(no.chance, 1.0 - p_yes, &format!("{what}, P({finding} no)"));
                for (key, outcome) in [("post_yes", yes), ("post_no", no)] {
                    for (name, found) in targets.iter().zip(&outcome.marginals) {
                        let wanted = candidate[key][name.as_str()].as_f64().unwrap();
                        assert_close(*found, wanted, &format!("{what}, {finding} {key} {name}"));
                    }
                }
                candidates += 1;
            }
        }
    }
    assert!(candidates >= 30, "only {candidates} candidates read");
}

/// Russell & Norvig, noisy-OR fever table: inhibitions 0.6, 0.2, 0.1; read in two lecture reproductions.
#[test]
fn fever_table() {
    let wanted = [0.0, 0.4, 0.8, 0.88, 0.9, 0.94, 0.98, 0.988];
    let fever = Node::noisy_or(0.0, vec![(0, 0.4), (1, 0.8), (2, 0.9)]);
    let half = || Node::root(0.5);
    let network = Network::new(vec![half(), half(), half(), fever]).unwrap();
    for (states, wanted) in wanted.into_iter().enumerate() {
        let given = (0..3).fold(Evidence::new(), |e, i| e.observed(i, states >> i & 1 == 1));
        let answer = Engine::default().posterior(&network, &given, &[3]).unwrap();
        assert!((answer.marginals[0] - wanted).abs() < 1e-15, "{states:03b}: {}", answer.marginals[0]);
        assert!((network.chance_given(3, |p| states >> p & 1 == 1) - wanted).abs() < 1e-15);
    }
}

/// Net weights (Díez 1993): background .05, weights .4 and .8 give .05, .43, .81, .886. The compound reading
/// (Henrion 1989) would print .4 and .8 for single causes: not ours.
#[test]
fn weights_are_net_of_the_background() {
    let node = Node::noisy_or(0.05, vec![(0, 0.4), (1, 0.8)]);
    let network = Network::new(vec![Node::root(0.5), Node::root(0.5), node]).unwrap();
    for (states, wanted) in [0.05, 0.43, 0.81, 0.886].into_iter().enumerate() {
        assert!((network.chance_given(2, |p| states >> p & 1 == 1) - wanted).abs() < 1e-15);
    }
}

/// Pearl's burglary as printed in Russell & Norvig: P(burglary | both call) = 0.284.
#[test]
fn burglary_as_printed() {
    let fixtures = fixtures();
    let json = fixtures["textbook"].as_array().unwrap().iter().find(|n| n["name"] == "burglary").unwrap();
    let net = named(json);
    let both = Evidence::new().present(net.id("J")).present(net.id("M"));
    let answer = Engine::default().posterior(&net.network, &both, &[net.id("B"), net.id("E")]).unwrap();
    assert_eq!(format!("{:.3}", answer.marginals[0]), "0.284");
    assert!((answer.marginals[0] - 0.284_171_835_364).abs() < 1e-12);
    assert!((answer.marginals[1] - 0.176_066_838_405).abs() < 1e-12);
    assert!((answer.log_evidence.exp() - 0.002_084_100_239).abs() < 1e-12);
    let states = [("J", true), ("M", true), ("A", true), ("B", false), ("E", false)];
    let states = states.map(|(name, state)| (net.id(name), state));
    let joint = Engine::default().joint(&net.network, &Evidence::new(), &states).unwrap();
    assert!((joint - 0.000_628_111_26).abs() < 1e-15);
}

/// Two findings small enough to check by hand; computed with exact fractions, not published.
#[test]
fn two_findings_by_hand() {
    let nodes = vec![
        Node::root(0.1),
        Node::root(0.2),
        Node::noisy_or(0.01, vec![(0, 0.8), (1, 0.3)]),
        Node::noisy_or(0.02, vec![(1, 0.6)]),
    ];
    let network = Network::new(nodes).unwrap();
    for (first, second, p, d1, d2) in [
        (true, true, 0.045_499_904, 45929.0 / 177_734.0, 172_159.0 / 177_734.0),
        (true, false, 0.098_348_096, 4037.0 / 5702.0, 9061.0 / 31361.0),
        (false, true, 0.092_100_096, 1.0 / 46.0, 133.0 / 158.0),
        (false, false, 0.764_051_904, 1.0 / 46.0, 7.0 / 107.0),
    ] {
        let seen = Evidence::new().observed(2, first).observed(3, second);
        let answer = Engine::default().posterior(&network, &seen, &[0, 1]).unwrap();
        assert_close(answer.log_evidence.exp(), p, "P(e)");
        assert_close(answer.marginals[0], d1, "P(d1 | e)");
        assert_close(answer.marginals[1], d2, "P(d2 | e)");
    }
}
