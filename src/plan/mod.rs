//! Repairs, access order, fluids.
