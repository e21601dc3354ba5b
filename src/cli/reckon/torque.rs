//! `reckon torque`: the band of a published table for a bolt whose figure cannot be found.

use clap::{Args, ValueEnum};

use crate::physics::torque::{self, Into};
use crate::units::{Kind, Typed, UnitSystem};

use super::options::{ReckonError, Say, usage};
use super::reckoning::{Reckoning, Row};

/// `--into`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum IntoName {
    /// Steel or cast iron
    Iron,
    /// Cast aluminium
    Aluminium,
}

/// Tightening torque by size and grade, as a band, when the maker's figure cannot be found
#[derive(Debug, Clone, Args)]
#[command(
    after_help = "Examples:\n  weephole reckon torque M8 8.8 --into aluminium\n  weephole reckon torque 5/16 5"
)]
pub struct TorqueArgs {
    /// Thread size: M6, M8, M10, M12, 1/4, 5/16, 3/8
    #[arg(value_name = "SIZE")]
    pub size: String,
    /// Grade on the head: 8.8 for metric, 5 or 8 for inch threads
    #[arg(value_name = "GRADE")]
    pub grade: String,
    /// What the bolt goes into
    #[arg(long, value_enum, default_value = "iron")]
    pub into: IntoName,
}

pub(super) fn reckon(args: &TorqueArgs, system: UnitSystem) -> Result<Reckoning, ReckonError> {
    let (into, name) = match args.into {
        IntoName::Iron => (Into::Iron, "iron or steel"),
        IntoName::Aluminium => (Into::Aluminium, "cast aluminium"),
    };
    let Some(row) = torque::find(&args.size, &args.grade, into) else {
        let known: Vec<String> = torque::TABLE
            .iter()
            .filter(|row| row.into == into)
            .map(|row| format!("`{} {}`", row.size, row.grade))
            .collect();
        return usage(format!(
            "no torque is known for `{} {}` into {name}: the table has {}",
            Typed::new(&args.size),
            Typed::new(&args.grade),
            known.join(", ")
        ));
    };
    let (low, high) = row.band();
    let say = Say(system);
    let band = format!("{} to {}", say.of(Kind::Torque, low), say.of(Kind::Torque, high));
    Ok(Reckoning {
        reckon: "torque",
        title: format!("Torque: {} {} into {name}", row.size, row.grade),
        cautions: vec!["Too much strips cast threads and bends gasket faces: the maker's figure first, always.".to_owned()],
        given: vec![
            Row::words("size", "size", row.size),
            Row::words("grade", "grade", row.grade),
            Row::words("into", "into", name),
        ],
        results: vec![
            Row::figure("lowest", "from", Kind::Torque, low, system),
            Row::figure("highest", "to", Kind::Torque, high, system),
            Row::figure("printed", "table", Kind::Torque, row.newton_metres, system),
        ],
        meaning: format!("Without the maker's figure, stay within {band}, tightened in steps in a crossing pattern."),
        basis: vec!["Dry, clean steel threads; oil or thread paste needs about a quarter less (common practice, no source).".to_owned()],
        sources: vec!["a published table on the basis of SAE J1701; tables differ by 10 to 40 %, hence 20 % either way".to_owned()],
    })
}
