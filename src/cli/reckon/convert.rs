//! `reckon convert`: a quantity in other units.

use clap::Args;

use crate::physics::atmosphere;
use crate::units::{Kind, Quantity, Typed, Unit, UnitError, UnitSystem, parse_quantity};

use super::options::{ReckonError, read_some, usage};
use super::reckoning::{Reckoning, Row, nine_digits};

/// A quantity in other units
#[derive(Debug, Clone, Args)]
#[command(
    after_help = "Examples:\n  weephole reckon convert '16 psi' bar\n  weephole reckon convert '1/2 in'\n  \
                        weephole reckon convert '15 psi' psia --altitude '1500 m'\n  \
                        weephole reckon convert '9 F' K --kind temperature-difference"
)]
pub struct ConvertArgs {
    /// What to convert, with its unit
    #[arg(value_name = "QUANTITY", allow_hyphen_values = true)]
    pub quantity: String,
    /// The unit to convert to; all units of its kind if left out
    #[arg(value_name = "UNIT")]
    pub unit: Option<String>,
    /// What is measured, where a unit serves several kinds (temperature-difference, altitude, age)
    #[arg(long, value_name = "KIND")]
    pub kind: Option<String>,
    /// Height above sea level, between gauge and absolute pressure; sea level if left out
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    pub altitude: Option<String>,
}

pub(super) fn reckon(args: &ConvertArgs, system: UnitSystem) -> Result<Reckoning, ReckonError> {
    let altitude = read_some("--altitude", args.altitude.as_ref(), Kind::Altitude, system)?;
    let air = atmosphere::pressure_kpa(altitude.map_or(0.0, Quantity::base))?;
    let readings = read_as_any_kind(args)?;
    let (from, units, base) = match &args.unit {
        None => (readings[0], units_of(readings[0].kind()), readings[0].base()),
        Some(name) => {
            let (from, unit, base) = find_target(&readings, name, air)?;
            (from, vec![unit], base)
        }
    };
    let crossed = units[0].kind() != from.kind();
    let results: Vec<Row> = units.into_iter().map(|unit| row(unit, base)).collect();
    let mut given = vec![Row::words("quantity", "quantity", Typed::new(&args.quantity).to_string())];
    let mut basis = Vec::new();
    if crossed {
        given.push(Row::figure("air", "air pressure", Kind::AbsolutePressure, air, system));
        basis.push(
            "Gauge pressure counts from the surrounding air, taken from ISO 2533 for the altitude."
                .to_owned(),
        );
    }
    let meaning = match &results[..] {
        [only] => format!("{} is {}.", Typed::new(&args.quantity), only.text),
        _ => format!("{} is {}.", Typed::new(&args.quantity), from.display_both(system)),
    };
    Ok(Reckoning {
        reckon: "convert",
        title: format!("Conversion of {}", from.kind().described()),
        cautions: Vec::new(),
        given,
        results,
        meaning,
        basis,
        sources: vec!["unit definitions: NIST SP 811, appendix B".to_owned()],
    })
}

fn row(unit: Unit, base: f64) -> Row {
    let value = nine_digits(unit.of_base(base));
    // Six digits: more than anything on an engine can be measured to.
    let rounded: f64 = format!("{value:.5e}").parse().unwrap_or(value);
    let text =
        if unit.symbol().is_empty() { rounded.to_string() } else { format!("{rounded} {}", unit.symbol()) };
    Row {
        name: "converted",
        label: format!("in {}", unit.name()),
        value: Some(value),
        unit: unit.symbol(),
        text,
    }
}

fn units_of(kind: Kind) -> Vec<Unit> {
    Unit::ALL.iter().copied().filter(|unit| unit.kind() == kind).collect()
}

/// Every kind under which the text makes sense, at least one.
fn read_as_any_kind(args: &ConvertArgs) -> Result<Vec<Quantity>, ReckonError> {
    let text = &args.quantity;
    if let Some(name) = &args.kind {
        let Some(kind) = Kind::parse(name) else {
            let names: Vec<&str> = Kind::ALL.iter().map(|kind| kind.name()).collect();
            return usage(format!(
                "--kind: `{}` is not a kind; the kinds are {}",
                Typed::new(name),
                names.join(", ")
            ));
        };
        let quantity = parse_quantity(text, kind, None)
            .map_err(|error| ReckonError::Quantity { option: "QUANTITY", error })?;
        return Ok(vec![quantity]);
    }
    let mut found = Vec::new();
    let mut refusal = None;
    for kind in Kind::ALL.into_iter().filter(|kind| !only_when_named(*kind)) {
        match parse_quantity(text, kind, None) {
            Ok(quantity) => found.push(quantity),
            Err(
                error @ (UnitError::WhoseGallon { .. }
                | UnitError::OutOfRange { .. }
                | UnitError::UnclearComma { .. }),
            ) => {
                // Of several refusals a question comes before a limit, and the widest limit before a narrow one.
                if !matches!(refusal, Some(UnitError::WhoseGallon { .. } | UnitError::UnclearComma { .. })) {
                    refusal = Some(error);
                }
            }
            Err(_) => {}
        }
    }
    // `15 psi` is a gauge pressure unless it says otherwise.
    if found.iter().any(|quantity| quantity.kind() == Kind::Pressure) {
        found.retain(|quantity| quantity.kind() != Kind::AbsolutePressure);
    }
    match (found.is_empty(), refusal) {
        (false, _) => Ok(found),
        (true, Some(error)) => Err(ReckonError::Quantity { option: "QUANTITY", error }),
        (true, None) => usage(format!(
            "`{}` is no quantity that is known here: type one number and its unit, such as `16 psi`, `190 F`, \
             `1 1/2 in` or `2.5 gal (US)`",
            Typed::new(text)
        )),
    }
}

/// Kinds without a unit, and differences, which would let `-300 C` pass.
fn only_when_named(kind: Kind) -> bool {
    matches!(kind, Kind::Count | Kind::Ph | Kind::SpecificGravity | Kind::TemperatureDifference)
}

/// The first reading that has the wanted unit, with its value there in base units. Between gauge and absolute
/// pressure the air is added or taken off.
fn find_target(readings: &[Quantity], name: &str, air: f64) -> Result<(Quantity, Unit, f64), ReckonError> {
    for reading in readings {
        // `psi` as a target means gauge pressure too, even for a reading that is absolute.
        let gauge = reading.kind() == Kind::AbsolutePressure && Unit::parse(name, Kind::Pressure).is_ok();
        if let Ok(unit) = Unit::parse(name, reading.kind())
            && !gauge
        {
            return Ok((*reading, unit, reading.base()));
        }
    }
    for reading in readings {
        let (other, base) = match reading.kind() {
            Kind::Pressure => (Kind::AbsolutePressure, reading.base() + air),
            Kind::AbsolutePressure => (Kind::Pressure, reading.base() - air),
            _ => continue,
        };
        if let Ok(unit) = Unit::parse(name, other) {
            return Ok((*reading, unit, base));
        }
    }
    let kind = readings[0].kind();
    let error =
        Unit::parse(name, kind).err().unwrap_or(UnitError::UnknownUnit { unit: Typed::new(name), kind });
    Err(ReckonError::Quantity { option: "UNIT", error })
}
