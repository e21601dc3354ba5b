//! Dates in vehicle files.

use super::BookCheck;
use crate::rulebook::fault::{Spot, code};
use crate::rulebook::{Code, Fault, Kind, RuleBook};

code! {
    /// A date is not written as a year, year and month, or full date.
    ///
    /// Write `2021`, `2021-06` or `2021-06-30`: as much as is known, the year first.
    pub static BAD_DATE = Error "bad-date", "a date that is not one";
}

pub(super) struct BadDates;

impl BookCheck for BadDates {
    fn code(&self) -> &'static Code {
        &BAD_DATE
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (id, vehicle) in &book.vehicles {
            let fill = vehicle.coolant.filled.as_deref().map(|date| (vec!["coolant", "filled"], date));
            let fitted = vehicle.fitted.iter().filter_map(|(part, fitted)| {
                Some((vec!["fitted", part.as_str(), "date"], fitted.date.as_deref()?))
            });
            for (steps, date) in fill.into_iter().chain(fitted) {
                if !is_date(date) {
                    let spot = Spot::value(&book.within(Kind::Vehicle, id, &steps));
                    faults.push(
                        Fault::at(&BAD_DATE, spot, format!("`{date}` is not a date"))
                            .label("expected YYYY, YYYY-MM or YYYY-MM-DD"),
                    );
                }
            }
        }
        faults
    }
}

/// True for a year from 1880, with a month, with a day of that month.
fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let widths = [4, 2, 2];
    let digits = parts
        .iter()
        .zip(widths)
        .all(|(part, width)| part.len() == width && part.bytes().all(|b| b.is_ascii_digit()));
    if parts.len() > 3 || !digits {
        return false;
    }
    let numbers: Vec<i16> = parts.iter().filter_map(|part| part.parse().ok()).collect();
    let (year, month, day) =
        (numbers[0], numbers.get(1).copied().unwrap_or(1), numbers.get(2).copied().unwrap_or(1));
    year >= 1880
        && match (i8::try_from(month), i8::try_from(day)) {
            (Ok(month), Ok(day)) => jiff::civil::Date::new(year, month, day).is_ok(),
            _ => false,
        }
}

#[cfg(test)]
mod tests {
    use super::is_date;

    #[test]
    fn dates_are_years_months_and_days_that_exist() {
        assert!(["2021", "1986-12", "2024-02-29"].into_iter().all(is_date));
        assert!(
            !["21", "2021-13", "2023-02-29", "2021-6", "06-2021", "2021-01-01-01", "", "year"]
                .into_iter()
                .any(is_date)
        );
    }
}
