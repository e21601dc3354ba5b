//! XMLBIF 0.3 (Cozman 1998), as pyAgrum and pgmpy read it.

use std::fmt::Write;

use super::tables::tables;
use crate::graph::CauseGraph;

/// The whole network as XMLBIF: every node has the states `no` and `yes`. Names need no escaping; they are letters, digits
/// and underscores.
pub fn xmlbif(graph: &CauseGraph) -> String {
    let tables = tables(graph);
    // Without the document type that the format's page shows: pyAgrum 3.3's reader stumbles over it.
    let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    text.push_str("<BIF VERSION=\"0.3\">\n<NETWORK>\n<NAME>weephole</NAME>\n");
    for table in &tables {
        let _ = writeln!(
            text,
            "<VARIABLE TYPE=\"nature\"><NAME>{}</NAME><OUTCOME>no</OUTCOME><OUTCOME>yes</OUTCOME></VARIABLE>",
            table.name
        );
    }
    for table in &tables {
        let _ = write!(text, "<DEFINITION><FOR>{}</FOR>", table.name);
        for &at in &table.parents {
            let _ = write!(text, "<GIVEN>{}</GIVEN>", tables[at].name);
        }
        let count = table.parents.len();
        // The first parent turns slowest, the node itself fastest.
        let rows: Vec<String> = (0..1_usize << count)
            .map(|row| {
                let state = (0..count).fold(0, |state, bit| state | (row >> (count - 1 - bit) & 1) << bit);
                let yes = table.present[state];
                format!("{} {}", 1.0 - yes, yes)
            })
            .collect();
        let _ = writeln!(text, "<TABLE>{}</TABLE></DEFINITION>", rows.join(" "));
    }
    text.push_str("</NETWORK>\n</BIF>\n");
    text
}
