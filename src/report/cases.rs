//! Cases listed, shown and held side by side.

use std::fmt::Write;

use unicode_width::UnicodeWidthStr;

use super::interview::{cut, said_words};
use super::json::method;
use super::standing::question_name;
use super::style::{Style, bar, per_cent, plain, wrapped};
use crate::case::{Answer, Case, Ignored, Standing};
use crate::rulebook::RuleBook;

/// Suspects shown for one case.
const SUSPECTS: usize = 5;

/// One case in the list.
#[derive(Debug, Clone)]
pub struct Listed {
    /// Its name.
    pub name: String,
    /// The case, or why it cannot be read.
    pub case: Result<Case, String>,
}

/// One case with its ranking.
#[derive(Debug, Clone)]
pub struct Shown {
    /// Its name.
    pub name: String,
    /// The case.
    pub case: Case,
    /// Its ranking.
    pub standing: Standing,
    /// Answers that could not be used.
    pub ignored: Vec<Ignored>,
}

/// What a case is about: its title, what the customer said, or the first symptom.
fn about(book: &RuleBook, case: &Case) -> String {
    let symptom = case.answers.iter().find(|answer| answer.answer.as_deref() == Some("yes"));
    let symptom = symptom.map(|answer| question_name(book, &answer.ask).to_owned());
    plain(&case.title.clone().or_else(|| case.complaint.clone()).or(symptom).unwrap_or_default())
}

fn vehicle(case: &Case) -> String {
    plain(case.vehicle.name.as_deref().unwrap_or("vehicle not named"))
}

/// The day a case was opened.
fn day(case: &Case) -> &str {
    case.opened.as_deref().and_then(|opened| opened.get(..10)).unwrap_or("")
}

/// How far a case has come.
fn state(case: &Case) -> &'static str {
    if case.verdict.is_some() { "confirmed" } else { "open" }
}

/// The list as text.
pub fn list(book: &RuleBook, cases: &[Listed], width: usize, style: &impl Style) -> String {
    let mut page = String::new();
    for listed in cases {
        let _ = writeln!(page, "{}", style.heading(&cut(&plain(&listed.name), width)));
        match &listed.case {
            Ok(case) => {
                let count = case.answers.len();
                let answers = if count == 1 { "1 answer".to_owned() } else { format!("{count} answers") };
                let _ = writeln!(
                    page,
                    "    {}",
                    cut(&format!("{}, {answers}, {}", vehicle(case), state(case)), width - 4)
                );
                let about = about(book, case);
                if !about.is_empty() {
                    let _ = writeln!(page, "    {}", style.faint(&cut(&about, width - 4)));
                }
            }
            Err(why) => {
                let _ = writeln!(page, "    {}", style.notice(&wrapped(&plain(why), width, 4)));
            }
        }
    }
    page
}

/// The list for programs.
pub fn list_json(book: &RuleBook, cases: &[Listed]) -> serde_json::Value {
    let one = |listed: &Listed| match &listed.case {
        Ok(case) => serde_json::json!({
            "name": listed.name,
            "opened": case.opened,
            "vehicle": case.vehicle.name,
            "about": about(book, case),
            "answers": case.answers.len(),
            "state": state(case),
        }),
        Err(why) => serde_json::json!({ "name": listed.name, "error": why }),
    };
    serde_json::json!({ "cases": cases.iter().map(one).collect::<Vec<_>>() })
}

