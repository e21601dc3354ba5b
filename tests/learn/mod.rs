//! Tests of: learn.

mod credits;
mod export;
mod maximum;
mod recovery;
mod reference;
mod workshop;

use weephole::inference::{Evidence, NodeId};
use weephole::learn::{Sheet, SheetNode, Slot};

/// A node with its own parameter and causes with theirs.
pub fn node(own: Slot, causes: &[(NodeId, usize)]) -> SheetNode {
    SheetNode { own, causes: causes.iter().map(|&(cause, p)| (cause, Slot::of(p))).collect() }
}

/// A case in which these nodes were seen, and nothing was looked at.
pub fn seen(nodes: &[SheetNode], states: &[(NodeId, bool)]) -> Sheet {
    Sheet {
        name: String::new(),
        nodes: nodes.to_vec(),
        answers: states.iter().fold(Evidence::new(), |all, &(node, there)| all.observed(node, there)),
        verdict: Vec::new(),
        uncounted: Vec::new(),
        times: 1.0,
    }
}

/// Asserts that two numbers are as close as that.
pub fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "{found} is not {wanted}");
}
