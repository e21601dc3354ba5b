//! `reckon cap`: what a cap is worth, what a weak one costs, which one a boiling point asks for.

use clap::Args;

use crate::physics::boiling;
use crate::units::{Kind, Quantity, Unit, UnitSystem};

use super::boil::{SOURCES, Setting};
use super::options::{Antifreeze, HOT_CAP, ReckonError, Say, read_some, usage};
use super::reckoning::{Reckoning, Row, nine_digits};

/// A cap in all units, what it adds, what a weak one costs, which one is needed
#[derive(Debug, Clone, Args)]
#[command(after_help = "Examples:\n  weephole reckon cap --cap 16psi --opens 9psi --strength 50%\n  \
                        weephole reckon cap --boil 125C --strength 50% --altitude '2000 m'")]
pub struct CapArgs {
    /// The cap's stamped rating, such as "16 psi" or "1.1 bar"
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    pub cap: Option<String>,
    /// The pressure at which the tester saw it open
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true, requires = "cap")]
    pub opens: Option<String>,
    /// The boiling point that is wanted: answers with the cap
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub boil: Option<String>,
    /// Strength of the mix; plain water if left out
    #[arg(long, value_name = "SHARE")]
    pub strength: Option<String>,
    #[command(flatten)]
    #[allow(missing_docs)]
    pub antifreeze: Antifreeze,
    /// Height above sea level; sea level if left out
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    pub altitude: Option<String>,
}

/// One psi: the most a 7 psi cap may be off in TM 5-3820-254-14&P, para 4-13.
const MOST_OFF: f64 = 6.894_757_293_168_361;

pub(super) fn reckon(args: &CapArgs, system: UnitSystem) -> Result<Reckoning, ReckonError> {
    let setting = Setting::read(
        args.strength.as_ref(),
        &args.antifreeze,
        args.cap.as_ref(),
        args.altitude.as_ref(),
        system,
    )?;
    let wanted = read_some("--boil", args.boil.as_ref(), Kind::Temperature, system)?;
    let opens = read_some("--opens", args.opens.as_ref(), Kind::Pressure, system)?;
    if args.cap.is_none() && wanted.is_none() {
        return usage(
            "`reckon cap` needs a cap (`--cap 16psi`), a wanted boiling point (`--boil 125C`), or both",
        );
    }
    let say = Say(system);
    let mut given = setting.given(system);
    let mut results = Vec::new();
    let mut meaning = Vec::new();
    let Setting { mix, metres, .. } = setting;
    if args.cap.is_some() {
        meaning.extend(worth(&setting, opens, system, &mut given, &mut results)?);
    }
    if let Some(wanted) = wanted {
        given.push(Row::given("wanted-boiling-point", "wanted", wanted, system));
        let needed = boiling::cap_for_boiling(mix, wanted.base(), metres)?;
        results.push(Row::figure("cap-needed", "cap needed", Kind::Pressure, needed.max(0.0), system));
        meaning.push(if needed <= 0.0 {
            format!("{} needs no cap: it boils later than that when open.", say.temperature(wanted.base()))
        } else {
            format!(
                "Boiling only at {} takes {} over the coolant; fit none above the maker's rating.",
                say.temperature(wanted.base()),
                say.pressure(needed)
            )
        });
    }
    if args.cap.is_none() {
        given.retain(|row| row.name != "cap");
    }
    let mut sources = SOURCES.map(str::to_owned).to_vec();
    if opens.is_some() {
        sources.push(
            "limit: a 7 psi cap more than 1 psi off is rejected, TM 5-3820-254-14&P para 4-13".to_owned(),
        );
    }
    Ok(Reckoning {
        reckon: "cap",
        title: match args.cap {
            Some(_) => format!("Cap: {}", setting.title(system)),
            None => {
                format!("Cap for a boiling point: {} at {}", say.mix(mix), say.of(Kind::Altitude, metres))
            }
        },
        cautions: vec![HOT_CAP.to_owned()],
        given,
        results,
        meaning: meaning.join(" "),
        basis: setting.basis(),
        sources,
    })
}

/// What the cap adds, what its altitude asks for, and what it loses if it opens elsewhere than at its mark.
fn worth(
    setting: &Setting,
    opens: Option<Quantity>,
    system: UnitSystem,
    given: &mut Vec<Row>,
    results: &mut Vec<Row>,
) -> Result<Vec<String>, ReckonError> {
    let say = Say(system);
    let mut meaning = Vec::new();
    let Setting { mix, cap_kpa, metres } = *setting;
    let with = boiling::boiling_under_cap(mix, cap_kpa, metres)?;
    let open = boiling::boiling_under_cap(mix, 0.0, metres)?;
    for (name, unit) in [("cap-kpa", Unit::KPA), ("cap-bar", Unit::BAR), ("cap-psi", Unit::PSI)] {
        let value = unit.of_base(cap_kpa);
        let label = format!("cap in {}", unit.symbol());
        results.push(Row {
            name,
            label,
            value: Some(nine_digits(value)),
            unit: unit.symbol(),
            text: unit.format(value),
        });
    }
    results.push(Row::figure("boiling-point", "boils at", Kind::Temperature, with, system));
    results.push(Row::figure("boiling-point-open", "with the cap off", Kind::Temperature, open, system));
    results.push(Row::figure("cap-adds", "the cap adds", Kind::TemperatureDifference, with - open, system));
    meaning.push(format!("The cap raises the boiling point by {}.", say.difference(with - open)));
    if metres > 0.0 {
        let same = boiling::equivalent_cap(cap_kpa, 0.0, metres)?;
        results.push(Row::figure(
            "sea-level-equivalent",
            "same as at sea level",
            Kind::Pressure,
            same,
            system,
        ));
        meaning.push(format!(
            "At this altitude only a {} cap would do what this one does at sea level; fit none above the maker's rating.",
            say.pressure(same)
        ));
    }
    if let Some(opens) = opens {
        given.push(Row::given("opens", "opens at", opens, system));
        let real = boiling::boiling_under_cap(mix, opens.base().max(0.0), metres)?;
        results.push(Row::figure(
            "boiling-point-real",
            "boils, as it opens",
            Kind::Temperature,
            real,
            system,
        ));
        results.push(Row::figure(
            "lost",
            "lost by the cap",
            Kind::TemperatureDifference,
            with - real,
            system,
        ));
        let off = opens.base() - cap_kpa;
        meaning.push(match off {
            off if off < -MOST_OFF => format!(
                "It opens {} below its mark, which costs {} of boiling point: replace it.",
                say.pressure(-off),
                say.difference(with - real)
            ),
            off if off > MOST_OFF => format!(
                "It opens {} above its mark, which loads hoses, radiator and heater core: replace it.",
                say.pressure(off)
            ),
            _ => format!("It opens within {} of its mark: good.", say.pressure(MOST_OFF)),
        });
    }
    Ok(meaning)
}
