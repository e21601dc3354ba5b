//! `rules learn`: confirmed cases to better numbers, shown before they are written and written only if they help.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;

use super::staged;
use crate::care::asker::Asker;
use crate::care::journal::Step;
use crate::care::{compare, read_saved};
use crate::cli::ask::TerminalAsker;
use crate::cli::{CliError, Context, Exit, TextOrJson, out_file};
use crate::inference::Engine;
use crate::learn::book::Strength;
use crate::learn::fit::{Count, usable};
use crate::learn::pool::{Counts, LARGEST};
use crate::learn::proposal::Bar;
use crate::learn::write::{Learnt, edit};
use crate::learn::{Confirmed, Fit, Foretold, Proposal, Verdict, fit, gather, propose};
use crate::report::care::compare as comparison_page;
use crate::report::learn::{self as page, Learning};
use crate::report::plain;
use crate::rulebook::{RuleBook, documents};

/// From so many cases on it is said that learning takes a while.
const MANY: usize = 30;

/// Arguments of `rules learn`.
#[derive(Debug, Args)]
pub struct LearnArgs {
    /// Accept everything that is proposed instead of being asked about each number
    #[arg(long, conflicts_with = "dry_run")]
    all: bool,
    /// Show everything, write nothing
    #[arg(long)]
    dry_run: bool,
    /// How many cases the book's word for a weight counts as
    #[arg(long, value_name = "CASES", default_value_t = Strength::default().weights, value_parser = strength)]
    strength: f64,
    /// How many vehicles the book's word for a base or background counts as
    #[arg(long, value_name = "VEHICLES", default_value_t = Strength::default().bases, value_parser = strength)]
    base_strength: f64,
    /// Propose nothing that fewer cases than this bear on
    #[arg(long, value_name = "CASES", default_value_t = Bar::default().cases, value_parser = strength)]
    least: f64,
    /// Write this workshop's counts to a file: numbers only, no cases, to be pooled with others
    #[arg(long, value_name = "FILE")]
    counts_out: Option<PathBuf>,
    /// Add the counts of another workshop; may be given several times
    #[arg(long, value_name = "FILE")]
    merge: Vec<PathBuf>,
    /// How to print
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

/// A number of cases: from 0 to a million.
fn strength(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(number) if (0.0..=1e6).contains(&number) => Ok(number),
        _ => Err("give a number from 0 to 1000000".to_owned()),
    }
}

/// Learns from the confirmed cases.
pub fn run(context: &mut Context, args: &LearnArgs) -> Result<Exit, CliError> {
    let book = context.book()?;
    let saved = read_saved(&context.cases());
    let strength = Strength { weights: args.strength, bases: args.base_strength };
    let engine = Engine::default();
    let mut confirmed = gather(&book, &saved.cases, strength);
    let (sheets, refused) = usable(&engine, std::mem::take(&mut confirmed.sheets), &confirmed.settings);
    confirmed.sheets = sheets;
    confirmed.left_out.extend(refused.iter().map(|(name, why)| format!("`{name}`: {why}")));
    for why in saved.unreadable.iter().chain(&confirmed.left_out) {
        context.say(&context.paint_err.notice(&format!("left out: {}", plain(why))));
    }
    let mut pooled = vec![Count::default(); confirmed.parameters.len()];
    let mut pooled_cases = 0;
    for file in &args.merge {
        pooled_cases += merge(context, file, &confirmed, &mut pooled)?;
    }
    if confirmed.sheets.is_empty() && args.merge.is_empty() {
        context.say(
            "There is no confirmed case to learn from yet. `weephole confirm CASE --found PART/FAILURE` confirms one.",
        );
    }
    if confirmed.sheets.len() >= MANY {
        context.say(&context.paint_err.faint(&format!(
            "Working through {} cases, each several times; this may take minutes.",
            confirmed.sheets.len()
        )));
    }
    let fitted = fit(&engine, &confirmed.sheets, &confirmed.settings, &pooled, &Fit::default())
        .map_err(CliError::misuse)?;
    if let Some(file) = &args.counts_out {
        let counts = Counts::of(&confirmed, &fitted, &book.head.title, confirmed.sheets.len(), false);
        write_counts(file, &counts)?;
        context.say(&format!(
            "Counts of {} cases written to `{}`.",
            counts.cases,
            plain(&file.display().to_string())
        ));
    }
    let bar = Bar { cases: args.least.max(f64::MIN_POSITIVE), ..Bar::default() };
    let proposals = propose(&fitted, &confirmed.settings, &bar);
    let proposed: BTreeSet<usize> =
        proposals.iter().filter(|p| p.verdict == Verdict::Better).map(|p| p.parameter).collect();
    let foretold = Foretold::of(&engine, &confirmed.sheets, &confirmed.settings, &fitted, &proposed)
        .map_err(CliError::misuse)?;
    let learning = Learning {
        confirmed: &confirmed,
        fitted: &fitted,
        proposals: &proposals,
        foretold: &foretold,
        strength,
        pooled_cases,
    };
    match args.format {
        TextOrJson::Text => {
            let text = page::text(&learning, &context.paint);
            write!(context.out(), "{text}")?;
        }
        TextOrJson::Json => {
            let value = page::json(&learning);
            writeln!(context.out(), "{value:#}")?;
        }
    }
    context.out().flush()?;
    if proposed.is_empty() {
        return Ok(Exit::Done);
    }
    if args.dry_run {
        context.say("Nothing was written (--dry-run).");
        return Ok(Exit::Done);
    }
    let Some(accepted) = accept(context, args, &learning) else {
        context.say("Nothing was written.");
        return Ok(Exit::Done);
    };
    if !helps(context, &engine, &learning, &accepted)? {
        return Ok(Exit::No);
    }
    let chosen: Vec<&Proposal> = proposals.iter().filter(|p| accepted.contains(&p.parameter)).collect();
    write(context, &book, &confirmed, &chosen, pooled_cases)
}

