//! Does the caution stand before the step?

use super::{Ground, Lint};
use crate::rulebook::entries::EngineState;
use crate::rulebook::{Code, Fault, Kind, Place, RuleBook, Spot, code};

code! {
    /// A check or an access step does something that can hurt, without the caution that belongs to it.
    ///
    /// What can hurt is read from the state of the engine and from the words of the steps. A running engine asks for
    /// `moving-belt` and `exhaust-gas`, a hot one for `hot-parts`, taking the cap off for `hot-cap`, letting coolant out for
    /// `poison-coolant`, a pressure tester for `tester-overpump`, a hand near an electric fan for `fan-starts-itself`, and so
    /// on.
    ///
    /// Name the caution under `cautions`. If the words mislead (nobody gets near the danger), silence it with that reason.
    pub static NO_CAUTION = Warning "no-caution", "a hazardous step without its caution";
}

/// A danger: the caution it asks for, the engine states or words that tell of it, and words that take it back.
struct Danger {
    caution: &'static str,
    /// Cautions that cover the same danger.
    or: &'static [&'static str],
    engine: &'static [EngineState],
    /// All words of one of these must stand in one step.
    words: &'static [&'static [&'static str]],
    /// Not with the engine like this.
    unless: &'static [EngineState],
    what: &'static str,
}

const NO_ENGINE: &[EngineState] = &[];
const RUNS: &[EngineState] = &[EngineState::Running, EngineState::Hot];

const DANGERS: [Danger; 11] = [
    Danger {
        caution: "moving-belt",
        or: &[],
        engine: RUNS,
        words: &[&["start the engine"], &["engine idle"], &["let it idle"]],
        unless: &[EngineState::Driving],
        what: "the engine runs",
    },
    Danger {
        caution: "exhaust-gas",
        or: &[],
        engine: RUNS,
        words: &[&["start the engine"], &["let it idle"]],
        unless: &[EngineState::Driving],
        what: "the engine runs",
    },
    Danger {
        caution: "hot-parts",
        or: &["hot-cap"],
        engine: &[EngineState::Hot, EngineState::HotOff],
        words: &[],
        unless: &[],
        what: "the engine is hot",
    },
    Danger {
        caution: "road-test",
        or: &[],
        engine: &[EngineState::Driving],
        words: &[&["road test"]],
        unless: &[],
        what: "it is driven",
    },
    Danger {
        caution: "hot-cap",
        or: &[],
        engine: &[EngineState::Drained],
        words: &[
            &["take the cap off"],
            &["take off the cap"],
            &["cap off"],
            &["open the cap"],
            &["remove the cap"],
        ],
        unless: &[],
        what: "the cap comes off",
    },
    Danger {
        caution: "poison-coolant",
        or: &["dispose-coolant"],
        engine: &[EngineState::Drained],
        words: &[
            &["drain", "coolant"],
            &["drain the radiator"],
            &["coolant runs out"],
            &["catch", "coolant"],
        ],
        unless: &[],
        what: "coolant is let out",
    },
    Danger {
        caution: "tester-overpump",
        or: &[],
        engine: NO_ENGINE,
        words: &[&["pump", "tester"], &["pump to the rating"], &["pump up the system"]],
        unless: &[],
        what: "the system is pumped up",
    },
    Danger {
        caution: "jack-stands",
        or: &[],
        engine: NO_ENGINE,
        words: &[&["jack "], &["raise the vehicle"], &["on stands"], &["under the vehicle"]],
        unless: &[],
        what: "the vehicle is raised",
    },
    Danger {
        caution: "compressed-air",
        or: &["eye-protection"],
        engine: NO_ENGINE,
        words: &[&["compressed air"], &["blow", "air line"]],
        unless: &[],
        what: "compressed air is used",
    },
    Danger {
        caution: "battery-short",
        or: &[],
        engine: NO_ENGINE,
        words: &[&["jumper wire"], &["jumper", "battery"], &["feed", "from the battery"]],
        unless: &[],
        what: "a live wire is used",
    },
    Danger {
        caution: "engine-off-key-out",
        or: &["moving-belt"],
        engine: &[EngineState::BeltOff],
        words: &[
            &["by hand", "pulley"],
            &["by hand", "fan"],
            &["press the belt"],
            &["slacken", "belt"],
            &["belt off"],
        ],
        unless: &[],
        what: "a hand is at the belt or fan",
    },
];

pub(super) struct NoCaution;

impl Lint for NoCaution {
    fn codes(&self) -> Vec<&'static Code> {
        vec![&NO_CAUTION]
    }

    fn run(&self, ground: &Ground<'_>) -> Vec<Fault> {
        let book = ground.book;
        let mut faults = Vec::new();
        for (id, check) in &book.checks {
            let place = book.within(Kind::Check, id, &[]);
            let told: Vec<&String> = check.cautions.iter().collect();
            faults.extend(missing(book, id, &place, Some(check.engine), &check.steps, &told));
        }
        for (name, job) in &book.jobs {
            for (step, entry) in &job.steps {
                let place = book.within(Kind::Job, name, &["steps", step]);
                let told: Vec<&String> = entry.cautions.iter().chain(&entry.cautions_refit).collect();
                let lines: Vec<String> = entry.undo.iter().chain(&entry.refit).cloned().collect();
                // A layout opens the system and takes the belt off once; the step that does it carries the caution.
                let open = |engine: &EngineState| {
                    !matches!(engine, EngineState::Drained | EngineState::BeltOff | EngineState::Cold)
                };
                faults.extend(missing(book, step, &place, entry.engine.filter(open), &lines, &told));
            }
        }
        faults
    }
}

fn missing(
    book: &RuleBook,
    id: &str,
    place: &Place,
    engine: Option<EngineState>,
    lines: &[String],
    told: &[&String],
) -> Vec<Fault> {
    let told = |caution: &str| told.iter().any(|known| *known == caution);
    let mut faults = Vec::new();
    for danger in &DANGERS {
        let known = book.cautions.contains_key(danger.caution);
        let covered = told(danger.caution) || danger.or.iter().any(|other| told(other));
        if !known || covered || engine.is_some_and(|engine| danger.unless.contains(&engine)) {
            continue;
        }
        let by_engine = engine.is_some_and(|engine| danger.engine.contains(&engine));
        let line = lines.iter().position(|line| {
            let line = line.to_lowercase();
            danger.words.iter().any(|words| words.iter().all(|word| line.contains(word)))
        });
        if !by_engine && line.is_none() {
            continue;
        }
        faults.push(
            Fault::at(
                &NO_CAUTION,
                Spot::key(place),
                format!("`{id}` lacks the caution `{}`", danger.caution),
            )
            .label(danger.what)
            .help(format!("add `{}` to its cautions", danger.caution)),
        );
    }
    faults
}
