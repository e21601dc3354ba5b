//! What several tests share: seeded synthetic networks.

// The benches use more of it than the tests do.
#[allow(dead_code)]
pub mod networks;
