//! Tests of: rulebook.
