//! What the book lacks.

use std::fmt::Write;

use serde_json::{Value, json};

use super::compare::counted;
use crate::care::alike::finding_name;
use crate::care::apart::{in_words, mistaken};
use crate::care::gaps::{Confused, Gaps, Group};
use crate::report::{Style, per_cent, plain};
use crate::rulebook::RuleBook;

/// Cases listed in one group, and failures in one list; the JSON has all.
const LISTED: usize = 12;

/// The gaps as a text page.
pub fn text(book: &RuleBook, gaps: &Gaps, style: &impl Style) -> String {
    let mut page = String::new();
    let _ = writeln!(page, "{}", style.heading("Cases that fit the book poorly"));
    if gaps.poor.is_empty() {
        let _ = writeln!(page, "  none of {}", counted(gaps.looked_at, "case"));
    }
    for group in &gaps.poor {
        poor(&mut page, book, group, style);
    }
    let _ = writeln!(page, "\n{}", style.heading("Checks the book lacks most"));
    for pair in &gaps.confused {
        missing(&mut page, book, pair, style);
    }
    let _ = writeln!(page, "\n{}", style.heading("Failures never confirmed by a saved case"));
    let list = |expected: bool| -> Vec<String> {
        let wanted = gaps.unconfirmed.iter().filter(|failure| failure.expected == expected);
        wanted.map(|failure| plain(book.name_of(&failure.failure))).collect()
    };
    for (names, what) in
        [(list(false), "nor expected by a known case"), (list(true), "but expected by a known case")]
    {
        if names.is_empty() {
            continue;
        }
        let more =
            if names.len() > LISTED { format!(" and {} more", names.len() - LISTED) } else { String::new() };
        let shown = names[..names.len().min(LISTED)].join(", ");
        let _ = writeln!(page, "  {} {what}: {}", names.len(), style.faint(&format!("{shown}{more}")));
    }
    if !gaps.stale.is_empty() {
        let _ =
            writeln!(page, "\n{}", style.heading("Ids the book no longer has (kept in the case, not used)"));
        for (case, id, what) in &gaps.stale {
            let _ = writeln!(page, "  {}: {what} names `{}`", plain(case), plain(id));
        }
    }
    page
}

fn poor(page: &mut String, book: &RuleBook, group: &Group, style: &impl Style) {
    let title = match &group.sign {
        Some(sign) => format!("nothing explains: {}", plain(&finding_name(book, sign))),
        None => "every sign is explained, but they do not go together".to_owned(),
    };
    let _ = writeln!(page, "  {} ({})", style.notice(&title), counted(group.cases.len(), "case"));
    for case in group.cases.iter().take(LISTED) {
        let known = if case.known { " (known case)" } else { "" };
        let also: Vec<String> = case
            .fit
            .unexplained
            .iter()
            .filter(|sign| Some(&sign.finding) != group.sign.as_ref())
            .map(|sign| plain(&finding_name(book, &sign.finding)))
            .collect();
        let also = if also.is_empty() { String::new() } else { format!("; nor {}", also.join(", ")) };
        let found = match &case.found {
            Some(id) => format!("; found: {}", plain(book.name_of(id))),
            None => String::new(),
        };
        let _ = writeln!(
            page,
            "    {}{known}: conflict {:.1} bits, first suspect {}{also}{found}",
            plain(&case.name),
            case.fit.conflict,
            per_cent(case.fit.first)
        );
    }
    if group.cases.len() > LISTED {
        let _ = writeln!(page, "    and {} more", group.cases.len() - LISTED);
    }
    if let Some(own) = group.cases.iter().find(|case| !case.known) {
        let _ = writeln!(
            page,
            "    {}",
            style.faint(&format!("teach it: weephole rules add --case {}", plain(&own.name)))
        );
    }
}

fn missing(page: &mut String, book: &RuleBook, pair: &Confused, style: &impl Style) {
    let name = |id: &str| {
        let part = book.failures.get(id).map_or("", |failure| failure.part.as_str());
        format!("{} ({})", plain(book.name_of(id)), plain(book.name_of(part)))
    };
    let _ = writeln!(page, "  {} or {}", style.notice(&name(&pair.one)), style.notice(&name(&pair.other)));
    let best = match &pair.best {
        Some(best) => format!(
            "{}: the best question, {}, takes one for the other in {:.0} of 100",
            in_words(pair.distance),
            plain(book.name_of(best)),
            mistaken(pair.distance) * 100.0
        ),
        None => "every question has the same answers for both".to_owned(),
    };
    let _ = writeln!(page, "      {best}");
    let cases = match pair.cases.len() {
        0 => String::new(),
        _ => {
            let shown: Vec<String> = pair.cases.iter().take(4).map(|case| plain(case)).collect();
            let more = if pair.cases.len() > 4 { ", ..." } else { "" };
            format!("{} left open: {}{more}; ", counted(pair.cases.len(), "case"), shown.join(", "))
        }
    };
    let _ = writeln!(
        page,
        "      {}",
        style.faint(&format!(
            "{cases}all questions together leave up to {:.1} wrong repairs in 1,000 vehicles, which a check that settles it would save",
            pair.mistaken
        ))
    );
}

/// The gaps for programs; the shape is documented in docs/json.md.
pub fn json(gaps: &Gaps) -> Value {
    json!({
        "looked-at": gaps.looked_at,
        "poorly-fitting": gaps.poor.iter().map(|group| json!({
            "sign": group.sign,
            "cases": group.cases.iter().map(|case| json!({
                "case": case.name,
                "kind": if case.known { "known" } else { "saved" },
                "conflict-bits": case.fit.conflict,
                "first-chance": case.fit.first,
                "unexplained": case.fit.unexplained.iter().map(|sign| json!({
                    "finding": sign.finding, "of-itself": sign.of_itself,
                })).collect::<Vec<_>>(),
                "found": case.found,
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "missing-checks": gaps.confused.iter().map(|pair| json!({
            "failures": [pair.one, pair.other],
            "cases": pair.cases,
            "best-question": pair.best,
            "distance": pair.distance,
            "mistaken-of-1000": pair.mistaken,
        })).collect::<Vec<_>>(),
        "never-confirmed": gaps.unconfirmed.iter().map(|failure| json!({
            "failure": failure.failure, "expected": failure.expected, "looked-for": failure.looked_for,
        })).collect::<Vec<_>>(),
        "stale": gaps.stale.iter().map(|(case, id, what)| json!({ "case": case, "id": id, "in": what })).collect::<Vec<_>>(),
        "left-out": gaps.left_out,
    })
}
