//! `weephole reckon`: the physics of the cooling system as a pocket calculator. Every answer has its units in both
//! systems, a sentence of meaning, what was assumed, and where it comes from; docs/reckon.md describes them all.

mod boil;
mod cap;
mod convert;
mod drain;
mod freeze;
mod mix;
mod options;
mod pulley;
mod reckoning;
mod sensor;
mod torque;

use std::io::{self, IsTerminal, Write};

use clap::{Args, Subcommand};

use super::{CliError, Context, Exit, TextOrJson};
use crate::units::UnitSystem;

pub use options::ReckonError;
pub use reckoning::{Reckoning, Row};

/// Arguments of `reckon`.
#[derive(Debug, Clone, Args)]
pub struct ReckonArgs {
    #[command(subcommand)]
    #[allow(missing_docs)]
    pub what: What,
    /// How to print; docs/reckon.md has the shape of the JSON
    #[arg(long, global = true, value_enum, default_value_t = TextOrJson::Text)]
    pub format: TextOrJson,
}

/// What to reckon. The help text of each command stands with its options.
#[derive(Debug, Clone, Subcommand)]
#[allow(missing_docs)]
pub enum What {
    Mix(mix::MixArgs),
    Boil(boil::BoilArgs),
    Freeze(freeze::FreezeArgs),
    Cap(cap::CapArgs),
    Drain(drain::DrainArgs),
    Pulley(pulley::PulleyArgs),
    Sensor(sensor::SensorArgs),
    Torque(torque::TorqueArgs),
    Convert(convert::ConvertArgs),
}

/// Text is wrapped here when the terminal's width is not known.
const WIDTH: usize = 80;

/// Lines longer than this tire the eye, however wide the terminal.
const WIDEST: usize = 100;

/// Works out the answer and prints it.
pub fn run(context: &mut Context, args: &ReckonArgs) -> Result<Exit, CliError> {
    let reckoning = reckon(args, context.units()).map_err(CliError::misuse)?;
    let terminal = if io::stdout().is_terminal() { terminal_size::terminal_size() } else { None };
    let width = terminal.map_or(WIDTH, |(width, _)| usize::from(width.0).min(WIDEST));
    write(&reckoning, args.format == TextOrJson::Json, width, context.out())?;
    Ok(Exit::Done)
}

/// Works out the answer. Every refusal is wrong use (exit status 2).
pub fn reckon(args: &ReckonArgs, system: UnitSystem) -> Result<Reckoning, ReckonError> {
    match &args.what {
        What::Mix(args) => mix::reckon(args, system),
        What::Boil(args) => boil::reckon(args, system),
        What::Freeze(args) => freeze::reckon(args, system),
        What::Cap(args) => cap::reckon(args, system),
        What::Drain(args) => drain::reckon(args, system),
        What::Pulley(args) => pulley::reckon(args, system),
        What::Sensor(args) => sensor::reckon(args, system),
        What::Torque(args) => torque::reckon(args, system),
        What::Convert(args) => convert::reckon(args, system),
    }
}

/// Writes the answer: JSON on one line, or text wrapped at `width` columns.
pub fn write(reckoning: &Reckoning, json: bool, width: usize, out: &mut dyn Write) -> io::Result<()> {
    if json { reckoning.write_json(out) } else { reckoning.write_text(out, width) }
}
