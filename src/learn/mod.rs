//! Confirmed cases to better weights.
