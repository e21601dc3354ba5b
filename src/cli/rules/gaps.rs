//! `rules gaps`: what the cases and the graph say is missing.

use clap::Args;

use crate::care::gaps::gaps;
use crate::care::read_saved;
use crate::cli::{CliError, Context, Exit, TextOrJson};
use crate::report::care::gaps as page;
use crate::report::plain;

/// Arguments of `rules gaps`.
#[derive(Debug, Args)]
pub struct GapsArgs {
    /// How to print
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

/// Looks through every case and the graph.
pub fn run(context: &mut Context, args: &GapsArgs) -> Result<Exit, CliError> {
    let book = context.book()?;
    let saved = read_saved(&context.cases());
    let found = gaps(&book, &saved.cases);
    for why in saved.unreadable.iter().chain(&found.left_out) {
        context.say(&context.paint_err.notice(&format!("left out: {}", plain(why))));
    }
    match args.format {
        TextOrJson::Text => {
            let paint = context.paint;
            let text = page::text(&book, &found, &paint);
            write!(context.out(), "{text}")?;
        }
        TextOrJson::Json => {
            let value = page::json(&found);
            writeln!(context.out(), "{value:#}")?;
        }
    }
    Ok(Exit::Done)
}
