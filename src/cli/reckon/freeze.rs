//! `reckon freeze`: strength and freezing point, each from the other, from a hydrometer or a refractometer.

use clap::Args;

use crate::physics::mix::{Basis, Glycol, GravityScale, Mix};
use crate::units::{Kind, UnitSystem};

use super::options::{
    Antifreeze, HOT_CAP, ReckonError, Say, ScaleName, freezing_basis, freezing_sources, poison, read, usage,
};
use super::reckoning::{Reckoning, Row};

/// Freezing point of a strength, strength for a freezing point, or either from a test of the coolant
#[derive(Debug, Clone, Args)]
#[command(
    after_help = "Examples:\n  weephole reckon freeze 50%\n  weephole reckon freeze --protect -30C\n  \
                        weephole reckon freeze --gravity 1.058 --at 45C\n  weephole reckon freeze --refractometer -25C"
)]
pub struct FreezeArgs {
    /// Strength of the mix, such as 50% or 1:1
    #[arg(value_name = "STRENGTH", conflicts_with_all = ["protect", "gravity", "refractometer"])]
    pub strength: Option<String>,
    /// The cold that must be endured: answers with the strength
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, conflicts_with_all = ["gravity", "refractometer"])]
    pub protect: Option<String>,
    /// What the hydrometer shows, as specific gravity
    #[arg(long, value_name = "SG", requires = "at", conflicts_with = "refractometer")]
    pub gravity: Option<String>,
    /// Temperature of the coolant in the hydrometer
    #[arg(long, value_name = "TEMPERATURE", requires = "gravity", allow_hyphen_values = true)]
    pub at: Option<String>,
    /// The temperature the hydrometer's scale belongs to
    #[arg(long, value_enum, default_value = "60F")]
    pub scale: ScaleName,
    /// The freezing point the refractometer shows
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub refractometer: Option<String>,
    #[command(flatten)]
    #[allow(missing_docs)]
    pub antifreeze: Antifreeze,
}

/// How far a hand hydrometer can be read, as specific gravity (common practice, no source).
const READING_ERROR: f64 = 0.002;

pub(super) fn reckon(args: &FreezeArgs, system: UnitSystem) -> Result<Reckoning, ReckonError> {
    let (glycol, basis) = (args.antifreeze.glycol(), args.antifreeze.basis());
    let say = Say(system);
    let mut given = vec![Row::words("antifreeze", "antifreeze", args.antifreeze.bottle())];
    let mut cautions = vec![poison(glycol)];
    let mut notes = freezing_basis(glycol, basis);
    let mut more = Vec::new();
    let (mix, lead) = if let Some(text) = &args.strength {
        (args.antifreeze.mix("STRENGTH", text, system)?, String::new())
    } else if let Some(text) = &args.protect {
        let cold = read("--protect", text, Kind::Temperature, system)?;
        given.push(Row::given("protect", "cold to endure", cold, system));
        let mix = Mix::for_freezing(glycol, basis, cold.base())?;
        (mix, format!("It takes {} to stay free of ice at {}. ", say.mix(mix), say.temperature(cold.base())))
    } else if let Some(text) = &args.refractometer {
        let shown = read("--refractometer", text, Kind::Temperature, system)?;
        cautions.push(HOT_CAP.to_owned());
        given.push(Row::given("refractometer", "refractometer", shown, system));
        let scale = "A refractometer shows the right freezing point only on the scale of this glycol, and on cooled coolant.";
        notes.push(scale.to_owned());
        let mix = Mix::for_freezing(glycol, basis, shown.base())?;
        (mix, format!("The reading belongs to {}. ", say.mix(mix)))
    } else if let (Some(gravity), Some(at)) = (&args.gravity, &args.at) {
        cautions.push(HOT_CAP.to_owned());
        let gravity = read("--gravity", gravity, Kind::SpecificGravity, system)?;
        let at = read("--at", at, Kind::Temperature, system)?;
        given.push(Row::given("gravity", "hydrometer", gravity, system));
        given.push(Row::given("gravity-temperature", "coolant in it", at, system));
        let found = hydrometer(args, gravity.base(), at.base(), system)?;
        more = found.1;
        if glycol == Glycol::Propylene {
            notes.push(
                "Propylene glycol hardly changes its density with strength: a refractometer tells more."
                    .to_owned(),
            );
        }
        notes.push(
            "Densities fit published tables within 0.005; inhibitors in a concentrate read as glycol."
                .to_owned(),
        );
        (found.0, format!("Corrected for temperature, the reading belongs to {}. ", say.mix(found.0)))
    } else {
        return usage(
            "`reckon freeze` needs a strength (`50%`), the cold to endure (`--protect -30C`), a hydrometer reading \
             (`--gravity 1.058 --at 45C`) or a refractometer reading (`--refractometer -25C`)",
        );
    };
    let frost = mix.freezing_celsius()?;
    let mut results = vec![
        Row { text: say.mix(mix), ..Row::figure("strength", "strength", Kind::Ratio, mix.share(), system) },
        Row::figure("freezing-point", "freezes at", Kind::Temperature, frost, system),
    ];
    if basis == Basis::Concentrate {
        results.push(Row::figure("pure-share", "pure glycol in it", Kind::Ratio, mix.pure_share(), system));
    }
    let gravity = mix.gravity(20.0, GravityScale::Twenty)?;
    results.push(Row::figure("gravity-20", "SG 20/20 °C", Kind::SpecificGravity, gravity, system));
    results.extend(more);
    Ok(Reckoning {
        reckon: "freeze",
        title: "Freezing point and strength".to_owned(),
        cautions,
        given,
        results,
        meaning: format!("{lead}First ice forms at {}.", say.temperature(frost)),
        basis: notes,
        sources: freezing_sources(glycol, basis),
    })
}

/// The strength behind a hydrometer reading, the reading at the scale's own temperature, and how far the strength
/// moves when the reading is off.
fn hydrometer(
    args: &FreezeArgs,
    reading: f64,
    celsius: f64,
    system: UnitSystem,
) -> Result<(Mix, Vec<Row>), ReckonError> {
    let scale = GravityScale::from(args.scale);
    let (glycol, basis) = (args.antifreeze.glycol(), args.antifreeze.basis());
    let mix = Mix::for_gravity(glycol, basis, reading, celsius, scale)?;
    let corrected = mix.gravity(scale.celsius(), scale)?;
    let label = format!("reading at {}", Say(system).temperature(scale.celsius()));
    let mut rows = vec![Row::figure("gravity-corrected", label, Kind::SpecificGravity, corrected, system)];
    // At the ends of the scale one side may not exist.
    let at = |reading: f64| Mix::for_gravity(glycol, basis, reading, celsius, scale).map_or(mix, |mix| mix);
    let spread = 0.5 * (at(reading + READING_ERROR).share() - at(reading - READING_ERROR).share());
    rows.push(Row {
        text: format!("{} for {READING_ERROR} of SG", Say(system).share(spread)),
        ..Row::figure("strength-error", "off by", Kind::Ratio, spread, system)
    });
    Ok((mix, rows))
}
