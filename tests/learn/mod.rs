//! Tests of: learn.
