//! The screens of the interview, as plain lines and a menu: what is shown and what may be pressed. Nothing here
//! draws; the terminal does that, and tests read the lines.

mod bodies;
mod glance;
mod lines;
mod menus;
mod sheets;
mod words;

pub use lines::{Lines, cut};
pub use menus::{Act, Input, Item, input, menu_lines, question_line};
pub use sheets::{changes, farewell, keys_help, others, verdict_words, why};
pub use words::{engine_words, said_words};

use super::style::{Style, plain};
use crate::questioner::interview::{Glance, Step};
use crate::rulebook::RuleBook;

/// Widest text: longer lines are hard to read.
pub const WIDEST: usize = 92;

/// What stands above every screen.
#[derive(Debug, Clone, Default)]
pub struct Frame {
    /// What the vehicle is called, if that is known.
    pub vehicle: Option<String>,
    /// The name of the case, once it is kept.
    pub case: Option<String>,
    /// Something that happened since the last screen, to be said once.
    pub note: Option<String>,
}

/// The lines of one step above its menu.
pub fn body(book: &RuleBook, step: &Step, frame: &Frame, width: usize, style: &impl Style) -> Vec<String> {
    let mut lines = Lines::new(width, style);
    header(&mut lines, step, frame);
    if let Some(note) = &frame.note {
        lines.marked("*", note, Style::notice);
        lines.blank();
    }
    bodies::body(book, step, &mut lines);
    lines.finish()
}

fn header<S: Style>(lines: &mut Lines<S>, step: &Step, frame: &Frame) {
    let left = plain(frame.vehicle.as_deref().unwrap_or("vehicle not named"));
    let right = match glance_of(step) {
        Some(glance) if glance.answers == 1 => "1 answer".to_owned(),
        Some(glance) if glance.answers > 1 => format!("{} answers", glance.answers),
        _ => frame.case.clone().unwrap_or_default(),
    };
    lines.ends(&left, &plain(&right));
    lines.rule();
}

/// Where things stand at a step, if it says so.
pub fn glance_of(step: &Step) -> Option<&Glance> {
    match step {
        Step::Question(card) => Some(&card.glance),
        Step::End(end) => Some(&end.glance),
        _ => None,
    }
}
