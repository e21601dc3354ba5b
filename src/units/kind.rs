//! What a number measures, and the limits beyond which no number of that kind can be meant.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Unit;

/// The two ways of writing quantities. `Imperial` uses US customary gallons and quarts, which are always
/// printed with `(US)` behind them.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum UnitSystem {
    /// Degrees Celsius, kilopascals, millimetres, litres, kilometres.
    #[default]
    Metric,
    /// Degrees Fahrenheit, pounds per square inch, inches, US gallons, miles.
    Imperial,
}

/// What a quantity measures. Every kind has one base unit in which values are held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A temperature on a scale with an offset; base °C.
    Temperature,
    /// A difference of two temperatures, never offset; base K.
    TemperatureDifference,
    /// Pressure above the surrounding air, as caps, testers and gauges show it; base kPa.
    Pressure,
    /// Pressure above nothing at all; base kPa.
    AbsolutePressure,
    /// A length on the engine: deflection, runout, pulley diameter; base mm.
    Length,
    /// Height above sea level; base m.
    Altitude,
    /// Road distance; base km.
    Distance,
    /// A volume of liquid; base L.
    Volume,
    /// A span of time or of engine running; base min.
    Time,
    /// Calendar age of a part or a fluid; base years of 365.25 days.
    Age,
    /// Electric tension; base V.
    Voltage,
    /// Electric current; base A.
    Current,
    /// Electric resistance; base ohm.
    Resistance,
    /// Tightening torque; base N·m.
    Torque,
    /// Rotational speed; base r/min.
    Speed,
    /// An angle, such as the twist of a belt; base degrees.
    Angle,
    /// A share between nothing and all; base fraction 0..1.
    Ratio,
    /// Density over that of water, without a unit.
    SpecificGravity,
    /// Acidity, without a unit.
    Ph,
    /// Mass of something dissolved in a volume of water; base mg/L.
    Concentration,
    /// Volume moved in a time, such as filling; base L/min.
    FlowRate,
    /// Coolant lost over a distance; base L per 1,000 km.
    LossRate,
    /// Fall or rise of pressure in a time; base kPa/min.
    PressureRate,
    /// A plain number of things or of turns, without a unit.
    Count,
}

impl Kind {
    /// Every kind, in the order of their declaration.
    pub const ALL: [Kind; 24] = [
        Kind::Temperature,
        Kind::TemperatureDifference,
        Kind::Pressure,
        Kind::AbsolutePressure,
        Kind::Length,
        Kind::Altitude,
        Kind::Distance,
        Kind::Volume,
        Kind::Time,
        Kind::Age,
        Kind::Voltage,
        Kind::Current,
        Kind::Resistance,
        Kind::Torque,
        Kind::Speed,
        Kind::Angle,
        Kind::Ratio,
        Kind::SpecificGravity,
        Kind::Ph,
        Kind::Concentration,
        Kind::FlowRate,
        Kind::LossRate,
        Kind::PressureRate,
        Kind::Count,
    ];

