//! Tests of: cli.

mod hostile;
mod reckon;
