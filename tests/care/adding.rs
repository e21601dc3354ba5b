//! Adding.
