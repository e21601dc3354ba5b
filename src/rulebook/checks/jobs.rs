//! Do the steps of each layout make a job that can be done?

use std::collections::{BTreeMap, BTreeSet};

use petgraph::algo::tarjan_scc;
use petgraph::graph::{DiGraph, NodeIndex};

use super::{BookCheck, Needs};
use crate::physics::torque;
use crate::rulebook::entries::{Band, BoltInto, Entries, Fastening, Step};
use crate::rulebook::fault::{Spot, code};
use crate::rulebook::nearest::nearest;
use crate::rulebook::steps::BuildError;
use crate::rulebook::{Code, Fault, Kind, Point, Route, RuleBook};
use crate::units::{Kind as Quantity, Unit, parse_quantity};

code! {
    /// A step names a step that its layout does not have.
    ///
    /// `after` and `before` name steps of the same layout or of one it builds on.
    pub static UNKNOWN_STEP = Error "unknown-step", "a step that the layout does not have";
}

code! {
    /// Steps wait for each other in a ring, or layouts build on each other in one.
    ///
    /// A step that must come after itself can never be done. The message spells the ring out: take one `after` or
    /// `before` of it out.
    pub static STEP_RING = Error "step-ring", "steps that wait for each other";
}

code! {
    /// A step that no plan can ever contain.
    ///
    /// A plan holds the steps that renew, mend or clear something and all that they come after. This one does none of the
    /// three, and nothing comes after it. Name it in some `after`, say what it `renews`, or take it out.
    pub static IDLE_STEP = Warning "idle-step", "a step that nothing needs";
}

code! {
    /// A torque, thread size or number of minutes that cannot be.
    ///
    /// A torque is a number with a unit (`22 N·m`, `16 ft·lb`) and names its source. Minutes are `[low, high]`, not negative, the
    /// low one first. A thread size without a stated torque must be one of the table, or the plan has no band to print; then
    /// leave the size out, and the plan says that only the maker knows.
    pub static BAD_STEP_FIGURE = Error "bad-step-figure", "a figure of a step that cannot be";
}

/// The place of something in a layout's file.
fn spot(book: &RuleBook, job: &str, route: &[&str], key: bool) -> Spot {
    let place = book.within(Kind::Job, job, route);
    if route.is_empty() {
        return Spot::file(place.source);
    }
    if key { Spot::key(&place) } else { Spot { source: place.source, point: Point::Value(Route::of(route)) } }
}

pub(super) struct UnknownSteps;

impl BookCheck for UnknownSteps {
    fn code(&self) -> &'static Code {
        &UNKNOWN_STEP
    }

    fn needs(&self) -> Needs {
        Needs::EveryFile
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (id, job) in &book.jobs {
            let Ok(built) = book.built(id) else { continue };
            for (name, step) in &job.steps {
                for (list, steps) in [("after", &step.after), ("before", &step.before)] {
                    for (number, other) in steps.iter().enumerate() {
                        if built.steps.contains_key(other) {
                            continue;
                        }
                        let at = spot(book, id, &["steps", name, list, &number.to_string()], false);
                        let fault =
                            Fault::at(&UNKNOWN_STEP, at, format!("the layout `{id}` has no step `{other}`"))
                                .label("not known");
                        faults.push(match nearest(other, built.steps.keys().map(String::as_str)) {
                            Some(near) => fault.help(format!("did you mean `{near}`?")),
                            None => fault.help("name a step of this layout or of one it builds on"),
                        });
                    }
                }
            }
        }
        faults
    }
}

pub(super) struct StepRings;

impl BookCheck for StepRings {
    fn code(&self) -> &'static Code {
        &STEP_RING
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let mut faults: Vec<Fault> = Vec::new();
        let mut said: BTreeSet<String> = BTreeSet::new();
        for id in book.jobs.keys() {
            match book.built(id) {
                Err(BuildError::Ring(ring)) => {
                    // Every layout on the ring finds it; its members name it once.
                    let mut members: Vec<&str> = ring.split(" -> ").collect();
                    members.sort_unstable();
                    members.dedup();
                    if said.insert(members.join(" ")) {
                        let at = spot(book, id, &["builds-on"], true);
                        faults.push(
                            Fault::at(
                                &STEP_RING,
                                at,
                                format!("layouts build on each other in a ring: {ring}"),
                            )
                            .help("take one `builds-on` of the ring out"),
                        );
                    }
                }
                Err(BuildError::Unknown(_)) => {}
                Ok(built) => {
                    let Some(ring) = ring_of(&built.steps) else { continue };
                    let names = ring.join(" -> ");
                    if said.insert(names.clone()) {
                        let owner = built.steps.get(ring[0]).map_or(id.as_str(), |(owner, _)| owner);
                        let at = spot(book, owner, &["steps", ring[0]], true);
                        faults.push(
                            Fault::at(&STEP_RING, at, format!("steps wait for each other: {names}"))
                                .label("waits for itself")
                                .help("take one `after` or `before` of the ring out"),
                        );
                    }
                }
            }
        }
        faults
    }
}

