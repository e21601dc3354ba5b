//! Troubleshooting tables published by others (US Army and Navy texts, PS Magazine): given the symptom alone, the
//! causes a table lists must hold the bulk of the probability, and none may be ruled out. The order of a table is
//! that of easiest repair, not of likelihood, so no order is asserted.

use std::fmt::Write;

use weephole::case::evidence::gather_answers;
use weephole::case::{Answer, standing};
use weephole::graph;
use weephole::inference::{Engine, Evidence};
use weephole::rulebook::RuleBook;
use weephole::rulebook::entries::Vehicle;

/// One row of a published table.
struct Row {
    /// Number in the list of facts, and source.
    source: &'static str,
    /// The symptom, as answers: `id`, or `check=outcome`, or `check~reading`.
    signs: &'static [&'static str],
    /// What the table's own vehicle has, where it matters.
    facts: &'static [(&'static str, &'static str)],
    /// The causes it lists, as failures, parts or states of the book.
    causes: &'static [&'static str],
}

const ROWS: [Row; 17] = [
    Row {
        source: "T1 TM 5-3895-383-24, problems 26-28: coolant hotter than normal",
        signs: &["gauge-red"],
        facts: &[],
        causes: &[
            "coolant-low",
            "coolant-weak",
            "coolant-too-strong",
            "air-trapped",
            "viscous-clutch-slipping",
            "gauge-faulty",
            "temperature-sensor-shorted",
            "radiator-blocked-inside",
            "radiator-blocked-outside",
            "cap-spring-weak",
            "fan-wrong-way",
            "shroud-missing",
            "belt-loose",
            "lower-hose-collapsing",
            "hose-blocked-inside",
            "exhaust-blocked",
            "overflow-line-blocked",
            "overflow-line-leaking",
            "thermostat-stuck-closed",
            "pump-impeller-worn",
            "pump-impeller-slipping",
            "fan-air-weak",
            "high-altitude-heat",
            "overloaded",
            "injection-timing-late",
        ],
    },
    Row {
        source: "T2 TM 5-3820-256-24-5: overheating, cooling group, then ignition and mixture",
        signs: &["gauge-red"],
        facts: &[],
        causes: &[
            "coolant-low",
            "head-gasket-outside",
            "clamp-loose",
            "upper-hose-leaking",
            "lower-hose-leaking",
            "pump-seal-leaking",
            "pump-gasket-leaking",
            "radiator-core-leaking",
            "heater-core-leaking",
            "core-plug-leaking",
            "radiator-drain-leaking",
            "head-cracked",
            "block-cracked",
            "belt-broken",
            "belt-loose",
            "radiator-blocked-inside",
            "lower-hose-collapsing",
            "hose-blocked-inside",
            "cap-spring-weak",
            "pump-impeller-worn",
            "coolant-foaming",
            "radiator-blocked-outside",
            "fan-blade-damaged",
            "thermostat-wrong-rating",
            "thermostat-stuck-closed",
            "ignition-late",
            "mixture-lean",
        ],
    },
    Row {
        source: "T3 TM 5-3810-300-10 p. 57: overheating",
        signs: &["gauge-red"],
        facts: &[],
        causes: &[
            "belt-broken",
            "belt-loose",
            "radiator-core-leaking",
            "head-gasket-outside",
            "pump-seal-leaking",
            "thermostat-housing-leaking",
            "core-plug-leaking",
            "leak-inside",
            "radiator-blocked-inside",
            "pump-impeller-worn",
            "pump-impeller-slipping",
            "ignition-late",
            "injection-timing-late",
            "overloaded",
            "brakes-dragging",
            "thermostat-stuck-closed",
        ],
    },
    Row {
        source: "T4 TM 9-2320-260-34-1 p. 28: above 230 F with no flow seen at the tank: pump",
        signs: &["coolant-temp-idle~113 °C", "look-flow-at-filler=none"],
        facts: &[],
        causes: &["water-pump", "belt-off", "belt-slipping", "thermostat-stuck-closed"],
    },
    Row {
        source: "T4 TM 9-2320-260-34-1 p. 28: above 230 F, flow seen: loss of coolant",
        signs: &["coolant-temp-idle~113 °C", "look-flow-at-filler=normal"],
        facts: &[],
        causes: &["coolant-low", "leak-outside", "leak-inside"],
    },
    Row {
        source: "T5 TM 5-3820-256-24-5: boiling while running",
        signs: &["boiling-over"],
        facts: &[],
        causes: &[
            "radiator-blocked-inside",
            "radiator-blocked-outside",
            "radiator-fins-rotted",
            "thermostat-stuck-closed",
            "air-trapped",
            "lower-hose-collapsing",
            "hose-blocked-inside",
            "cap-spring-weak",
            "head-gasket-to-coolant",
            "pump-impeller-worn",
            "pump-impeller-slipping",
            "coolant-weak",
        ],
    },
    Row {
        source: "T6 TM 5-3820-256-24-5: foaming: air or exhaust drawn in by gasket, hose, pump seal; dirty system",
        signs: &["foam-in-coolant"],
        facts: &[],
        causes: &[
            "head-gasket-to-coolant",
            "lower-hose-leaking",
            "pump-seal-leaking",
            "coolant-foaming",
            "coolant-sludged",
        ],
    },
    Row {
        source: "T7 TM 5-3895-383-24: colder than normal",
        signs: &["gauge-stays-cold"],
        facts: &[],
        causes: &["thermostat-stuck-open", "thermostat-missing", "viscous-clutch-locked"],
    },
    Row {
        source: "T8 TM 5-3820-256-24-5: external loss, where",
        signs: &["drip-parked"],
        facts: &[],
        causes: &[
            "radiator-core-leaking",
            "radiator-seam-leaking",
            "heater-core-leaking",
            "pump-seal-leaking",
            "core-plug-leaking",
            "clamp-loose",
            "upper-hose-leaking",
            "lower-hose-leaking",
            "heater-hose-leaking",
            "cap-seal-leaking",
            "radiator-drain-leaking",
            "pump-gasket-leaking",
            "head-gasket-outside",
            "intake-gasket-leaking",
        ],
    },
    Row {
        source: "T9 TM 5-3820-256-24-5: internal loss: level falls, coolant in the crankcase",
        signs: &["level-drops-no-puddle", "milky-oil"],
        facts: &[],
        causes: &["head-cracked", "block-cracked", "head-gasket-to-oil", "coolant-in-oil"],
    },
    Row {
        source: "T10 TM 9-2320-260-34-1: tester falls, nothing outside",
        signs: &["pressure-test~30 kPa", "pressure-test-look=normal"],
        facts: &[],
        causes: &[
            "leak-inside",
            "head-cracked",
            "head-gasket-to-coolant",
            "head-gasket-coolant-to-cylinder",
            "head-gasket-to-oil",
            "block-cracked",
        ],
    },
    Row {
        source: "T11 NAVEDTRA 14264: bubbles, overheating, level rises on start",
        signs: &["bubbles-in-bottle", "bottle-overflows"],
        facts: &[],
        causes: &["head-gasket-to-coolant", "block-cracked", "head-cracked"],
    },
    Row {
        source: "T12 TM 5-3895-359-14&P: oil in coolant and coolant in oil: oil cooler core",
        signs: &["oil-film-in-coolant", "milky-oil"],
        facts: &[("oil-cooler", "coolant")],
        causes: &["oil-cooler-cross-leak"],
    },
    Row {
        source: "T13 TM 10-3930-623-12: low coolant is the commonest cause of overheating",
        signs: &["gauge-red"],
        facts: &[],
        causes: &["coolant-low"],
    },
    Row {
        source: "T13 TM 10-3930-623-12: a bad thermostat is the commonest cause of overcooling",
        signs: &["gauge-stays-cold"],
        facts: &[],
        causes: &["thermostat-stuck-open"],
    },
    Row {
        source: "T14 PS Magazine 636 (2005) pp. 18-19: leak points to look at",
        signs: &["level-drops-slowly"],
        facts: &[],
        causes: &[
            "clamp-loose",
            "upper-hose-leaking",
            "lower-hose-leaking",
            "heater-hose-leaking",
            "bypass-hose-leaking",
            "head-gasket-outside",
            "core-plug-leaking",
            "radiator-seam-leaking",
            "radiator-core-leaking",
            "radiator-drain-leaking",
            "cap-seal-leaking",
            "cap-spring-weak",
            "oil-cooler-cross-leak",
            "head-gasket-to-oil",
            "pump-seal-leaking",
        ],
    },
    Row {
        source: "T15 maker text in an Army TM: aerated coolant: cracked head, blown gasket",
        signs: &["bubbles-in-bottle"],
        facts: &[],
        causes: &["head-cracked", "head-gasket-to-coolant", "head-gasket-coolant-to-cylinder"],
    },
];

