//! `reckon pulley`: pulley speeds, slip, belt length and wrap.

use clap::Args;

use crate::physics::belt;
use crate::units::{Kind, Quantity, UnitSystem};

use super::options::{MOVING, ReckonError, Say, read, read_some};
use super::reckoning::{Reckoning, Row};

/// Speed of a driven pulley, slip from a measured speed, belt length and wrap
#[derive(Debug, Clone, Args)]
#[command(
    after_help = "Examples:\n  weephole reckon pulley --driver 160mm --driven 120mm --speed 800rpm\n  \
                        weephole reckon pulley --driver '6 1/4 in' --driven '4 3/4 in' --speed 2000rpm --measured 2400rpm\n  \
                        weephole reckon pulley --driver 160mm --driven 120mm --speed 800rpm --centres 320mm --offset 2mm"
)]
pub struct PulleyArgs {
    /// Diameter of the driving pulley (crankshaft)
    #[arg(long, value_name = "LENGTH")]
    pub driver: String,
    /// Diameter of the driven pulley (pump, fan)
    #[arg(long, value_name = "LENGTH")]
    pub driven: String,
    /// Speed of the driving pulley
    #[arg(long, value_name = "SPEED")]
    pub speed: String,
    /// Share of the belt's way that is lost, if known
    #[arg(long, value_name = "SHARE", conflicts_with = "measured")]
    pub slip: Option<String>,
    /// Measured speed of the driven pulley: answers with the slip
    #[arg(long, value_name = "SPEED")]
    pub measured: Option<String>,
    /// Distance between the shafts: answers with belt length and wrap
    #[arg(long, value_name = "LENGTH")]
    pub centres: Option<String>,
    /// How far one pulley stands out of line: answers with the angle
    #[arg(long, value_name = "LENGTH", requires = "centres", allow_hyphen_values = true)]
    pub offset: Option<String>,
}

/// Slip above which a V-belt is called slipping (common practice, no source).
const MUCH_SLIP: f64 = 0.05;

pub(super) fn reckon(args: &PulleyArgs, system: UnitSystem) -> Result<Reckoning, ReckonError> {
    let first = read("--driver", &args.driver, Kind::Length, system)?;
    let second = read("--driven", &args.driven, Kind::Length, system)?;
    let speed = read("--speed", &args.speed, Kind::Speed, system)?;
    let slip = read_some("--slip", args.slip.as_ref(), Kind::Ratio, system)?;
    let measured = read_some("--measured", args.measured.as_ref(), Kind::Speed, system)?;
    let centres = read_some("--centres", args.centres.as_ref(), Kind::Length, system)?;
    let offset = read_some("--offset", args.offset.as_ref(), Kind::Length, system)?;
    let say = Say(system);
    let mut given = vec![
        Row::given("driver", "driving pulley", first, system),
        Row::given("driven", "driven pulley", second, system),
        Row::given("speed", "driving speed", speed, system),
    ];
    if let Some(slip) = slip {
        given.push(Row::given("slip", "slip", slip, system));
    }
    let share = slip.map_or(0.0, Quantity::base);
    let turns = belt::driven_rpm(speed.base(), first.base(), second.base(), share)?;
    let mut results = vec![
        Row::figure("driven-speed", "driven speed", Kind::Speed, turns, system),
        Row::figure(
            "ratio",
            "turns per driving turn",
            Kind::Count,
            first.base() / second.base() * (1.0 - share),
            system,
        ),
    ];
    let metres = belt::belt_metres_a_second(first.base(), speed.base())?;
    results.push(Row {
        value: Some(super::reckoning::nine_digits(metres)),
        unit: "m/s",
        ..Row::words("belt-speed", "belt speed", format!("{metres:.1} m/s ({:.0} ft/s)", metres / 0.3048))
    });
    let mut meaning = vec![format!("The driven pulley turns at {}.", say.of(Kind::Speed, turns))];
    if let Some(measured) = measured {
        given.push(Row::given("measured", "measured", measured, system));
        let slip = belt::slip(speed.base(), measured.base(), first.base(), second.base())?;
        let shown = slip.max(0.0);
        results.push(Row::figure("measured-slip", "slip", Kind::Ratio, shown, system));
        meaning = vec![format!(
            "Without slip the driven pulley would turn at {}: {} is lost{}.",
            say.of(Kind::Speed, turns),
            say.share(shown),
            if slip > MUCH_SLIP {
                ", so the belt slips: look at tension, glazing, coolant or oil on it"
            } else {
                ", which is normal"
            }
        )];
    }
    if let Some(centres) = centres {
        given.push(Row::given("centres", "between the shafts", centres, system));
        let open = belt::open_belt(first.base(), second.base(), centres.base())?;
        results.push(Row::figure("belt-length", "belt length", Kind::Length, open.length_mm, system));
        results.push(Row::figure("span", "straight run", Kind::Length, open.span_mm, system));
        results.push(Row::figure(
            "driver-wrap",
            "wrap, driving",
            Kind::Angle,
            open.first_wrap_degrees,
            system,
        ));
        results.push(Row::figure(
            "driven-wrap",
            "wrap, driven",
            Kind::Angle,
            open.second_wrap_degrees,
            system,
        ));
        if let Some(offset) = offset {
            given.push(Row::given("offset", "out of line", offset, system));
            let angle = belt::misalignment_degrees(offset.base(), open.span_mm)?;
            results.push(Row::figure("misalignment", "belt runs askew by", Kind::Angle, angle, system));
            meaning.push(format!("The belt runs askew by {}.", say.of(Kind::Angle, angle)));
        }
    }
    Ok(Reckoning {
        reckon: "pulley",
        title: format!(
            "Pulleys: {} drives {}",
            say.of(Kind::Length, first.base()),
            say.of(Kind::Length, second.base())
        ),
        cautions: vec![MOVING.to_owned()],
        given,
        results,
        meaning: meaning.join(" "),
        basis: vec![
            "Diameters are those the belt's cord runs on; an open belt round two pulleys, not crossed."
                .to_owned(),
        ],
        sources: vec!["geometry; slip above 5 % called slipping: common practice, no source".to_owned()],
    })
}
