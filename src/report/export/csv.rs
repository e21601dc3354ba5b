//! Links and backgrounds as a table (RFC 4180): one line a link, and one without a cause for each node's own chance.

use super::{View, noun};
use crate::inference::NodeId;

/// The table.
pub fn csv(view: &View) -> String {
    let mut text = String::from("cause,cause-kind,effect,effect-kind,weight,word\r\n");
    let mut line = |fields: [&str; 6]| {
        text.push_str(&fields.map(field).join(","));
        text.push_str("\r\n");
    };
    let links = view.links();
    for &node in &view.nodes {
        let key = view.graph.key(node);
        let kind = |node: NodeId| noun(view.graph.get(node).kind);
        line(["", "", key, kind(node), &view.graph.get(node).background.to_string(), ""]);
        for &(cause, effect, weight) in links.iter().filter(|&&(_, effect, _)| effect == node) {
            let word = view.word(cause, effect).unwrap_or_default();
            line([view.graph.key(cause), kind(cause), key, kind(node), &weight.to_string(), word]);
        }
    }
    text
}

fn field(text: &str) -> String {
    if text.contains([',', '"', '\r', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}
