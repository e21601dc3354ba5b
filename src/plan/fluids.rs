//! Coolant and flushing: what to mix, what to buy, what to expect of it, what to catch.
//!
//! Figures are worked out by `physics`; what is assumed where the vehicle file is silent is said in `assumed`.

use serde::Serialize;

use crate::case::limits;
use crate::physics::mix::{Basis, Glycol, Mix};
use crate::physics::{PhysicsError, boiling, dilution};
use crate::rulebook::entries::Vehicle;
use crate::units::{Kind, Unit, UnitSystem, parse_quantity};

/// Degrees by which the mix should outdo the coldest weather. Judgement.
const FROST_RESERVE: f64 = 5.0;

/// Weakest mix that still protects against rust. Common practice, no source.
const WEAKEST: f64 = 0.40;

/// Strongest mix in the makers' tables.
const STRONGEST: f64 = 0.60;

/// Capacity taken where nothing is known, litres; the share of it that drains; the coldest weather. Judgement.
const USUAL_CAPACITY: f64 = 8.0;
const USUAL_DRAINED: f64 = 0.65;
const USUAL_COLDEST: f64 = -20.0;

/// Cap taken where none is known, kPa (15 psi), and thermostat fully open, °C. Judgement.
const USUAL_CAP: f64 = 103.0;
const USUAL_FULL_OPEN: f64 = 95.0;

/// How dirty the coolant is, for the number of flushing rounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Dirt {
    /// Old but clear.
    Old,
    /// Rusty or sour.
    Rusty,
    /// Sludge, oil or leak stopper.
    Sludged,
}

impl Dirt {
    /// Share of the old coolant that may stay behind. Judgement.
    pub fn may_stay(self) -> f64 {
        match self {
            Self::Old => 0.10,
            Self::Rusty => 0.05,
            Self::Sludged => 0.02,
        }
    }

    /// In a sentence.
    pub fn name(self) -> &'static str {
        match self {
            Self::Old => "old but clear",
            Self::Rusty => "rusty or sour",
            Self::Sludged => "sludge, oil or leak stopper in it",
        }
    }
}

/// Flushing, if it is in the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Flush {
    /// How dirty it is.
    pub dirt: Dirt,
    /// How that is known.
    pub known_by: String,
    /// Rounds of filling with water and draining after the first draining.
    pub rounds: u32,
    /// Share of the old coolant left after them, 0 to 1.
    pub left: f64,
    /// Share that stays behind at each draining, 0 to 1.
    pub keeps: f64,
}

/// Bottles of one size.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Packs {
    /// What is in them.
    pub what: String,
    /// How many and how large: (count, litres).
    pub packs: Vec<(u32, f64)>,
}

/// The coolant sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Fluids {
    /// In a sentence: `ethylene glycol`.
    pub glycol: String,
    /// What the system holds, litres.
    pub capacity: f64,
    /// What drains, litres.
    pub drained: f64,
    /// What stays in block and heater, litres.
    pub stays: f64,
    /// Strength of what stays, share of concentrate, 0 to 1.
    pub stays_strength: f64,
    /// Wanted strength, share of concentrate, 0 to 1.
    pub wanted: f64,
    /// Why that strength.
    pub wanted_because: String,
    /// Concentrate to pour in, litres.
    pub concentrate: f64,
    /// Distilled water to pour in, litres.
    pub water: f64,
    /// Strength reached, share of concentrate.
    pub reached: f64,
    /// Freezing point of that mix, °C.
    pub freezes: f64,
    /// Boiling point of it under the cap at the altitude, °C.
    pub boils: f64,
    /// Boiling point of plain water under the same cap, °C.
    pub water_boils: f64,
    /// Cap, kPa gauge.
    pub cap: f64,
    /// Altitude, m.
    pub altitude: f64,
    /// Degrees between the boiling point and the thermostat fully open.
    pub margin: f64,
    /// Temperature at which the thermostat is fully open, °C.
    pub full_open: f64,
    /// Strength that a 50/50 premix would reach, and its freezing point, °C.
    pub premix: (f64, f64),
    /// Whether a premix alone protects to the coldest weather.
    pub premix_will_do: bool,
    /// Flushing, if it is in the plan.
    pub flush: Option<Flush>,
    /// What to catch, litres.
    pub waste: f64,
    /// What to buy.
    pub buy: Vec<Packs>,
    /// What was taken for granted because the vehicle file does not say.
    pub assumed: Vec<String>,
    /// What to mind.
    pub notes: Vec<String>,
}

/// What is known of the coolant besides the vehicle file.
#[derive(Debug, Clone, Default)]
pub struct Known {
    /// How dirty it is and how that is known; `None` without flushing.
    pub flush: Option<(Dirt, String)>,
    /// Strength read with an instrument, share of concentrate.
    pub strength: Option<f64>,
}

