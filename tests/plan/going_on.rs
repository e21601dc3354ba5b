//! After the repair: the follow-up case.

use jiff::Timestamp;
use weephole::case::{gather, standing};
use weephole::graph;
use weephole::inference::Engine;
use weephole::plan::follow_up::follow_up;
use weephole::rulebook::RuleBook;

use super::{DAY, pickup_pump, plan_of};

#[test]
fn the_follow_up_starts_from_what_is_left() {
    let book = RuleBook::shipped();
    let before = pickup_pump(&book);
    let made = plan_of(&book, &before, &["water-pump", "coolant"]).unwrap();
    let when: Timestamp = "2026-05-04T15:00:00Z".parse().unwrap();
    let mut after = follow_up(&book, &before, &made, when, DAY);
    // The record of the diagnosis is not the evidence of the follow-up.
    assert!(after.answers.is_empty(), "findings from before the repair are left behind");
    assert_eq!(after.vehicle.fitted["water-pump"].km, before.vehicle.km);
    assert!(after.vehicle.history["pump-recently-fitted"]);
    assert!(after.vehicle.history["coolant-recently-drained"]);
    assert!(!after.vehicle.history["plain-water"]);
    assert_eq!(after.vehicle.coolant.kind.as_deref(), Some("ethylene-glycol"));
    assert!(after.repaired.iter().any(|r| r.failure == "pump-bearing-worn"));
    assert!(after.repaired.iter().all(|r| r.when.as_deref() == Some("2026-05-04T15:00:00Z")));

    // It grinds again: the pump is ruled out, something else is not.
    after.put(weephole::case::Answer::said("grinding-noise", "yes"));
    let graph = graph::build(&book, &after.vehicle, after.day()).unwrap();
    let gathered = gather(&book, &graph, &after);
    assert_eq!(gathered.ignored, []);
    let standing = standing(&book, &graph, &Engine::default(), &gathered.evidence).unwrap();
    assert!(standing.chance("water-pump") < 1e-12, "{}", standing.chance("water-pump"));
    assert_ne!(standing.suspects[0].part, "water-pump");
    assert!(standing.suspects[0].chance > 0.1, "something is to blame for the noise");
}
