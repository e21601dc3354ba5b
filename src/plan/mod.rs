//! Repairs, access order, fluids.

pub mod chances;
pub mod choice;
pub mod layout;
pub mod order;
pub mod prices;
pub mod repairs;
