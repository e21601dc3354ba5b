//! The interview as a pure state machine: replies in, the next step out.
//!
//! [`Interview::step`] says what to show, [`Interview::reply`] takes what was said. Nothing here prints, asks,
//! writes a file or reads the clock; whoever drives it keeps [`Interview::case`] after every reply. The state is
//! the case itself plus where in it the person is, so an interview can be dropped at any moment and opened again
//! from its case.

pub mod clash;
pub mod danger;
pub mod facts;
mod machine;
pub mod outlook;
mod replies;
pub mod steps;

pub use machine::{Interview, InterviewError};
pub use outlook::{Outlook, Stop};
pub use steps::{AgeStep, Card, Clash, ComplaintStep, Danger, End, FactStep, Glance, Reply, Settle, Step};
