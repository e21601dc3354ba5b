//! `interview`: questions one at a time, until it is clear what failed or what to check.

mod asker;
mod drive;
mod keeper;
mod terminal;

use clap::{Args, ValueEnum};

pub use asker::{Asker, Draw, Gone};
pub use drive::{Drive, Ended};
pub use keeper::{Keeper, Kept};
pub use terminal::{Terminal, tick_lines};

use super::{CliError, Context, Exit, Paint};
use crate::case::Case;
use crate::questioner::Strategy;
use crate::questioner::interview::{Interview, Reply, Step};
use crate::report::interview as screen;

/// Arguments of `interview`.
#[derive(Debug, Clone, Default, Args)]
pub struct InterviewArgs {
    /// The vehicle: a file, or the name of one in the rule book
    #[arg(long, value_name = "FILE", conflicts_with = "case")]
    vehicle: Option<String>,
    /// Go on with this case, by name or file
    #[arg(long, value_name = "CASE")]
    case: Option<String>,
    /// What the customer says, in free text
    #[arg(long, value_name = "TEXT")]
    complaint: Option<String>,
    /// How the next question is chosen
    #[arg(long, value_enum, default_value_t)]
    strategy: StrategyArg,
    /// Seed of the random strategy
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
}

/// How the next question is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum StrategyArg {
    /// What saves the most money after its own cost
    #[default]
    Worth,
    /// Most bits for each minute
    Bits,
    /// The order of the book
    List,
    /// Any open question, by the seed
    Random,
}

impl StrategyArg {
    fn strategy(self, seed: u64) -> Strategy {
        match self {
            Self::Worth => Strategy::Worth,
            Self::Bits => Strategy::Bits,
            Self::List => Strategy::List,
            Self::Random => Strategy::Random(seed),
        }
    }
}

/// Runs the interview in the terminal.
pub fn run(context: &mut Context, args: &InterviewArgs) -> Result<Exit, CliError> {
    if !context.is_interactive() {
        return Err(CliError::misuse(
            "the interview needs a terminal for its questions. Without one, write the answers into a case file and use \
             `weephole rank CASE`, or `weephole rank -` for one case a line (JSON)",
        ));
    }
    let book = context.book()?;
    let store = context.cases();
    let (case, keeper) = match &args.case {
        Some(name) => {
            let input = context.case(name)?;
            let keeper = Keeper::resumed(store, &input.name, &input.case, input.file);
            (input.case, keeper)
        }
        None => {
            let vehicle = args.vehicle.as_deref().map(|name| context.vehicle(&book, name)).transpose()?;
            (Case::open(vehicle.unwrap_or_default(), Some(context.now())), Keeper::new(store))
        }
    };
    let strategy = args.strategy.strategy(args.seed);
    let mut interview =
        Interview::open(&book, context.shop(&book)?, case, strategy).map_err(CliError::misuse)?;
    if let Some(text) = &args.complaint {
        if matches!(interview.step(), Step::Vehicle) {
            interview.reply(Reply::SkipVehicle, None).map_err(CliError::misuse)?;
        }
        if matches!(interview.step(), Step::Complaint(_)) {
            interview.reply(Reply::Complaint(text.clone()), None).map_err(CliError::misuse)?;
        } else {
            context.say("this case has its answers already, so the complaint was not read");
        }
    }
    let paint: Paint = context.paint_err;
    let mut terminal = Terminal::open(paint);
    let clock = jiff::Timestamp::now;
    let mut drive = Drive {
        book: &book,
        interview,
        asker: &mut terminal,
        keeper,
        style: paint,
        clock: &clock,
        note: None,
    };
    let ended = match drive.keep()? {
        Some(ended) => ended,
        None => drive.run()?,
    };
    let name = drive.keeper.name().map(str::to_owned);
    clear();
    match ended {
        Ended::Done(end) => {
            let width = terminal_size::terminal_size().map_or(80, |(width, _)| usize::from(width.0));
            let page = screen::farewell(&book, &end, name.as_deref(), width, &context.paint);
            for line in page {
                writeln!(context.out(), "{line}")?;
            }
        }
        Ended::Left => match name {
            Some(name) => context.say(&format!(
                "Every answer is kept in the case `{name}`. Go on with `weephole interview --case {name}`."
            )),
            None => context.say("Nothing was answered, so nothing was kept."),
        },
    }
    Ok(Exit::Done)
}

/// Clears the last screen, so that what is printed at the end stands by itself.
fn clear() {
    let _ = std::io::Write::write_all(&mut std::io::stderr(), b"\x1b[H\x1b[J");
}
