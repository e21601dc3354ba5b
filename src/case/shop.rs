//! The shop file: who works on the vehicle, what an hour costs, what parts cost here, and what is not in
//! the toolbox. Every line may be left out; a shop without a file is an ordinary small workshop.

use std::collections::BTreeSet;
use std::path::Path;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::graph::Slips;
use crate::rulebook::entries::{Band, Entries, Failure};
use crate::rulebook::plain::{is_control, plain};
use crate::rulebook::{RuleBook, documents};

/// Largest shop file that is read, in bytes.
const LARGEST: u64 = 256 * 1024;

/// A workshop, its prices and its tools. Money is in `currency`, time in minutes unless said otherwise.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Shop {
    /// What it is called; printed on reports.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// How to reach it: one line, printed under the name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub contact: Option<String>,
    /// Currency of every price here; without it the book's.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// Price of an hour of work.
    pub labour_rate: f64,
    /// Share of the labour rate that a minute of mere waiting costs (an engine cooling down, while other work
    /// can be done): 0 to 1.
    pub waiting: f64,
    /// What it costs beyond parts and work when the vehicle comes back not mended: the second visit, the
    /// trial run, the goodwill.
    pub comeback: f64,
    /// What it costs to hand the vehicle on to somebody who is sure to find it.
    pub hand_on: f64,
    /// Most minutes that may be spent on asking and checking.
    pub patience: f64,
    /// Shares of answers that are wrong whatever the vehicle does: overlooked, misheard, misread, mixed up; 0 to 0.2.
    pub slips: Slips,
    /// Price bands of parts by id, instead of the book's: `water-pump: [70, 95]`.
    #[serde(skip_serializing_if = "Entries::is_empty")]
    pub parts: Entries<Band>,
    /// Tools that are not here, by id: checks that need them are not offered.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub lacks: Vec<String>,
}

impl Default for Shop {
    fn default() -> Self {
        Self {
            name: None,
            contact: None,
            currency: None,
            labour_rate: 60.0,
            waiting: 0.25,
            comeback: 150.0,
            hand_on: 400.0,
            patience: 240.0,
            slips: Slips::default(),
            parts: Entries::new(),
            lacks: Vec::new(),
        }
    }
}

/// Why a shop file could not be used.
#[derive(Debug, Error)]
pub enum ShopError {
    /// The file system said no.
    #[error("cannot read the shop file `{path}`: {source}")]
    Io {
        /// The file.
        path: String,
        /// What the system said.
        source: std::io::Error,
    },
    /// It is not a shop file, or says something that cannot be.
    #[error("the shop file `{path}` is wrong: {}", faults.join("; "))]
    Wrong {
        /// The file.
        path: String,
        /// Every fault found.
        faults: Vec<String>,
    },
}

impl Shop {
    /// Reads a shop file and checks it against the book: all faults at once.
    pub fn read(path: &Path, book: &RuleBook) -> Result<Self, ShopError> {
        let name = path.display().to_string();
        let io = |source| ShopError::Io { path: name.clone(), source };
        let wrong = |faults| ShopError::Wrong { path: name.clone(), faults };
        let length = std::fs::metadata(path).map_err(io)?.len();
        if length > LARGEST {
            return Err(wrong(vec![format!("it is {length} bytes long; a shop file has at most {LARGEST}")]));
        }
        let bytes = documents::bytes_of(path, LARGEST).map_err(io)?;
        let shop: Self = documents::read(&bytes).map_err(|why| wrong(vec![why]))?;
        let faults = shop.faults(book);
        if faults.is_empty() { Ok(shop) } else { Err(wrong(faults)) }
    }

    /// Everything in it that cannot be: figures out of range, parts and tools the book does not know.
    pub fn faults(&self, book: &RuleBook) -> Vec<String> {
        let mut faults = Vec::new();
        if self.currency.as_deref().is_some_and(|text| text.contains(is_control)) {
            faults.push("currency: a control character stands in it".to_owned());
        }
        let mut in_range = |key: &str, value: f64, most: f64| {
            if !(0.0..=most).contains(&value) {
                faults.push(format!("`{key}` is {value}; it must be a number from 0 to {most}"));
            }
        };
        in_range("labour-rate", self.labour_rate, 1e5);
        in_range("waiting", self.waiting, 1.0);
        in_range("comeback", self.comeback, 1e6);
        in_range("hand-on", self.hand_on, 1e7);
        in_range("patience", self.patience, 1e5);
        in_range("slips: told", self.slips.told, 0.2);
        in_range("slips: checked", self.slips.checked, 0.2);
        for (part, &Band(low, high)) in &self.parts {
            if !book.parts.contains_key(part) {
                faults.push(format!(
                    "`parts` names `{part}`, which is no part of the book{}",
                    near(book.parts.keys(), part)
                ));
            }
            if !(low >= 0.0 && low <= high && high.is_finite()) {
                faults.push(format!(
                    "the price of `{part}` is [{low}, {high}]; write the low price first, both at least 0"
                ));
            }
        }
        for tool in self.lacks.iter().filter(|tool| !book.tools.contains_key(tool.as_str())) {
            faults.push(format!(
                "`lacks` names `{tool}`, which is no tool of the book{}",
                near(book.tools.keys(), tool)
            ));
        }
        faults
    }

    /// The currency of every price: the shop's, or the book's, fit to be printed.
    pub fn currency(&self, book: &RuleBook) -> String {
        plain(self.currency.as_deref().unwrap_or(&book.head.currency))
    }

    /// Price of minutes of work.
    pub fn labour(&self, minutes: f64) -> f64 {
        minutes / 60.0 * self.labour_rate
    }

    /// Price band of a part here; nothing is known of a part the book does not have.
    pub fn price(&self, book: &RuleBook, part: &str) -> Option<Band> {
        self.parts.get(part).copied().or_else(|| book.parts.get(part).map(|entry| entry.price))
    }

    /// Middle price of what a repair uses up: the money the repair names, or its own part; with it every
    /// part renewed along with it.
    pub fn materials(&self, book: &RuleBook, failure: &Failure) -> f64 {
        match failure.repair.price {
            Some(price) => price.middle(),
            None => std::iter::once(&failure.part)
                .chain(&failure.repair.with)
                .collect::<BTreeSet<_>>()
                .into_iter()
                .filter_map(|part| self.price(book, part))
                .map(Band::middle)
                .sum(),
        }
    }

    /// Whether a tool is not here.
    pub fn lacks(&self, tool: &str) -> bool {
        self.lacks.iter().any(|lacking| lacking == tool)
    }
}

/// "; did you mean ...?" for the nearest known id, if one is near.
fn near<'a>(known: impl Iterator<Item = &'a String>, id: &str) -> String {
    known
        .map(|known| (strsim::damerau_levenshtein(known, id), known))
        .filter(|(distance, _)| *distance <= id.len() / 3 + 1)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, known)| format!("; did you mean `{known}`?"))
        .unwrap_or_default()
}
