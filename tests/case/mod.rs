//! Tests of: case.
