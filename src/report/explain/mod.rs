//! The explanation of a case as a page: [`customer`] for whoever pays, [`workshop`] for whoever works on it,
//! [`json`] for programs.

pub mod customer;
pub mod json;
pub mod workshop;

mod words;

use crate::case::{Case, Shop};
use crate::explain::Explanation;
use crate::graph::CauseGraph;
use crate::rulebook::RuleBook;

pub use words::chance_words;

/// Everything a page about a case is written from.
#[derive(Debug, Clone, Copy)]
pub struct About<'a> {
    /// The rule book.
    pub book: &'a RuleBook,
    /// The cause graph of the vehicle.
    pub graph: &'a CauseGraph,
    /// The case.
    pub case: &'a Case,
    /// The shop.
    pub shop: &'a Shop,
    /// What there is to say.
    pub explanation: &'a Explanation,
}
