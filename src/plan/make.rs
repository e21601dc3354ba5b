//! From a case to its plan.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use thiserror::Error;

use super::chances::Chances;
use super::choice::{RepairSet, cheapest};
use super::layout::{Layout, LayoutError, StepSet, choose, members};
use super::reasons::{choice, percent, roots};
use super::repairs::{CaseBill, Repair, Scene, shortlist};
use super::sheet::{CLOSING, LayoutNote, Plan};
use super::supplies::{coolant_sheet, proofs, shopping, watch};
use super::work::work;
use crate::case::shop::Shop;
use crate::case::{Case, severe_states};
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Engine, Evidence, InferenceError, NodeId};
use crate::physics::PhysicsError;
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Urgency;
use crate::units::UnitSystem;

/// Below this chance of the leading suspect the plan says that asking further is better than buying.
const FIRM: f64 = 0.70;

/// Repairs with at least this share of the chance of the likeliest are about as likely.
const AS_LIKELY: f64 = 0.9;

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
    /// The case: its vehicle, its answers, what the customer said.
    pub case: &'a Case,
    /// What its answers say.
    pub evidence: &'a Evidence,
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
    let Input { book, graph, engine, shop, case, evidence } = input;
    let vehicle = &case.vehicle;
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
    let do_not_drive = do_not_drive(&scene, case, &chosen, bill.chances);
    let plan = Plan {
        vehicle: vehicle.name.clone().unwrap_or_else(|| "the vehicle".to_owned()),
        complaint: case.complaint.clone(),
        day: options.today.map(|day| day.to_string()),
        shop: shop.name.clone(),
        currency: shop.currency(book),
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
        // Of repairs about as likely the cheapest comes first: chance over cost.
        let most = repairs.iter().map(|repair| repair.chance).fold(0.0, f64::max);
        let about_as_likely = repairs.iter_mut().filter(|repair| repair.chance >= AS_LIKELY * most);
        let first = about_as_likely.min_by(|a, b| a.alone.total_cmp(&b.alone));
        first.ok_or(PlanError::Nothing)?.must = true;
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

/// Reasons not to drive until it is done.
fn do_not_drive(scene: &Scene<'_>, case: &Case, chosen: &[&Repair], chances: &Chances<'_>) -> Vec<String> {
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
    let states = scene.graph.of_kind(NodeKind::State);
    let states = states.into_iter().map(|state| (scene.graph.key(state), chances.of(state)));
    reasons.extend(severe_states(scene.book, case, states).into_iter().map(|(_, severe)| severe.say.clone()));
    reasons
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
