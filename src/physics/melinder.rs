//! Freezing point and density of glycol in water by share of mass: the polynomials of Melinder, Properties of
//! Secondary Working Fluids (IIR, 2010), as `CoolProp` 8.0.0 carries them (`INCOMP::MEG`, `INCOMP::MPG`).
//!
//! The coefficients belong to centred variables, `x = (share - 0.3) / 0.3` and `t = (celsius - 20) / 50`, so that
//! their sizes show what each term can do. `tests/physics/coolprop_reference.py --rust` prints them.

/// One glycol's polynomials.
pub(super) struct Melinder {
    /// Freezing point in °C, by powers of `x`.
    freezing: [f64; 6],
    /// Density in kg/m³: a row for each power of `x`, a column for each power of `t`.
    density: [[f64; 4]; 6],
}

/// The greatest share of mass the source covers.
pub(super) const HIGHEST_MASS_SHARE: f64 = 0.6;

/// Ethylene glycol in water.
pub(super) const ETHYLENE: Melinder = Melinder {
    freezing: [
        -14.575_777_860_8,
        -23.567_474_546_1,
        -11.835_490_234_5,
        -2.060_827_536_04,
        0.810_953_094_6,
        0.027_701_999_999_9,
    ],
    density: [
        [1_038.045_507, -20.308_848_108_7, -7.247_014_359, 0.589_283_325_402],
        [41.985_011_641_2, -12.217_451_256_6, 3.630_254_330_08, 0.031_756_736_999_3],
        [-0.539_911_814_401, 3.863_705_772_71, -1.227_412_417_5, 0.560_475_000_001],
        [-3.279_278_192_45, 2.353_759_570_8, -0.778_274_999_999, 0.0],
        [-0.262_061_025_301, -2.920_455, 0.0, 0.0],
        [1.188_513, 0.0, 0.0, 0.0],
    ],
};

/// Propylene glycol in water.
pub(super) const PROPYLENE: Melinder = Melinder {
    freezing: [
        -12.789_104_058_5,
        -19.441_499_837_5,
        -9.421_748_241_29,
        -5.903_282_866_92,
        -2.803_006_680_75,
        0.355_995,
    ],
    density: [
        [1_023.784_965_7, -22.930_734_837_6, -8.055_902_329_42, 1.695_761_906_79],
        [26.805_909_542, -16.460_300_689, 4.594_915_191_14, -0.521_427_492],
        [-2.259_291_741_49, 1.459_364_559_61, -1.159_594_728_52, 0.379_8],
        [-5.119_409_308_76, 4.149_667_137_15, -0.484_312_5, 0.0],
        [-0.754_176_150_27, -0.899_505, 0.0, 0.0],
        [0.569_106, 0.0, 0.0, 0.0],
    ],
};

impl Melinder {
    /// Freezing point in °C at a share of mass.
    pub(super) fn freezing(&self, mass_share: f64) -> f64 {
        horner(&self.freezing, centred(mass_share))
    }

    /// Density in kg/m³ at a share of mass and a temperature.
    pub(super) fn density(&self, mass_share: f64, celsius: f64) -> f64 {
        let t = (celsius - 20.0) / 50.0;
        horner(&self.density.map(|row| horner(&row, t)), centred(mass_share))
    }
}

fn centred(mass_share: f64) -> f64 {
    (mass_share - 0.3) / 0.3
}

fn horner(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}
