//! Cause graph and evidence to chances.
