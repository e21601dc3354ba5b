//! The exports: networks of small tables give the same chances, pictures and tables hold what they should.

use std::collections::BTreeMap;
use std::fs;

use assert_cmd::Command;
use serde_json::Value;
use weephole::graph::{self, CauseGraph, NodeKind};
use weephole::inference::{Engine, Evidence, Network, Node, NodeId};
use weephole::report::export::{Table, View, bif, csv, dot, json, svg, tables, xmlbif};
use weephole::rulebook::RuleBook;
use weephole::rulebook::entries::Vehicle;

use super::near;

fn shipped() -> (RuleBook, CauseGraph) {
    let book = RuleBook::shipped();
    let graph = graph::build(&book, &Vehicle::default(), None).unwrap();
    (book, graph)
}

/// A network of full tables.
fn network(tables: &[Table]) -> Network {
    let nodes = tables
        .iter()
        .map(|table| Node::noisy_or(0.5, table.parents.iter().map(|&parent| (parent, 0.5)).collect()))
        .collect();
    let full = tables.iter().enumerate().map(|(at, table)| (at, table.present.clone())).collect();
    Network::with_tables(nodes, full).unwrap()
}

/// BIF read back by a reader of its own.
fn read_bif(text: &str) -> Vec<Table> {
    let mut place: BTreeMap<String, usize> = BTreeMap::new();
    let mut tables: Vec<Table> = Vec::new();
    for line in text.lines() {
        if let Some(rest) = line.strip_prefix("variable ") {
            let name = rest.split(' ').next().unwrap().to_owned();
            place.insert(name.clone(), place.len());
            assert!(name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_'), "{name}");
        } else if let Some(rest) = line.strip_prefix("probability ( ") {
            let (name, parents) = match rest.trim_end_matches(" ) {").split_once(" | ") {
                Some((name, parents)) => (name, parents.split(", ").map(|parent| place[parent]).collect()),
                None => (rest.trim_end_matches(" ) {"), Vec::new()),
            };
            assert_eq!(place[name], tables.len());
            let present = vec![f64::NAN; 1 << parents.len()];
            tables.push(Table { name: name.to_owned(), node: None, parents, present });
        } else if let Some(rest) = line.trim_start().strip_prefix("table ") {
            let yes = rest.trim_end_matches(';').split(", ").nth(1).unwrap().parse().unwrap();
            tables.last_mut().unwrap().present[0] = yes;
        } else if let Some((states, chances)) =
            line.trim_start().strip_prefix('(').and_then(|l| l.split_once(") "))
        {
            let index = states
                .split(", ")
                .enumerate()
                .fold(0, |index, (bit, state)| index | usize::from(state == "yes") << bit);
            let pair: Vec<f64> =
                chances.trim_end_matches(';').split(", ").map(|chance| chance.parse().unwrap()).collect();
            near(pair[0] + pair[1], 1.0, 1e-15);
            tables.last_mut().unwrap().present[index] = pair[1];
        }
    }
    tables
}

/// The whole shipped book, written as BIF and read back: the same chances of everything that may have brought on a sign with
/// many causes. (A reader that knows only tables takes minutes over all nodes; `export_reference.py` asks for them all.)
#[test]
fn small_tables_give_the_same_chances_as_the_noisy_or() {
    let (book, graph) = shipped();
    let made = tables(&graph);
    let read = read_bif(&bif(&graph));
    assert_eq!(read.len(), made.len());
    for (read, made) in read.iter().zip(&made) {
        assert_eq!((&read.name, &read.parents, &read.present), (&made.name, &made.parents, &made.present));
        assert!(made.present.len() <= 8);
    }
    let mut place: Vec<NodeId> = vec![0; graph.len()];
    made.iter().enumerate().for_each(|(at, table)| place[table.node.unwrap_or(0)] = at);
    // Node 0 is a table of its own; helpers must not have taken its place.
    place[0] = made.iter().position(|table| table.node == Some(0)).unwrap();
    let spread = network(&read);
    let symptoms = graph.of_kind(NodeKind::Symptom);
    let many = |node: &&NodeId| (6..10).contains(&graph.causes(**node).len());
    let busiest = *symptoms.iter().find(many).expect("the book has no sign with many causes");
    let failure = graph.of_kind(NodeKind::Failure)[3];
    let sets: [&[(NodeId, bool)]; 3] = [&[], &[(busiest, true)], &[(busiest, false), (failure, true)]];
    for seen in sets {
        let evidence = |at: &dyn Fn(NodeId) -> NodeId| {
            seen.iter().fold(Evidence::new(), |all, &(node, there)| all.observed(at(node), there))
        };
        let targets: Vec<NodeId> = graph.causes(busiest).into_iter().map(|(cause, _)| cause).collect();
        let moved: Vec<NodeId> = targets.iter().map(|&node| place[node]).collect();
        let wanted = Engine::default().posterior(graph.network(), &evidence(&|node| node), &targets).unwrap();
        let found = Engine::default().posterior(&spread, &evidence(&|node| place[node]), &moved).unwrap();
        assert!(wanted.method.is_exact() && found.method.is_exact());
        near(found.log_evidence, wanted.log_evidence, 1e-9);
        for (&node, (&found, &wanted)) in targets.iter().zip(found.marginals.iter().zip(&wanted.marginals)) {
            assert!((found - wanted).abs() < 1e-10, "{}: {found} is not {wanted}", graph.key(node));
        }
    }
    drop(book);
}

#[test]
fn both_formats_name_the_same_nodes() {
    let (_, graph) = shipped();
    let count = tables(&graph).len();
    let xml = xmlbif(&graph);
    assert_eq!(xml.matches("<VARIABLE ").count(), count);
    assert_eq!(xml.matches("<DEFINITION>").count(), count);
    assert_eq!(bif(&graph).matches("\nvariable ").count(), count);
}

#[test]
fn the_dump_holds_every_number() {
    let (book, graph) = shipped();
    let mut view = View::whole(&book, &graph);
    view.nodes = (0..graph.len()).collect();
    let dump = json(&view);
    let nodes = dump["nodes"].as_array().unwrap();
    let rebuilt = Network::new(
        nodes
            .iter()
            .map(|node| {
                let parents = node["parents"].as_array().unwrap().iter().map(|parent| {
                    let id = usize::try_from(parent["id"].as_u64().unwrap()).unwrap();
                    (id, parent["weight"].as_f64().unwrap())
                });
                Node::noisy_or(node["background"].as_f64().unwrap(), parents.collect())
            })
            .collect(),
    )
    .unwrap();
    assert_eq!(&rebuilt, graph.network());
}

#[test]
fn around_a_node_stand_its_causes_and_effects() {
    let (book, graph) = shipped();
    let centre =
        *graph.of_kind(NodeKind::State).iter().max_by_key(|&&node| graph.causes(node).len()).unwrap();
    let view = View::around(&book, &graph, centre, 1);
    let expected = graph.causes(centre).len()
        + graph.effects(centre).iter().filter(|(node, _)| graph.get(*node).kind != NodeKind::Part).count();
    assert_eq!(view.nodes.len(), expected + 1);
    let drawn = svg(&view);
    assert_eq!(
        drawn.matches("<rect x=").count() - drawn.matches("y=\"42\" width=\"14\"").count(),
        view.nodes.len()
    );
    assert_eq!(drawn.matches("<path ").count(), view.links().len());
    assert_eq!(dot(&view).matches(" -> ").count(), view.links().len());
    assert_eq!(csv(&view).lines().count(), 1 + view.nodes.len() + view.links().len());
    // A part is drawn with its failures.
    let part = graph.of_kind(NodeKind::Part)[0];
    let view = View::around(&book, &graph, part, 1);
    for (failure, _) in graph.causes(part) {
        assert!(view.nodes.contains(&failure));
    }
}

#[test]
fn names_from_files_cannot_break_out_of_a_picture() {
    let (mut book, graph) = shipped();
    let failure = graph.of_kind(NodeKind::Failure)[0];
    let key = graph.key(failure).to_owned();
    book.failures[&key].name = "a<script>\"x\"\u{1b}[2J\u{202e}\\".to_owned();
    let view = View::around(&book, &graph, failure, 1);
    let drawn = svg(&view);
    assert!(drawn.contains("a&lt;script&gt;") && !drawn.contains("<script>"));
    assert!(!drawn.contains('\u{1b}') && !drawn.contains('\u{202e}'));
    assert!(dot(&view).contains("a<script>\\\"x\\\"[2J\\\\"));
}

#[test]
fn the_command_writes_files_and_refuses_what_would_be_wrong() {
    let home = tempfile::tempdir().unwrap();
    let run = |arguments: &[&str]| {
        let mut command = Command::cargo_bin("weephole").unwrap();
        command
            .env("WEEPHOLE_HOME", home.path())
            .args(["--color", "never", "rules", "export"])
            .args(arguments);
        let output = command.output().unwrap();
        (
            output.status.code().unwrap(),
            String::from_utf8(output.stdout).unwrap(),
            String::from_utf8(output.stderr).unwrap(),
        )
    };
    let (_, graph) = shipped();
    let key = graph.key(graph.of_kind(NodeKind::Failure)[0]).to_owned();
    let out = home.path().join("picture.svg");
    let (code, stdout, _) = run(&["--format", "svg", "--around", &key, "--out", out.to_str().unwrap()]);
    assert_eq!((code, stdout.as_str()), (0, ""));
    assert!(fs::read_to_string(&out).unwrap().starts_with("<svg xmlns"));
    let (code, _, said) = run(&["--format", "bif", "--around", &key]);
    assert_eq!(code, 2);
    assert!(said.contains("only as a whole"), "{said}");
    let mistyped = format!("{key}x");
    let (code, _, said) = run(&["--format", "dot", "--around", &mistyped]);
    assert_eq!(code, 2);
    assert!(said.contains(&format!("did you mean `{key}`?")), "{said}");
    let (code, stdout, _) = run(&["--format", "json", "--around", &key]);
    assert_eq!(code, 0);
    let dump: Value = serde_json::from_str(&stdout).unwrap();
    assert!(dump["nodes"].as_array().unwrap().iter().any(|node| node["key"] == key.as_str()));
    // Two vehicles of the fleet differ in what they have.
    let of = |vehicle: &str| run(&["--format", "csv", "--vehicle", vehicle]).1;
    let book = RuleBook::shipped();
    let fleet: Vec<&String> = book.vehicles.keys().collect();
    assert_ne!(of(fleet[0]), of(fleet[1]));
}
