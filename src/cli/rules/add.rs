//! `rules add`: a failure the book lacks, asked for or read from a file, shown with what it does before it is written.

use std::fs;
use std::io::Read;
use std::path::Path;

use clap::Args;

use super::staged;
use crate::care::addition::{Addition, LARGEST};
use crate::care::alike::{Sketch, alike};
use crate::care::asker::Asker;
use crate::care::check::complete;
use crate::care::dialogue::{self, FromCase};
use crate::care::fit::fit_of;
use crate::care::journal::{Edit, Step};
use crate::care::start::CaseStart;
use crate::care::{Comparison, SavedCase, compare, read_saved};
use crate::cli::ask::TerminalAsker;
use crate::cli::{CliError, Context, Exit};
use crate::report::care::compare as comparison_page;
use crate::report::plain;
use crate::rulebook::{Drawing, Faults, RuleBook, Spot};

/// Arguments of `rules add`.
#[derive(Debug, Args)]
pub struct AddArgs {
    /// Start from a case that fits the book poorly: its signs are offered first
    #[arg(long, value_name = "CASE", conflicts_with = "from")]
    case: Option<String>,
    /// Take the entries from a rule file instead of asking; `-` reads standard input
    #[arg(long, value_name = "FILE")]
    from: Option<String>,
    /// Show everything, write nothing
    #[arg(long)]
    dry_run: bool,
    /// With --from: write although a known case breaks
    #[arg(long)]
    anyway: bool,
}

/// Adds to the user's own rules.
pub fn run(context: &mut Context, args: &AddArgs) -> Result<Exit, CliError> {
    let book = context.book()?;
    let saved = read_saved(&context.cases());
    for why in &saved.unreadable {
        context.say(&context.paint_err.notice(&format!("left out: {why}")));
    }
    let Some(addition) = gather(context, &book, args)? else {
        context.say("Nothing was written.");
        return Ok(Exit::Done);
    };
    let own = context.own_rules();
    let edits = addition.edits(&own).map_err(CliError::misuse)?;
    show_entries(context, &addition, &edits)?;
    let Some(after) = staged(context, &own, &edits, "entries")? else { return Ok(Exit::No) };
    show_alike(context, &book, &after);
    show_check(context, &after, &own, &saved.cases)?;
    let comparison = compare(&book, &after, &saved.cases);
    show_comparison(context, &book, &after, &comparison, &saved.cases)?;
    if args.dry_run {
        context.say("Nothing was written (--dry-run).");
        return Ok(if comparison.is_sound() { Exit::Done } else { Exit::No });
    }
    let write = if args.from.is_some() {
        comparison.is_sound() || args.anyway
    } else {
        let question = if comparison.is_sound() {
            "Write it to your rules?"
        } else {
            "A known case breaks. Write it to your rules all the same?"
        };
        let usual = comparison.is_sound();
        TerminalAsker::new(context)
            .agree(question, "`weephole rules undo` takes it back", usual)
            .unwrap_or(false)
    };
    if !write {
        context.say(&context.paint_err.notice(if comparison.is_sound() {
            "Nothing was written."
        } else {
            "A known case breaks: nothing was written. `--anyway` writes it all the same."
        }));
        return Ok(if comparison.is_sound() { Exit::Done } else { Exit::No });
    }
    let step = Step {
        what: format!("added {}", addition.what),
        when: context.now().strftime("%Y-%m-%dT%H:%M:%SZ").to_string(),
        edits,
    };
    context.journal().carry_out(&step).map_err(CliError::misuse)?;
    for edit in &step.edits {
        context.say(&format!("Written: {}", plain(&edit.path.display().to_string())));
    }
    context.say("`weephole rules undo` takes it back.");
    Ok(Exit::Done)
}

