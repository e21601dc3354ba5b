//! What the work needs and what follows it: coolant, parts to buy, the proof, the calendar.

use std::collections::BTreeSet;

use jiff::ToSpan;
use jiff::civil::Date;

use super::chances::Chances;
use super::fluids::{Dirt, Fluids, Known, fluids};
use super::layout::{fits, members};
use super::reasons::percent;
use super::repairs::{Cost, Repair, Scene};
use super::sheet::{Item, ProofLine, WatchLine};
use super::work::{caution_texts, part_name, tool_names};
use crate::physics::PhysicsError;
use crate::rulebook::entries::{Band, EngineState};
use crate::units::UnitSystem;

/// The coolant sheet, if the system is drained.
pub(super) fn coolant_sheet(
    scene: &Scene<'_>,
    chosen: &[&Repair],
    cost: &Cost,
    chances: &Chances<'_>,
    system: UnitSystem,
) -> Result<Option<Fluids>, PhysicsError> {
    if !cost.drained {
        return Ok(None);
    }
    let state = |id: &str| scene.graph.node(id).map_or(0.0, |node| chances.of(node));
    let flushing = members(cost.steps)
        .any(|at| scene.layout.steps[at].step.renews.iter().any(|p| p == "coolant"))
        && chosen.iter().any(|r| r.part == super::repairs::COOLANT);
    let flush = flushing.then(|| {
        let sludge = ["coolant-sludged", "oil-in-coolant", "stop-leak-clogging"]
            .map(state)
            .into_iter()
            .fold(0.0, f64::max);
        let rust = ["coolant-rusty", "coolant-acid"].map(state).into_iter().fold(0.0, f64::max);
        if sludge >= 0.5 {
            (Dirt::Sludged, format!("sludge or oil in it with a chance of {}", percent(sludge)))
        } else if rust >= 0.5 {
            (Dirt::Rusty, format!("rust or acid in it with a chance of {}", percent(rust)))
        } else {
            (Dirt::Old, "assumed, nothing found says worse".to_owned())
        }
    });
    fluids(scene.vehicle, &Known { flush, strength: None }, system).map(Some)
}

/// What to buy besides coolant.
pub(super) fn shopping(scene: &Scene<'_>, chosen: &[&Repair], cost: &Cost) -> Vec<Item> {
    let parts: BTreeSet<&str> = chosen.iter().flat_map(|r| r.items.iter().map(String::as_str)).collect();
    let mut items: Vec<Item> = scene
        .book
        .parts
        .keys()
        .filter(|part| parts.contains(part.as_str()) && part.as_str() != super::repairs::COOLANT)
        .map(|part| Item {
            name: part_name(scene.book, part).to_owned(),
            count: 1,
            price: scene.shop.price(scene.book, part),
        })
        .collect();
    for at in members(cost.steps) {
        for used in &scene.layout.steps[at].step.uses {
            match items.iter_mut().find(|item| item.name == used.item) {
                Some(item) => item.count += used.count,
                None => items.push(Item { name: used.item.clone(), count: used.count, price: used.price }),
            }
        }
    }
    items
}

/// How the work is proved.
pub(super) fn proofs(scene: &Scene<'_>, drained: bool) -> Vec<ProofLine> {
    scene
        .layout
        .prove
        .values()
        .filter(|p| {
            fits(scene.book, scene.vehicle, &p.fits_if) && p.if_drained.is_none_or(|wanted| wanted == drained)
        })
        .map(|p| ProofLine {
            name: p.name.clone(),
            cautions: caution_texts(scene.book, &p.cautions),
            lines: p.steps.clone(),
            engine: p.engine.unwrap_or(EngineState::Any),
            minutes: p.minutes.unwrap_or(Band(0.0, 0.0)),
            tools: tool_names(scene.book, &p.tools),
            good: p.good.clone(),
            bad: p.bad.clone(),
        })
        .collect()
}

/// When to look again, and what would send it back.
pub(super) fn watch(scene: &Scene<'_>, today: Option<Date>) -> Vec<WatchLine> {
    let date = |days: Option<u32>| {
        let day = today?.checked_add(i64::from(days?).days()).ok()?;
        Some(day.to_string())
    };
    scene
        .layout
        .watch
        .values()
        .filter(|w| fits(scene.book, scene.vehicle, &w.fits_if))
        .map(|w| WatchLine {
            when: w.when.clone(),
            date: date(w.days),
            cautions: caution_texts(scene.book, &w.cautions),
            look: w.look.clone(),
            back_if: w.back_if.clone(),
            ask: w.ask.iter().map(|id| scene.book.name_of(id).to_owned()).collect(),
        })
        .collect()
}
