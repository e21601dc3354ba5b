//! The short standing above a question.

use unicode_width::UnicodeWidthStr;

use super::lines::{Lines, cut};
use super::words::{chance_words, danger_name, sentence};
use crate::questioner::interview::outlook::MANY;
use crate::questioner::interview::{Glance, Outlook};
use crate::report::standing::urgency_words;
use crate::report::style::{Style, bar, per_cent, plain};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Urgency;

/// Suspects below this chance are not worth a line.
const WORTH_A_LINE: f64 = 0.03;

/// Screens narrower than this get short lines.
const NARROW: usize = 60;

/// Changes of less than this are none.
const CHANGED: f64 = 0.005;

/// Writes where things stand, with at most `most` suspects.
pub fn glance<S: Style>(book: &RuleBook, glance: &Glance, most: usize, lines: &mut Lines<S>) {
    if !glance.dangers.is_empty() {
        let mut names: Vec<String> =
            glance.dangers.iter().map(|danger| danger_name(book, &danger.id)).collect();
        names.dedup();
        let more = names.len().saturating_sub(2);
        names.truncate(2);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        lines.text(&format!("!! DO NOT DRIVE: {}{more}", names.join("; ")), Style::danger);
    }
    if glance.answers == 0 {
        return;
    }
    let Some(standing) = &glance.standing else {
        lines.text("These answers cannot all be true together, so there is no ranking.", Style::notice);
        return;
    };
    let narrow = lines.width < NARROW;
    let shown = standing.suspects.iter().enumerate();
    for (place, suspect) in
        shown.take(most).filter(|(at, suspect)| *at == 0 || suspect.chance >= WORTH_A_LINE)
    {
        let name =
            plain(book.parts.get(&suspect.part).map_or(suspect.part.as_str(), |part| part.name.as_str()));
        let before = glance.before.as_ref().map(|before| before.chance(&suspect.part));
        let change = before.map_or(0.0, |before| suspect.chance - before);
        let change = if change.abs() < CHANGED {
            String::new()
        } else {
            format!("{}{:.0}", if change > 0.0 { "+" } else { "-" }, (change.abs() * 100.0).max(1.0))
        };
        let chance = per_cent(suspect.chance);
        let stop = suspect.urgency == Urgency::StopNow && suspect.chance >= 0.2;
        let (lead, tail) = if narrow {
            (format!("{chance:>6} {}", bar(suspect.chance, 6)), String::new())
        } else {
            (format!("{chance:>11}  {}", bar(suspect.chance, 12)), urgency_words(suspect.urgency).to_owned())
        };
        let gap = if narrow { " " } else { "  " };
        let used = lead.width() + gap.len() * 2 + 4 + tail.width() + gap.len();
        let name = cut(&name, lines.width.saturating_sub(used).max(8));
        let name = if place == 0 { lines.style.heading(&name) } else { name };
        let tail = if stop { lines.style.danger(&tail) } else { lines.style.faint(&tail) };
        let line = format!("{lead}{gap}{name}{gap}{change}{gap}{tail}");
        lines.push(line.trim_end().to_owned());
    }
    lines.text(&outlook(book, glance), Style::faint);
}

/// One line on how sure it is and how much longer it may take.
fn outlook(book: &RuleBook, glance: &Glance) -> String {
    let Outlook { first, left } = glance.outlook;
    let name = glance
        .standing
        .as_ref()
        .and_then(|standing| standing.suspects.first())
        .and_then(|suspect| book.parts.get(&suspect.part))
        .map_or_else(String::new, |part| plain(&part.name));
    let sure = sentence(&chance_words(book, first));
    let left = match left {
        0 => "enough asked".to_owned(),
        1 => "about 1 more question".to_owned(),
        MANY.. => "quite a few more questions".to_owned(),
        left => format!("about {left} more questions"),
    };
    format!("{sure} the {name}; {left}.")
}
