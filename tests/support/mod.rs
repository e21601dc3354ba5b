//! Tests of: support.
