//! Simulated vehicles, to measure how well the questioner chooses.
