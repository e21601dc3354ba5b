//! The case that goes on after the repair.
//!
//! The case that led to the repair stays as it is: it is the record of the diagnosis. What comes after is a case of its
//! own, about the vehicle as it is now: new parts dated, history brought up to date, the repaired failures absent, and no
//! finding from before the repair, since the repair may have changed each of them.

use jiff::Timestamp;
use jiff::civil::Date;

use super::make::Made;
use crate::case::{Case, Repaired};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Fitted;

/// The follow-up of `case` once `made` was carried out at `when`.
pub fn follow_up(book: &RuleBook, case: &Case, made: &Made, when: Timestamp, today: Date) -> Case {
    let mut vehicle = case.vehicle.clone();
    let date = today.to_string();
    for part in &made.renews {
        let fitted = Fitted { km: vehicle.km, hours: vehicle.hours, date: Some(date.clone()) };
        vehicle.fitted.insert(part.clone(), fitted);
    }
    if let Some(fluids) = &made.plan.fluids {
        vehicle.coolant.filled = Some(date);
        vehicle.coolant.mix = Some(format!("{:.0} %", fluids.reached * 100.0));
        vehicle.coolant.kind = Some(fluids.glycol.replace(' ', "-"));
    }
    vehicle.history.extend(made.history.iter().map(|(fact, &holds)| (fact.clone(), holds)));
    let mut after = Case::open(vehicle, Some(when));
    after.title = Some(format!("{}, after the repair", case.title.as_deref().unwrap_or(&made.plan.vehicle)));
    after.complaint.clone_from(&case.complaint);
    after.answers = case
        .answers
        .iter()
        .filter(|a| book.history.contains_key(&a.ask) && !made.history.contains_key(&a.ask))
        .cloned()
        .collect();
    let before = case.repaired.iter().filter(|old| !made.cures.contains(&old.failure)).cloned();
    let now =
        made.cures.iter().map(|failure| Repaired { failure: failure.clone(), when: after.opened.clone() });
    after.repaired = before.chain(now).collect();
    after
}
