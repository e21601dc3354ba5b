//! Figures with units: readings and their limits, and what a vehicle file says.

use super::BookCheck;
use crate::rulebook::entries::{Check, Limit, Vehicle};
use crate::rulebook::fault::{Spot, code};
use crate::rulebook::nearest::nearest;
use crate::rulebook::quantities::{VEHICLE_FIGURES, figure, step, unit_named};
use crate::rulebook::shape::list_or;
use crate::rulebook::{Code, Fault, Kind, RuleBook};
use crate::units::{Kind as Measure, Unit, parse_quantity};

code! {
    /// A figure cannot be read, or is not of the kind that belongs there: a pressure where a temperature is wanted.
    ///
    /// The unit of a reading fixes what is measured; its error, its least and most, and every limit must be of the same
    /// kind. On a temperature scale an error, `plus` and `less` are differences (`2 K`). An error may also be a share
    /// of the reading (`3 %`). Limits are `at` a figure, or `of` a figure of the vehicle with what to take `otherwise`.
    ///
    /// Before:
    ///
    /// ```yaml
    /// above: {of: cap-rating, plus: 2 K}
    /// ```
    ///
    /// After:
    ///
    /// ```yaml
    /// above: {of: cap-rating, plus: 7 kPa, otherwise: 110 kPa}
    /// ```
    pub static BAD_FIGURE = Error "bad-figure", "a figure or unit that does not fit";
}

/// Kinds of coolant a vehicle may have.
const COOLANTS: [&str; 3] = ["ethylene-glycol", "propylene-glycol", "water"];

pub(super) struct BadFigures;

impl BookCheck for BadFigures {
    fn code(&self) -> &'static Code {
        &BAD_FIGURE
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let mut found = Found { book, faults: Vec::new() };
        for (id, check) in &book.checks {
            found.check(id, check);
        }
        for (id, vehicle) in &book.vehicles {
            found.vehicle(id, vehicle);
        }
        found.faults
    }
}

struct Found<'a> {
    book: &'a RuleBook,
    faults: Vec<Fault>,
}

