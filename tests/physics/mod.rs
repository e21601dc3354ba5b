//! Tests of: physics.
