//! Tests of: support.

pub mod networks;
