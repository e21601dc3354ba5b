//! The sentences of a plan, said alike in every format.

use crate::plan::fluids::{Fluids, Packs, show, temperature, volume};
use crate::plan::sheet::{Choice, Chosen, Item, LeftOut, Plan, Root, Tight, Torque};
use crate::report::style::per_cent;
use crate::rulebook::entries::{Band, EngineState};
use crate::units::{Unit, UnitSystem};

/// How a page says money and quantities.
#[derive(Debug, Clone, Copy)]
pub struct Words<'a> {
    /// The currency.
    pub currency: &'a str,
    /// Units.
    pub system: UnitSystem,
}

impl<'a> Words<'a> {
    /// The words of a plan in a system of units.
    pub fn of(plan: &'a Plan, system: UnitSystem) -> Self {
        Self { currency: &plan.currency, system }
    }

    /// Money, in whole units of the currency.
    pub fn money(self, amount: f64) -> String {
        format!("{:.0} {}", if amount.abs() < 0.5 { 0.0 } else { amount }, self.currency)
    }

    /// A band of money.
    pub fn money_band(self, band: Band) -> String {
        if (band.1 - band.0).abs() < 0.5 {
            return self.money(band.0);
        }
        format!("{:.0} to {:.0} {}", band.0, band.1, self.currency)
    }

    fn litres(self, litres: f64) -> String {
        volume(litres, self.system)
    }

    fn degrees(self, celsius: f64) -> String {
        temperature(celsius, self.system)
    }

    /// A torque with where it comes from: `pump bolts (6, 5/16 in grade 5): 21 to 31 N·m, alternating; band by ...`.
    pub fn torque(self, torque: &Torque) -> String {
        let mut about: Vec<String> = Vec::new();
        about.extend(torque.count.map(|n| format!("{n} of them")));
        about.extend(torque.size.clone());
        let about = if about.is_empty() { String::new() } else { format!(" ({})", about.join(", ")) };
        let figure = match torque.band {
            Some((low, high)) if (high - low).abs() < 0.05 => show(low, Unit::NEWTON_METRE, self.system),
            Some((low, high)) => {
                let unit = match self.system {
                    UnitSystem::Metric => Unit::NEWTON_METRE,
                    UnitSystem::Imperial => Unit::FOOT_POUND,
                };
                format!(
                    "{} to {}",
                    unit.number(unit.of_base(low).round()),
                    unit.format(unit.of_base(high).round())
                )
            }
            None => "see the maker's book".to_owned(),
        };
        let pattern = torque.pattern.as_ref().map(|p| format!(", {p}")).unwrap_or_default();
        format!("{}{about}: {figure}{pattern}. Source: {}", torque.what, torque.source)
    }

    /// One line of what an addition costs and saves.
    pub fn addition(self, c: &Chosen) -> String {
        format!(
            "{} and {} more now; {} and {} on its own later",
            minutes(c.adds_minutes),
            self.money(c.adds_money),
            minutes(c.alone_minutes),
            self.money(c.alone_money)
        )
    }

    /// One line of what leaving something out means.
    pub fn left_out(self, l: &LeftOut) -> String {
        format!(
            "{}. It would add {} and {} now, {} and {} on its own later",
            l.because,
            minutes(l.adds_minutes),
            self.money(l.adds_money),
            minutes(l.alone_minutes),
            self.money(l.alone_money)
        )
    }

    /// One line of what can wait.
    pub fn tight(self, t: &Tight) -> String {
        let what = if t.bare && t.without.len() > 1 {
            format!("The least that can be done, without {}", listed(&t.without))
        } else {
            format!("Without {}", listed(&t.without))
        };
        format!(
            "{what}: spares {} and {} today, costs {} more in expectation; the complaint is then still there with a chance of {}",
            self.money(t.spares),
            minutes(t.spares_minutes),
            self.money(t.costs),
            per_cent(t.stays)
        )
    }

    /// The money and time of the whole job.
    pub fn totals(self, plan: &Plan) -> Vec<String> {
        let c = &plan.choice;
        vec![
            format!("Parts and fluids {}", self.money_band(c.parts)),
            format!(
                "Work {}, waiting for the engine to cool not counted; labour about {} at {} an hour",
                minutes(c.minutes),
                self.money(c.labour),
                self.money(plan.labour_rate)
            ),
            format!("Together about {} now", self.money(c.now)),
        ]
    }

    /// How sure the plan is, and what it was weighed against.
    pub fn assurance(self, choice: &Choice) -> Vec<String> {
        let mut lines = Vec::new();
        if choice.stays > 0.0 {
            lines.push(format!("{}: {}.", capital(&choice.stays_means), per_cent(choice.stays)));
        }
        lines.push(format!(
            "Expected cost in all, with what is left out and comebacks: {}. The cheapest, with the first repair above, of {} sets of {} repairs{}.",
            self.money(choice.expected),
            2_u64.pow(u32::try_from(choice.weighed).unwrap_or(0)),
            choice.weighed,
            if choice.not_weighed > 0 {
                format!("; {} less likely repairs were not weighed", choice.not_weighed)
            } else {
                String::new()
            }
        ));
        if !choice.exact {
            lines.push(
                "These chances are estimates: the network is too tangled for exact work, so failures were taken as independent."
                    .to_owned(),
            );
        }
        lines
    }

