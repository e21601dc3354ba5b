//! Antifreeze and water: strength, freezing point, density, hydrometer.
//!
//! *Strength* is a share by volume, counted from the liquids at 20 °C before they are poured together. It means
//! nothing without its [`Basis`]: a bottle of concentrate is not pure glycol (water and inhibitors take a few per
//! cent), so 50 % concentrate freezes at -37 °C where 50 % pure ethylene glycol freezes near -40 °C.
//!
//! Pure glycol follows Melinder 2010 (see `melinder`). A second published source, the ASHRAE Handbook of 2001,
//! is up to 3 °C warmer for ethylene glycol at 50 to 55 %; nothing here is better than that.
//! Concentrate of ethylene glycol follows makers' tables (40 % -24 °C, 50 % -37 °C, 60 % -52 °C).

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::units::Kind;

use super::error::within;
use super::melinder::{self, Melinder};
use super::{PhysicsError, water};

/// The glycol in the bottle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Glycol {
    /// Ethylene glycol: nearly every engine coolant. Sweet and poisonous.
    Ethylene,
    /// Propylene glycol: sold as less poisonous; some farm and stationary engines.
    Propylene,
}

/// What a strength is a share of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Basis {
    /// The bottle as sold, undiluted.
    Concentrate,
    /// The chemical alone.
    Pure,
}

/// The temperature to which a hydrometer's scale belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
pub enum GravityScale {
    /// 60/60 °F (15.56 °C), as in ASTM D1122.
    #[serde(rename = "60F")]
    Sixty,
    /// 20/20 °C.
    #[serde(rename = "20C")]
    Twenty,
}

/// Makers' tables of ethylene-glycol concentrate, as pairs of share of concentrate and the share of pure glycol
/// that freezes at the printed temperature by Melinder: -24, -37 and -52 °C. In between, straight lines. The last
/// point lies half a per cent of mass beyond Melinder's range.
const CONCENTRATE: [(f64, f64); 4] = [(0.0, 0.0), (0.40, 0.375_846), (0.50, 0.480_033), (0.60, 0.578_435)];

/// Glycol in a bottle of propylene concentrate. Common practice, no source: makers print 93 to 97 %.
const PROPYLENE_CONCENTRATE: f64 = 0.95;

/// Greatest share of concentrate in the makers' tables.
const HIGHEST_CONCENTRATE: f64 = 0.60;

/// Densities of water and of the pure glycols at 20 °C, kg/m³ (IAPWS; the glycols from memory).
const WATER_20: f64 = 998.2071;
const ETHYLENE_20: f64 = 1113.2;
const PROPYLENE_20: f64 = 1036.1;

/// Molar masses, g/mol.
const WATER_MOLAR: f64 = 18.015_28;
const ETHYLENE_MOLAR: f64 = 62.068;
const PROPYLENE_MOLAR: f64 = 76.094;

/// Lowest and highest temperature for densities, °C. Melinder gives densities up to 40 °C; `CoolProp` carries the
/// same polynomial to 100 °C.
const DENSITY_HIGHEST: f64 = 80.0;

impl Glycol {
    fn source(self) -> &'static Melinder {
        match self {
            Glycol::Ethylene => &melinder::ETHYLENE,
            Glycol::Propylene => &melinder::PROPYLENE,
        }
    }

    fn density_20(self) -> f64 {
        match self {
            Glycol::Ethylene => ETHYLENE_20,
            Glycol::Propylene => PROPYLENE_20,
        }
    }

    fn molar(self) -> f64 {
        match self {
            Glycol::Ethylene => ETHYLENE_MOLAR,
            Glycol::Propylene => PROPYLENE_MOLAR,
        }
    }

    /// In a sentence: `ethylene glycol`.
    pub fn name(self) -> &'static str {
        match self {
            Glycol::Ethylene => "ethylene glycol",
            Glycol::Propylene => "propylene glycol",
        }
    }
}

impl Basis {
    /// In a sentence: `concentrate`.
    pub fn name(self) -> &'static str {
        match self {
            Basis::Concentrate => "concentrate",
            Basis::Pure => "pure glycol",
        }
    }

    /// The greatest strength for which freezing points and densities are known, as a share by volume.
    pub fn highest(self, glycol: Glycol) -> f64 {
        match self {
            Basis::Concentrate => HIGHEST_CONCENTRATE,
            Basis::Pure => {
                let top = melinder::HIGHEST_MASS_SHARE;
                let glycol_volume = top / glycol.density_20();
                glycol_volume / (glycol_volume + (1.0 - top) / WATER_20)
            }
        }
    }
}

impl GravityScale {
    /// The scale's own temperature, °C.
    pub fn celsius(self) -> f64 {
        match self {
            GravityScale::Sixty => 140.0 / 9.0,
            GravityScale::Twenty => 20.0,
        }
    }

    fn water(self) -> Result<f64, PhysicsError> {
        water::density(self.celsius())
    }
}

/// A coolant: which glycol, how much of it, and what the share is a share of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mix {
    glycol: Glycol,
    basis: Basis,
    share: f64,
}

impl Mix {
    /// `share` by volume, 0 to 1. Freezing points and densities ask for less: see [`Basis::highest`].
    pub fn new(glycol: Glycol, basis: Basis, share: f64) -> Result<Mix, PhysicsError> {
        within("a strength", Kind::Ratio, share, 0.0, 1.0)?;
        Ok(Mix { glycol, basis, share })
    }

    /// Water with nothing in it.
    pub fn water() -> Mix {
        Mix { glycol: Glycol::Ethylene, basis: Basis::Pure, share: 0.0 }
    }

    /// Which glycol.
    pub fn glycol(self) -> Glycol {
        self.glycol
    }

