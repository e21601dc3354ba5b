//! Benches.

fn main() {}
