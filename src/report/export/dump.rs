//! The network as JSON: what a program needs to work out the same chances. The shape is documented in docs/json.md.

use serde_json::{Value, json};

use super::{View, noun};

/// The nodes of a view, causes first, each with its own chance and its causes. Node numbers are those of the list.
pub fn json(view: &View) -> Value {
    let mut place = vec![None; view.graph.len()];
    for (at, &node) in view.nodes.iter().enumerate() {
        place[node] = Some(at);
    }
    let nodes: Vec<Value> = view
        .nodes
        .iter()
        .enumerate()
        .map(|(at, &node)| {
            let own = view.graph.get(node);
            let parents = view.graph.causes(node).into_iter().filter_map(|(cause, weight)| {
                Some(json!({ "id": place[cause]?, "key": view.graph.key(cause), "weight": weight }))
            });
            json!({
                "id": at,
                "key": own.key,
                "kind": noun(own.kind),
                "name": view.name(node),
                "part": view.book.failures.get(&own.key).map(|failure| failure.part.as_str()),
                "background": own.background,
                "parents": parents.collect::<Vec<Value>>(),
            })
        })
        .collect();
    let checks: Vec<Value> = view
        .graph
        .checks()
        .iter()
        .map(|(id, outcomes)| {
            let shown = outcomes.iter().filter_map(|&node| place[node]);
            json!({ "check": id, "outcomes": shown.collect::<Vec<usize>>() })
        })
        .collect();
    json!({
        "format": 1,
        "title": view.title,
        "model": "leaky noisy-OR, net weights: P(absent) = (1 - background) * product over present parents of (1 - weight)",
        "nodes": nodes,
        "checks": checks,
    })
}