/// A ring among the steps, earlier to later, its first again at the end.
fn ring_of<'a>(steps: &'a Entries<(&str, &Step)>) -> Option<Vec<&'a str>> {
    let mut graph: DiGraph<&str, ()> = DiGraph::new();
    let nodes: BTreeMap<&str, NodeIndex> =
        steps.keys().map(|id| (id.as_str(), graph.add_node(id.as_str()))).collect();
    for (id, (_, step)) in steps {
        for earlier in step.after.iter().filter_map(|e| nodes.get(e.as_str())) {
            graph.update_edge(*earlier, nodes[id.as_str()], ());
        }
        for later in step.before.iter().filter_map(|l| nodes.get(l.as_str())) {
            graph.update_edge(nodes[id.as_str()], *later, ());
        }
    }
    let knot = tarjan_scc(&graph)
        .into_iter()
        .find(|knot| knot.len() > 1 || graph.contains_edge(knot[0], knot[0]))?;
    let mut walk = vec![*knot.iter().min()?];
    loop {
        // Inside a knot every walk onwards comes back to where it was.
        let last = *walk.last()?;
        let next = graph.neighbors(last).filter(|n| knot.contains(n)).min()?;
        let back = walk.iter().position(|&seen| seen == next);
        walk.push(next);
        if let Some(at) = back {
            return Some(walk[at..].iter().map(|&n| graph[n]).collect());
        }
    }
}

pub(super) struct IdleSteps;

impl BookCheck for IdleSteps {
    fn code(&self) -> &'static Code {
        &IDLE_STEP
    }

    fn needs(&self) -> Needs {
        Needs::EveryFile
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        // A step is idle if it is so in every layout that has it.
        let mut idle: BTreeMap<(&str, &str), bool> = BTreeMap::new();
        for id in book.jobs.keys() {
            let Ok(built) = book.built(id) else { continue };
            for (name, (owner, step)) in &built.steps {
                let works = !(step.renews.is_empty() && step.mends.is_empty() && step.clears.is_empty());
                let needed = built.steps.values().any(|(_, other)| other.after.contains(name));
                let entry = idle.entry((owner, name_in(book, owner, name))).or_insert(true);
                *entry &= !(works || needed);
            }
        }
        idle.into_iter()
            .filter(|&(_, idle)| idle)
            .map(|((owner, name), _)| {
                let at = spot(book, owner, &["steps", name], true);
                Fault::at(&IDLE_STEP, at, format!("no plan can contain the step `{name}` of `{owner}`"))
                    .label("renews, mends and clears nothing, and nothing comes after it")
                    .help("name it in the `after` of a step that needs it, or take it out")
            })
            .collect()
    }
}

/// The step's name as the book holds it, so that it outlives the built layout.
fn name_in<'a>(book: &'a RuleBook, owner: &str, name: &str) -> &'a str {
    book.jobs.get(owner).and_then(|job| job.steps.get_key_value(name)).map_or("", |(name, _)| name.as_str())
}

pub(super) struct StepFigures;

impl BookCheck for StepFigures {
    fn code(&self) -> &'static Code {
        &BAD_STEP_FIGURE
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (id, job) in &book.jobs {
            for (name, step) in &job.steps {
                for (way, Band(low, high)) in [("undo", step.minutes.undo), ("refit", step.minutes.refit)] {
                    if !(low >= 0.0 && low <= high && high <= 6000.0) {
                        let at = spot(book, id, &["steps", name, "minutes", way], true);
                        faults.push(
                            Fault::at(&BAD_STEP_FIGURE, at, format!("[{low}, {high}] are no minutes"))
                                .label("expected the low figure first, from 0 to 6000"),
                        );
                    }
                }
                for (number, fastening) in step.fasteners.iter().enumerate() {
                    if let Some((key, what, help)) = fault_of(fastening) {
                        let at =
                            spot(book, id, &["steps", name, "fasteners", &number.to_string(), key], true);
                        faults.push(Fault::at(&BAD_STEP_FIGURE, at, what).help(help));
                    }
                }
            }
        }
        faults
    }
}

/// What is wrong with a fastening: the key, the fault, and what to do.
fn fault_of(fastening: &Fastening) -> Option<(&'static str, String, String)> {
    if let Some(stated) = &fastening.torque {
        return match parse_quantity(&stated.value, Quantity::Torque, Unit::NEWTON_METRE) {
            Err(why) => Some((
                "torque",
                format!("the torque cannot be read: {why}"),
                "write it like `22 N·m`".to_owned(),
            )),
            Ok(_) if stated.source.trim().is_empty() => Some((
                "torque",
                "the torque does not say where it comes from".to_owned(),
                "give its `source`, or leave the torque out".to_owned(),
            )),
            Ok(_) => None,
        };
    }
    let size = fastening.size.as_ref()?;
    let grade = fastening.grade.as_deref().unwrap_or_default();
    let into = match fastening.into {
        Some(BoltInto::Aluminium) => torque::Into::Aluminium,
        _ => torque::Into::Iron,
    };
    if torque::find(size, grade, into).is_some() {
        return None;
    }
    let rows: Vec<String> = torque::TABLE
        .iter()
        .filter(|row| row.into == into)
        .map(|row| format!("{} {}", row.size, row.grade))
        .collect();
    Some((
        "size",
        format!("the torque table has no `{size}` of grade `{grade}` there"),
        format!("it has {}; without a size the plan says that only the maker knows", rows.join(", ")),
    ))
}
