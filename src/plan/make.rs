//! From a case to its plan.

use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan;
use jiff::civil::Date;
use thiserror::Error;

use super::chances::Chances;
use super::choice::{Best, Bill, RepairSet, cheapest, total};
use super::fluids::{Dirt, Fluids, Known, fluids};
use super::layout::{Layout, LayoutError, StepSet, choose, fits, members};
use super::repairs::{CaseBill, Cost, Repair, Scene, shortlist};
use super::sheet::{
    CLOSING, Choice, Chosen, Item, LayoutNote, LeftOut, Plan, ProofLine, Root, Tight, WatchLine,
};
use super::work::{caution_texts, part_name, tool_names, work};
use crate::case::shop::Shop;
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Engine, Evidence, InferenceError, NodeId};
use crate::physics::PhysicsError;
use crate::rulebook::RuleBook;
use crate::rulebook::entries::{Band, EngineState, Urgency, Vehicle};
use crate::units::UnitSystem;

/// Below this chance of the leading suspect the plan says that asking further is better than buying.
const FIRM: f64 = 0.70;

/// A root is named if it is there with at least this chance.
const WORTH_NAMING: f64 = 0.15;

/// Most lines of what can wait.
const MOST_TIGHT: usize = 5;

/// Most roots that are named.
const MOST_ROOTS: usize = 6;

/// Most lines of what was left out.
const MOST_LEFT_OUT: usize = 8;

