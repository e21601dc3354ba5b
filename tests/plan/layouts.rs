//! Layouts: what comes off for what, the trade's habits, and what `rules check` finds wrong.

use std::fs;

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use weephole::plan::layout::{Layout, StepSet, choose, members};
use weephole::rulebook::entries::{Entries, Job, Step, Vehicle};
use weephole::rulebook::{Below, RuleBook, Severity, inspect};

use super::plan_of;

fn names(layout: &Layout<'_>, set: StepSet) -> Vec<String> {
    members(set).map(|at| layout.steps[at].id.clone()).collect()
}

#[test]
fn every_demo_vehicle_has_its_layout_and_reaches_its_pump() {
    let book = RuleBook::shipped();
    for (vehicle, layout, needs) in [
        ("pickup", "pump-behind-fan", &["belt-slack", "fan-off", "pulley-off", "lower-hose", "drain"][..]),
        ("minibus", "pump-behind-fan", &["belt-spring", "fan-off", "pulley-off"]),
        ("library-van", "pump-behind-timing-cover", &["timing-belt", "timing-cover", "fans-unplugged"]),
        ("sluice-pump", "stationary-engine", &["lock-out", "lower-hose"]),
    ] {
        let vehicle = &book.vehicles[vehicle];
        let (id, _) = choose(&book, vehicle).unwrap();
        assert_eq!(id, layout);
        let layout = Layout::of(&book, vehicle, &id).unwrap();
        let pump = layout.renews("water-pump").unwrap();
        let closure = names(&layout, layout.closure(1 << pump));
        for step in needs {
            assert!(
                closure.iter().any(|s| s == step),
                "{layout:?} lacks {step}: {closure:?}",
                layout = layout.id
            );
        }
    }
}

/// A geared pump has no pulley, a spring tensioner no slide.
#[test]
fn steps_a_vehicle_does_not_have_drop_out() {
    let book = RuleBook::shipped();
    let sluice = Layout::of(&book, &book.vehicles["sluice-pump"], "stationary-engine").unwrap();
    assert!(!sluice.steps.iter().any(|s| s.id == "pulley-off" || s.id == "heater-hose"));
    let pickup = Layout::of(&book, &book.vehicles["pickup"], "pump-behind-fan").unwrap();
    assert!(
        pickup.steps.iter().any(|s| s.id == "belt-slack")
            && !pickup.steps.iter().any(|s| s.id == "belt-spring")
    );
}

#[test]
fn a_layout_is_chosen_by_facts_when_none_is_named() {
    let book = RuleBook::shipped();
    for id in ["pickup", "minibus", "library-van", "sluice-pump"] {
        let mut vehicle = book.vehicles[id].clone();
        let named = vehicle.layout.take().unwrap();
        assert_eq!(choose(&book, &vehicle).unwrap().0, named, "{id}");
    }
    let mut electric = Vehicle::default();
    for (fact, value) in [("pump-drive", "belt"), ("fan", "electric"), ("use", "road")] {
        electric.facts.insert(fact.to_owned(), value.to_owned());
    }
    assert_eq!(choose(&book, &electric).unwrap().0, "transverse-electric-fans");
    let (_, why) = choose(&book, &Vehicle::default()).unwrap();
    assert!(why.contains("guessed"), "{why}");
    electric.layout = Some("pump-behind-fann".to_owned());
    let error = choose(&book, &electric).unwrap_err().to_string();
    assert!(error.contains("did you mean `pump-behind-fan`?"), "{error}");
}

/// Crack pulley bolts loose while the belt still holds them; tighten them once it holds them again.
#[test]
fn pulley_bolts_are_cracked_before_the_belt_comes_off_and_tightened_after_it_is_on() {
    let book = RuleBook::shipped();
    for (vehicle, crack) in [("pickup", "crack-fan-bolts"), ("minibus", "crack-fan-bolts")] {
        let made = plan_of(&book, &super::case(&book, vehicle, &[]), &["water-pump"]).unwrap();
        let off = |id: &str| made.plan.work.undo.iter().position(|l| l.id == id).unwrap();
        let on = |id: &str| made.plan.work.refit.iter().position(|l| l.id == id).unwrap();
        assert!(off(crack) < off("belt-off"), "{vehicle}");
        assert!(on(crack) > on("belt-off"), "{vehicle}");
        assert!(off("drain") < off("pump-off") && on("drain") > on("pump-off"));
    }
}

