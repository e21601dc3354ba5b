//! Coolant mixtures, steam, atmosphere, belts, sensors: pure functions, each with its source.
//!
//! Plain numbers carry their unit in the parameter's name (`celsius`, `kpa`, `litres`); shares are 0..1 by volume.
//! Every function states its range and refuses what lies outside; nothing here guesses or reads a setting.
//!
//! * [`water`]: boiling and density of water (IAPWS-IF97)
//! * [`atmosphere`]: air pressure at an altitude (ISO 2533)
//! * [`mix`]: glycol and water: freezing point, density, hydrometer, always with the [`mix::Basis`] named
//! * [`boiling`]: boiling point under a cap at an altitude, margin, the cap for a wanted boiling point
//! * [`dilution`]: drains, refills, blends
//! * [`belt`]: pulley speeds, slip, belt length and wrap
//! * [`sensor`]: NTC sensors, two-point and three-point
//! * [`torque`]: tightening torque by size and grade, as a band

pub mod atmosphere;
pub mod belt;
pub mod boiling;
pub mod dilution;
mod error;
mod melinder;
pub mod mix;
pub mod sensor;
pub mod torque;
pub mod water;

pub use error::PhysicsError;