    /// What the strength is a share of.
    pub fn basis(self) -> Basis {
        self.basis
    }

    /// The strength: share by volume of `basis`, 0 to 1.
    pub fn share(self) -> f64 {
        self.share
    }

    /// Share by volume of pure glycol, 0 to 1.
    pub fn pure_share(self) -> f64 {
        match (self.basis, self.glycol) {
            (Basis::Pure, _) => self.share,
            (Basis::Concentrate, Glycol::Propylene) => PROPYLENE_CONCENTRATE * self.share,
            (Basis::Concentrate, Glycol::Ethylene) => {
                let (last, rest) = (CONCENTRATE[CONCENTRATE.len() - 1], &CONCENTRATE);
                let at = rest.windows(2).find(|pair| self.share <= pair[1].0);
                at.map_or(last.1 / last.0 * self.share, |pair| {
                    let ((c0, p0), (c1, p1)) = (pair[0], pair[1]);
                    p0 + (p1 - p0) * (self.share - c0) / (c1 - c0)
                })
            }
        }
    }

    /// Share of mass of pure glycol, 0 to 1.
    pub fn mass_share(self) -> f64 {
        let glycol = self.pure_share() * self.glycol.density_20();
        glycol / (glycol + (1.0 - self.pure_share()) * WATER_20)
    }

    /// Share of glycol among the molecules, 0 to 1.
    pub fn mole_share(self) -> f64 {
        let glycol = self.mass_share() / self.glycol.molar();
        glycol / (glycol + (1.0 - self.mass_share()) / WATER_MOLAR)
    }

    fn known(self) -> Result<Mix, PhysicsError> {
        let highest = self.basis.highest(self.glycol);
        if self.share <= highest + 1e-9 {
            return Ok(self);
        }
        Err(PhysicsError::NoAnswer(format!(
            "{:.0} % {} is stronger than the tables go ({:.0} %): past about two thirds, more {} protects less, not more",
            100.0 * self.share,
            self.basis.name(),
            100.0 * highest,
            self.glycol.name(),
        )))
    }

    /// Temperature at which the first ice forms, °C. Range 0 to [`Basis::highest`].
    pub fn freezing_celsius(self) -> Result<f64, PhysicsError> {
        let mix = self.known()?;
        // The polynomials miss 0 °C by up to 0.03 °C for plain water.
        Ok(mix.glycol.source().freezing(mix.mass_share()).min(0.0))
    }

    /// Density, kg/m³, from the freezing point to 80 °C. Range 0 to [`Basis::highest`]. The inhibitors in a
    /// concentrate are not counted: they add up to 5 kg/m³.
    pub fn density(self, celsius: f64) -> Result<f64, PhysicsError> {
        let mix = self.known()?;
        let frost = mix.freezing_celsius()?;
        within("a coolant temperature", Kind::Temperature, celsius, frost, DENSITY_HIGHEST)?;
        Ok(mix.glycol.source().density(mix.mass_share(), celsius))
    }

    /// What a hydrometer of this scale shows in this mix at `celsius`: the density over that of water at the
    /// scale's own temperature. The glass's own expansion (0.00025 in 10 °C) is left out.
    pub fn gravity(self, celsius: f64, scale: GravityScale) -> Result<f64, PhysicsError> {
        Ok(self.density(celsius)? / scale.water()?)
    }

    /// The weakest mix that stays free of ice down to `celsius`. Range 0 °C to the freezing point of the strongest
    /// known mix. Also the reading of a refractometer, which shows a freezing point.
    pub fn for_freezing(glycol: Glycol, basis: Basis, celsius: f64) -> Result<Mix, PhysicsError> {
        let highest = Mix { glycol, basis, share: basis.highest(glycol) };
        // The makers' last row is met within 0.01 °C: asking for the row itself is no overreach.
        let coldest = highest.freezing_celsius()?;
        let celsius = if (coldest - 0.05..coldest).contains(&celsius) { coldest } else { celsius };
        within("a freezing point", Kind::Temperature, celsius, coldest, 0.0)?;
        let share = rising_root(highest.share, |share| {
            Mix { glycol, basis, share }.freezing_celsius().map_or(f64::INFINITY, |frost| celsius - frost)
        });
        Ok(Mix { glycol, basis, share })
    }

    /// The mix in which a hydrometer shows `reading` at `celsius` (0 to 80 °C): the temperature-corrected
    /// hydrometer. Readings up to 0.003 below plain water count as plain water.
    pub fn for_gravity(
        glycol: Glycol,
        basis: Basis,
        reading: f64,
        celsius: f64,
        scale: GravityScale,
    ) -> Result<Mix, PhysicsError> {
        within("a coolant temperature", Kind::Temperature, celsius, 0.0, DENSITY_HIGHEST)?;
        let water = scale.water()?;
        let at = |share: f64| {
            let mix = Mix { glycol, basis, share };
            mix.glycol.source().density(mix.mass_share(), celsius) / water
        };
        // Hot propylene glycol is densest well below its strongest mix: search the rising part only.
        let top = basis.highest(glycol);
        let peak = (0..=200)
            .map(|i| top * f64::from(i) / 200.0)
            .fold(0.0, |best, s| if at(s) > at(best) { s } else { best });
        within("a specific gravity", Kind::SpecificGravity, reading, at(0.0) - 0.003, at(peak))?;
        let share = rising_root(peak, |share| at(share) - reading);
        Ok(Mix { glycol, basis, share })
    }
}

/// Where a rising function crosses zero on `0..=top`; 0 if it is above zero everywhere.
fn rising_root(top: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, top);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if f(middle) < 0.0 { low = middle } else { high = middle }
    }
    if low == 0.0 { 0.0 } else { high }
}
