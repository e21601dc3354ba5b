//! Coolant mixtures, steam, atmosphere, belts, sensors: pure functions, each with its source.