/// Why there is no plan.
#[derive(Debug, Error)]
pub enum PlanError {
    /// The layout cannot be used.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// No chances.
    #[error(transparent)]
    Inference(#[from] InferenceError),
    /// The coolant sheet cannot be worked out.
    #[error("the coolant cannot be worked out: {0}")]
    Fluids(#[from] PhysicsError),
    /// A part to replace that is no part of this vehicle.
    #[error("`{part}` cannot be replaced on this vehicle{}", near.as_ref().map(|n| format!("; did you mean `{n}`?")).unwrap_or_else(|| "; `weephole rules show parts` lists the parts".to_owned()))]
    UnknownPart {
        /// What was named.
        part: String,
        /// The nearest known part.
        near: Option<String>,
    },
    /// More parts asked for than can be weighed.
    #[error("{0} parts are more than one plan can weigh; name at most {max}", max = super::choice::MOST_REPAIRS)]
    TooMany(usize),
    /// Nothing to do.
    #[error("no failure of this vehicle can be mended; name a part with `--replace`")]
    Nothing,
}

/// What a plan is made from.
#[derive(Debug, Clone, Copy)]
pub struct Input<'a> {
    /// The rule book.
    pub book: &'a RuleBook,
    /// The cause graph of the vehicle.
    pub graph: &'a CauseGraph,
    /// The engine.
    pub engine: &'a Engine,
    /// The shop.
    pub shop: &'a Shop,
    /// The vehicle.
    pub vehicle: &'a Vehicle,
    /// The answers so far.
    pub evidence: &'a Evidence,
    /// What the customer said.
    pub complaint: Option<&'a str>,
}

/// What is asked of a plan.
#[derive(Debug, Clone)]
pub struct Options {
    /// Parts that are to be replaced whatever the chances say; empty to follow the diagnosis.
    pub replace: Vec<String>,
    /// Horizon for parts that are due, in years.
    pub horizon_years: f64,
    /// Units of figures inside sentences.
    pub system: UnitSystem,
    /// The day, if it is known.
    pub today: Option<Date>,
}

impl Default for Options {
    fn default() -> Self {
        Self { replace: Vec::new(), horizon_years: 2.0, system: UnitSystem::Metric, today: None }
    }
}

/// A plan with what the follow-up needs of it.
#[derive(Debug, Clone)]
pub struct Made {
    /// The plan.
    pub plan: Plan,
    /// Failures it puts right.
    pub cures: Vec<String>,
    /// Parts that are renewed.
    pub renews: Vec<String>,
    /// History facts that hold afterwards, or no longer.
    pub history: BTreeMap<String, bool>,
}

/// Makes the plan.
pub fn make(input: Input<'_>, options: &Options) -> Result<Made, PlanError> {
    let Input { book, graph, engine, shop, vehicle, evidence, .. } = input;
    let (layout_id, layout_why) = choose(book, vehicle)?;
    let layout = Layout::of(book, vehicle, &layout_id)?;
    let scene = Scene {
        book,
        graph,
        vehicle,
        layout: &layout,
        shop,
        today: options.today,
        horizon_years: options.horizon_years,
    };
    let mut chances = Chances::new(graph, engine, evidence)?;
    let mut repairs = scene.repairs(&mut chances)?;
    let mut notes = Vec::new();
    mark_musts(&scene, &mut repairs, &options.replace)?;
    if options.replace.is_empty() {
        notes.extend(doubts(&scene, &repairs, &chances));
    }
    scene.only_same_access(&mut repairs);
    let (repairs, not_weighed) = shortlist(repairs, shop.comeback);
    let must = set_of(&repairs, |r| r.must);
    let mut bill = CaseBill { scene: &scene, repairs: &repairs, chances: &mut chances };
    let best = cheapest(&mut bill, must)?;
    let choice = choice(&mut bill, best, must, not_weighed)?;
    let roots = roots(&mut bill, best.set);
    let chosen: Vec<&Repair> = bill.of(best.set);
    let cost = scene.cost_of(chosen.iter().copied());
    let sheet = coolant_sheet(&scene, &chosen, &cost, bill.chances, options.system)?;
    let do_not_drive = do_not_drive(&scene, &chosen, bill.chances);
    let plan = Plan {
        vehicle: vehicle.name.clone().unwrap_or_else(|| "the vehicle".to_owned()),
        complaint: input.complaint.map(str::to_owned),
        day: options.today.map(|day| day.to_string()),
        shop: shop.name.clone(),
        currency: shop.currency(book).to_owned(),
        labour_rate: shop.labour_rate,
        comeback: shop.comeback,
        layout: LayoutNote {
            id: layout_id,
            name: layout.job.name.clone(),
            why: layout_why,
            source: layout.job.source.clone(),
        },
        do_not_drive,
        notes,
        choice,
        roots,
        work: work(book, shop, &layout, &chosen, cost.steps),
        shopping: shopping(&scene, &chosen, &cost),
        fluids: sheet,
        prove: proofs(&scene, cost.drained),
        watch: watch(&scene, options.today),
        closing: CLOSING.to_owned(),
    };
    let cured: BTreeSet<NodeId> = chosen.iter().flat_map(|r| r.cures.iter().copied()).collect();
    Ok(Made {
        cures: cured.into_iter().map(|node| graph.key(node).to_owned()).collect(),
        renews: chosen.iter().filter(|r| r.id == r.part).map(|r| r.part.clone()).collect(),
        history: history_after(&scene, &chosen, cost.steps),
        plan,
    })
}

fn set_of(repairs: &[Repair], wanted: impl Fn(&Repair) -> bool) -> RepairSet {
    repairs.iter().enumerate().filter(|(_, r)| wanted(r)).fold(0, |set, (at, _)| set | 1 << at)
}

/// Marks what must be in: the parts asked for, else the likeliest repair.
fn mark_musts(scene: &Scene<'_>, repairs: &mut [Repair], replace: &[String]) -> Result<(), PlanError> {
    if replace.len() > super::choice::MOST_REPAIRS {
        return Err(PlanError::TooMany(replace.len()));
    }
    if replace.is_empty() {
        let likeliest = repairs.iter_mut().max_by(|a, b| a.chance.total_cmp(&b.chance));
        likeliest.ok_or(PlanError::Nothing)?.must = true;
        return Ok(());
    }
    for part in replace {
        // A repair that buys the part, or the first that the book has for it.
        let of_part = |r: &Repair| r.part == *part;
        let at = repairs
            .iter()
            .position(|r| of_part(r) && r.id == r.part)
            .or_else(|| repairs.iter().position(of_part));
        match at {
            Some(at) => repairs[at].must = true,
            None => {
                let known = scene.book.parts.keys().map(String::as_str);
                let near =
                    crate::rulebook::nearest(part, known).filter(|near| near != part).map(str::to_owned);
                return Err(PlanError::UnknownPart { part: part.clone(), near });
            }
        }
    }
    Ok(())
}

/// Reasons not to rely on the plan yet.
fn doubts(scene: &Scene<'_>, repairs: &[Repair], chances: &Chances<'_>) -> Vec<String> {
    let mut notes = Vec::new();
    let lead = repairs.iter().find(|r| r.must);
    let harmless = scene
        .graph
        .of_kind(NodeKind::Failure)
        .into_iter()
        .filter(|&f| !scene.real(f))
        .max_by(|&a, &b| chances.of(a).total_cmp(&chances.of(b)));
    if let (Some(lead), Some(normal)) = (lead, harmless)
        && chances.of(normal) > lead.chance
    {
        let name = scene.book.failures.get(scene.graph.key(normal)).map_or("", |f| f.name.as_str());
        notes.push(format!(
            "what was found is most likely normal ({name}, {}): mend nothing before that is ruled out",
            percent(chances.of(normal))
        ));
    }
    if let Some(lead) = lead
        && lead.chance < FIRM
    {
        notes.push(format!(
            "the leading suspect stands at {} only: another check is likely worth more than a part. Go on with the interview first",
            percent(lead.chance)
        ));
    }
    notes
}

/// A chance in whole per cent that claims neither certainty nor its opposite.
fn percent(chance: f64) -> String {
    match chance * 100.0 {
        p if p > 99.0 && chance < 1.0 => "over 99 %".to_owned(),
        p if p < 1.0 && chance > 0.0 => "under 1 %".to_owned(),
        p => format!("{p:.0} %"),
    }
}

/// The repairs chosen, what each costs and saves, what was left out, what can wait.
fn choice(
    bill: &mut CaseBill<'_, '_>,
    best: Best,
    must: RepairSet,
    not_weighed: usize,
) -> Result<Choice, InferenceError> {
    let scene = bill.scene;
    let repairs = bill.repairs;
    let whole = scene.cost_of(bill.of(best.set));
    let mut chosen = Vec::new();
    let mut tight = Vec::new();
    for at in (0..repairs.len()).filter(|at| best.set >> at & 1 == 1) {
        let without = best.set & !(1 << at);
        let rest = scene.cost_of(bill.of(without));
        let saves = total(bill, without)? - best.total;
        let is_must = must >> at & 1 == 1;
        let repair = &repairs[at];
        let adds_minutes = less(whole.minutes, rest.minutes);
        let adds_money = whole.money() - rest.money();
        chosen.push(Chosen {
            id: repair.id.clone(),
            part: repair.part.clone(),
            name: part_name(scene.book, &repair.part).to_owned(),
            action: repair.action.clone(),
            also: repair.also.clone(),
            chance: repair.chance,
            must: is_must,
            because: because(bill, at, best.set, is_must)?,
            adds_minutes,
            adds_money,
            alone_minutes: repair.alone_minutes,
            alone_money: repair.alone,
            saves,
            cures: repair.cures.iter().map(|&node| scene.graph.key(node).to_owned()).collect(),
        });
        if !is_must {
            tight.push(Tight {
                without: vec![part_name(scene.book, &repair.part).to_owned()],
                spares: adds_money,
                spares_minutes: adds_minutes,
                costs: saves,
                stays: bill.still_there(without)?,
                bare: false,
            });
        }
    }
    chosen.sort_by_key(|c| !c.must);
    tight.sort_by(|a, b| (a.costs / a.spares.max(1.0)).total_cmp(&(b.costs / b.spares.max(1.0))));
    let droppable: Vec<String> = tight.iter().flat_map(|t| t.without.clone()).collect();
    tight.truncate(MOST_TIGHT);
    if droppable.len() > 1 {
        let bare = scene.cost_of(bill.of(must));
        tight.push(Tight {
            without: droppable,
            spares: whole.money() - bare.money(),
            spares_minutes: less(whole.minutes, bare.minutes),
            costs: total(bill, must)? - best.total,
            stays: bill.still_there(must)?,
            bare: true,
        });
    }
    let left_out = left_out(bill, best, &whole)?;
    let stays = bill.still_there(best.set)?;
    Ok(Choice {
        repairs: chosen,
        left_out,
        tight,
        parts: whole.parts,
        minutes: whole.minutes,
        labour: whole.labour,
        now: whole.money(),
        expected: best.total,
        stays,
        stays_means: bill.chances.what_stays().to_owned(),
        exact: bill.chances.exact(),
        weighed: repairs.len(),
        not_weighed,
        looked_at: best.looked_at,
        horizon_years: scene.horizon_years,
    })
}

fn less(a: Band, b: Band) -> Band {
    Band((a.0 - b.0).max(0.0), (a.1 - b.1).max(0.0))
}

/// Why a repair is in.
fn because(
    bill: &mut CaseBill<'_, '_>,
    at: usize,
    set: RepairSet,
    must: bool,
) -> Result<String, InferenceError> {
    let repair = &bill.repairs[at];
    let mut reasons = Vec::new();
    if must {
        reasons.push(format!("failed with a chance of {}", percent(repair.chance)));
    } else if repair.chance >= 0.03 {
        reasons.push(format!("may well have failed too ({})", percent(repair.chance)));
    }
    if let Some(due) =
        repair.due.as_ref().filter(|due| due.old - due.new >= 0.05 && repair.id != super::repairs::COOLANT)
    {
        reasons.push(format!(
            "{}; {} to give out within {} years, a new one {}",
            due.age,
            percent(due.old),
            bill.scene.horizon_years,
            percent(due.new)
        ));
    }
    let without = set & !(1 << at);
    let mut spared = Vec::new();
    for other in (0..bill.repairs.len()).filter(|other| without >> other & 1 == 1) {
        if bill.repairs[other].roots.is_empty() {
            continue;
        }
        let (left, righted) = (bill.ruined(other, without)?, bill.ruined(other, set)?);
        if left - righted >= 0.02 {
            let name = part_name(bill.scene.book, &bill.repairs[other].part);
            spared.push((
                left - righted,
                format!("the new {name} with a chance of {} instead of {}", percent(left), percent(righted)),
            ));
        }
    }
    spared.sort_by(|a, b| b.0.total_cmp(&a.0));
    if !spared.is_empty() {
        let spared: Vec<String> = spared.into_iter().take(2).map(|(_, text)| text).collect();
        reasons.push(format!("without it, what is in there ruins {}", spared.join(" and ")));
    }
    if reasons.is_empty() {
        reasons.push("costs little while everything is open".to_owned());
    }
    Ok(reasons.join("; "))
}

/// What was weighed and left out, with at least a little at stake.
fn left_out(bill: &mut CaseBill<'_, '_>, best: Best, whole: &Cost) -> Result<Vec<LeftOut>, InferenceError> {
    let scene = bill.scene;
    let mut list: Vec<(f64, LeftOut)> = Vec::new();
    for at in (0..bill.repairs.len()).filter(|at| best.set >> at & 1 == 0) {
        let Some(chance) = bill.still_needed(at, best.set)? else { continue };
        let later = bill.later(at, best.set)?;
        let with = best.set | 1 << at;
        let more = scene.cost_of(bill.of(with));
        let loses = total(bill, with)? - best.total;
        let repair = &bill.repairs[at];
        let due = repair.due.as_ref().map_or(0.0, |due| due.old);
        let adds = more.money() - whole.money();
        let because = if chance < 0.02 && due < 0.05 {
            format!("hardly ever the cause here ({:.1} %) and not due", chance * 100.0)
        } else {
            format!(
                "still needed with a chance of {}{}: about {:.0} of expected cost against {:.0} today",
                percent(chance),
                if due >= 0.05 { format!(", {} to give out by age", percent(due)) } else { String::new() },
                later,
                adds,
            )
        };
        list.push((
            later,
            LeftOut {
                id: repair.id.clone(),
                name: part_name(scene.book, &repair.part).to_owned(),
                action: repair.action.clone(),
                chance,
                adds_minutes: less(more.minutes, whole.minutes),
                adds_money: adds,
                alone_minutes: repair.alone_minutes,
                alone_money: repair.alone,
                loses,
                because,
            },
        ));
    }
    list.sort_by(|(a, _), (b, _)| b.total_cmp(a));
    list.truncate(MOST_LEFT_OUT);
    Ok(list.into_iter().map(|(_, left)| left).collect())
}

/// What may have killed the parts, and what puts an end to it.
fn roots(bill: &mut CaseBill<'_, '_>, set: RepairSet) -> Vec<Root> {
    let scene = bill.scene;
    let mut roots: Vec<Root> = Vec::new();
    let chosen = bill.of(set);
    for repair in &chosen {
        let mut causes: BTreeSet<NodeId> = repair.roots.keys().copied().collect();
        // History that nothing in the plan can undo still belongs on the page with its remedy.
        for &failure in &repair.own {
            causes.extend(scene.graph.causes(failure).into_iter().map(|(cause, _)| cause).filter(|&cause| {
                scene.book.history.get(scene.graph.key(cause)).is_some_and(|entry| entry.remedy.is_some())
            }));
        }
        for cause in causes {
            let chance = bill.chances.of(cause);
            let id = scene.graph.key(cause);
            if chance < WORTH_NAMING || roots.iter().any(|root| root.id == id) {
                continue;
            }
            let rights = |r: &&&Repair| r.clears.contains(&cause) || r.cures.contains(&cause);
            roots.push(Root {
                id: id.to_owned(),
                name: scene.book.name_of(id).to_owned(),
                chance,
                ruins: part_name(scene.book, &repair.part).to_owned(),
                righted_by: chosen.iter().find(rights).map(|r| {
                    if r.clears.contains(&cause) && r.id != super::repairs::COOLANT {
                        "draining and filling with the right mix".to_owned()
                    } else if r.id == super::repairs::COOLANT {
                        "the flush and the fresh mix".to_owned()
                    } else {
                        part_name(scene.book, &r.part).to_owned()
                    }
                }),
                remedy: scene.book.history.get(id).and_then(|entry| entry.remedy.clone()),
            });
        }
    }
    roots.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    roots.truncate(MOST_ROOTS);
    roots
}

/// Reasons not to drive until it is done.
fn do_not_drive(scene: &Scene<'_>, chosen: &[&Repair], chances: &Chances<'_>) -> Vec<String> {
    let mut reasons = Vec::new();
    for repair in chosen {
        for &failure in &repair.own {
            if let Some(entry) = scene.book.failures.get(scene.graph.key(failure))
                && entry.urgency == Urgency::StopNow
                && chances.of(failure) >= 0.3
            {
                reasons.push(format!("{}: {}", entry.name, entry.if_left));
            }
        }
    }
    for state in scene.graph.of_kind(NodeKind::State) {
        if let Some(severe) = scene.book.states.get(scene.graph.key(state)).and_then(|s| s.severe.as_ref())
            && chances.of(state) >= 0.5
        {
            reasons.push(severe.clone());
        }
    }
    reasons
}

/// The coolant sheet, if the system is drained.
fn coolant_sheet(
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
fn shopping(scene: &Scene<'_>, chosen: &[&Repair], cost: &Cost) -> Vec<Item> {
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

fn proofs(scene: &Scene<'_>, drained: bool) -> Vec<ProofLine> {
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

fn watch(scene: &Scene<'_>, today: Option<Date>) -> Vec<WatchLine> {
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

/// What the vehicle's history says after the work.
fn history_after(scene: &Scene<'_>, chosen: &[&Repair], steps: StepSet) -> BTreeMap<String, bool> {
    let mut history = BTreeMap::new();
    for at in members(steps) {
        let step = scene.layout.steps[at].step;
        if step.drains || chosen.iter().any(|r| r.at == Some(at) && r.id == r.part) {
            history.extend(step.leaves.iter().map(|id| (id.clone(), true)));
        }
        let ended = step.clears.iter().filter(|id| scene.book.history.contains_key(id.as_str()));
        history.extend(ended.map(|id| (id.clone(), false)));
    }
    history
}
