//! What to ask next, and the interview as a pure state machine: answers in, next question out.
//!
//! [`questions`] lists what may be asked of a vehicle, [`weigh`] says what each would tell.

pub mod advice;
pub mod questions;
pub mod weigh;

pub use advice::{Advice, Strategy, advise};
pub use questions::{Question, QuestionKind, open_questions};
pub use weigh::{Effect, Weighed, weigh};