/// One case as text: vehicle, complaint, answers, ranking, verdict.
pub fn show(book: &RuleBook, shown: &Shown, width: usize, style: &impl Style) -> String {
    let case = &shown.case;
    let mut page = String::new();
    let _ = writeln!(page, "{}", style.heading(&plain(&shown.name)));
    let _ = writeln!(
        page,
        "{}{}",
        vehicle(case),
        Some(day(case)).filter(|d| !d.is_empty()).map_or(String::new(), |d| format!(", opened {d}"))
    );
    if let Some(complaint) = &case.complaint {
        let _ = writeln!(page, "{}", wrapped(&format!("The customer: “{}”", plain(complaint)), width, 2));
    }
    let _ = writeln!(page, "\n{}", style.heading("Answers"));
    for answer in &case.answers {
        let line = format!("{}: {}", plain(question_name(book, &answer.ask)), said_words(book, answer));
        let _ = writeln!(page, "  {}", wrapped(&line, width, 4));
        if let Some(note) = &answer.note {
            let _ = writeln!(page, "    {}", style.faint(&wrapped(&plain(note), width, 4)));
        }
    }
    for ignored in &shown.ignored {
        let line = format!("not used: {}: {}", plain(&ignored.ask), plain(&ignored.why));
        let _ = writeln!(page, "  {}", style.notice(&wrapped(&line, width, 4)));
    }
    if !case.missing_tools.is_empty() {
        let tools: Vec<String> = case.missing_tools.iter().map(|tool| plain(book.name_of(tool))).collect();
        let _ = writeln!(page, "  {}", wrapped(&format!("not here: {}", tools.join(", ")), width, 4));
    }
    let _ = writeln!(page, "\n{}", style.heading("Suspects"));
    for suspect in shown.standing.suspects.iter().take(SUSPECTS) {
        let name = plain(book.name_of(&suspect.part));
        let lead = format!("{:>11}  {}  ", per_cent(suspect.chance), bar(suspect.chance, 12));
        let _ = writeln!(page, "{lead}{}", cut(&name, width.saturating_sub(lead.width()).max(8)));
    }
    if let Some(verdict) = &case.verdict {
        let _ = writeln!(page, "\n{}", style.heading("Confirmed"));
        for finding in &verdict.findings {
            let sign = if finding.there { "found" } else { "found good" };
            let _ = writeln!(page, "  {sign}: {}", plain(book.name_of(&finding.failure)));
        }
        if let Some(note) = &verdict.note {
            let _ = writeln!(page, "  {}", wrapped(&plain(note), width, 2));
        }
    }
    page
}

/// One case for programs.
pub fn show_json(book: &RuleBook, shown: &Shown) -> serde_json::Value {
    let answers: Vec<serde_json::Value> =
        shown.case.answers.iter().map(|answer| answer_json(book, answer)).collect();
    serde_json::json!({
        "name": shown.name,
        "opened": shown.case.opened,
        "vehicle": shown.case.vehicle.name,
        "complaint": shown.case.complaint,
        "state": state(&shown.case),
        "answers": answers,
        "missing-tools": shown.case.missing_tools,
        "method": method(&shown.standing.method),
        "suspects": shown.standing.suspects.iter().map(|suspect| serde_json::json!({
            "part": suspect.part, "name": book.name_of(&suspect.part), "chance": suspect.chance,
        })).collect::<Vec<_>>(),
        "ignored": shown.ignored.iter().map(|i| serde_json::json!({ "ask": i.ask, "why": i.why })).collect::<Vec<_>>(),
        "verdict": shown.case.verdict,
    })
}

fn answer_json(book: &RuleBook, answer: &Answer) -> serde_json::Value {
    serde_json::json!({
        "ask": answer.ask,
        "name": question_name(book, &answer.ask),
        "answer": answer.answer,
        "reading": answer.reading,
        "said": said_words(book, answer),
        "when": answer.when,
    })
}

/// A question with its answers in two cases; `None` where it was not asked.
struct Pair<'a> {
    ask: &'a str,
    first: Option<&'a Answer>,
    second: Option<&'a Answer>,
}

