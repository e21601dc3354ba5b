//! What several `reckon` commands share: reading options, the mix, the sentences of caution.

use clap::{Args, ValueEnum};

use crate::physics::PhysicsError;
use crate::physics::mix::{Basis, Glycol, GravityScale, Mix};
use crate::units::{Kind, Quantity, Unit, UnitError, UnitSystem, parse_quantity};

use super::reckoning::Row;

/// Why a reckoning was refused. All of them are wrong use: exit status 2.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReckonError {
    /// An option that is not the quantity it should be.
    #[error("{option}: {error}")]
    Quantity {
        /// The option as typed, or what stands in its place.
        option: &'static str,
        /// What is wrong.
        #[source]
        error: UnitError,
    },
    /// Outside what the physics covers.
    #[error(transparent)]
    Physics(#[from] PhysicsError),
    /// Options that are missing or contradict one another.
    #[error("{0}")]
    Usage(String),
}

pub(super) fn usage<T>(text: impl Into<String>) -> Result<T, ReckonError> {
    Err(ReckonError::Usage(text.into()))
}

/// Reads an option; a bare number takes the unit of `system`, except for pressures: 16 may be kPa or psi.
pub(super) fn read(
    option: &'static str,
    text: &str,
    kind: Kind,
    system: UnitSystem,
) -> Result<Quantity, ReckonError> {
    let bare: Option<Unit> = (kind != Kind::Pressure).then(|| kind.unit(system));
    parse_quantity(text, kind, bare).map_err(|error| ReckonError::Quantity { option, error })
}

/// Reads an option that may be absent.
pub(super) fn read_some(
    option: &'static str,
    text: Option<&String>,
    kind: Kind,
    system: UnitSystem,
) -> Result<Option<Quantity>, ReckonError> {
    text.map(|text| read(option, text, kind, system)).transpose()
}

/// `--glycol`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum GlycolName {
    /// Ethylene glycol: nearly every engine coolant
    Ethylene,
    /// Propylene glycol
    Propylene,
}

/// `--basis`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum BasisName {
    /// Strength counts the bottle as sold
    Concentrate,
    /// Strength counts the glycol alone
    Pure,
}

/// `--scale`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ScaleName {
    /// 60/60 °F (15.6 °C)
    #[value(name = "60F")]
    Sixty,
    /// 20/20 °C
    #[value(name = "20C")]
    Twenty,
}

impl From<ScaleName> for GravityScale {
    fn from(name: ScaleName) -> GravityScale {
        match name {
            ScaleName::Sixty => GravityScale::Sixty,
            ScaleName::Twenty => GravityScale::Twenty,
        }
    }
}

/// Which antifreeze, and what its strength is a share of.
#[derive(Debug, Clone, Args)]
pub struct Antifreeze {
    /// Which glycol is in the bottle
    #[arg(long, value_enum, default_value = "ethylene")]
    pub glycol: GlycolName,
    /// What a strength is a share of
    #[arg(long, value_enum, default_value = "concentrate")]
    pub basis: BasisName,
}

impl Antifreeze {
    pub(super) fn glycol(&self) -> Glycol {
        match self.glycol {
            GlycolName::Ethylene => Glycol::Ethylene,
            GlycolName::Propylene => Glycol::Propylene,
        }
    }

    pub(super) fn basis(&self) -> Basis {
        match self.basis {
            BasisName::Concentrate => Basis::Concentrate,
            BasisName::Pure => Basis::Pure,
        }
    }

    /// A mix of this antifreeze, from an option that holds a strength.
    pub(super) fn mix(
        &self,
        option: &'static str,
        text: &str,
        system: UnitSystem,
    ) -> Result<Mix, ReckonError> {
        let share = read(option, text, Kind::Ratio, system)?.base();
        Ok(Mix::new(self.glycol(), self.basis(), share)?)
    }

