//! The graph in the DOT language, for any program that lays out graphs.

use std::fmt::Write;

use super::{View, colours, noun};
use crate::graph::NodeKind;

/// The graph as DOT, causes on the left.
pub fn dot(view: &View) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "digraph weephole {{");
    let _ =
        writeln!(text, "  label={}; labelloc=t; rankdir=LR; ranksep=1.1; nodesep=0.15;", quoted(&view.title));
    let _ =
        writeln!(text, "  node [fontname=\"sans-serif\", fontsize=10, style=filled, margin=\"0.12,0.05\"];");
    let _ = writeln!(text, "  edge [fontname=\"sans-serif\", fontsize=8, arrowsize=0.6];");
    for &node in &view.nodes {
        let own = view.graph.get(node);
        let (fill, line) = colours(own.kind);
        let shape = match own.kind {
            NodeKind::History => "note",
            NodeKind::Failure => "box",
            NodeKind::State => "ellipse",
            NodeKind::Symptom | NodeKind::Outcome => "cds",
            NodeKind::Part => "component",
        };
        let width = if view.centre == Some(node) { 3 } else { 1 };
        let label = format!("{}\n{}", view.name(node), noun(own.kind));
        let _ = writeln!(
            text,
            "  {} [label={}, shape={shape}, fillcolor=\"{fill}\", color=\"{line}\", penwidth={width}];",
            quoted(&own.key),
            quoted(&label)
        );
    }
    for (cause, effect, weight) in view.links() {
        let _ = writeln!(
            text,
            "  {} -> {} [label={}, penwidth={:.2}, color=\"#555555\"];",
            quoted(view.graph.key(cause)),
            quoted(view.graph.key(effect)),
            quoted(&view.weight(cause, effect, weight)),
            0.4 + 2.2 * weight
        );
    }
    text.push_str("}\n");
    text
}

/// A string as DOT quotes it.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n"))
}
