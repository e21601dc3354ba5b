//! The Bayesian Interchange Format (Cozman 1998, version 0.15), as pyAgrum and pgmpy read it.

use std::fmt::Write;

use super::tables::tables;
use crate::graph::CauseGraph;

/// The whole network as BIF: every node has the states `no` and `yes`.
pub fn bif(graph: &CauseGraph) -> String {
    let tables = tables(graph);
    let mut text = String::from("network weephole {\n}\n");
    for table in &tables {
        let _ = write!(text, "variable {} {{\n  type discrete [ 2 ] {{ no, yes }};\n}}\n", table.name);
    }
    for table in &tables {
        let parents: Vec<&str> = table.parents.iter().map(|&at| tables[at].name.as_str()).collect();
        if parents.is_empty() {
            let yes = table.present[0];
            let _ = write!(text, "probability ( {} ) {{\n  table {}, {};\n}}\n", table.name, 1.0 - yes, yes);
            continue;
        }
        let _ = writeln!(text, "probability ( {} | {} ) {{", table.name, parents.join(", "));
        for (state, yes) in table.present.iter().enumerate() {
            let states: Vec<&str> =
                (0..parents.len()).map(|bit| if state >> bit & 1 == 1 { "yes" } else { "no" }).collect();
            let _ = writeln!(text, "  ({}) {}, {};", states.join(", "), 1.0 - yes, yes);
        }
        text.push_str("}\n");
    }
    text
}