/// Reads a volume or temperature of the vehicle file; what cannot be read counts as unknown and is said.
fn figure(text: Option<&String>, kind: Kind, unit: Unit, line: &str, notes: &mut Vec<String>) -> Option<f64> {
    match parse_quantity(text?, kind, unit) {
        Ok(quantity) => Some(quantity.base()),
        Err(error) => {
            notes.push(format!("`{line}` of the vehicle file was not used: {error}"));
            None
        }
    }
}

/// The coolant sheet of a job that drains the system.
pub fn fluids(vehicle: &Vehicle, known: &Known, system: UnitSystem) -> Result<Fluids, PhysicsError> {
    let (mut assumed, mut notes) = (Vec::new(), Vec::new());
    let litres = |text, line, notes: &mut Vec<String>| figure(text, Kind::Volume, Unit::LITRE, line, notes);
    let celsius =
        |text, line, notes: &mut Vec<String>| figure(text, Kind::Temperature, Unit::CELSIUS, line, notes);
    let say_litres = |litres: f64| volume(litres, system);
    let capacity =
        litres(vehicle.coolant.capacity.as_ref(), "coolant.capacity", &mut notes).unwrap_or_else(|| {
            assumed
                .push(format!("the system holds {} (not in the vehicle file)", say_litres(USUAL_CAPACITY)));
            USUAL_CAPACITY
        });
    let drained = litres(vehicle.coolant.drains.as_ref(), "coolant.drains", &mut notes)
        .map(|drains| drains.min(capacity))
        .unwrap_or_else(|| {
            assumed.push("about two thirds drain, the rest stays in block and heater".to_owned());
            capacity * USUAL_DRAINED
        });
    let stays = capacity - drained;
    let coldest = celsius(vehicle.coldest.as_ref(), "coldest", &mut notes).unwrap_or_else(|| {
        assumed.push(format!("coldest weather {}", temperature(USUAL_COLDEST, system)));
        USUAL_COLDEST
    });
    let glycol = match vehicle.coolant.kind.as_deref() {
        Some("propylene-glycol") => Glycol::Propylene,
        Some("ethylene-glycol") => Glycol::Ethylene,
        _ => {
            assumed.push("ethylene glycol, as nearly every maker names".to_owned());
            Glycol::Ethylene
        }
    };
    let (wanted, wanted_because) = wanted(glycol, coldest, system)?;
    let flush =
        known.flush.clone().map(|(dirt, known_by)| flush(dirt, known_by, stays / capacity)).transpose()?;
    let stays_strength = if flush.is_some() {
        0.0
    } else {
        match (known.strength, limits::mix_of(vehicle)) {
            (Some(read), _) => read,
            (None, Ok(Some(mix))) => mix.share(),
            _ => {
                assumed.push(
                    "what stays behind is taken as plain water: the new mix then errs on the strong side"
                        .to_owned(),
                );
                0.0
            }
        }
    };
    let (concentrate, water) = match dilution::to_fill(capacity, wanted, stays, stays_strength) {
        Ok(fill) => fill,
        Err(_) if stays_strength < wanted => {
            notes.push(
                "too much water stays behind to reach the wanted strength in one filling: fill with concentrate alone, \
                 drive it warm, then drain and fill once more"
                    .to_owned(),
            );
            (drained, 0.0)
        }
        Err(_) => {
            notes.push(
                "what stays behind is stronger than wanted: fill up with water alone, and measure again"
                    .to_owned(),
            );
            (0.0, drained)
        }
    };
    let mixed = |concentrate: f64, water: f64| {
        dilution::blend(&[(stays, stays_strength), (concentrate, 1.0), (water, 0.0)]).map(|(_, share)| share)
    };
    let reached = mixed(concentrate, water)?;
    let freezing =
        |share: f64| Mix::new(glycol, Basis::Concentrate, share.min(STRONGEST))?.freezing_celsius();
    let mix = Mix::new(glycol, Basis::Concentrate, reached)?;
    let pressure = |text, line, notes: &mut Vec<String>| figure(text, Kind::Pressure, Unit::KPA, line, notes);
    let cap = pressure(vehicle.ratings.cap.as_ref(), "ratings.cap", &mut notes).unwrap_or_else(|| {
        assumed.push("a cap of 15 psi (103 kPa); read the figure on yours".to_owned());
        USUAL_CAP
    });
    let altitude = limits::altitude_of(vehicle).unwrap_or(0.0);
    let full_open = celsius(vehicle.ratings.thermostat_full.as_ref(), "ratings.thermostat-full", &mut notes)
        .unwrap_or_else(|| {
            assumed.push(format!("thermostat fully open at {}", temperature(USUAL_FULL_OPEN, system)));
            USUAL_FULL_OPEN
        });
    let boils = boiling::boiling_under_cap(mix, cap, altitude)?;
    let premix_share = mixed(drained / 2.0, drained / 2.0)?;
    let premix = (premix_share, freezing(premix_share)?);
    let rounds = flush.as_ref().map_or(0, |f| f.rounds);
    let buy = vec![
        packs(&format!("{} concentrate of the kind the maker names", glycol.name()), concentrate, system),
        packs("distilled or de-ionised water", water, system),
    ];
    if rounds > 0 {
        notes.push(
            "tap water will do for flushing; the last round and the mix want water with at most 40 mg/L chloride and 170 mg/L \
             hardness (ASTM D4985 advice as cited by makers, read)"
                .to_owned(),
        );
    }
    if glycol == Glycol::Ethylene {
        notes.push(
            "ethylene glycol is sweet and poisonous: keep it covered and away from children and animals"
                .to_owned(),
        );
    }
    Ok(Fluids {
        glycol: glycol.name().to_owned(),
        capacity,
        drained,
        stays,
        stays_strength,
        wanted,
        wanted_because,
        concentrate,
        water,
        reached,
        freezes: freezing(reached)?,
        boils,
        water_boils: boiling::boiling_under_cap(Mix::water(), cap, altitude)?,
        cap,
        altitude,
        margin: boils - full_open,
        full_open,
        premix_will_do: premix.1 <= coldest,
        premix,
        waste: drained * f64::from(1 + rounds),
        flush,
        buy: buy.into_iter().filter(|packs| !packs.packs.is_empty()).collect(),
        assumed,
        notes,
    })
}

