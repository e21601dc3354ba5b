//! `reckon sensor`: an NTC sensor's resistance and temperature, from two or three known points.

use clap::Args;

use crate::physics::sensor::{Beta, Point, SteinhartHart, divider_volts};
use crate::units::{Kind, Quantity, Typed, UnitSystem, parse_quantity};

use super::options::{HOT_CAP, ReckonError, Say, read, read_some, usage};
use super::reckoning::{Reckoning, Row};

/// Resistance of an NTC sensor at a temperature, or the temperature for a resistance
#[derive(Debug, Clone, Args)]
#[command(
    after_help = "Examples:\n  weephole reckon sensor --point '2.5k ohm @ 20C' --point '186 ohm @ 100C' --resistance '320 ohm'\n  \
                        weephole reckon sensor --point '25k @ 5C' --point '10k @ 25C' --point '4k @ 45C' --temperature 80C"
)]
pub struct SensorArgs {
    /// A known point, as "RESISTANCE @ TEMPERATURE"; two or three, from the maker's table
    #[arg(long, value_name = "OHM @ TEMPERATURE", required = true)]
    pub point: Vec<String>,
    /// What was measured: answers with the temperature
    #[arg(long, value_name = "RESISTANCE")]
    pub resistance: Option<String>,
    /// How hot the sensor is: answers with the resistance it should have
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub temperature: Option<String>,
    /// Pull-up resistor in the control unit: answers with the voltage on the wire too
    #[arg(long, value_name = "RESISTANCE")]
    pub pull_up: Option<String>,
    /// What feeds the pull-up
    #[arg(long, value_name = "VOLTAGE", default_value = "5 V", requires = "pull_up")]
    pub supply: String,
}

enum Curve {
    Two(Beta),
    Three(SteinhartHart),
}

impl Curve {
    fn ohm(&self, celsius: f64) -> Result<f64, ReckonError> {
        Ok(match self {
            Curve::Two(line) => line.ohm(celsius)?,
            Curve::Three(curve) => curve.ohm(celsius)?,
        })
    }

    fn celsius(&self, ohm: f64) -> Result<f64, ReckonError> {
        Ok(match self {
            Curve::Two(line) => line.celsius(ohm)?,
            Curve::Three(curve) => curve.celsius(ohm)?,
        })
    }
}

pub(super) fn reckon(args: &SensorArgs, system: UnitSystem) -> Result<Reckoning, ReckonError> {
    let points = args.point.iter().map(|text| point(text, system)).collect::<Result<Vec<_>, _>>()?;
    let curve = match points[..] {
        [a, b] => Curve::Two(Beta::through(a, b)?),
        [a, b, c] => Curve::Three(SteinhartHart::through([a, b, c])?),
        _ => return usage(format!("--point: two or three points are needed, not {}", points.len())),
    };
    let measured = read_some("--resistance", args.resistance.as_ref(), Kind::Resistance, system)?;
    let hot = read_some("--temperature", args.temperature.as_ref(), Kind::Temperature, system)?;
    let pull_up = read_some("--pull-up", args.pull_up.as_ref(), Kind::Resistance, system)?;
    let say = Say(system);
    let mut given: Vec<Row> = points
        .iter()
        .map(|p| {
            let text = format!("{} at {}", say.of(Kind::Resistance, p.ohm), say.temperature(p.celsius));
            Row::words("point", "known", text)
        })
        .collect();
    let mut results = Vec::new();
    let (ohm, celsius, meaning) = match (measured, hot) {
        (Some(ohm), None) => {
            given.push(Row::given("resistance", "measured", ohm, system));
            let celsius = curve.celsius(ohm.base())?;
            results.push(Row::figure("temperature", "temperature", Kind::Temperature, celsius, system));
            (
                ohm.base(),
                celsius,
                format!(
                    "{} means {} at the sensor.",
                    say.of(Kind::Resistance, ohm.base()),
                    say.temperature(celsius)
                ),
            )
        }
        (None, Some(celsius)) => {
            given.push(Row::given("temperature", "sensor at", celsius, system));
            let ohm = curve.ohm(celsius.base())?;
            results.push(Row::figure("resistance", "resistance", Kind::Resistance, ohm, system));
            (
                ohm,
                celsius.base(),
                format!(
                    "A good sensor shows {} at {}.",
                    say.of(Kind::Resistance, ohm),
                    say.temperature(celsius.base())
                ),
            )
        }
        (Some(ohm), Some(celsius)) => both(&curve, ohm, celsius, system, &mut given, &mut results)?,
        (None, None) => {
            return usage(
                "`reckon sensor` needs a measured `--resistance`, the sensor's `--temperature`, or both to compare",
            );
        }
    };
    let per_degree = 1.0 - curve.ohm((celsius + 1.0).min(300.0))? / curve.ohm((celsius).min(299.0))?;
    results.push(Row::figure("fall-per-kelvin", "falls per 1 °C", Kind::Ratio, per_degree, system));
    if let Some(pull_up) = pull_up {
        let supply = read("--supply", &args.supply, Kind::Voltage, system)?;
        given.push(Row::given("pull-up", "pull-up", pull_up, system));
        given.push(Row::given("supply", "supply", supply, system));
        let volts = divider_volts(ohm, pull_up.base(), supply.base())?;
        results.push(Row::figure("voltage", "on the signal wire", Kind::Voltage, volts, system));
    }
    Ok(Reckoning {
        reckon: "sensor",
        title: "NTC temperature sensor".to_owned(),
        cautions: vec![HOT_CAP.to_owned()],
        given,
        results,
        meaning,
        basis: beyond(&points, celsius).into_iter().chain([match curve {
            Curve::Two(line) => format!(
                "A beta line through two points (beta {:.0} K): exact at them, within a few °C between, worse beyond.",
                line.beta
            ),
            Curve::Three(curve) => format!(
                "Steinhart-Hart through three points: a {:.6e}, b {:.6e}, c {:.6e}.",
                curve.a, curve.b, curve.c
            ),
        }])
        .collect(),
        sources: vec!["Steinhart and Hart, Deep-Sea Research 15 (1968); the points are yours".to_owned()],
    })
}

