//! What things cost: the shop's own figures where it gives them, the book's bands otherwise.

use std::collections::BTreeMap;

use crate::rulebook::RuleBook;
use crate::rulebook::entries::Band;

/// Labour an hour while no shop file says otherwise, in the book's currency. Judgement.
pub const LABOUR_AN_HOUR: f64 = 60.0;

/// What a comeback costs while no shop file says otherwise: towing or a second visit, the diagnosis again, and trust.
/// Judgement, in the book's currency.
pub const COMEBACK: f64 = 120.0;

/// Prices a plan is worked out with.
#[derive(Debug, Clone)]
pub struct Prices {
    /// Currency they are in.
    pub currency: String,
    /// Labour for one hour, above 0.
    pub labour_an_hour: f64,
    /// What it costs when the vehicle comes back with the same complaint, 0 or more.
    pub comeback: f64,
    /// The shop's own prices by part; parts not listed cost what the book says.
    pub parts: BTreeMap<String, f64>,
    /// Where these figures come from, for the page.
    pub source: String,
}

impl Prices {
    /// The figures used without a shop file.
    pub fn usual(book: &RuleBook) -> Self {
        Self {
            currency: book.head.currency.clone(),
            labour_an_hour: LABOUR_AN_HOUR,
            comeback: COMEBACK,
            parts: BTreeMap::new(),
            source: "part prices are the rule book's bands; labour and comeback are usual figures (judgement), as no \
                     shop file was given"
                .to_owned(),
        }
    }

    /// Price band of a part.
    pub fn part(&self, book: &RuleBook, part: &str) -> Band {
        let own = self.parts.get(part).map(|&price| Band(price, price));
        own.or_else(|| Some(book.parts.get(part)?.price)).unwrap_or(Band(0.0, 0.0))
    }

    /// What minutes of work cost.
    pub fn labour(&self, minutes: f64) -> f64 {
        minutes / 60.0 * self.labour_an_hour
    }
}
