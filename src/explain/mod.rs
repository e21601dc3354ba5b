//! Why this part, what brought it on, how well the answers fit the book.
//!
//! [`pull`] weighs each answer for and against each suspect, [`story`] finds the strongest causal chain
//! through a suspect, [`comeback`] works out what a repair would leave behind, [`fit`] judges whether the book knows
//! this pattern, [`turn`] names the answers that would put another suspect first, [`firm`] redraws the weights.
//! [`explain`] does all of it for one case. docs/explain.md has the formulas and their sources.

pub mod comeback;
pub mod credit;
pub mod firm;
pub mod fit;
pub mod pull;
pub mod story;
pub mod turn;

mod case;

pub use case::{Culprit, Explanation, Measure, Options, Rival, Root, Told, Why, explain};
