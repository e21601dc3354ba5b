//! What several tests share: seeded synthetic networks, simulated vehicles.

// The benches use more of it than the tests do.
#[allow(dead_code)]
pub mod networks;
pub mod trials;
