//! The same rounds as a general-purpose library works out on the spelt-out network (`em_reference.py` beside this file).

use std::collections::BTreeMap;

use serde_json::Value;
use weephole::inference::{Engine, NodeId};
use weephole::learn::fit::Settings;
use weephole::learn::{Fit, Sheet, SheetNode, Slot, fit};

use super::{near, node, seen};

#[test]
fn the_library_learns_the_same_numbers() {
    let kept: Value = serde_json::from_str(include_str!("em_reference.json")).unwrap();
    let mut names: BTreeMap<String, NodeId> = BTreeMap::new();
    let (mut nodes, mut settings, mut parameters): (Vec<SheetNode>, Vec<Settings>, Vec<String>) =
        Default::default();
    for (at, entry) in kept["nodes"].as_array().unwrap().iter().enumerate() {
        let name = entry["name"].as_str().unwrap();
        let mut number = |key: String, value: &Value| {
            parameters.push(key);
            settings.push(Settings::new(value.as_f64().unwrap(), 0.0));
            settings.len() - 1
        };
        let own = Slot::of(number(name.to_owned(), &entry["own"]));
        let causes: Vec<(NodeId, usize)> = entry["causes"]
            .as_object()
            .unwrap()
            .iter()
            .map(|(cause, weight)| (names[cause], number(format!("{cause} -> {name}"), weight)))
            .collect();
        nodes.push(node(own, &causes));
        names.insert(name.to_owned(), at);
    }
    let sheets: Vec<Sheet> = kept["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| {
            let states: Vec<(NodeId, bool)> =
                row.as_object().unwrap().iter().map(|(name, state)| (names[name], state == 1)).collect();
            seen(&nodes, &states)
        })
        .collect();
    let rounds = usize::try_from(kept["rounds"].as_u64().unwrap()).unwrap();
    let found =
        fit(&Engine::default(), &sheets, &settings, &[], &Fit { rounds, tolerance: 0.0, slight: 0.0 })
            .unwrap();
    assert_eq!(parameters.len(), kept["learnt"].as_object().unwrap().len());
    for (parameter, &value) in parameters.iter().zip(&found.values) {
        // The library takes nothing to be less likely than 1e-10.
        near(value, kept["learnt"][parameter].as_f64().unwrap(), 1e-8);
    }
}