/// The numbers that are to change; none if nobody accepted any.
fn accept(context: &Context, args: &LearnArgs, learning: &Learning) -> Option<BTreeSet<usize>> {
    if args.all {
        return Some(page::all_of(learning));
    }
    if !context.is_interactive() {
        context.say("Run it in a terminal to accept numbers one by one, or with --all to accept them all.");
        return None;
    }
    let mut asker = TerminalAsker::new(context);
    let mut accepted = BTreeSet::new();
    for proposal in learning.proposed() {
        let question = format!("{}. Accept?", learning.line(proposal));
        // Stopping half-way means nothing at all: what was accepted was meant as part of a whole.
        if asker.agree(&question, "Esc: stop, nothing is written", true).ok()? {
            accepted.insert(proposal.parameter);
        }
    }
    (!accepted.is_empty()).then_some(accepted)
}

/// Whether the accepted changes foretell what was found better. Our own cases are the judge; without any, the counts
/// of others are taken at their word.
fn helps(
    context: &mut Context,
    engine: &Engine,
    learning: &Learning,
    accepted: &BTreeSet<usize>,
) -> Result<bool, CliError> {
    let confirmed = learning.confirmed;
    if confirmed.sheets.is_empty() {
        return Ok(true);
    }
    let whole = *accepted == page::all_of(learning);
    let again = if whole {
        learning.foretold.clone()
    } else {
        let foretold =
            Foretold::of(engine, &confirmed.sheets, &confirmed.settings, learning.fitted, accepted)
                .map_err(CliError::misuse)?;
        let text = page::scores(&foretold, confirmed.sheets.len(), &context.paint_err);
        context.say(&text);
        foretold
    };
    if !again.improves() {
        context.say(&context.paint_err.notice(
            "What was found is not foretold better with these numbers: nothing was written. More confirmed cases may change that.",
        ));
    }
    Ok(again.improves())
}

/// Writes the numbers into the user's own rules, unless a known case breaks.
fn write(
    context: &mut Context,
    book: &RuleBook,
    confirmed: &Confirmed,
    chosen: &[&Proposal],
    pooled_cases: usize,
) -> Result<Exit, CliError> {
    let own = context.own_rules();
    let day = context.now().strftime("%Y-%m-%d").to_string();
    let pooled = if pooled_cases > 0 {
        format!(" and counts of {pooled_cases} of other workshops")
    } else {
        String::new()
    };
    let source = format!("learnt from {} confirmed cases{pooled}, {day}", confirmed.sheets.len());
    let learnt: Vec<Learnt> = chosen
        .iter()
        .map(|proposal| Learnt {
            parameter: confirmed.parameters[proposal.parameter].clone(),
            chance: proposal.new,
        })
        .collect();
    let edits = vec![edit(book, &own, &learnt, &source).map_err(CliError::misuse)?];
    let Some(after) = staged(context, &own, &edits, "numbers")? else { return Ok(Exit::No) };
    let comparison = compare(book, &after, &[]);
    if !comparison.is_sound() {
        let text = comparison_page::text(book, &after, &comparison, &context.paint_err);
        context.say(text.trim_end());
        context.say(&context.paint_err.danger(
            "A known case of the book breaks with these numbers. Nothing was written: accept fewer of them, or look at the case.",
        ));
        return Ok(Exit::No);
    }
    let file = edits[0].path.clone();
    let step = Step {
        what: format!(
            "{} {source}",
            if learnt.len() == 1 { "a number".to_owned() } else { format!("{} numbers", learnt.len()) }
        ),
        when: context.now().strftime("%Y-%m-%dT%H:%M:%SZ").to_string(),
        edits,
    };
    context.journal().carry_out(&step).map_err(CliError::misuse)?;
    context.say(&format!(
        "{} numbers written to `{}`. `weephole rules undo` takes them out again.",
        learnt.len(),
        plain(&file.display().to_string())
    ));
    Ok(Exit::Done)
}

/// Adds a file of counts; returns how many cases stand behind it.
fn merge(
    context: &Context,
    file: &Path,
    confirmed: &Confirmed,
    pooled: &mut [Count],
) -> Result<usize, CliError> {
    let name = plain(&file.display().to_string());
    let cannot = |why: &dyn std::fmt::Display| CliError::Misuse(format!("`{name}`: {why}"));
    let length = fs::metadata(file).map_err(|error| cannot(&error))?.len();
    if length > LARGEST {
        return Err(cannot(&format!("it is {length} bytes long; a file of counts has at most {LARGEST}")));
    }
    let bytes = documents::bytes_of(file, LARGEST).map_err(|error| cannot(&error))?;
    let counts = Counts::read(&bytes).map_err(|error| cannot(&error))?;
    let unknown = counts.pour_into(confirmed, pooled);
    if !unknown.is_empty() {
        let first: Vec<String> =
            unknown.iter().take(3).map(|number| format!("`{}`", plain(number))).collect();
        context.say(&context.paint_err.notice(&format!(
            "`{name}`: {} numbers are not in this book and were left out, such as {}",
            unknown.len(),
            first.join(", ")
        )));
    }
    Ok(counts.cases)
}

fn write_counts(file: &Path, counts: &Counts) -> Result<(), CliError> {
    let text = serde_json::to_string_pretty(counts).map_err(CliError::misuse)?;
    out_file::write(file, format!("{text}\n").as_bytes())
}
