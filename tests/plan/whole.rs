//! Whole plans: what they choose and why.

use weephole::plan::PlanError;
use weephole::rulebook::RuleBook;

use super::{case, pickup_pump, plan_of};

#[test]
fn the_pickup_gets_its_pump_and_a_flush_against_what_killed_it() {
    let book = RuleBook::shipped();
    let made = plan_of(&book, &pickup_pump(&book), &[]).unwrap();
    let choice = &made.plan.choice;
    let ids: Vec<&str> = choice.repairs.iter().map(|r| r.id.as_str()).collect();
    assert_eq!(ids[0], "water-pump");
    assert!(choice.repairs[0].must && choice.repairs[0].chance > 0.9);
    // Rusty coolant is the first reason for repeated pump failure (parts trade, facts.md section 4).
    assert!(ids.contains(&"coolant"), "{ids:?}");
    let flush = choice.repairs.iter().find(|r| r.id == "coolant").unwrap();
    assert!(flush.because.contains("ruins the new"), "{}", flush.because);
    assert!(flush.saves > 0.0);
    let rust = made.plan.roots.iter().find(|r| r.id == "coolant-rusty").unwrap();
    assert_eq!(rust.righted_by.as_deref(), Some("the flush and the fresh mix"));
    assert!(made.plan.fluids.as_ref().unwrap().flush.is_some());
    assert!(!made.plan.do_not_drive.is_empty(), "a grinding pump bearing must not be driven on");
}

/// What an addition costs now is never more than alone, and each one in the plan pays for itself.
#[test]
fn shared_access_is_counted_once() {
    let book = RuleBook::shipped();
    let made =
        plan_of(&book, &case(&book, "pickup", &[]), &["water-pump", "thermostat", "lower-hose"]).unwrap();
    let choice = &made.plan.choice;
    for repair in &choice.repairs {
        assert!(repair.adds_minutes.1 <= repair.alone_minutes.1 + 1e-9, "{}", repair.id);
        assert!(repair.adds_money <= repair.alone_money + 1e-9, "{}", repair.id);
        assert!(repair.must || repair.saves > 0.0, "{} does not pay", repair.id);
    }
    let sum: f64 = choice.repairs.iter().map(|r| r.alone_money).sum();
    assert!(choice.now < sum, "together {} against {sum} apart", choice.now);
    let of = |id: &str| choice.repairs.iter().find(|r| r.id == id).unwrap();
    // Draining, cooling and the lower hose are done for the pump anyway.
    assert!(of("thermostat").adds_minutes.1 < of("thermostat").alone_minutes.1 * 0.7);
    assert!(of("lower-hose").adds_minutes.1 < 1e-9);
    for left in &choice.left_out {
        assert!(left.loses >= -1e-6, "leaving out {} is no loss", left.id);
    }
}

/// Every caution of a step stands in it, on the way in and on the way back.
#[test]
fn cautions_are_carried_into_the_plan() {
    let book = RuleBook::shipped();
    for vehicle in ["pickup", "minibus", "library-van", "sluice-pump"] {
        let made = plan_of(&book, &case(&book, vehicle, &[]), &["water-pump"]).unwrap();
        let first = &made.plan.work.undo[0];
        assert_eq!(first.id, "cool-down", "{vehicle}");
        assert!(first.cautions.iter().any(|c| c.starts_with("Never open a hot cap")));
        let drain = made.plan.work.undo.iter().find(|l| l.id == "drain").unwrap();
        assert!(drain.cautions.iter().any(|c| c.contains("poison")));
        let all = made.plan.work.undo.iter().chain(&made.plan.work.refit);
        for torque in all.flat_map(|l| &l.torques) {
            assert!(torque.source.contains("maker's figure"), "{}: {}", torque.what, torque.source);
        }
    }
}

/// The electric fan is unplugged before anyone reaches near it.
#[test]
fn an_electric_fan_is_unplugged_first() {
    let book = RuleBook::shipped();
    let made = plan_of(&book, &case(&book, "library-van", &[]), &["radiator"]).unwrap();
    let at = |id: &str| made.plan.work.undo.iter().position(|l| l.id == id).unwrap();
    assert!(at("fans-unplugged") < at("fan-unit") && at("fan-unit") < at("radiator"));
    let line = &made.plan.work.undo[at("fans-unplugged")];
    assert!(line.cautions.iter().any(|c| c.contains("may start by itself")));
}

#[test]
fn a_part_without_steps_still_has_its_repair() {
    let book = RuleBook::shipped();
    let made = plan_of(&book, &case(&book, "pickup", &[]), &["head-gasket"]).unwrap();
    assert_eq!(made.plan.work.loose.len(), 1);
    assert!(made.plan.work.loose[0].minutes.0 >= 420.0);
    assert!(made.plan.fluids.is_some(), "a head gasket opens the coolant");
}

#[test]
fn a_part_that_needs_no_draining_leaves_the_coolant_in() {
    let book = RuleBook::shipped();
    let made = plan_of(&book, &case(&book, "minibus", &[]), &["drive-belt"]).unwrap();
    assert!(made.plan.fluids.is_none());
    assert!(made.plan.prove.iter().all(|p| !p.name.contains("pressure test")));
    assert!(made.plan.prove.iter().any(|p| p.name == "warm run"));
}

#[test]
fn an_unknown_part_is_refused_with_the_nearest() {
    let book = RuleBook::shipped();
    let error = plan_of(&book, &case(&book, "pickup", &[]), &["water-pumb"]).unwrap_err();
    assert!(matches!(error, PlanError::UnknownPart { .. }));
    assert!(error.to_string().contains("did you mean `water-pump`?"), "{error}");
}

/// A state that is likely by what is usual alone forbids nothing: a chirp and a dry trace say nothing about heat.
#[test]
fn what_forbids_driving_on_the_plan_has_shown() {
    let book = RuleBook::shipped();
    let cold = case(&book, "pickup", &[("belt-chirp", "yes"), ("weep-hole-trail", "yes")]);
    let plan = plan_of(&book, &cold, &[]).unwrap().plan;
    assert!(!plan.do_not_drive.iter().any(|why| why.contains("too hot")), "{:?}", plan.do_not_drive);
    let hot = case(&book, "pickup", &[("hot-at-idle", "yes"), ("hot-at-speed", "yes")]);
    let plan = plan_of(&book, &hot, &[]).unwrap().plan;
    assert!(plan.do_not_drive.iter().any(|why| why.contains("too hot")), "{:?}", plan.do_not_drive);
}
