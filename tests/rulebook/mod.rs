//! Tests of the rule book: reading, faults, layers, edits, the shipped files.

pub mod bench_book;
mod edits;
mod faults;
mod hostile;
mod overlays;
mod shipped;
