//! The command line: arguments in, library called, result printed. The only layer that knows terminals,
//! colours, prompts and files to write.

mod ask;
mod cases;
mod confirm;
mod context;
mod exit;
mod explain;
pub mod interview;
mod out_file;
mod paint;
mod plan;
mod rank;
pub mod reckon;
mod rules;
mod setup;
mod trial;

use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};

pub use context::{CaseInput, Context};
pub use exit::{CliError, Exit};
pub use paint::Paint;

use crate::units::UnitSystem;

const AFTER_HELP: &str = "\
Without a command, in a terminal, the interview starts.

Exit status: 0 done; 1 the answer is no (rules check found faults, a known case broke); 2 wrong use or \
unreadable input.

Weephole defers to the maker's figures, local codes and licensed practice.";

/// Finds which part of an engine's cooling system has failed, what made it fail, what to check next and
/// what to do.
#[derive(Debug, Parser)]
#[command(name = "weephole", version, max_term_width = 100, after_help = AFTER_HELP)]
pub struct Cli {
    #[command(flatten)]
    shared: Shared,
    #[command(subcommand)]
    command: Option<Command>,
}

/// Options that every command takes.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Everywhere")]
pub struct Shared {
    /// A folder of rules laid over the built-in book; may be given several times, later ones on top
    #[arg(long, global = true, value_name = "DIR")]
    pub rules: Vec<PathBuf>,
    /// The folder where cases are kept [default: `cases` in weephole's data folder]
    #[arg(long, global = true, value_name = "DIR")]
    pub cases: Option<PathBuf>,
    /// The shop file: labour rate, currency, prices, name and contact [default: `shop.yaml` in the data folder]
    #[arg(long, global = true, value_name = "FILE")]
    pub shop: Option<PathBuf>,
    /// Units to print; anything may be typed
    #[arg(long, global = true, value_enum, default_value_t = UnitsArg::Metric)]
    pub units: UnitsArg,
    /// When to use colour; `NO_COLOR` is honoured
    #[arg(long, global = true, value_enum, default_value_t = ColorArg::Auto)]
    pub color: ColorArg,
}

/// Units to print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UnitsArg {
    /// Celsius, kilopascals, litres
    Metric,
    /// Fahrenheit, psi, gallons
    Imperial,
}

impl From<UnitsArg> for UnitSystem {
    fn from(units: UnitsArg) -> Self {
        match units {
            UnitsArg::Metric => Self::Metric,
            UnitsArg::Imperial => Self::Imperial,
        }
    }
}

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ColorArg {
    /// In a terminal that can show it
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// How a result is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum TextOrJson {
    /// For people
    #[default]
    Text,
    /// For programs; the shape is documented in docs/json.md
    Json,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Find out what failed, one question at a time (needs a terminal)
    Interview(interview::InterviewArgs),
    /// Rank the suspects of a case without asking; `-` reads one case a line (JSON), writes one result a line
    Rank(rank::RankArgs),
    /// List, show, compare and copy the cases that are kept
    Cases {
        /// What to do with them [default: list]
        #[command(subcommand)]
        command: Option<cases::CasesCommand>,
    },
    /// Work out mixes, boiling and freezing points, caps, drains, pulleys, sensors, torque, units
    Reckon(reckon::ReckonArgs),
    /// Record what was really wrong, what was found good, and so what was not looked at
    Confirm(confirm::ConfirmArgs),
    /// Look after the rule book: check and show it, try changes, add a failure, find what is missing
    #[command(subcommand)]
    Rules(rules::RulesCommand),
    /// Try the questioner on simulated vehicles and compare ways of choosing the next question
    Trial(trial::TrialArgs),
    /// Draw up the job: what to replace, in what order, with which fluids, and how to prove it
    Plan(plan::PlanArgs),
    /// Say why: weights of evidence, root cause, comeback and fit for the workshop; one plain page for the customer
    Explain(explain::ExplainArgs),
    /// Print a completion script for a shell
    Completions(setup::CompletionsArgs),
    /// Print the manual page
    Man,
}

/// Runs the program with `arguments` (the first is the program's name) and says how it ended.
pub fn run<I, T>(arguments: I) -> ExitCode
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let cli = match Cli::try_parse_from(arguments) {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version count as done; clap writes them to the right stream itself.
            let exit = if error.use_stderr() { Exit::Misuse } else { Exit::Done };
            let _ = error.print();
            return exit.into();
        }
    };
    let mut context = Context::new(cli.shared);
    let result = match cli.command {
        None if context.is_interactive() => {
            interview::run(&mut context, &interview::InterviewArgs::default())
        }
        None => Err(CliError::misuse(
            "name a command; `weephole --help` lists them. In a terminal the interview would start; without one use `weephole rank CASE`",
        )),
        Some(Command::Interview(args)) => interview::run(&mut context, &args),
        Some(Command::Rank(args)) => rank::run(&mut context, &args),
        Some(Command::Cases { command }) => cases::run(&mut context, command),
        Some(Command::Reckon(args)) => reckon::run(&mut context, &args),
        Some(Command::Confirm(args)) => confirm::run(&mut context, &args),
        Some(Command::Rules(command)) => rules::run(&mut context, command),
        Some(Command::Trial(args)) => trial::run(&mut context, &args),
        Some(Command::Plan(args)) => plan::run(&mut context, &args),
        Some(Command::Explain(args)) => explain::run(&mut context, &args),
        Some(Command::Completions(args)) => setup::completions(&mut context, &args, &mut Cli::command()),
        Some(Command::Man) => setup::manual(&mut context, Cli::command()),
    };
    context.finish(result).into()
}
