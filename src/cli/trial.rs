//! `trial`: simulated vehicles, to see whether the questioner chooses well.

use clap::{Args, ValueEnum};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::{CliError, Context, Exit, TextOrJson};
use crate::inference::Engine;
use crate::report::trial as page;
use crate::trial::{self, Contender, Settings};

/// Which strategies to try.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum StrategyArg {
    /// What saves the most money after its own cost
    Worth,
    /// Most bits for each minute
    Bits,
    /// The order of the book
    List,
    /// Any open question
    Random,
    /// All of them, on the same vehicles
    All,
}

/// Arguments of `trial`.
#[derive(Debug, Args)]
pub struct TrialArgs {
    /// How many simulated vehicles
    #[arg(long, default_value_t = 100, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    runs: u32,
    /// How the next question is chosen
    #[arg(long, value_enum, default_value_t = StrategyArg::All)]
    strategy: StrategyArg,
    /// The same seed gives the same vehicles, answers and figures
    #[arg(long, default_value_t = 1, value_name = "N")]
    seed: u64,
    /// Share of answers that are wrong, 0 to 1
    #[arg(long, default_value_t = 0.03, value_name = "RATE", value_parser = rate)]
    wrong: f64,
    /// The symptom every vehicle comes in with, by id [default: any that it has]
    #[arg(long, value_name = "SYMPTOM")]
    complaint: Option<String>,
    /// The vehicle, by file or name [default: the vehicles of the book in turn]
    #[arg(long, value_name = "V")]
    vehicle: Option<String>,
    /// How to print
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

fn rate(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(rate) if (0.0..=1.0).contains(&rate) => Ok(rate),
        _ => Err("a rate is a number from 0 to 1".to_owned()),
    }
}

/// Runs a trial and prints its table.
pub fn run(context: &mut Context, args: &TrialArgs) -> Result<Exit, CliError> {
    let book = context.book()?;
    let shop = context.shop(&book)?;
    let (names, vehicles) = match &args.vehicle {
        Some(name) => (vec![name.clone()], vec![context.vehicle(&book, name)?]),
        None => book.vehicles.iter().map(|(name, vehicle)| (name.clone(), vehicle.clone())).unzip(),
    };
    if vehicles.is_empty() {
        return Err(CliError::misuse("the book has no vehicles; name one with `--vehicle`"));
    }
    let contenders = match args.strategy {
        StrategyArg::Worth => vec![Contender::Worth],
        StrategyArg::Bits => vec![Contender::Bits],
        StrategyArg::List => vec![Contender::List],
        StrategyArg::Random => vec![Contender::Random],
        StrategyArg::All => Contender::ALL.to_vec(),
    };
    let settings = Settings {
        runs: args.runs as usize,
        contenders,
        seed: args.seed,
        wrong: args.wrong,
        complaint: args.complaint.clone(),
        vehicles,
    };
    let bar = progress(context, u64::from(args.runs));
    let tallies = trial::run(&book, &shop, &Engine::default(), &settings, &|| bar.inc(1));
    bar.finish_and_clear();
    let tallies = tallies.map_err(CliError::misuse)?;
    let currency = &shop.currency(&book);
    match args.format {
        TextOrJson::Text => {
            let text = page::text(&settings, &names, currency, &tallies, &context.paint);
            write!(context.out(), "{text}")?;
        }
        TextOrJson::Json => {
            let value = page::json(&settings, &names, currency, &tallies);
            writeln!(context.out(), "{value:#}")?;
        }
    }
    Ok(Exit::Done)
}

/// A progress bar on standard error, only where somebody sees it.
fn progress(context: &Context, runs: u64) -> ProgressBar {
    if !context.is_interactive() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::with_draw_target(Some(runs), ProgressDrawTarget::stderr());
    let style = ProgressStyle::with_template("{pos} of {len} vehicles {wide_bar} {eta} left");
    style.map(|style| bar.clone().with_style(style)).unwrap_or(bar)
}
