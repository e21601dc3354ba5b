//! Care of the rule book: teach it a new failure pattern, and know that it got better.
//!
//! [`cases`] is every case there is, known and saved; [`compare`] lays two books side by side over all of them;
//! [`confirm`] records what was really wrong.

pub mod addition;
pub mod alike;
pub mod apart;
pub mod asker;
pub mod cases;
pub mod check;
pub mod compare;
pub mod confirm;
pub mod dialogue;
pub mod fit;
pub mod gaps;
mod insert;
pub mod journal;
pub mod lints;
pub mod start;
mod yaml_text;

pub use cases::{SavedCase, SavedCases, read_saved};
pub use compare::{Comparison, compare};
