//! The short standing above a question.

use unicode_width::UnicodeWidthStr;

use super::lines::{Lines, cut};
use super::words::{chance_words, danger_name, sentence};
use crate::case::{Standing, Suspect};
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

/// From this chance on a suspect's urgency is said.
const LIKELY_ENOUGH: f64 = 0.2;

/// From this chance on the second suspect is named beside the first.
const BOTH: f64 = 0.5;

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
    let shown = standing.suspects.iter().take(most).enumerate();
    let rows: Vec<Row> = shown
        .filter(|(place, suspect)| *place == 0 || suspect.chance >= WORTH_A_LINE)
        .map(|(_, suspect)| Row::of(book, suspect, glance.before.as_ref()))
        .collect();
    draw(&rows, lines);
    lines.text(&outlook(book, glance), Style::faint);
}

/// One suspect as it is shown.
struct Row {
    chance: f64,
    name: String,
    change: String,
    urgency: Option<Urgency>,
}

impl Row {
    fn of(book: &RuleBook, suspect: &Suspect, before: Option<&Standing>) -> Self {
        let change = before.map_or(0.0, |before| suspect.chance - before.chance(&suspect.part));
        let sign = if change > 0.0 { "+" } else { "-" };
        Self {
            chance: suspect.chance,
            name: plain(book.name_of(&suspect.part)),
            change: if change.abs() < CHANGED {
                String::new()
            } else {
                format!("{sign}{:.0}", (change.abs() * 100.0).max(1.0))
            },
            // What is not likely need not frighten anybody.
            urgency: (suspect.chance >= LIKELY_ENOUGH).then_some(suspect.urgency),
        }
    }
}

/// Chance, bar, name, change in points, urgency: in columns, the last only where there is room.
fn draw<S: Style>(rows: &[Row], lines: &mut Lines<S>) {
    let narrow = lines.width < NARROW;
    let (bar_width, gap, chance_width) = if narrow { (6, " ", 7) } else { (12, "  ", 11) };
    let urgency_width = if narrow { 0 } else { 12 + gap.len() };
    let fixed = chance_width + bar_width + gap.len() * 3 + 4 + urgency_width;
    let room = lines.width.saturating_sub(fixed).max(8);
    let names: Vec<String> = rows.iter().map(|row| cut(&row.name, room)).collect();
    let longest = names.iter().map(|name| name.width()).max().unwrap_or(0);
    for (place, (row, name)) in rows.iter().zip(names).enumerate() {
        let pad = " ".repeat(longest - name.width());
        let name = if place == 0 { lines.style.heading(&name) } else { name };
        let urgency = match row.urgency.filter(|_| !narrow) {
            Some(Urgency::StopNow) => lines.style.danger(urgency_words(Urgency::StopNow)),
            Some(urgency) => lines.style.faint(urgency_words(urgency)),
            None => String::new(),
        };
        let chance = per_cent(row.chance);
        let chance = if narrow { chance.replace("over ", ">").replace("under ", "<") } else { chance };
        let lead = format!("{chance:>chance_width$}{gap}{}", bar(row.chance, bar_width));
        let line = format!("{lead}{gap}{name}{pad}{gap}{:<4}{gap}{urgency}", row.change);
        lines.push(line.trim_end().to_owned());
    }
}

/// One line on how sure it is and how much longer it may take.
fn outlook(book: &RuleBook, glance: &Glance) -> String {
    let Outlook { first, left } = glance.outlook;
    let suspects = glance.standing.iter().flat_map(|standing| &standing.suspects);
    // Two may be wrong at once; naming one of two likely ones would mislead.
    let names: Vec<String> = suspects
        .take(2)
        .enumerate()
        .filter(|(place, suspect)| *place == 0 || suspect.chance >= BOTH)
        .map(|(_, suspect)| format!("the {}", plain(book.name_of(&suspect.part))))
        .collect();
    let name = names.join(" and ");
    let first = if names.len() == 2 { second_chance(glance) } else { first };
    let sure = sentence(&chance_words(book, first));
    let left = match left {
        0 => "enough asked".to_owned(),
        1 => "about 1 more question".to_owned(),
        MANY.. => "quite a few more questions".to_owned(),
        left => format!("about {left} more questions"),
    };
    format!("{sure} {name}; {left}.")
}

/// Chance of the second suspect: what both can be said to be.
fn second_chance(glance: &Glance) -> f64 {
    let suspects = glance.standing.as_ref().map(|standing| &standing.suspects);
    suspects.and_then(|suspects| suspects.get(1)).map_or(0.0, |suspect| suspect.chance)
}
