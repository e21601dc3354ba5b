//! `reckon boil`: where the coolant boils under this cap at this altitude, and how far it is from it.

use clap::Args;

use crate::physics::boiling;
use crate::physics::mix::Mix;
use crate::units::{Kind, Quantity, UnitSystem};

use super::options::{Antifreeze, HOT_CAP, ReckonError, Say, read_some};
use super::reckoning::{Reckoning, Row};

/// Boiling point of the coolant under a cap at an altitude, and the margin to it
#[derive(Debug, Clone, Args)]
#[command(
    after_help = "Examples:\n  weephole reckon boil --strength 50% --cap 16psi --altitude '1200 m'\n  \
                        weephole reckon boil --cap 1.1bar --coolant 118C"
)]
pub struct BoilArgs {
    /// Strength of the mix; plain water if left out
    #[arg(long, value_name = "SHARE")]
    pub strength: Option<String>,
    #[command(flatten)]
    #[allow(missing_docs)]
    pub antifreeze: Antifreeze,
    /// What the cap holds, such as "16 psi" or "1.1 bar"; an open system if left out
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    pub cap: Option<String>,
    /// Height above sea level; sea level if left out
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    pub altitude: Option<String>,
    /// How hot the coolant is now, for the margin
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub coolant: Option<String>,
}

/// The mix, cap and altitude that `boil` and `cap` share.
pub(super) struct Setting {
    pub mix: Mix,
    pub cap_kpa: f64,
    pub metres: f64,
}

impl Setting {
    pub fn read(
        strength: Option<&String>,
        antifreeze: &Antifreeze,
        cap: Option<&String>,
        altitude: Option<&String>,
        system: UnitSystem,
    ) -> Result<Setting, ReckonError> {
        let mix = match strength {
            Some(text) => antifreeze.mix("--strength", text, system)?,
            None => Mix::new(antifreeze.glycol(), antifreeze.basis(), 0.0)?,
        };
        let cap_kpa = read_some("--cap", cap, Kind::Pressure, system)?.map_or(0.0, Quantity::base);
        let metres = read_some("--altitude", altitude, Kind::Altitude, system)?.map_or(0.0, Quantity::base);
        Ok(Setting { mix, cap_kpa, metres })
    }

    pub fn given(&self, system: UnitSystem) -> Vec<Row> {
        let cap = if self.cap_kpa == 0.0 {
            Row { text: "open system".to_owned(), ..Row::figure("cap", "cap", Kind::Pressure, 0.0, system) }
        } else {
            Row::figure("cap", "cap", Kind::Pressure, self.cap_kpa, system)
        };
        vec![
            Row {
                text: Say(system).mix(self.mix),
                ..Row::figure("strength", "mix", Kind::Ratio, self.mix.share(), system)
            },
            cap,
            Row::figure("altitude", "altitude", Kind::Altitude, self.metres, system),
        ]
    }

    pub fn title(&self, system: UnitSystem) -> String {
        let say = Say(system);
        let under = if self.cap_kpa == 0.0 {
            "open".to_owned()
        } else {
            format!("under a {} cap", say.pressure(self.cap_kpa))
        };
        format!("{}, {under}, at {}", say.mix(self.mix), say.of(Kind::Altitude, self.metres))
    }

    pub fn basis(&self) -> Vec<String> {
        let mut lines = vec![
            "The cap is taken to hold its full rating and the system to have reached it; weather moves the result by up to 1 °C."
                .to_owned(),
        ];
        if self.mix.share() > 0.0 {
            lines.push(format!(
                "Ideal solution, within about 2 °C of the trade's figures up to 60 %; strength is by volume of {}.",
                self.mix.basis().name()
            ));
        }
        if self.mix.share() > 0.6 {
            lines.push("Above 60 % no published figure was found to check with.".to_owned());
        }
        lines
    }
}

pub(super) const SOURCES: [&str; 3] =
    ["water: IAPWS-IF97 (R7-97)", "air pressure: ISO 2533", "mix: Raoult's law over water and glycol"];

pub(super) fn reckon(args: &BoilArgs, system: UnitSystem) -> Result<Reckoning, ReckonError> {
    let setting = Setting::read(
        args.strength.as_ref(),
        &args.antifreeze,
        args.cap.as_ref(),
        args.altitude.as_ref(),
        system,
    )?;
    let coolant = read_some("--coolant", args.coolant.as_ref(), Kind::Temperature, system)?;
    let say = Say(system);
    let Setting { mix, cap_kpa, metres } = setting;
    let boils = boiling::boiling_under_cap(mix, cap_kpa, metres)?;
    let open = boiling::boiling_under_cap(mix, 0.0, metres)?;
    let mut given = setting.given(system);
    let mut results = vec![Row::figure("boiling-point", "boils at", Kind::Temperature, boils, system)];
    if cap_kpa > 0.0 {
        results.push(Row::figure("boiling-point-open", "with the cap off", Kind::Temperature, open, system));
    }
    results.push(Row::figure(
        "system-pressure",
        "pressure over it",
        Kind::AbsolutePressure,
        boiling::system_kpa(cap_kpa, metres)?,
        system,
    ));
    let meaning = match coolant {
        None if cap_kpa > 0.0 => format!(
            "It boils at {}; without a cap that holds, already at {}.",
            say.temperature(boils),
            say.temperature(open)
        ),
        None => format!("Open, it boils at {}.", say.temperature(boils)),
        Some(coolant) => {
            let margin = boiling::margin_kelvin(mix, cap_kpa, metres, coolant.base())?;
            given.push(Row::given("coolant-temperature", "coolant now", coolant, system));
            results.push(Row::figure("margin", "margin", Kind::TemperatureDifference, margin, system));
            let open_margin = open - coolant.base();
            if margin <= 0.0 {
                "It boils now: stop the engine, keep away from the cap, let it cool.".to_owned()
            } else if open_margin < 0.0 {
                format!(
                    "{} below boiling, and only the cap keeps it so: opened now, it would boil over at once.",
                    say.difference(margin)
                )
            } else {
                format!(
                    "{} below boiling, and {} with the cap off.",
                    say.difference(margin),
                    say.difference(open_margin)
                )
            }
        }
    };
    Ok(Reckoning {
        reckon: "boil",
        title: format!("Boiling point: {}", setting.title(system)),
        cautions: vec![HOT_CAP.to_owned()],
        given,
        results,
        meaning,
        basis: setting.basis(),
        sources: SOURCES.map(str::to_owned).to_vec(),
    })
}
