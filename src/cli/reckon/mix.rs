//! `reckon mix`: litres of concentrate and water for a filling, for a correction, or the result of a blend.

use clap::Args;

use crate::physics::mix::{Basis, GravityScale, Mix};
use crate::physics::{boiling, dilution};
use crate::units::{Kind, Quantity, Unit, UnitSystem};

use super::options::{
    Antifreeze, DISPOSAL, HOT_CAP, ReckonError, Say, freezing_basis, freezing_sources, poison, read,
    read_some, usage,
};
use super::reckoning::{Reckoning, Row};

/// Litres of concentrate and water for a filling or a correction; the result of a blend
#[derive(Debug, Clone, Args)]
#[command(after_help = "Examples:\n  weephole reckon mix --capacity 9.5L --protect -30C --left 3L\n  \
                        weephole reckon mix --capacity '2.5 gal (US)' --strength 50% --now 30%\n  \
                        weephole reckon mix --pour '1 gal (US) @ 0%' --pour '1 gal (US) @ 100%' --pour '1 gal (US) @ 50%'")]
pub struct MixArgs {
    /// The strength that is wanted
    #[arg(long, value_name = "SHARE", conflicts_with = "protect")]
    pub strength: Option<String>,
    /// The cold that must be endured, instead of a strength
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub protect: Option<String>,
    /// What the whole system holds
    #[arg(long, value_name = "VOLUME")]
    pub capacity: Option<String>,
    /// What stayed in block and heater after draining
    #[arg(long, value_name = "VOLUME", requires = "capacity", conflicts_with = "now")]
    pub left: Option<String>,
    /// Strength of what stayed; plain water if left out
    #[arg(long, value_name = "SHARE", requires = "left")]
    pub left_strength: Option<String>,
    /// Strength of a full system now: answers with how much to drain and replace
    #[arg(long, value_name = "SHARE", requires = "capacity")]
    pub now: Option<String>,
    /// Something to pour together, as "VOLUME @ STRENGTH"; repeat
    #[arg(long, value_name = "VOLUME @ SHARE", conflicts_with_all = ["strength", "protect", "capacity"])]
    pub pour: Vec<String>,
    #[command(flatten)]
    #[allow(missing_docs)]
    pub antifreeze: Antifreeze,
}

pub(super) fn reckon(args: &MixArgs, system: UnitSystem) -> Result<Reckoning, ReckonError> {
    let (glycol, basis) = (args.antifreeze.glycol(), args.antifreeze.basis());
    let say = Say(system);
    let mut given = vec![Row::words("antifreeze", "antifreeze", args.antifreeze.bottle())];
    let mut cautions = vec![poison(glycol)];
    let (mix, mut results, meaning) = if args.pour.is_empty() {
        let mix = target(args, system, &mut given)?;
        let capacity = read_some("--capacity", args.capacity.as_ref(), Kind::Volume, system)?;
        let (results, meaning) = match capacity {
            None => recipe(mix, system),
            Some(capacity) => {
                cautions.push(HOT_CAP.to_owned());
                given.push(Row::given("capacity", "capacity", capacity, system));
                match &args.now {
                    Some(now) => {
                        cautions.push(DISPOSAL.to_owned());
                        let now = read("--now", now, Kind::Ratio, system)?;
                        given.push(Row::given("now", "strength now", now, system));
                        correction(capacity.base(), now.base(), mix, system)?
                    }
                    None => filling(args, capacity.base(), mix, system, &mut given)?,
                }
            }
        };
        (mix, results, meaning)
    } else {
        let parts = args.pour.iter().map(|text| poured(text, system)).collect::<Result<Vec<_>, _>>()?;
        for (litres, strength) in &parts {
            given.push(Row::words(
                "pour",
                "pour",
                format!("{} of {}", say.volume(*litres), say.share(*strength)),
            ));
        }
        let (litres, strength) = dilution::blend(&parts)?;
        let mix = Mix::new(glycol, basis, strength)?;
        let results = vec![
            Row::figure("volume", "volume", Kind::Volume, litres, system),
            Row::figure("strength", "strength", Kind::Ratio, strength, system),
        ];
        (mix, results, format!("Together they make {} of {}.", say.volume(litres), say.mix(mix)))
    };
    let mut basis_lines = freezing_basis(glycol, basis);
    basis_lines.push("Volumes are added up; glycol and water shrink by less than 1 % together.".to_owned());
    // A blend may be stronger than the tables go; its volumes are right all the same.
    match mix.freezing_celsius() {
        Ok(frost) => {
            results.push(Row::figure("freezing-point", "freezes at", Kind::Temperature, frost, system));
            let gravity = mix.gravity(20.0, GravityScale::Twenty)?;
            results.push(Row::figure("gravity-20", "SG 20/20 °C", Kind::SpecificGravity, gravity, system));
        }
        Err(error) if !args.pour.is_empty() => basis_lines.push(format!("{error}.")),
        Err(error) => return Err(error.into()),
    }
    let open = boiling::boiling_under_cap(mix, 0.0, 0.0)?;
    results.push(Row::figure(
        "boiling-point-open",
        "boils, open, sea level",
        Kind::Temperature,
        open,
        system,
    ));
    Ok(Reckoning {
        reckon: "mix",
        title: format!("Mix: {}", say.mix(mix)),
        cautions,
        given,
        results,
        meaning,
        basis: basis_lines,
        sources: freezing_sources(glycol, basis),
    })
}

