//! `cases`: the cases that are kept.

use clap::{Args, Subcommand};

use super::{CliError, Context, Exit, TextOrJson};
use crate::case::store::{self, CaseFile};
use crate::case::{gather, standing};
use crate::inference::Engine;
use crate::report::cases::{self as page, Listed, Shown};
use crate::rulebook::RuleBook;

/// Narrowest page.
const NARROWEST: usize = 40;

/// Widest page.
const WIDEST: usize = 100;

/// What `cases` can do.
#[derive(Debug, Subcommand)]
pub enum CasesCommand {
    /// List every case
    List(ListArgs),
    /// Show one case: vehicle, answers, suspects
    Show(ShowArgs),
    /// Hold two cases side by side
    Compare(CompareArgs),
    /// Copy a case under another name, to try other answers
    Copy(CopyArgs),
}

/// Arguments of `cases list`.
#[derive(Debug, Default, Args)]
pub struct ListArgs {
    /// How to print
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

/// Arguments of `cases show`.
#[derive(Debug, Args)]
pub struct ShowArgs {
    /// The case, by name or file
    case: String,
    /// How to print
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

/// Arguments of `cases compare`.
#[derive(Debug, Args)]
pub struct CompareArgs {
    /// The first case, by name or file
    first: String,
    /// The second
    second: String,
    /// How to print
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

/// Arguments of `cases copy`.
#[derive(Debug, Args)]
pub struct CopyArgs {
    /// The case, by name or file
    from: String,
    /// The name of the copy
    to: String,
}

/// Runs one of them; `list` if none is named.
pub fn run(context: &mut Context, command: Option<CasesCommand>) -> Result<Exit, CliError> {
    match command.unwrap_or(CasesCommand::List(ListArgs::default())) {
        CasesCommand::List(args) => list(context, &args),
        CasesCommand::Show(args) => show(context, &args),
        CasesCommand::Compare(args) => compare(context, &args),
        CasesCommand::Copy(args) => copy(context, &args),
    }
}

fn width() -> usize {
    terminal_size::terminal_size().map_or(80, |(width, _)| usize::from(width.0)).clamp(NARROWEST, WIDEST)
}

fn list(context: &mut Context, args: &ListArgs) -> Result<Exit, CliError> {
    let book = context.book()?;
    let cases = context.cases();
    let names = cases.names().map_err(CliError::misuse)?;
    let listed: Vec<Listed> = names
        .into_iter()
        .map(|name| {
            let case = cases.path_of(&name).and_then(|path| store::read(&path)).map(|(case, _)| case);
            Listed { name, case: case.map_err(|error| error.to_string()) }
        })
        .collect();
    match args.format {
        TextOrJson::Json => writeln!(context.out(), "{:#}", page::list_json(&book, &listed))?,
        TextOrJson::Text if listed.is_empty() => context.say(&format!(
            "no cases in `{}` yet; the interview writes the first one",
            cases.folder().display()
        )),
        TextOrJson::Text => {
            let text = page::list(&book, &listed, width(), &context.paint);
            write!(context.out(), "{text}")?;
        }
    }
    Ok(Exit::Done)
}

fn ranked(context: &Context, book: &RuleBook, name: &str) -> Result<Shown, CliError> {
    let input = context.case(name)?;
    let graph = context.graph(book, &context.shop(book)?, &input.case)?;
    let gathered = gather(book, &graph, &input.case);
    let standing =
        standing(book, &graph, &Engine::default(), &gathered.evidence).map_err(CliError::misuse)?;
    Ok(Shown { name: input.name, case: input.case, standing, ignored: gathered.ignored })
}

fn show(context: &mut Context, args: &ShowArgs) -> Result<Exit, CliError> {
    let book = context.book()?;
    let shown = ranked(context, &book, &args.case)?;
    match args.format {
        TextOrJson::Json => writeln!(context.out(), "{:#}", page::show_json(&book, &shown))?,
        TextOrJson::Text => {
            let text = page::show(&book, &shown, width(), &context.paint);
            write!(context.out(), "{text}")?;
        }
    }
    Ok(Exit::Done)
}

fn compare(context: &mut Context, args: &CompareArgs) -> Result<Exit, CliError> {
    let book = context.book()?;
    let (first, second) = (ranked(context, &book, &args.first)?, ranked(context, &book, &args.second)?);
    match args.format {
        TextOrJson::Json => writeln!(context.out(), "{:#}", page::compare_json(&book, &first, &second))?,
        TextOrJson::Text => {
            let text = page::compare(&book, &first, &second, width(), &context.paint);
            write!(context.out(), "{text}")?;
        }
    }
    Ok(Exit::Done)
}

/// Copies a case. The copy has no verdict: what was confirmed was confirmed of the first.
fn copy(context: &mut Context, args: &CopyArgs) -> Result<Exit, CliError> {
    let input = context.case(&args.from)?;
    let path = context.cases().path_of(&args.to).map_err(CliError::misuse)?;
    if path.exists() {
        return Err(CliError::Misuse(format!("there is a case `{}` already; choose another name", args.to)));
    }
    let mut case = input.case;
    case.verdict = None;
    CaseFile::new(path).save(&case).map_err(CliError::misuse)?;
    context.say(&format!("copied; go on with `weephole interview --case {}`", args.to));
    Ok(Exit::Done)
}
