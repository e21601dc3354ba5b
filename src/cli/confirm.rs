//! `confirm`: what was really wrong.

use clap::Args;
use serde_json::json;

use super::{CliError, Context, Exit, TextOrJson};
use crate::care::cases::stale_ids;
use crate::care::confirm::{Told, confirm};
use crate::case::{gather, standing};
use crate::inference::Engine;
use crate::report::{per_cent, plain};
use crate::rulebook::RuleBook;

/// A failure at least this likely that was not looked at is named.
const WORTH_NAMING: f64 = 0.1;

/// Arguments of `confirm`.
#[derive(Debug, Args)]
pub struct ConfirmArgs {
    /// The case, by name or file
    case: String,
    /// A failure that was found, as PART/FAILURE; may be given several times
    #[arg(long, value_name = "PART/FAILURE")]
    found: Vec<String>,
    /// A failure that was looked for and not found, as PART/FAILURE; a part alone means all its failures
    #[arg(long = "not", value_name = "PART/FAILURE")]
    good: Vec<String>,
    /// A note to keep with it
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
    /// How to print
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

/// One failure with how likely the answers made it, and its place.
struct Ranked {
    failure: String,
    chance: f64,
    place: usize,
}

/// Records the verdict and says how the ranking had it.
pub fn run(context: &mut Context, args: &ConfirmArgs) -> Result<Exit, CliError> {
    let book = context.book()?;
    let mut input = context.case(&args.case)?;
    let when = context.now().strftime("%Y-%m-%dT%H:%M:%SZ").to_string();
    let told = confirm(&book, &mut input.case, &args.found, &args.good, args.note.as_deref(), Some(when))
        .map_err(CliError::misuse)?;
    let graph = context.graph(&book, &context.shop(&book)?, &input.case)?;
    for told in told.iter().filter(|told| graph.node(&told.failure).is_none()) {
        context.say(&context.paint_err.notice(&format!(
            "by the facts given, this vehicle cannot have `{}`; kept, but it counts for nothing until the vehicle's facts are put right",
            told.failure
        )));
    }
    for (id, what) in stale_ids(&book, &input.case) {
        context.say(
            &context
                .paint_err
                .notice(&format!("{what} names `{id}`, which the book does not have: kept, not used")),
        );
    }
    // The chance that the answers gave, before anything was confirmed.
    let gathered = gather(&book, &graph, &input.case);
    let ranked: Vec<Ranked> = standing(&book, &graph, &Engine::default(), &gathered.evidence)
        .map(|standing| standing.failures)
        .unwrap_or_default()
        .into_iter()
        .enumerate()
        .map(|(at, likely)| Ranked { failure: likely.id, chance: likely.chance, place: at + 1 })
        .collect();
    input.file.save(&input.case).map_err(CliError::misuse)?;
    let looked_at = |failure: &str| {
        input.case.verdict.iter().flat_map(|v| &v.findings).any(|finding| finding.failure == failure)
    };
    let open: Vec<&Ranked> =
        ranked.iter().filter(|r| r.chance >= WORTH_NAMING && !looked_at(&r.failure)).collect();
    let chance = |failure: &str| ranked.iter().find(|r| r.failure == failure);
    match args.format {
        TextOrJson::Json => {
            let list = |there: bool| -> Vec<_> {
                told.iter()
                    .filter(|told| told.there == there)
                    .map(|told| {
                        let ranked = chance(&told.failure);
                        json!({
                            "failure": told.failure,
                            "chance": ranked.map(|r| r.chance),
                            "place": ranked.map(|r| r.place),
                            "corrects": told.corrects,
                        })
                    })
                    .collect()
            };
            let value = json!({
                "case": input.name,
                "found": list(true),
                "good": list(false),
                "likely-but-not-looked-at": open.iter()
                    .map(|r| json!({ "failure": r.failure, "chance": r.chance }))
                    .collect::<Vec<_>>(),
            });
            writeln!(context.out(), "{value:#}")?;
        }
        TextOrJson::Text => {
            let text = page(&book, &input.name, &told, &ranked, &open);
            write!(context.out(), "{text}")?;
        }
    }
    Ok(Exit::Done)
}

fn page(book: &RuleBook, case: &str, told: &[Told], ranked: &[Ranked], open: &[&Ranked]) -> String {
    let mut page = format!("Recorded in {}:\n", plain(case));
    for told in told {
        let had = ranked.iter().find(|r| r.failure == told.failure).map_or(String::new(), |r| {
            format!(" (the answers made it number {}, {})", r.place, per_cent(r.chance))
        });
        let verb = if told.there { "found" } else { "looked at, good" };
        let corrects = if told.corrects { "; an earlier word is corrected" } else { "" };
        page.push_str(&format!("  {verb:<16}{}{had}{corrects}\n", plain(book.name_of(&told.failure))));
    }
    if open.is_empty() {
        page.push_str("All else counts as not looked at.\n");
    } else {
        page.push_str("Likely by the answers, and not looked at (nothing is learnt about these):\n");
        for open in open {
            page.push_str(&format!(
                "  {:<16}{}\n",
                per_cent(open.chance),
                plain(book.name_of(&open.failure))
            ));
        }
        page.push_str("If you did look: `--not PART/FAILURE` says that it was good.\n");
    }
    page
}
