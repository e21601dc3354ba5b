//! `plan`: what to replace, in what order, with which fluids, and how to prove it.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::{CliError, Context, Exit, Paint, out_file};
use crate::case::store::CaseFile;
use crate::case::{Case, gather};
use crate::inference::Engine;
use crate::plan::{Input, Made, Options, follow_up::follow_up, make};
use crate::report::{plain, plan as page};
use crate::rulebook::RuleBook;

/// How a plan is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum PlanFormat {
    /// For the terminal
    #[default]
    Text,
    /// Markdown
    Markdown,
    /// One page to print, with tick boxes and a picture of the steps
    Html,
    /// For programs; the shape is documented in docs/plan.md
    Json,
}

/// Arguments of `plan`.
#[derive(Debug, Args)]
pub struct PlanArgs {
    /// A case by name or file
    #[arg(required_unless_present = "vehicle", conflicts_with = "vehicle")]
    case: Option<String>,
    /// A vehicle file, or the name of a vehicle of the book, instead of a case
    #[arg(long, value_name = "FILE", requires = "replace")]
    vehicle: Option<String>,
    /// Parts to replace whatever the diagnosis says
    #[arg(long, value_name = "PART", value_delimiter = ',')]
    replace: Vec<String>,
    /// Years within which a part that is due by age counts
    #[arg(long, value_name = "YEARS", default_value_t = 2.0)]
    horizon: f64,
    /// How to print
    #[arg(long, value_enum, default_value_t = PlanFormat::Text)]
    format: PlanFormat,
    /// Write to a file instead of standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// The day the plan is drawn up, YYYY-MM-DD [default: today]
    #[arg(long, value_name = "DATE")]
    day: Option<Date>,
    /// The work is done: open the follow-up case, in which the repaired failures are absent
    #[arg(long, conflicts_with = "vehicle")]
    done: bool,
}

/// Draws up a plan.
pub fn run(context: &mut Context, args: &PlanArgs) -> Result<Exit, CliError> {
    if !(args.horizon.is_finite() && (0.0..=30.0).contains(&args.horizon)) {
        return Err(CliError::Misuse(format!("`--horizon {}` is not from 0 to 30 years", args.horizon)));
    }
    let book = context.book()?;
    let shop = context.shop(&book)?;
    let (name, case) = match (&args.case, &args.vehicle) {
        (Some(name), _) => {
            let input = context.any_case(&book, name)?;
            (Some(input.name), input.case)
        }
        (None, Some(vehicle)) => (None, Case::open(context.vehicle(&book, vehicle)?, None)),
        (None, None) => return Err(CliError::misuse("name a case, or a vehicle with `--vehicle`")),
    };
    let today = args.day.unwrap_or_else(|| context.now().to_zoned(TimeZone::UTC).date());
    let graph = crate::graph::asked(&book, &case.vehicle, case.day().or(Some(today)), shop.slips)
        .map_err(CliError::misuse)?;
    let gathered = gather(&book, &graph, &case);
    context.say_ignored(&gathered.ignored);
    let engine = Engine::default();
    let input = Input {
        book: &book,
        graph: &graph,
        engine: &engine,
        shop: &shop,
        case: &case,
        evidence: &gathered.evidence,
    };
    let options = Options {
        replace: args.replace.clone(),
        horizon_years: args.horizon,
        system: context.units(),
        today: Some(today),
    };
    let made = make(input, &options).map_err(CliError::misuse)?;
    print(context, args, &made)?;
    if args.done
        && let Some(name) = name
    {
        keep_follow_up(context, &book, &name, &case, &made, today)?;
    }
    Ok(Exit::Done)
}

fn print(context: &mut Context, args: &PlanArgs, made: &Made) -> Result<(), CliError> {
    let units = context.units();
    // A file gets no colour, whatever the terminal can do.
    let paint = if args.out.is_some() { Paint::plain() } else { context.paint };
    let text = match args.format {
        PlanFormat::Text => page::text(&made.plan, units, &paint),
        PlanFormat::Markdown => page::markdown(&made.plan, units),
        PlanFormat::Html => page::html(&made.plan, units),
        PlanFormat::Json => format!("{:#}\n", page::json(&made.plan)),
    };
    match &args.out {
        None => context.out().write_all(text.as_bytes())?,
        Some(path) => {
            out_file::write(path, text.as_bytes())?;
            context.say(&format!("written to {}", plain(&path.display().to_string())));
        }
    }
    Ok(())
}

/// Keeps the follow-up case beside the others and says how to go on.
fn keep_follow_up(
    context: &Context,
    book: &RuleBook,
    name: &str,
    case: &Case,
    made: &Made,
    today: Date,
) -> Result<(), CliError> {
    let after = follow_up(book, case, made, context.now(), today);
    let stem = Path::new(name).file_stem().and_then(|stem| stem.to_str()).unwrap_or("case");
    let kept: String =
        stem.chars().map(|c| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' }).take(60).collect();
    let cases = context.cases();
    let free = cases.free_name(&format!("{kept}-after-repair"));
    let path = cases.path_of(&free).map_err(CliError::misuse)?;
    CaseFile::new(path).save(&after).map_err(CliError::misuse)?;
    context.say(&format!(
        "the follow-up is the case `{free}`: {} failures count as repaired there. If anything comes back: weephole interview --case {free}",
        after.repaired.len()
    ));
    Ok(())
}
