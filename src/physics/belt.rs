//! Belts and pulleys: speeds, slip, length, wrap, alignment. Plain geometry; diameters are those of the pitch line
//! (about the outside of a V-pulley less the height the belt sits above its cord).

use std::f64::consts::PI;

use crate::units::Kind;

use super::PhysicsError;
use super::error::{positive, within};

/// Speed in r/min of a pulley of `second_mm`, driven over a belt by one of `first_mm` that turns at `rpm`, with the
/// share `slip` (0..1) of the belt's way lost.
pub fn driven_rpm(rpm: f64, first_mm: f64, second_mm: f64, slip: f64) -> Result<f64, PhysicsError> {
    positive("the driving pulley", Kind::Length, first_mm)?;
    positive("the driven pulley", Kind::Length, second_mm)?;
    within("a slip", Kind::Ratio, slip, 0.0, 1.0)?;
    within("a speed", Kind::Speed, rpm, 0.0, Kind::Speed.limits().1)?;
    Ok(rpm * first_mm / second_mm * (1.0 - slip))
}

/// Share of the belt's way lost, from the measured speeds of the driving (`rpm`, `first_mm`) and the driven pulley
/// (`second_rpm`, `second_mm`). Slightly negative values come from worn or wrongly measured pulleys and are
/// returned as they are; more than 5 % faster than possible is refused.
pub fn slip(rpm: f64, second_rpm: f64, first_mm: f64, second_mm: f64) -> Result<f64, PhysicsError> {
    positive("the driving speed", Kind::Speed, rpm)?;
    let free = driven_rpm(rpm, first_mm, second_mm, 0.0)?;
    let slip = 1.0 - within("a speed", Kind::Speed, second_rpm, 0.0, Kind::Speed.limits().1)? / free;
    if slip < -0.05 {
        return Err(PhysicsError::NoAnswer(format!(
            "the driven pulley cannot turn at {second_rpm:.0} rpm where {free:.0} rpm is all the belt can give: \
             check the diameters and both speeds"
        )));
    }
    Ok(slip)
}

/// Speed of the belt in m/s over a pulley of `mm` at `rpm`.
pub fn belt_metres_a_second(mm: f64, rpm: f64) -> Result<f64, PhysicsError> {
    positive("the pulley", Kind::Length, mm)?;
    within("a speed", Kind::Speed, rpm, 0.0, Kind::Speed.limits().1)?;
    Ok(PI * mm / 1000.0 * rpm / 60.0)
}

/// An open belt round two pulleys.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OpenBelt {
    /// Length of the belt along its pitch line, mm.
    pub length_mm: f64,
    /// Straight run between the pulleys, mm.
    pub span_mm: f64,
    /// Degrees of the first pulley that the belt touches.
    pub first_wrap_degrees: f64,
    /// Degrees of the second pulley that the belt touches.
    pub second_wrap_degrees: f64,
}

/// The exact geometry of an open belt round pulleys of `first_mm` and `second_mm` with their shafts `centres_mm`
/// apart. The pulleys must not touch.
pub fn open_belt(first_mm: f64, second_mm: f64, centres_mm: f64) -> Result<OpenBelt, PhysicsError> {
    positive("the first pulley", Kind::Length, first_mm)?;
    positive("the second pulley", Kind::Length, second_mm)?;
    positive("the distance of the shafts", Kind::Length, centres_mm)?;
    if centres_mm <= 0.5 * (first_mm + second_mm) {
        return Err(PhysicsError::NoAnswer(format!(
            "pulleys of {first_mm:.0} mm and {second_mm:.0} mm touch when their shafts are {centres_mm:.0} mm apart"
        )));
    }
    let tilt = ((first_mm - second_mm) / (2.0 * centres_mm)).asin();
    let span = centres_mm * tilt.cos();
    let (first, second) = (PI + 2.0 * tilt, PI - 2.0 * tilt);
    Ok(OpenBelt {
        length_mm: 2.0 * span + 0.5 * first_mm * first + 0.5 * second_mm * second,
        span_mm: span,
        first_wrap_degrees: first.to_degrees(),
        second_wrap_degrees: second.to_degrees(),
    })
}

/// Degrees by which a belt runs askew when one pulley stands `offset_mm` out of line over a run of `span_mm`.
pub fn misalignment_degrees(offset_mm: f64, span_mm: f64) -> Result<f64, PhysicsError> {
    positive("the run", Kind::Length, span_mm)?;
    let offset = within("an offset", Kind::Length, offset_mm, -span_mm, span_mm)?;
    Ok((offset / span_mm).atan().to_degrees())
}
