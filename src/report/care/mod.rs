//! Care of the rule book, as text and for programs.

pub mod compare;
pub mod gaps;