/// Every question that either case answers, in the order of the first, then of the second.
fn pairs<'a>(first: &'a Case, second: &'a Case) -> Vec<Pair<'a>> {
    let of_first = first.answers.iter().map(|answer| Pair {
        ask: &answer.ask,
        first: Some(answer),
        second: second.answer_to(&answer.ask),
    });
    let only_second = second.answers.iter().filter(|answer| first.answer_to(&answer.ask).is_none());
    of_first
        .chain(only_second.map(|answer| Pair { ask: &answer.ask, first: None, second: Some(answer) }))
        .collect()
}

fn same(pair: &Pair<'_>) -> bool {
    match (pair.first, pair.second) {
        (Some(a), Some(b)) => (&a.answer, &a.reading) == (&b.answer, &b.reading),
        _ => false,
    }
}

/// Parts that are among the first of either case, in the order of the first.
fn parts_of(first: &Standing, second: &Standing) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    for suspect in first.suspects.iter().take(SUSPECTS).chain(second.suspects.iter().take(SUSPECTS)) {
        if !parts.contains(&suspect.part) {
            parts.push(suspect.part.clone());
        }
    }
    parts
}

/// Two cases side by side: where their answers differ, and what that does to the suspects.
pub fn compare(book: &RuleBook, first: &Shown, second: &Shown, width: usize, style: &impl Style) -> String {
    let mut page = String::new();
    for (sign, shown) in [("A", first), ("B", second)] {
        let _ = writeln!(
            page,
            "{}",
            style.heading(&cut(&format!("{sign}  {}, {}", plain(&shown.name), vehicle(&shown.case)), width))
        );
    }
    let pairs = pairs(&first.case, &second.case);
    let alike = pairs.iter().filter(|pair| same(pair)).count();
    let _ = writeln!(page, "\n{}", style.heading("Answered differently"));
    for pair in pairs.iter().filter(|pair| !same(pair)) {
        let _ = writeln!(page, "  {}", wrapped(&plain(question_name(book, pair.ask)), width, 4));
        for (sign, answer) in [("A", pair.first), ("B", pair.second)] {
            let said = answer.map_or_else(|| "not asked".to_owned(), |answer| said_words(book, answer));
            let _ = writeln!(page, "      {sign}  {}", wrapped(&said, width, 9));
        }
    }
    if alike == pairs.len() {
        let _ = writeln!(page, "  nothing");
    }
    let _ = writeln!(page, "  {}", style.faint(&format!("answered alike: {alike}")));
    let _ = writeln!(page, "\n{}", style.heading("Suspects        A            B"));
    for part in parts_of(&first.standing, &second.standing) {
        let (a, b) = (first.standing.chance(&part), second.standing.chance(&part));
        let lead = format!("{:>11}  {:>11}   ", per_cent(a), per_cent(b));
        let _ = writeln!(
            page,
            "{lead}{}",
            cut(&plain(book.name_of(&part)), width.saturating_sub(lead.width()).max(8))
        );
    }
    page
}

/// Two cases side by side, for programs.
pub fn compare_json(book: &RuleBook, first: &Shown, second: &Shown) -> serde_json::Value {
    let pairs = pairs(&first.case, &second.case);
    let differ: Vec<serde_json::Value> = pairs
        .iter()
        .filter(|pair| !same(pair))
        .map(|pair| {
            let said = |answer: Option<&Answer>| answer.map(|answer| answer_json(book, answer));
            serde_json::json!({
                "ask": pair.ask, "name": question_name(book, pair.ask), "a": said(pair.first), "b": said(pair.second),
            })
        })
        .collect();
    let suspects: Vec<serde_json::Value> = parts_of(&first.standing, &second.standing)
        .into_iter()
        .map(|part| {
            serde_json::json!({
                "part": part,
                "name": book.name_of(&part),
                "a": first.standing.chance(&part),
                "b": second.standing.chance(&part),
            })
        })
        .collect();
    serde_json::json!({
        "a": first.name,
        "b": second.name,
        "alike": pairs.iter().filter(|pair| same(pair)).count(),
        "different": differ,
        "suspects": suspects,
    })
}
