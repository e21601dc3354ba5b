//! Confirmed cases to better weights.
//!
//! A confirmed case says which failures were found there, which were looked at and found good, and, by silence,
//! which were not looked at. Expectation-maximisation (Dempster, Laird & Rubin 1977) for the leaky noisy-OR reads all
//! of it: [`expect`] works out, exactly, how often each link is to be credited in each case; [`fit`] turns the credits
//! into weights that maximise the likelihood with a Beta prior whose strength is counted in cases; [`scores`] says
//! whether the cases are foretold better, each by weights that did not see it; [`proposal`] keeps what helps. [`book`]
//! ties this to the rule book, [`pool`] to other workshops, [`write`] to the user's own rules. docs/learning.md has the
//! equations and their checks.

pub mod beta;
pub mod book;
pub mod expect;
pub mod fit;
pub mod pool;
pub mod proposal;
pub mod scores;
pub mod sheet;
pub mod write;

pub use book::{Confirmed, Parameter, gather};
pub use fit::{Fit, Fitted, Settings, fit};
pub use proposal::{Foretold, Proposal, Verdict, propose};
pub use sheet::{Sheet, SheetNode, Slot};
