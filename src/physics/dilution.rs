//! Drains, refills and blends. Volumes are taken to add up (glycol and water shrink by less than 1 % together);
//! strengths are shares by volume on one basis, whichever it is.

use crate::units::Kind;

use super::PhysicsError;
use super::error::{positive, within};

/// What is left of the old filling after `times` drains and refills that each keep the share `keep` (0..1) of the
/// system's volume: `keep` to the power of `times`.
pub fn left_after(keep: f64, times: u32) -> Result<f64, PhysicsError> {
    let keep = within("a share that stays behind", Kind::Ratio, keep, 0.0, 1.0)?;
    Ok(keep.powi(i32::try_from(times).unwrap_or(i32::MAX)))
}

/// How many drains and refills, each keeping the share `keep`, bring the old filling down to `wanted` or less.
/// `keep` 0..1 without 1, `wanted` above 0.
pub fn drains_needed(keep: f64, wanted: f64) -> Result<u32, PhysicsError> {
    within("a share that stays behind", Kind::Ratio, keep, 0.0, 0.999)?;
    within("a wanted share", Kind::Ratio, wanted, 1e-9, 1.0)?;
    let mut times = 0;
    // The slack lets exactly 1/8 count as reached by three halvings.
    while left_after(keep, times)? > wanted * (1.0 + 1e-12) {
        times += 1;
    }
    Ok(times)
}

/// Volume and strength of several fillings poured together, as pairs of litres and strength.
pub fn blend(parts: &[(f64, f64)]) -> Result<(f64, f64), PhysicsError> {
    let (mut litres, mut glycol) = (0.0, 0.0);
    for &(volume, strength) in parts {
        within("a volume", Kind::Volume, volume, 0.0, Kind::Volume.limits().1)?;
        within("a strength", Kind::Ratio, strength, 0.0, 1.0)?;
        litres += volume;
        glycol += volume * strength;
    }
    if litres > 0.0 {
        Ok((litres, glycol / litres))
    } else {
        Err(PhysicsError::NoAnswer("nothing is poured: give at least one volume above zero".to_owned()))
    }
}

/// Strength after draining the share `drained` (0..1) of a system of strength `now` and refilling with `fill`.
pub fn after_refill(now: f64, drained: f64, fill: f64) -> Result<f64, PhysicsError> {
    within("a drained share", Kind::Ratio, drained, 0.0, 1.0)?;
    Ok(blend(&[(1.0 - drained, now), (drained, fill)])?.1)
}

/// Litres to drain from a full system of `capacity` litres and strength `now`, and to replace by `fill` (1 for
/// concentrate, 0 for water, 0.5 for a premix), to reach `target`.
pub fn to_replace(capacity: f64, now: f64, target: f64, fill: f64) -> Result<f64, PhysicsError> {
    positive("the capacity", Kind::Volume, capacity)?;
    for strength in [now, target, fill] {
        within("a strength", Kind::Ratio, strength, 0.0, 1.0)?;
    }
    if (target - now).abs() < 1e-12 {
        return Ok(0.0);
    }
    let share = (target - now) / (fill - now);
    if (0.0..=1.0).contains(&share) {
        return Ok(capacity * share);
    }
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    Err(PhysicsError::NoAnswer(format!(
        "{} cannot be reached from {} by filling in {}: fill with something {} than {}",
        percent(target),
        percent(now),
        percent(fill),
        if target > now { "stronger" } else { "weaker" },
        percent(target),
    )))
}

/// Litres of concentrate and of water that fill `capacity` litres to `target` when `left` litres of strength
/// `left_strength` stayed in the block and the heater.
pub fn to_fill(
    capacity: f64,
    target: f64,
    left: f64,
    left_strength: f64,
) -> Result<(f64, f64), PhysicsError> {
    positive("the capacity", Kind::Volume, capacity)?;
    within("a strength", Kind::Ratio, target, 0.0, 1.0)?;
    within("a strength", Kind::Ratio, left_strength, 0.0, 1.0)?;
    within("a volume left in the engine", Kind::Volume, left, 0.0, capacity)?;
    let concentrate = capacity * target - left * left_strength;
    let water = capacity - left - concentrate;
    // A drop either way is rounding, not impossibility.
    let drop = 1e-9 * capacity;
    if concentrate >= -drop && water >= -drop {
        return Ok((concentrate.max(0.0), water.max(0.0)));
    }
    let (only, reached) = if water < 0.0 {
        ("concentrate", capacity - left + left * left_strength)
    } else {
        ("water", left * left_strength)
    };
    Err(PhysicsError::NoAnswer(format!(
        "{left:.1} L of {:.0} % left in {capacity:.1} L are too much: filling up with {only} alone gives {:.0} %, \
         not {:.0} %; drain more first",
        100.0 * left_strength,
        100.0 * reached / capacity,
        100.0 * target,
    )))
}