    /// What is in the bottle, in a sentence: `concentrate` or `pure ethylene glycol`.
    pub(super) fn bottle(&self) -> String {
        match self.basis() {
            Basis::Concentrate => format!("{} concentrate", self.glycol().name()),
            Basis::Pure => format!("pure {}", self.glycol().name()),
        }
    }
}

/// Figures in a sentence, in both systems.
#[derive(Debug, Clone, Copy)]
pub(super) struct Say(pub UnitSystem);

impl Say {
    pub fn of(self, kind: Kind, base: f64) -> String {
        Row::figure("", "", kind, base, self.0).text
    }

    pub fn temperature(self, celsius: f64) -> String {
        self.of(Kind::Temperature, celsius)
    }

    pub fn difference(self, kelvin: f64) -> String {
        self.of(Kind::TemperatureDifference, kelvin)
    }

    pub fn pressure(self, kpa: f64) -> String {
        self.of(Kind::Pressure, kpa)
    }

    pub fn volume(self, litres: f64) -> String {
        self.of(Kind::Volume, litres)
    }

    pub fn share(self, share: f64) -> String {
        self.of(Kind::Ratio, share)
    }

    /// `50 % ethylene glycol concentrate` or `plain water`.
    pub fn mix(self, mix: Mix) -> String {
        if mix.share() == 0.0 {
            return "plain water".to_owned();
        }
        match mix.basis() {
            Basis::Concentrate => format!("{} {} concentrate", self.share(mix.share()), mix.glycol().name()),
            Basis::Pure => format!("{} pure {}", self.share(mix.share()), mix.glycol().name()),
        }
    }
}

pub(super) const HOT_CAP: &str = "Never open the cap of a hot engine: wait until a bare hand can rest on it, \
                                  turn to the first stop, let the pressure go.";
pub(super) const MOVING: &str = "Keep hands, hair and sleeves clear of belts, pulleys and fan; an electric fan \
                                 may start by itself, key off too.";
pub(super) const DISPOSAL: &str = "Used coolant never goes to ground, storm drain or septic tank: collect all of \
                                   it; local rules decide.";

pub(super) fn poison(glycol: Glycol) -> String {
    match glycol {
        Glycol::Ethylene => {
            "Ethylene glycol is sweet and poisonous to people and animals: no open pans, wipe up \
                             every spill."
                .to_owned()
        }
        Glycol::Propylene => {
            "Coolant is not for drinking, with propylene glycol either: no open pans, wipe up \
                              every spill."
                .to_owned()
        }
    }
}

/// Where freezing points and densities of this antifreeze come from.
pub(super) fn freezing_sources(glycol: Glycol, basis: Basis) -> Vec<String> {
    let mut sources = Vec::new();
    if (glycol, basis) == (Glycol::Ethylene, Basis::Concentrate) {
        sources.push(
            "makers' tables of ethylene-glycol concentrate: 40 % -24 °C, 50 % -37 °C, 60 % -52 °C".to_owned(),
        );
    }
    sources.push(
        "Melinder, Properties of Secondary Working Fluids (IIR, 2010), as carried by CoolProp 8.0.0"
            .to_owned(),
    );
    sources
}

/// How far freezing points can be trusted.
pub(super) fn freezing_basis(mix_glycol: Glycol, basis: Basis) -> Vec<String> {
    let mut lines = vec![match basis {
        Basis::Concentrate => {
            "Strength is the share by volume of concentrate as sold, not of pure glycol.".to_owned()
        }
        Basis::Pure => {
            "Strength is the share by volume of pure glycol; a bottle of concentrate holds less.".to_owned()
        }
    }];
    lines.push(
        "First ice, not solid; published sources differ by up to 3 °C (5 F°) at 50 to 55 %.".to_owned(),
    );
    if mix_glycol == Glycol::Propylene && basis == Basis::Concentrate {
        lines.push(
            "No maker's table for propylene concentrate was read: it is taken to hold 95 % glycol."
                .to_owned(),
        );
    }
    lines
}
