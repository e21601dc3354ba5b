//! Why a plan is as it is: what each repair costs and saves, what was left out, what brought the failures on.

use std::collections::BTreeSet;

use super::choice::{Best, Bill, RepairSet, total};
use super::repairs::{CaseBill, Cost, Repair};
use super::sheet::{Choice, Chosen, LeftOut, Root, Tight};
use super::work::part_name;
use crate::inference::{InferenceError, NodeId};
use crate::rulebook::entries::Band;

/// A root is named if it is there with at least this chance.
const WORTH_NAMING: f64 = 0.15;

/// Most lines of what can wait.
const MOST_TIGHT: usize = 5;

/// Most roots that are named.
const MOST_ROOTS: usize = 6;

/// Most lines of what was left out.
const MOST_LEFT_OUT: usize = 8;

/// A chance in whole per cent that claims neither certainty nor its opposite.
pub(super) fn percent(chance: f64) -> String {
    match chance * 100.0 {
        p if p > 99.0 && chance < 1.0 => "over 99 %".to_owned(),
        p if p < 1.0 && chance > 0.0 => "under 1 %".to_owned(),
        p => format!("{p:.0} %"),
    }
}

/// The repairs chosen, what each costs and saves, what was left out, what can wait.
pub(super) fn choice(
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

/// A band less another, not below zero.
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
        reasons.push(format!("may have failed too ({})", percent(repair.chance)));
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
pub(super) fn left_out(
    bill: &mut CaseBill<'_, '_>,
    best: Best,
    whole: &Cost,
) -> Result<Vec<LeftOut>, InferenceError> {
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
pub(super) fn roots(bill: &mut CaseBill<'_, '_>, set: RepairSet) -> Vec<Root> {
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