fn gather(context: &Context, book: &RuleBook, args: &AddArgs) -> Result<Option<Addition>, CliError> {
    if let Some(from) = &args.from {
        let bytes = read_bytes(from)?;
        let name = Path::new(from).file_name().map_or("standard input".into(), |name| name.to_string_lossy());
        return Addition::from_file(&name, &bytes)
            .map(Some)
            .map_err(|why| CliError::Misuse(format!("`{from}`: {why}")));
    }
    if !context.is_interactive() {
        return Err(CliError::misuse(
            "`rules add` asks questions and needs a terminal; `rules add --from FILE` takes the entries from a rule file",
        ));
    }
    let day = context.now().strftime("%Y-%m-%d").to_string();
    let mut asker = TerminalAsker::new(context);
    let asked = match &args.case {
        None => dialogue::ask(book, &mut asker, None, &day),
        Some(name) => {
            let input = context.case(name)?;
            let graph = context.graph(book, &context.shop(book)?, &input.case)?;
            let stem =
                Path::new(name).file_stem().map_or(name.clone(), |stem| stem.to_string_lossy().into_owned());
            let mut start = CaseStart::of(book, &graph, &stem, &input.case);
            let fit = fit_of(book, &graph, &stem, &input.case).map_err(CliError::misuse)?;
            start.conflict = fit.conflict;
            start.unexplained = fit.unexplained.into_iter().map(|sign| sign.finding).collect();
            dialogue::ask(book, &mut asker, Some(FromCase { start: &start, case: &input.case }), &day)
        }
    };
    Ok(asked.unwrap_or(None))
}

/// Reads a file or standard input, no further than needed to see that it is too long.
fn read_bytes(from: &str) -> Result<Vec<u8>, CliError> {
    let mut bytes = Vec::new();
    let most = LARGEST as u64 + 1;
    let read = if from == "-" {
        std::io::stdin().lock().take(most).read_to_end(&mut bytes)
    } else {
        fs::File::open(from).and_then(|file| file.take(most).read_to_end(&mut bytes))
    };
    read.map_err(|error| CliError::Misuse(format!("cannot read `{from}`: {error}")))?;
    Ok(bytes)
}

fn show_entries(context: &mut Context, addition: &Addition, edits: &[Edit]) -> Result<(), CliError> {
    let paint = context.paint;
    writeln!(context.out(), "{}", paint.heading(&format!("To be added: {}", plain(&addition.what))))?;
    for edit in edits {
        writeln!(context.out(), "\n{}", paint.name(&plain(&edit.path.display().to_string())))?;
        let is_entries = edit.after.as_deref().is_some_and(|text| text.contains(addition.text.trim_end()));
        let case =
            addition.cases.iter().map(|(_, text)| text).find(|text| Some(*text) == edit.after.as_ref());
        let shown =
            if is_entries && case.is_none() { &addition.text } else { case.unwrap_or(&addition.text) };
        for line in shown.lines() {
            writeln!(context.out(), "  {}", plain(line))?;
        }
    }
    writeln!(context.out())?;
    Ok(())
}

/// What `rules check` says of the user's own rules as they would be.
fn show_check(
    context: &mut Context,
    after: &RuleBook,
    own: &Path,
    saved: &[SavedCase],
) -> Result<(), CliError> {
    let mut faults = complete(after, Faults::default(), saved, Vec::new()).faults;
    let folder = own.display().to_string();
    let is_own = |spot: &Spot| after.name_of_source(spot.source).starts_with(&folder);
    faults.list.retain(|fault| fault.spot.iter().chain(fault.also.iter().map(|(spot, _)| spot)).any(is_own));
    let drawing = Drawing { colour: context.paint.is_on(), width: context.drawing_err().width };
    let paint = context.paint;
    writeln!(context.out(), "{}", paint.heading("What `rules check` says of your rules"))?;
    let text = if faults.list.is_empty() { "no faults\n".to_owned() } else { faults.draw(drawing) };
    writeln!(context.out(), "{text}")?;
    Ok(())
}

/// New failures that look like ones the book has.
fn show_alike(context: &Context, before: &RuleBook, after: &RuleBook) {
    for (id, failure) in after.failures.iter().filter(|(id, _)| !before.failures.contains_key(*id)) {
        let links = after.links_from(id).map(|link| (link.to.to_string(), link.weight.value)).collect();
        let sketch = Sketch { part: failure.part.clone(), name: failure.name.clone(), links };
        for near in alike(before, &sketch) {
            context.say(&context.paint_err.notice(&format!(
                "`{id}` looks like `{}` of the book: names {:.0} % alike, signs {:.0} % alike",
                near.failure,
                near.names * 100.0,
                near.signs * 100.0
            )));
        }
    }
}

fn show_comparison(
    context: &mut Context,
    before: &RuleBook,
    after: &RuleBook,
    comparison: &Comparison,
    saved: &[SavedCase],
) -> Result<(), CliError> {
    let paint = context.paint;
    let heading = if saved.is_empty() {
        "What it does to the known cases"
    } else {
        "What it does to the known and saved cases"
    };
    writeln!(context.out(), "{}", paint.heading(heading))?;
    let text = comparison_page::text(before, after, comparison, &paint);
    write!(context.out(), "{text}")?;
    context.out().flush()?;
    Ok(())
}
