//! The steps of a plan in the order in which they are done.

use std::collections::BTreeSet;

use super::layout::{Layout, StepSet, Wait, members};
use super::order::arrange;
use super::repairs::Repair;
use super::sheet::{Loose, StepLine, Torque, Work};
use crate::case::shop::Shop;
use crate::physics::torque::{self, Into as BoltHole};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::{BoltInto, EngineState, Fastening, Step};
use crate::units::{Kind, Unit, parse_quantity};

/// What one change of engine state weighs against one change of tool: cooling down takes longer than a walk to the bench.
const STATE_CHANGE: u32 = 20;

/// The tool everyone has.
const HANDS: &str = "hands";

/// Where torque bands come from.
const BAND_SOURCE: &str = "band by size and grade (published table, SAE J1701 basis, dry threads; a quarter less if oiled), only \
until the maker's figure is found";

/// The work for a set of repairs.
pub fn work(book: &RuleBook, shop: &Shop, layout: &Layout<'_>, repairs: &[&Repair], steps: StepSet) -> Work {
    let numbers: Vec<usize> = members(steps).collect();
    let local = |step: usize| numbers.iter().position(|&n| n == step).unwrap_or(0);
    let waits = layout.waits(steps);
    let pairs: Vec<(usize, usize)> = waits.iter().map(|&(from, to, _)| (local(from), local(to))).collect();
    let change = |previous: Option<usize>, next: usize| {
        changes(previous.map(|at| layout.steps[numbers[at]].step), layout.steps[numbers[next]].step)
    };
    // A checked layout has no ring, so there is an order.
    let (order, best_order) = arrange(numbers.len(), &pairs, change)
        .map_or_else(|| ((0..numbers.len()).collect(), false), |arranged| (arranged.order, arranged.best));
    let renewed = |step: usize| -> Vec<String> {
        repairs.iter().filter(|r| r.at == Some(step)).map(|r| part_name(book, &r.part).to_owned()).collect()
    };
    let line = |step: usize, back: bool| line(book, layout, step, renewed(step), back);
    let undo: Vec<StepLine> = order.iter().map(|&at| line(numbers[at], false)).collect();
    let refit: Vec<StepLine> = order
        .iter()
        .rev()
        .filter(|&&at| !layout.steps[numbers[at]].step.refit.is_empty())
        .map(|&at| line(numbers[at], true))
        .collect();
    let loose = repairs
        .iter()
        .filter(|r| r.at.is_none())
        .map(|r| Loose {
            name: part_name(book, &r.part).to_owned(),
            action: r.action.clone(),
            minutes: r.minutes,
        })
        .collect();
    let ids: BTreeSet<&String> = numbers.iter().flat_map(|&at| &layout.steps[at].step.tools).collect();
    let name_of = |at: usize| layout.steps[at].id.clone();
    Work {
        undo,
        loose,
        refit,
        waits: waits
            .iter()
            .map(|&(from, to, wait)| (name_of(from), name_of(to), wait == Wait::IfBoth))
            .collect(),
        best_order,
        tools: tool_names(book, ids.iter().copied()),
        lacks: tool_names(book, ids.iter().copied().filter(|id| shop.lacks(id))),
    }
}

/// What it costs to go from one step to the next: the engine's state, and every tool to be fetched.
fn changes(previous: Option<&Step>, next: &Step) -> u32 {
    let state = |step: &Step| step.engine.unwrap_or(EngineState::Cold);
    let turned = previous.is_some_and(|before| state(before) != state(next));
    let held = |tool: &&String| previous.is_some_and(|before| before.tools.contains(tool));
    let fetched = next.tools.iter().filter(|tool| tool.as_str() != HANDS && !held(tool)).count();
    u32::from(turned) * STATE_CHANGE + u32::try_from(fetched).unwrap_or(u32::MAX)
}

fn line(book: &RuleBook, layout: &Layout<'_>, at: usize, renews: Vec<String>, back: bool) -> StepLine {
    let entry = &layout.steps[at];
    let step = entry.step;
    let cautions = if back { &step.cautions_refit } else { &step.cautions };
    let tight = |f: &&Fastening| f.size.is_some() || f.torque.is_some() || f.pattern.is_some();
    StepLine {
        id: entry.id.clone(),
        name: step.name.clone(),
        cautions: caution_texts(book, cautions),
        lines: if back { step.refit.clone() } else { step.undo.clone() },
        minutes: if back { step.minutes.refit } else { step.minutes.undo },
        engine: step.engine.unwrap_or(EngineState::Cold),
        tools: tool_names(book, &step.tools),
        renews,
        keep: if back {
            Vec::new()
        } else {
            let kept =
                step.fasteners.iter().filter_map(|f| Some(format!("{}: {}", f.what, f.keep.as_ref()?)));
            kept.collect()
        },
        torques: if back { step.fasteners.iter().filter(tight).map(torque_of).collect() } else { Vec::new() },
        seal: step.seal.clone().filter(|_| back),
        look: if back { Vec::new() } else { step.look.clone() },
    }
}

/// The torque of a fastening: what the file states with its source, else a band by size, else the maker's alone.
pub fn torque_of(fastening: &Fastening) -> Torque {
    let size = fastening.size.as_ref().map(|size| match &fastening.grade {
        Some(grade) => format!("{size} {grade}"),
        None => size.clone(),
    });
    let into = match fastening.into {
        Some(BoltInto::Aluminium) => BoltHole::Aluminium,
        _ => BoltHole::Iron,
    };
    let stated = fastening.torque.as_ref().and_then(|stated| {
        let value = parse_quantity(&stated.value, Kind::Torque, Unit::NEWTON_METRE).ok()?.base();
        Some(((value, value), stated.source.clone()))
    });
    let by_size = || {
        let row = torque::find(fastening.size.as_ref()?, fastening.grade.as_ref()?, into)?;
        Some((row.band(), BAND_SOURCE.to_owned()))
    };
    let (band, source) = match stated.or_else(by_size) {
        Some((band, source)) => (Some(band), source),
        None => (None, "the maker's figure; no general figure fits".to_owned()),
    };
    Torque {
        what: fastening.what.clone(),
        count: fastening.count,
        size,
        band,
        source,
        pattern: fastening.pattern.clone(),
    }
}

/// The texts of cautions.
pub fn caution_texts(book: &RuleBook, ids: &[String]) -> Vec<String> {
    ids.iter()
        .map(|id| book.cautions.get(id).map_or_else(|| id.clone(), |caution| caution.text.clone()))
        .collect()
}

/// The names of tools, in the order given.
pub fn tool_names<'a>(book: &RuleBook, ids: impl IntoIterator<Item = &'a String>) -> Vec<String> {
    // Hands and eyes are always there: what takes no minute to fetch is not worth a place in a list.
    ids.into_iter()
        .filter(|id| book.tools.get(*id).is_none_or(|tool| tool.minutes > 0.0))
        .map(|id| book.tools.get(id).map_or_else(|| id.clone(), |tool| tool.name.clone()))
        .collect()
}

/// The name of a part.
pub fn part_name<'a>(book: &'a RuleBook, part: &'a str) -> &'a str {
    book.parts.get(part).map_or(part, |entry| &entry.name)
}