impl Found<'_> {
    fn add(
        &mut self,
        kind: Kind,
        id: &str,
        steps: &[&str],
        message: impl Into<String>,
        label: impl Into<String>,
    ) {
        let spot = Spot::value(&self.book.within(kind, id, steps));
        self.faults.push(Fault::at(&BAD_FIGURE, spot, message).label(label));
    }

    fn try_read<T>(
        &mut self,
        kind: Kind,
        id: &str,
        steps: &[&str],
        read: Result<T, String>,
        wanted: Measure,
    ) -> Option<T> {
        match read {
            Ok(value) => Some(value),
            Err(why) => {
                self.add(kind, id, steps, why, format!("expected {}", wanted.described()));
                None
            }
        }
    }

    fn check(&mut self, id: &str, check: &Check) {
        let Some(reading) = &check.reading else {
            for (outcome, entry) in &check.outcomes {
                for (key, limit) in [("above", &entry.above), ("below", &entry.below)] {
                    if limit.is_some() {
                        let message = format!(
                            "the outcome `{id}/{outcome}` has a limit, but the check has no `reading`"
                        );
                        self.add(
                            Kind::Check,
                            id,
                            &["outcomes", outcome, key],
                            message,
                            "no number to compare with it",
                        );
                    }
                }
            }
            return;
        };
        let Some(unit) = unit_named(&reading.unit) else {
            let message = format!("the unit `{}` is not known", reading.unit);
            let label = "expected a unit such as `kPa`, `°C`, `K`, `mm`, `V`, `A`, `ohm`, `%` or `min`";
            self.add(Kind::Check, id, &["reading", "unit"], message, label);
            return;
        };
        let wanted = unit.kind();
        let least =
            self.try_read(Kind::Check, id, &["reading", "least"], figure(&reading.least, unit), wanted);
        let most = self.try_read(Kind::Check, id, &["reading", "most"], figure(&reading.most, unit), wanted);
        if let (Some(least), Some(most)) = (least, most)
            && least >= most
        {
            let message = format!(
                "the reading of `{id}` has a least of {} and a most of {}",
                reading.least, reading.most
            );
            self.add(Kind::Check, id, &["reading", "most"], message, "expected more than the least");
        }
        self.error_of_reading(id, &reading.error, unit);
        for (outcome, entry) in &check.outcomes {
            for (key, limit) in [("above", &entry.above), ("below", &entry.below)] {
                if let Some(limit) = limit {
                    self.limit(id, outcome, key, limit, unit);
                }
            }
        }
    }

    fn error_of_reading(&mut self, id: &str, error: &str, unit: Unit) {
        let steps = ["reading", "error"];
        let share = error.trim().strip_suffix('%').filter(|_| unit.kind() != Measure::Ratio);
        let value = match share {
            Some(share) => {
                share.trim().parse::<f64>().map_err(|_| format!("`{error}` is not a share of the reading"))
            }
            None => step(error, unit),
        };
        let Some(value) = self.try_read(Kind::Check, id, &steps, value, unit.kind()) else { return };
        if !value.is_finite() || value <= 0.0 {
            self.add(
                Kind::Check,
                id,
                &steps,
                format!("the instrument error of `{id}` is not above 0"),
                "expected more than 0",
            );
        }
    }

    fn limit(&mut self, id: &str, outcome: &str, key: &str, limit: &Limit, unit: Unit) {
        let route = |step: &'static str| {
            vec!["outcomes".to_owned(), outcome.to_owned(), key.to_owned(), step.to_owned()]
        };
        let wanted = unit.kind();
        let read = |this: &mut Self, name: &'static str, text: &Option<String>, of_step: bool| {
            if let Some(text) = text {
                let steps = route(name);
                let steps: Vec<&str> = steps.iter().map(String::as_str).collect();
                let value = if of_step { step(text, unit) } else { figure(text, unit) };
                this.try_read(Kind::Check, id, &steps, value, wanted);
            }
        };
        read(self, "at", &limit.at, false);
        read(self, "otherwise", &limit.otherwise, false);
        read(self, "plus", &limit.plus, true);
        read(self, "less", &limit.less, true);
        let here = ["outcomes", outcome, key];
        match (&limit.at, &limit.of) {
            (Some(_), None) if limit.otherwise.is_some() => {
                let message = format!("a limit of `{id}/{outcome}` is fixed, so `otherwise` never holds");
                self.add(
                    Kind::Check,
                    id,
                    &[&here[..], &["otherwise"]].concat(),
                    message,
                    "take it out, or write `of`",
                );
            }
            (Some(_), None) => {}
            (None, Some(name)) => {
                self.vehicle_figure(id, &here, name, wanted);
                if limit.otherwise.is_none() {
                    let message = format!(
                        "a limit of `{id}/{outcome}` is of the vehicle, which may not say its `{name}`"
                    );
                    self.add(Kind::Check, id, &here, message, "expected `otherwise` with a usual figure");
                }
            }
            _ => {
                let message = format!(
                    "a limit of `{id}/{outcome}` has {} `at` and `of`",
                    if limit.at.is_some() { "both" } else { "neither" }
                );
                self.add(Kind::Check, id, &here, message, "expected one of `at` and `of`");
            }
        }
        if limit.times.is_some_and(|times| !times.is_finite() || times <= 0.0) {
            self.add(
                Kind::Check,
                id,
                &[&here[..], &["times"]].concat(),
                "a limit is multiplied by a number not above 0",
                "expected more than 0",
            );
        }
    }

    fn vehicle_figure(&mut self, id: &str, here: &[&str], name: &str, wanted: Measure) {
        let steps = [here, &["of"]].concat();
        match VEHICLE_FIGURES.iter().find(|(known, _)| *known == name) {
            None => {
                let known = VEHICLE_FIGURES.map(|(name, _)| name);
                let label = match nearest(name, known) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("expected {}", list_or(&known)),
                };
                self.add(Kind::Check, id, &steps, format!("vehicles have no figure `{name}`"), label);
            }
            Some(&(_, measure)) if measure != wanted => {
                let message =
                    format!("`{name}` is {}, but the reading is {}", measure.described(), wanted.described());
                self.add(Kind::Check, id, &steps, message, format!("expected {}", wanted.described()));
            }
            Some(_) => {}
        }
    }

    fn vehicle(&mut self, id: &str, vehicle: &Vehicle) {
        let ratings = &vehicle.ratings;
        let coolant = &vehicle.coolant;
        let rows: [(&[&str], &Option<String>, Measure); 11] = [
            (&["ratings", "cap"], &ratings.cap, Measure::Pressure),
            (&["ratings", "thermostat"], &ratings.thermostat, Measure::Temperature),
            (&["ratings", "thermostat-full"], &ratings.thermostat_full, Measure::Temperature),
            (&["ratings", "fan-current"], &ratings.fan_current, Measure::Current),
            (&["coolant", "capacity"], &coolant.capacity, Measure::Volume),
            (&["coolant", "drains"], &coolant.drains, Measure::Volume),
            (&["coolant", "mix"], &coolant.mix, Measure::Ratio),
            (&["altitude"], &vehicle.altitude, Measure::Altitude),
            (&["coldest"], &vehicle.coldest, Measure::Temperature),
            (&["pulleys", "crankshaft"], &vehicle.pulleys.crankshaft, Measure::Length),
            (&["pulleys", "pump"], &vehicle.pulleys.pump, Measure::Length),
        ];
        for (steps, text, measure) in rows {
            if let Some(text) = text {
                let read = parse_quantity(text, measure, None).map_err(|error| error.to_string());
                self.try_read(Kind::Vehicle, id, steps, read, measure);
            }
        }
        for (number, point) in vehicle.sensor.iter().enumerate() {
            let number = number.to_string();
            for (key, text, measure) in
                [("at", &point.at, Measure::Temperature), ("ohms", &point.ohms, Measure::Resistance)]
            {
                let read = parse_quantity(text, measure, None).map_err(|error| error.to_string());
                self.try_read(Kind::Vehicle, id, &["sensor", &number, key], read, measure);
            }
        }
        if let Some(kind) = coolant.kind.as_deref().filter(|kind| !COOLANTS.contains(kind)) {
            let message = format!("coolant cannot be of the kind `{kind}`");
            self.add(
                Kind::Vehicle,
                id,
                &["coolant", "kind"],
                message,
                format!("expected {}", list_or(&COOLANTS)),
            );
        }
    }
}