/// The habits that keep a pump job from coming back stand in every shipped pump step.
#[test]
fn the_habits_of_the_trade_are_in_every_pump_step() {
    let book = RuleBook::shipped();
    let mut pumps = 0;
    for (id, job) in &book.jobs {
        let Some(pump) = job.steps.get("pump-off") else { continue };
        pumps += 1;
        let refit = pump.refit.join(" ").to_lowercase();
        for habit in ["dry once", "alternating", "by hand"] {
            assert!(refit.contains(habit), "`{id}` does not say `{habit}`");
        }
        assert!(refit.find("dry once") < refit.find("tighten in an alternating"), "{id}");
        assert!(
            pump.fasteners.iter().any(|f| f.keep.as_ref().is_some_and(|k| k.contains("in their places"))),
            "{id}"
        );
    }
    assert_eq!(pumps, 4);
}

/// The smallest set that holds what is wanted and everything that must come off first, against every set there is.
#[test]
fn the_closure_is_the_smallest_closed_set() {
    let mut random = ChaCha8Rng::seed_from_u64(60);
    for _ in 0..40 {
        let count = random.random_range(1..=9);
        let mut steps: Entries<Step> = Entries::new();
        for at in 0..count {
            let after = (0..at).filter(|_| random.random_bool(0.25)).map(|s| format!("s{s}")).collect();
            let before =
                (at + 1..count).filter(|_| random.random_bool(0.1)).map(|s| format!("s{s}")).collect();
            steps.insert(format!("s{at}"), Step { after, before, ..Step::default() });
        }
        let mut book = RuleBook::shipped();
        book.jobs.insert("random".to_owned(), Job { steps: steps.clone(), ..Job::default() });
        let layout = Layout::of(&book, &Vehicle::default(), "random").unwrap();
        let wanted: StepSet = random.random_range(1..1 << count);
        let closed = |set: StepSet| {
            members(set).all(|at| {
                let after = &steps[&format!("s{at}")].after;
                after.iter().all(|s| set >> s[1..].parse::<usize>().unwrap() & 1 == 1)
            })
        };
        let smallest = (0..1_u128 << count)
            .filter(|&set| set & wanted == wanted && closed(set))
            .min_by_key(|set| set.count_ones())
            .unwrap();
        assert_eq!(layout.closure(wanted), smallest);
    }
}

#[test]
fn the_shipped_layouts_have_no_fault() {
    let found = inspect(&[], Below::Shipped);
    let faults: Vec<&str> = found
        .faults
        .list
        .iter()
        .filter(|f| f.spot.as_ref().is_some_and(|s| found.book.sources[s.source].path.starts_with("jobs/")))
        .map(|f| f.message.as_str())
        .collect();
    assert_eq!(faults, [""; 0]);
}

#[test]
fn rules_check_finds_what_is_wrong_with_a_layout() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("jobs")).unwrap();
    let own = "name: our tractor\nsource: our own\nbuilds-on: [any-engine]\nsteps:\n  \
               bonnet: {name: bonnet, undo: [Lift it off.], after: [cool-down], minutes: {undo: [5, 2]}}\n  \
               side-panel: {name: side panel, undo: [Unclip it.], after: [grill]}\n  \
               grille: {name: grille, undo: [Unhook it.], after: [side-panel, bracket], renews: [radiator]}\n  \
               bracket: {name: bracket, undo: [Undo it.], after: [grille], tools: [spanner], \
               fasteners: [{what: bolts, size: M7, grade: '8.8'}, {what: nuts, torque: {value: 22 litres, source: x}}]}\n";
    fs::write(folder.path().join("jobs/our-tractor.yaml"), own).unwrap();
    let found = inspect(&[folder.path().to_path_buf()], Below::Shipped);
    let said: Vec<(&str, Severity)> =
        found.faults.list.iter().map(|f| (f.code.name, f.code.severity)).collect();
    let all: Vec<String> = found.faults.list.iter().map(|f| f.message.clone()).collect();
    for (code, message) in [
        ("unknown-step", "has no step `grill`"),
        ("step-ring", "grille -> bracket -> grille"),
        ("idle-step", "the step `bonnet`"),
        ("bad-step-figure", "[5, 2] are no minutes"),
        ("bad-step-figure", "no `M7`"),
        ("bad-step-figure", "the torque cannot be read"),
        ("unknown-id", "`spanner`"),
    ] {
        let there = found.faults.list.iter().any(|f| f.code.name == code && f.message.contains(message));
        assert!(there, "`{code}` with `{message}` is missing from {all:#?}");
    }
    assert!(said.contains(&("idle-step", Severity::Warning)));
}
