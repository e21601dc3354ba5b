//! `reckon drain`: what repeated drains and refills leave of the old filling.

use clap::Args;

use crate::physics::dilution;
use crate::units::{Kind, UnitSystem};

use super::options::{DISPOSAL, HOT_CAP, ReckonError, Say, read, read_some, usage};
use super::reckoning::{Reckoning, Row};

/// What drains and refills leave of the old filling; how many it takes to thin dirt or strength
#[derive(Debug, Clone, Args)]
#[command(after_help = "Examples:\n  weephole reckon drain --capacity 9.5L --out 5L --thin-to 5%\n  \
                        weephole reckon drain --capacity 9.5L --out 5L --times 3 --now 50% --fill 0%")]
pub struct DrainArgs {
    /// What the whole system holds
    #[arg(long, value_name = "VOLUME")]
    pub capacity: String,
    /// What comes out at one drain
    #[arg(long, value_name = "VOLUME")]
    pub out: String,
    /// How many drains and refills
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100), conflicts_with = "thin_to")]
    pub times: Option<u32>,
    /// Share of the old filling that may stay: answers with how many
    #[arg(long, value_name = "SHARE")]
    pub thin_to: Option<String>,
    /// Strength of the filling now
    #[arg(long, value_name = "SHARE", requires = "fill")]
    pub now: Option<String>,
    /// Strength of what is filled in each time
    #[arg(long, value_name = "SHARE", requires = "now")]
    pub fill: Option<String>,
}

pub(super) fn reckon(args: &DrainArgs, system: UnitSystem) -> Result<Reckoning, ReckonError> {
    let capacity = read("--capacity", &args.capacity, Kind::Volume, system)?;
    let out = read("--out", &args.out, Kind::Volume, system)?;
    if out.base() <= 0.0 || out.base() > capacity.base() {
        return usage(format!(
            "--out: {} cannot come out of a system that holds {}",
            Say(system).volume(out.base()),
            Say(system).volume(capacity.base())
        ));
    }
    let wanted = read_some("--thin-to", args.thin_to.as_ref(), Kind::Ratio, system)?;
    let now = read_some("--now", args.now.as_ref(), Kind::Ratio, system)?;
    let fill = read_some("--fill", args.fill.as_ref(), Kind::Ratio, system)?;
    let keep = 1.0 - out.base() / capacity.base();
    let times = match wanted {
        Some(wanted) => dilution::drains_needed(keep, wanted.base())?,
        None => args.times.unwrap_or(1),
    };
    let left = dilution::left_after(keep, times)?;
    let say = Say(system);
    let mut given = vec![
        Row::given("capacity", "capacity", capacity, system),
        Row::given("out", "comes out each time", out, system),
    ];
    if let Some(wanted) = wanted {
        given.push(Row::given("thin-to", "may stay", wanted, system));
    }
    let mut results = vec![
        Row::figure("keep", "stays each time", Kind::Ratio, keep, system),
        Row::figure("times", "drains and refills", Kind::Count, f64::from(times), system),
        Row::figure("left", "old filling left", Kind::Ratio, left, system),
        Row::figure("fresh", "fresh filling needed", Kind::Volume, f64::from(times) * out.base(), system),
        Row::figure("waste", "waste to collect", Kind::Volume, f64::from(times) * out.base(), system),
    ];
    let mut meaning = format!(
        "After {times} {} {} of the old filling is left; every round needs a warm run with the heater on to mix.",
        if times == 1 { "drain and refill" } else { "drains and refills" },
        say.share(left)
    );
    if let (Some(now), Some(fill)) = (now, fill) {
        given.push(Row::given("now", "strength now", now, system));
        given.push(Row::given("fill", "filled in", fill, system));
        let strength = dilution::after_refill(now.base(), 1.0 - left, fill.base())?;
        results.push(Row::figure("strength", "strength then", Kind::Ratio, strength, system));
        meaning = format!("{meaning} The strength is then {}.", say.share(strength));
    }
    Ok(Reckoning {
        reckon: "drain",
        title: format!("Draining {} of {}", say.volume(out.base()), say.volume(capacity.base())),
        cautions: vec![HOT_CAP.to_owned(), DISPOSAL.to_owned()],
        given,
        results,
        meaning,
        basis: vec![
            "Each refill is taken to mix wholly before the next drain; dirt that sits in dead corners or sticks to walls \
             goes slower."
                .to_owned(),
        ],
        sources: vec!["arithmetic: the share that stays, to the power of the number of drains".to_owned()],
    })
}
