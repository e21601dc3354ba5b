//! What to ask next, and the interview as a pure state machine: answers in, next question out.
//!
//! [`questions`] lists what may be asked of a vehicle, [`offers`] what can be put now and what is withheld,
//! [`weigh`] says what each would tell, [`engine_state`] what must be done first and what must not be done at
//! all, [`cost`] what checks and repairs cost, [`blame`] which
//! failures are to blame for the complaint, [`getting_right`] what it costs from here until the vehicle is
//! right, [`worth`] what a question saves of that, [`search`] what it does for a search that takes several, [`verdict`] what to say when nothing is worth asking any
//! more, and [`advice`] puts it together; [`going_on`] finds whether to go on without weighing everything. [`hearing`] and [`interview`] are the conversation itself.

pub mod advice;
pub mod blame;
pub mod cost;
pub mod engine_state;
pub mod getting_right;
pub mod going_on;
pub mod hearing;
pub mod interview;
mod lead;
pub mod offers;
pub mod questions;
pub mod search;
pub mod verdict;
pub mod weigh;
pub mod worth;

pub use advice::{Advice, Choice, Questioner, Strategy, advise};
pub use engine_state::{Hazards, Move, Present};
pub use offers::{Offer, Offers, Withheld};
pub use questions::{Question, QuestionKind, all_questions, open_questions};
pub use verdict::Verdict;
pub use weigh::{Effect, Moved, Weighed, weigh};