    /// The name in rule files, in kebab-case: `temperature-difference`.
    pub fn name(self) -> &'static str {
        self.entry().0
    }

    /// The name in a sentence, with its article: `a temperature difference`.
    pub fn described(self) -> &'static str {
        self.entry().1
    }

    /// Examples of what to type, ready for a sentence.
    pub fn examples(self) -> &'static str {
        self.entry().2
    }

    /// The kind with this kebab-case name, if there is one.
    pub fn parse(name: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.name() == name)
    }

    /// The least and the greatest value, in base units, that can be meant. Absolute zero, a perfect vacuum
    /// and zero resistance are physical ends; the others are far outside anything an engine can show and
    /// catch slips such as a decimal comma read as a thousands mark.
    // One row a kind, so that a limit is found and changed without looking at its neighbours.
    #[allow(clippy::match_same_arms)]
    pub fn limits(self) -> (f64, f64) {
        match self {
            Kind::Temperature => (-273.15, 2_000.0),
            Kind::TemperatureDifference => (-2_000.0, 2_000.0),
            Kind::Pressure => (-101.325, 10_000.0),
            Kind::AbsolutePressure => (0.0, 22_064.0),
            Kind::Length => (-10_000.0, 100_000.0),
            Kind::Altitude => (-500.0, 9_000.0),
            Kind::Distance => (0.0, 10_000_000.0),
            Kind::Volume => (0.0, 100_000.0),
            Kind::Time => (0.0, 600_000_000.0),
            Kind::Age => (0.0, 200.0),
            Kind::Voltage => (-100_000.0, 100_000.0),
            Kind::Current => (-10_000.0, 10_000.0),
            Kind::Resistance => (0.0, 1e12),
            Kind::Torque => (0.0, 100_000.0),
            Kind::Speed => (0.0, 100_000.0),
            Kind::Angle => (-36_000.0, 36_000.0),
            Kind::Ratio => (0.0, 1.0),
            Kind::SpecificGravity => (0.5, 2.0),
            Kind::Ph => (0.0, 14.0),
            Kind::Concentration => (0.0, 1_000_000.0),
            Kind::FlowRate => (0.0, 100_000.0),
            Kind::LossRate => (0.0, 1_000.0),
            Kind::PressureRate => (-10_000.0, 10_000.0),
            Kind::Count => (0.0, 1e9),
        }
    }

    /// The unit in which values of this kind are held.
    pub fn base_unit(self) -> Unit {
        if self == Kind::Ratio { Unit::FRACTION } else { self.unit(UnitSystem::Metric) }
    }

    /// The unit in which values of this kind are shown and bare numbers are read.
    pub fn unit(self, system: UnitSystem) -> Unit {
        let (metric, imperial) = match self {
            Kind::Temperature => (Unit::CELSIUS, Unit::FAHRENHEIT),
            Kind::TemperatureDifference => (Unit::KELVINS, Unit::FAHRENHEIT_DEGREES),
            Kind::Pressure => (Unit::KPA, Unit::PSI),
            Kind::AbsolutePressure => (Unit::KPA_ABSOLUTE, Unit::PSI_ABSOLUTE),
            Kind::Length => (Unit::MILLIMETRE, Unit::INCH),
            Kind::Altitude => (Unit::METRE_ALTITUDE, Unit::FOOT_ALTITUDE),
            Kind::Distance => (Unit::KILOMETRE, Unit::MILE),
            Kind::Volume => (Unit::LITRE, Unit::GALLON_US),
            Kind::Time => (Unit::MINUTE, Unit::MINUTE),
            Kind::Age => (Unit::YEAR_AGE, Unit::YEAR_AGE),
            Kind::Voltage => (Unit::VOLT, Unit::VOLT),
            Kind::Current => (Unit::AMPERE, Unit::AMPERE),
            Kind::Resistance => (Unit::OHM, Unit::OHM),
            Kind::Torque => (Unit::NEWTON_METRE, Unit::FOOT_POUND),
            Kind::Speed => (Unit::RPM, Unit::RPM),
            Kind::Angle => (Unit::DEGREE_ANGLE, Unit::DEGREE_ANGLE),
            Kind::Ratio => (Unit::PERCENT, Unit::PERCENT),
            Kind::SpecificGravity => (Unit::SPECIFIC_GRAVITY, Unit::SPECIFIC_GRAVITY),
            Kind::Ph => (Unit::PH, Unit::PH),
            Kind::Concentration => (Unit::MG_PER_LITRE, Unit::MG_PER_LITRE),
            Kind::FlowRate => (Unit::LITRE_PER_MINUTE, Unit::GALLON_US_PER_MINUTE),
            Kind::LossRate => (Unit::LITRE_PER_1000_KM, Unit::QUART_US_PER_1000_MILES),
            Kind::PressureRate => (Unit::KPA_PER_MINUTE, Unit::PSI_PER_MINUTE),
            Kind::Count => (Unit::COUNT, Unit::COUNT),
        };
        match system {
            UnitSystem::Metric => metric,
            UnitSystem::Imperial => imperial,
        }
    }

    fn entry(self) -> (&'static str, &'static str, &'static str) {
        match self {
            Kind::Temperature => ("temperature", "a temperature", "`88 °C` or `190 F`"),
            Kind::TemperatureDifference => {
                ("temperature-difference", "a temperature difference", "`4 K`, `4 °C` or `7 F`")
            }
            Kind::Pressure => ("pressure", "a gauge pressure", "`110 kPa`, `1.1 bar` or `16 psi`"),
            Kind::AbsolutePressure => {
                ("absolute-pressure", "an absolute pressure", "`101.3 kPa abs`, `14.7 psia` or `29.9 inHg`")
            }
            Kind::Length => ("length", "a length", "`12 mm` or `1/2 in`"),
            Kind::Altitude => ("altitude", "an altitude", "`1,200 m` or `4000 ft`"),
            Kind::Distance => ("distance", "a road distance", "`140000 km` or `87000 mi`"),
            Kind::Volume => ("volume", "a volume", "`9.5 L`, `500 ml`, `2.5 gal (US)` or `2 gal (imp)`"),
            Kind::Time => ("time", "a time", "`5 min`, `30 s` or `1200 h`"),
            Kind::Age => ("age", "an age", "`5 years` or `18 months`"),
            Kind::Voltage => ("voltage", "a voltage", "`0.3 V` or `300 mV`"),
            Kind::Current => ("current", "an electric current", "`12 A` or `150 mA`"),
            Kind::Resistance => ("resistance", "a resistance", "`186 ohm` or `2.5 kohm`"),
            Kind::Torque => ("torque", "a torque", "`39 Nm`, `29 ft-lb` or `120 in-lb`"),
            Kind::Speed => ("speed", "a rotational speed", "`2500 rpm`"),
            Kind::Angle => ("angle", "an angle", "`90 degrees` or `1/4 turn`"),
            Kind::Ratio => ("ratio", "a share", "`50 %`, `0.5`, `1/2` or `50/50`"),
            Kind::SpecificGravity => ("specific-gravity", "a specific gravity", "`1.065`"),
            Kind::Ph => ("ph", "a pH", "`8.2`"),
            Kind::Concentration => ("concentration", "a concentration", "`40 mg/L` or `40 ppm`"),
            Kind::FlowRate => ("flow-rate", "a flow", "`14 L/min` or `3 gal (US)/min`"),
            Kind::LossRate => (
                "loss-rate",
                "a loss over distance",
                "`0.5 L/1000 km`, `1 L in 800 km` or `1 qt (US)/1000 mi`",
            ),
            Kind::PressureRate => (
                "pressure-rate",
                "a pressure change over time",
                "`10 kPa/min`, `2 psi/min` or `2 psi in 5 min`",
            ),
            Kind::Count => ("count", "a plain number", "`5`"),
        }
    }
}
