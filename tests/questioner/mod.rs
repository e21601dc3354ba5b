//! Tests of: questioner.