    /// The coolant sheet in lines.
    pub fn fluids(self, f: &Fluids) -> Vec<String> {
        let share = |share: f64| format!("{:.0} %", share * 100.0);
        let mut lines = vec![format!(
            "The system holds {}; {} drain, {} stay in block and heater{}.",
            self.litres(f.capacity),
            self.litres(f.drained),
            self.litres(f.stays),
            if f.stays < 0.05 {
                String::new()
            } else if f.flush.is_some() {
                ", after the flush as water".to_owned()
            } else if f.stays_strength > 0.0 {
                format!(", as a {} mix", share(f.stays_strength))
            } else {
                ", as water".to_owned()
            }
        )];
        lines.push(format!(
            "Wanted: {} {} concentrate. {}.",
            share(f.wanted),
            f.glycol,
            capital(&f.wanted_because)
        ));
        lines.push(format!(
            "Pour in {} of concentrate and {} of distilled water. That makes {}.",
            self.litres(f.concentrate),
            self.litres(f.water),
            share(f.reached)
        ));
        lines.push(format!(
            "Expect: freezes at {} (makers' tables of concentrate; Melinder 2010 between), boils at {} under the {} cap at {} \
             (IAPWS-IF97, Raoult, within 2 degrees); plain water would boil at {}.",
            self.degrees(f.freezes),
            self.degrees(f.boils),
            show(f.cap, Unit::KPA, self.system),
            show(f.altitude, Unit::METRE_ALTITUDE, self.system),
            self.degrees(f.water_boils)
        ));
        lines.push(format!(
            "Margin: {} between the thermostat fully open ({}) and boiling.",
            show(f.margin.round(), Unit::KELVINS, self.system),
            self.degrees(f.full_open)
        ));
        lines.push(if f.premix_will_do {
            format!(
                "Ready-mixed 50/50 also does: {} of it make {}, freezing at {}.",
                self.litres(f.drained),
                share(f.premix.0),
                self.degrees(f.premix.1)
            )
        } else {
            format!(
                "Ready-mixed 50/50 alone does not do: thinned by what stays it comes to {}, freezing at {}.",
                share(f.premix.0),
                self.degrees(f.premix.1)
            )
        });
        if let Some(flush) = &f.flush {
            lines.push(format!(
                "Flush: coolant {} ({}). Each draining keeps {}, so after the first draining {} more fill{} with water leave{} {} of \
                 the old. Then both directions with the hose until it runs clear, however many rounds that takes.",
                flush.dirt.name(),
                flush.known_by,
                share(flush.keeps),
                flush.rounds,
                if flush.rounds == 1 { "" } else { "s" },
                if flush.rounds == 1 { "s" } else { "" },
                per_cent(flush.left)
            ));
        }
        lines.push(format!(
            "Catch {} or more. It goes where local rules say, never on the ground or down a drain.",
            self.litres(f.waste)
        ));
        if !f.assumed.is_empty() {
            lines.push(format!(
                "Taken for granted, as the vehicle file does not say: {}.",
                f.assumed.join("; ")
            ));
        }
        lines.extend(f.notes.iter().map(|note| format!("{}.", capital(note.trim_end_matches('.')))));
        lines
    }

    /// Bottles to buy.
    pub fn packs(self, packs: &Packs) -> String {
        let bottles: Vec<String> =
            packs.packs.iter().map(|&(count, litres)| format!("{count} x {}", self.litres(litres))).collect();
        format!("{}: {}", packs.what, bottles.join(" and "))
    }

    /// One line of the shopping list.
    pub fn item(self, item: &Item) -> String {
        let price = item.price.map(|price| format!(", {} each", self.money_band(price))).unwrap_or_default();
        format!("{} x {}{price}", item.count, item.name)
    }

    /// One line about a root cause.
    pub fn root(self, root: &Root) -> String {
        let end = match (&root.righted_by, &root.remedy) {
            (Some(by), Some(remedy)) => format!("Put right by {by}. {remedy}"),
            (Some(by), None) => format!("Put right by {by}."),
            (None, Some(remedy)) => format!("Not put right by this plan. {remedy}"),
            (None, None) => "Not put right by this plan.".to_owned(),
        };
        format!("{} ({}) can ruin the new {}. {end}", capital(&root.name), per_cent(root.chance), root.ruins)
    }
}

/// A band of minutes: `25 to 40 min`.
pub fn minutes(band: Band) -> String {
    let hours = |minutes: f64| format!("{:.1} h", minutes / 60.0);
    if (band.1 - band.0).abs() < 0.5 {
        return format!("{:.0} min", band.1);
    }
    if band.0 >= 120.0 {
        return format!("{} to {}", hours(band.0), hours(band.1));
    }
    format!("{:.0} to {:.0} min", band.0, band.1)
}

/// What the engine must be like, in words.
pub fn engine(state: EngineState) -> &'static str {
    match state {
        EngineState::Any => "any state",
        EngineState::Cold => "engine cold and off",
        EngineState::Running => "engine running from cold",
        EngineState::Hot => "engine hot and running",
        EngineState::HotOff => "engine hot, just off",
        EngineState::BeltOff => "engine off, belt off",
        EngineState::Drained => "engine off, coolant out",
        EngineState::Driving => "on the road",
    }
}

/// The first letter large.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// `a, b and c`.
pub fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
