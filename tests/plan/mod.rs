//! Tests of: plan.
