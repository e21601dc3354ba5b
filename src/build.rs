//! Build script.

fn main() {}
