//! Tests of: explain.
