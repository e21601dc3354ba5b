//! Tests of care of the rule book.

mod compare;
mod confirm;
