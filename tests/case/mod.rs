//! Tests of cases: evidence, readings, ranking, the case folder and the known cases.

mod known;
mod published;
mod store;
mod sweep;