/// A remark when the answer lies outside the points.
fn beyond(points: &[Point], celsius: f64) -> Option<String> {
    // A degree of slack: at an end point rounding may fall either way.
    let inside = points.iter().any(|p| p.celsius <= celsius + 1.0)
        && points.iter().any(|p| p.celsius >= celsius - 1.0);
    (!inside).then(|| {
        "This lies beyond the given points, where the curve is a guess: add a point out there.".to_owned()
    })
}

/// Measured and expected side by side.
fn both(
    curve: &Curve,
    ohm: Quantity,
    celsius: Quantity,
    system: UnitSystem,
    given: &mut Vec<Row>,
    results: &mut Vec<Row>,
) -> Result<(f64, f64, String), ReckonError> {
    given.push(Row::given("temperature", "sensor at", celsius, system));
    given.push(Row::given("resistance", "measured", ohm, system));
    let wanted = curve.ohm(celsius.base())?;
    let shown = curve.celsius(ohm.base())?;
    results.push(Row::figure("resistance", "should have", Kind::Resistance, wanted, system));
    results.push(Row::figure("temperature", "stands for", Kind::Temperature, shown, system));
    let off = shown - celsius.base();
    results.push(Row::figure("off", "reads off by", Kind::TemperatureDifference, off, system));
    let say = Say(system);
    let meaning = format!(
        "The sensor makes the gauge read {} {} than it is.",
        say.difference(off.abs()),
        if off < 0.0 { "colder" } else { "hotter" }
    );
    Ok((ohm.base(), celsius.base(), meaning))
}

/// `2.5k ohm @ 20C`, in either order.
fn point(text: &str, system: UnitSystem) -> Result<Point, ReckonError> {
    let Some((first, second)) = text.split_once('@') else {
        return usage(format!(
            "--point: `{}` has no `@`: type a resistance and its temperature, such as `2.5k ohm @ 20C`",
            Typed::new(text)
        ));
    };
    let turned = parse_quantity(first, Kind::Resistance, None).is_err()
        && parse_quantity(second, Kind::Resistance, None).is_ok();
    let (ohm, celsius) = if turned { (second, first) } else { (first, second) };
    let ohm = read("--point", ohm, Kind::Resistance, system)?;
    let celsius = read("--point", celsius, Kind::Temperature, system)?;
    Ok(Point::new(celsius.base(), ohm.base())?)
}
