//! How old a part is, as far as the vehicle file says.

use jiff::civil::Date;

use crate::rulebook::entries::{Vehicle, WearBy};

/// The age of a part in its law's own count: km, hours or years.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Age {
    /// Known from when it was fitted.
    Known(f64),
    /// Not known, but the vehicle has run no more than this.
    UpTo(f64),
    /// Nothing is known.
    Unknown,
}

/// The age of `part` on `today`; years need the day.
pub fn age_of(vehicle: &Vehicle, part: &str, by: WearBy, today: Option<Date>) -> Age {
    let fitted = vehicle.fitted.get(part);
    let (of_part, of_vehicle) = match by {
        WearBy::Km => (fitted.and_then(|f| f.km).zip(vehicle.km).map(|(then, now)| now - then), vehicle.km),
        WearBy::Hours => {
            (fitted.and_then(|f| f.hours).zip(vehicle.hours).map(|(then, now)| now - then), vehicle.hours)
        }
        WearBy::Years => {
            let coolant = (part == "coolant").then_some(&vehicle.coolant.filled);
            let date = fitted.and_then(|f| f.date.as_ref()).or_else(|| coolant?.as_ref());
            (
                date.and_then(|text| years_since(text, today)),
                vehicle.built.and_then(|year| years_since(&year.to_string(), today)),
            )
        }
    };
    match (of_part, of_vehicle) {
        (Some(age), _) => Age::Known(age.max(0.0)),
        (None, Some(age)) => Age::UpTo(age.max(0.0)),
        (None, None) => Age::Unknown,
    }
}

/// Years from a date written YYYY, YYYY-MM or YYYY-MM-DD (the middle of what is left out) to today.
fn years_since(text: &str, today: Option<Date>) -> Option<f64> {
    let mut fields = text.split('-').map(str::parse::<f64>);
    let year = fields.next()?.ok()?;
    let month = fields.next().map_or(Some(6.5), Result::ok)?;
    let today = today?;
    let now = f64::from(today.year()) + f64::from(today.day_of_year()) / 365.25;
    Some(now - (year + (month - 0.5) / 12.0))
}
