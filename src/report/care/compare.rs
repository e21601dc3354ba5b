//! Two books compared over all cases.

use std::fmt::Write;

use serde_json::{Value, json};

use crate::care::compare::{Comparison, Holds, Leader, Move, Shift};
use crate::report::{Style, per_cent, plain};
use crate::rulebook::RuleBook;

/// Moves listed under one case in the text; the JSON has all.
const LISTED: usize = 4;

fn name<'a>(before: &'a RuleBook, after: &'a RuleBook, id: &'a str) -> &'a str {
    let new = after.name_of(id);
    if new == id { before.name_of(id) } else { new }
}

/// What a known case does, in a word or two.
fn holds_words(holds: Option<Holds>) -> &'static str {
    match holds {
        None => "saved",
        Some(Holds::Still) => "holds",
        Some(Holds::Breaks) => "BREAKS",
        Some(Holds::Mends) => "mends",
        Some(Holds::StillBroken) => "still broken",
        Some(Holds::New) => "new, holds",
        Some(Holds::Gone) => "taken out",
    }
}

/// The comparison as a table: a line a case that differs, its moves below it, and a summary.
pub fn text(before: &RuleBook, after: &RuleBook, comparison: &Comparison, style: &impl Style) -> String {
    let mut page = String::new();
    let rows: Vec<&Shift> = comparison.telling().collect();
    let leader = |leader: Option<&Leader>| match leader {
        None => "-".to_owned(),
        Some(first) => {
            let about = if first.exact { "" } else { "~" };
            format!("{} {about}{}", plain(name(before, after, &first.part)), per_cent(first.chance))
        }
    };
    let cells: Vec<[String; 4]> = rows
        .iter()
        .map(|shift| {
            [
                plain(&shift.name),
                holds_words(shift.holds).to_owned(),
                leader(shift.before.as_ref()),
                leader(shift.after.as_ref()),
            ]
        })
        .collect();
    let heads = ["case", "", "first suspect before", "after"];
    let width = |column: usize| {
        let widest = cells.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
        widest.max(heads[column].len())
    };
    let widths = [width(0), width(1), width(2), width(3)];
    let line = |row: [&str; 4]| {
        let cell = |at: usize| format!("{:<1$}", row[at], widths[at]);
        format!("{}  {}  {}  {}", cell(0), cell(1), cell(2), cell(3)).trim_end().to_owned()
    };
    if !rows.is_empty() {
        let _ = writeln!(page, "{}", style.heading(&line(heads)));
    }
    for (shift, row) in rows.iter().zip(&cells) {
        let row = line([&row[0], &row[1], &row[2], &row[3]]);
        let row = if shift.holds == Some(Holds::Breaks) {
            style.danger(&row)
        } else if shift.first_changes() {
            style.notice(&row)
        } else {
            row
        };
        let _ = writeln!(page, "{row}");
        for Move { id, before: old, after: new } in shift.moves.iter().take(LISTED) {
            let what = plain(name(before, after, id));
            let _ = writeln!(
                page,
                "    {}",
                style.faint(&format!("{what}: {} -> {}", per_cent(*old), per_cent(*new)))
            );
        }
        if shift.moves.len() > LISTED {
            let _ =
                writeln!(page, "    {}", style.faint(&format!("and {} more", shift.moves.len() - LISTED)));
        }
        if matches!(shift.holds, None | Some(Holds::Breaks)) {
            for why in &shift.why {
                let _ = writeln!(page, "    {}", plain(why));
            }
        }
    }
    if !rows.is_empty() {
        page.push('\n');
    }
    page.push_str(&summary(comparison));
    page
}

/// What it comes to, in two lines.
pub fn summary(comparison: &Comparison) -> String {
    let count = |holds: Holds| comparison.shifts.iter().filter(|shift| shift.holds == Some(holds)).count();
    let saved = comparison.shifts.iter().filter(|shift| shift.holds.is_none()).count();
    let known = comparison.shifts.len() - saved;
    let first = comparison.shifts.iter().filter(|shift| shift.first_changes()).count();
    let moved = comparison.shifts.iter().filter(|shift| !shift.moves.is_empty()).count();
    let mut page = format!(
        "{} and {}: the first suspect changes in {first}, a chance moves by more than 5 points in {moved}.\n",
        counted(known, "known case"),
        counted(saved, "saved case")
    );
    let _ = write!(page, "Known cases: {} hold, {} break", comparison.holding(), count(Holds::Breaks));
    for (holds, word) in
        [(Holds::Mends, "mend"), (Holds::StillBroken, "were broken before"), (Holds::Gone, "are taken out")]
    {
        if count(holds) > 0 {
            let _ = write!(page, ", {} {word}", count(holds));
        }
    }
    page.push_str(".\n");
    page
}

/// `1 case`, `2 cases`, `no cases`.
pub fn counted(count: usize, noun: &str) -> String {
    match count {
        0 => format!("no {noun}s"),
        1 => format!("1 {noun}"),
        more => format!("{more} {noun}s"),
    }
}

/// The comparison for programs; the shape is documented in docs/json.md.
pub fn json(comparison: &Comparison) -> Value {
    let leader = |leader: &Option<Leader>| {
        leader.as_ref().map(|first| {
            json!({ "part": first.part, "chance": first.chance, "failure": first.failure, "exact": first.exact })
        })
    };
    let cases: Vec<Value> = comparison
        .shifts
        .iter()
        .map(|shift| {
            json!({
                "case": shift.name,
                "kind": if shift.holds.is_some() { "known" } else { "saved" },
                "holds": shift.holds.map(holds_id),
                "before": leader(&shift.before),
                "after": leader(&shift.after),
                "first-changes": shift.first_changes(),
                "moves": shift.moves.iter().map(|moved| json!({
                    "id": moved.id, "before": moved.before, "after": moved.after,
                })).collect::<Vec<_>>(),
                "why": shift.why,
            })
        })
        .collect();
    json!({ "sound": comparison.is_sound(), "cases": cases })
}

fn holds_id(holds: Holds) -> &'static str {
    match holds {
        Holds::Still => "holds",
        Holds::Breaks => "breaks",
        Holds::Mends => "mends",
        Holds::StillBroken => "still-broken",
        Holds::New => "new",
        Holds::Gone => "gone",
    }
}