/// The wanted mix, from `--strength` or `--protect`.
fn target(args: &MixArgs, system: UnitSystem, given: &mut Vec<Row>) -> Result<Mix, ReckonError> {
    let (glycol, basis) = (args.antifreeze.glycol(), args.antifreeze.basis());
    match (&args.strength, &args.protect) {
        (Some(text), _) => {
            let mix = args.antifreeze.mix("--strength", text, system)?;
            given.push(Row::figure("strength", "strength", Kind::Ratio, mix.share(), system));
            Ok(mix)
        }
        (None, Some(text)) => {
            let cold = read("--protect", text, Kind::Temperature, system)?;
            given.push(Row::given("protect", "cold to endure", cold, system));
            Ok(Mix::for_freezing(glycol, basis, cold.base())?)
        }
        (None, None) => usage(
            "`reckon mix` needs the strength (`--strength 50%`) or the cold to endure (`--protect -30C`), or what to \
             pour together (`--pour '2 L @ 100%'`)",
        ),
    }
}

fn bottle(mix: Mix) -> &'static str {
    match mix.basis() {
        Basis::Concentrate => "concentrate",
        Basis::Pure => "pure glycol",
    }
}

/// Without a capacity: parts in ten litres.
fn recipe(mix: Mix, system: UnitSystem) -> (Vec<Row>, String) {
    let rows = vec![
        Row::figure("strength", bottle(mix), Kind::Ratio, mix.share(), system),
        Row::figure("water-share", "water", Kind::Ratio, 1.0 - mix.share(), system),
    ];
    let (strong, weak) = (10.0 * mix.share(), 10.0 * (1.0 - mix.share()));
    let text = format!(
        "{} parts of {} and {} parts of distilled water in ten; say --capacity for the amounts.",
        Unit::PERCENT.number(strong),
        bottle(mix),
        Unit::PERCENT.number(weak)
    );
    (rows, text)
}

/// A system to be filled, with or without a rest from before.
fn filling(
    args: &MixArgs,
    capacity: f64,
    mix: Mix,
    system: UnitSystem,
    given: &mut Vec<Row>,
) -> Result<(Vec<Row>, String), ReckonError> {
    let left = read_some("--left", args.left.as_ref(), Kind::Volume, system)?;
    let left_strength = read_some("--left-strength", args.left_strength.as_ref(), Kind::Ratio, system)?;
    if let Some(left) = left {
        given.push(Row::given("left", "left in the engine", left, system));
        let strength = left_strength.map_or(0.0, Quantity::base);
        given.push(Row::figure("left-strength", "strength of the rest", Kind::Ratio, strength, system));
    }
    let (concentrate, water) = dilution::to_fill(
        capacity,
        mix.share(),
        left.map_or(0.0, Quantity::base),
        left_strength.map_or(0.0, Quantity::base),
    )?;
    let say = Say(system);
    let rows = vec![
        Row::figure("concentrate", bottle(mix), Kind::Volume, concentrate, system),
        Row::figure("water", "distilled water", Kind::Volume, water, system),
        Row::figure("strength", "strength", Kind::Ratio, mix.share(), system),
    ];
    let first =
        if left.is_some() { "Pour the whole of the concentrate first, then water to the mark: " } else { "" };
    let text = format!(
        "{first}{} of {} and {} of distilled water make {}.",
        say.volume(concentrate),
        bottle(mix),
        say.volume(water),
        say.mix(mix)
    );
    Ok((rows, text))
}

/// A full system of the wrong strength.
fn correction(
    capacity: f64,
    now: f64,
    mix: Mix,
    system: UnitSystem,
) -> Result<(Vec<Row>, String), ReckonError> {
    let (fill, name) = if mix.share() >= now { (1.0, bottle(mix)) } else { (0.0, "distilled water") };
    let litres = dilution::to_replace(capacity, now, mix.share(), fill)?;
    let say = Say(system);
    let rows = vec![
        Row::figure("replace", "drain and replace", Kind::Volume, litres, system),
        Row::words("replace-with", "replace with", name),
        Row::figure("strength", "strength", Kind::Ratio, mix.share(), system),
    ];
    let text = if litres == 0.0 {
        "Nothing to do: it has that strength now.".to_owned()
    } else {
        format!(
            "Drain {} and fill in as much {name}; run it warm with the heater on before testing again.",
            say.volume(litres)
        )
    };
    Ok((rows, text))
}

/// `2 L @ 50%`.
fn poured(text: &str, system: UnitSystem) -> Result<(f64, f64), ReckonError> {
    let Some((volume, strength)) = text.split_once('@') else {
        return usage(format!(
            "--pour: `{}` has no `@`: type a volume and its strength, such as `2 L @ 50%`",
            crate::units::Typed::new(text)
        ));
    };
    let volume = read("--pour", volume, Kind::Volume, system)?;
    let strength = read("--pour", strength, Kind::Ratio, system)?;
    Ok((volume.base(), strength.base()))
}