/// The strength for the coldest weather, in steps of 5 %.
fn wanted(glycol: Glycol, coldest: f64, system: UnitSystem) -> Result<(f64, String), PhysicsError> {
    let strongest = Mix::new(glycol, Basis::Concentrate, STRONGEST)?.freezing_celsius()?;
    let reserve = temperature(coldest, system);
    let aim = (coldest - FROST_RESERVE).min(0.0);
    if aim < strongest {
        return Ok((
            STRONGEST,
            format!(
                "the strongest mix that still protects more than a weaker one; {reserve} is near or beyond its limit"
            ),
        ));
    }
    let least = Mix::for_freezing(glycol, Basis::Concentrate, aim)?.share();
    // A tenth of a per cent of strength is below what anyone measures into a bucket.
    let rounded = ((least * 20.0 - 0.02).ceil() / 20.0).min(STRONGEST);
    if rounded <= WEAKEST {
        return Ok((
            WEAKEST,
            format!(
                "{:.0} % would do for {reserve} with 5 degrees in hand, but below {:.0} % rust protection runs thin (common practice)",
                rounded * 100.0,
                WEAKEST * 100.0
            ),
        ));
    }
    Ok((rounded, format!("the weakest mix that stands {reserve} with 5 degrees in hand, in steps of 5 %")))
}

/// Rounds of flushing until little enough of the old coolant is left.
fn flush(dirt: Dirt, known_by: String, keeps: f64) -> Result<Flush, PhysicsError> {
    // The first draining is one of them. Where all of it drains, one round still washes.
    let drains = dilution::drains_needed(keeps.min(0.95), dirt.may_stay())?;
    let rounds = drains.saturating_sub(1).max(1);
    let left = dilution::left_after(keeps, rounds + 1)?;
    Ok(Flush { dirt, known_by, rounds, left, keeps })
}

/// Bottles that hold at least `litres`: large ones first, the rest in small ones.
fn packs(what: &str, litres: f64, system: UnitSystem) -> Packs {
    let (large, small) = match system {
        UnitSystem::Metric => (5.0, 1.0),
        // One US gallon and one US quart.
        UnitSystem::Imperial => (3.785_411_784, 0.946_352_946),
    };
    let mut packs = Vec::new();
    if litres > 1e-6 {
        // Litres of coolant in an engine fit any integer.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let whole = |volume: f64| volume as u32;
        let mut larges = whole((litres / large + 1e-9).floor());
        let rest = litres - f64::from(larges) * large;
        let mut smalls = whole((rest / small - 1e-9).ceil().max(0.0));
        // Four small bottles cost more than one large one (common practice).
        if f64::from(smalls) * small > large * 0.7 {
            larges += 1;
            smalls = 0;
        }
        packs.extend((larges > 0).then_some((larges, large)));
        packs.extend((smalls > 0).then_some((smalls, small)));
    }
    Packs { what: what.to_owned(), packs }
}

/// A volume with its unit.
pub fn volume(litres: f64, system: UnitSystem) -> String {
    show(litres, Unit::LITRE, system)
}

/// A temperature with its unit, in whole degrees.
pub fn temperature(celsius: f64, system: UnitSystem) -> String {
    show(celsius.round(), Unit::CELSIUS, system)
}

/// A figure with its unit in the system asked for.
pub fn show(value: f64, unit: Unit, system: UnitSystem) -> String {
    crate::units::Quantity::new(value, unit)
        .map_or_else(|_| unit.format(value), |quantity| quantity.display(system))
}
