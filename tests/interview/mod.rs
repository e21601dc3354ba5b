//! Tests of: interview.