/// At least this chance that one or more of the listed causes is present.
const BULK: f64 = 0.5;

/// No listed cause may fall below this share of what it was before the symptom was seen.
const RULED_OUT: f64 = 0.5;

fn answer(sign: &str) -> Answer {
    if let Some((check, reading)) = sign.split_once('~') {
        Answer::read(check, reading)
    } else if let Some((check, outcome)) = sign.split_once('=') {
        Answer::said(check, outcome)
    } else {
        Answer::said(sign, "yes")
    }
}

#[test]
fn causes_listed_by_published_tables_hold_the_bulk() {
    let book = RuleBook::shipped();
    let engine = Engine::default();
    let mut table = String::new();
    let mut wrong = Vec::new();
    for row in &ROWS {
        let facts = row.facts.iter().map(|&(fact, option)| (fact.to_owned(), option.to_owned()));
        let vehicle = Vehicle { facts: facts.collect(), ..Vehicle::default() };
        let graph = graph::build(&book, &vehicle, None).unwrap();
        let before = standing(&book, &graph, &engine, &Evidence::new()).unwrap();
        let answers: Vec<Answer> = row.signs.iter().map(|sign| answer(sign)).collect();
        let gathered = gather_answers(&book, &graph, &vehicle, &answers);
        assert!(gathered.ignored.is_empty(), "{}: {:?}", row.source, gathered.ignored);
        let after = standing(&book, &graph, &engine, &gathered.evidence).unwrap();
        let none: Vec<_> = row.causes.iter().map(|cause| (graph.node(cause).expect(cause), false)).collect();
        let any = 1.0 - engine.joint(graph.network(), &gathered.evidence, &none).unwrap();
        let _ = writeln!(table, "{}\n  any of them {any:.3}", row.source);
        if any < BULK {
            wrong.push(format!("{}: any of the listed causes {any:.3}", row.source));
        }
        for cause in row.causes {
            let state = |list: &[weephole::case::standing::Likely]| {
                list.iter().find(|likely| likely.id == *cause).map(|likely| likely.chance)
            };
            let now = state(&after.states).unwrap_or_else(|| after.chance(cause));
            let was = state(&before.states).unwrap_or_else(|| before.chance(cause));
            let rank = after.failures.iter().position(|likely| likely.id == *cause);
            let rank = rank.map_or("state".to_owned(), |at| format!("{}", at + 1));
            let _ = writeln!(table, "  {cause:<34} {now:.4}  rank {rank:<5} before {was:.4}");
            if now < was * RULED_OUT {
                wrong.push(format!("{}: {cause} falls from {was:.4} to {now:.4}", row.source));
            }
        }
    }
    insta::assert_snapshot!("published_tables", table);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
