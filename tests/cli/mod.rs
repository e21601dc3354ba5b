//! Tests of: cli.
