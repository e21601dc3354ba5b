//! `rules try`: what a folder of rules does to every case.

use std::path::PathBuf;

use clap::Args;

use crate::care::{compare, read_saved};
use crate::cli::{CliError, Context, Exit, TextOrJson};
use crate::report::care::compare as page;

/// Arguments of `rules try`.
#[derive(Debug, Args)]
pub struct TryArgs {
    /// The folder of rules to try, laid over the book as it is
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// How to print
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

/// Compares the book as it is with the same book and the folder on top.
pub fn run(context: &mut Context, args: &TryArgs) -> Result<Exit, CliError> {
    let before = context.book()?;
    let mut layers = context.layers();
    layers.push(args.folder.clone());
    let after = context.load(&layers)?;
    let saved = read_saved(&context.cases());
    for why in &saved.unreadable {
        context.say(&context.paint_err.notice(&format!("left out: {why}")));
    }
    let comparison = compare(&before, &after, &saved.cases);
    match args.format {
        TextOrJson::Text => {
            let paint = context.paint;
            let text = page::text(&before, &after, &comparison, &paint);
            write!(context.out(), "{text}")?;
        }
        TextOrJson::Json => {
            let value = page::json(&comparison);
            writeln!(context.out(), "{value:#}")?;
        }
    }
    Ok(if comparison.is_sound() { Exit::Done } else { Exit::No })
}
