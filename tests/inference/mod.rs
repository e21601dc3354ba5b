//! Tests of: inference.
