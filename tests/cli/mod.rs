//! Tests of: cli.

mod reckon;
