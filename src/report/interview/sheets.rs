//! Sheets that are opened from a question, and the last one.

use super::glance::glance;
use super::lines::Lines;
use super::words::{engine_words, said_words, sentence};
use crate::case::Answer;
use crate::questioner::interview::{Card, End, Stop};
use crate::questioner::{Choice, QuestionKind, Verdict};
use crate::report::standing::{answer_words, question_name};
use crate::report::style::{Style, per_cent, plain};
use crate::rulebook::RuleBook;

/// Suspects on the last sheet.
const SUSPECTS: usize = 6;

/// Why a question is asked: what each answer would do.
pub fn why(book: &RuleBook, card: &Card, width: usize, style: &impl Style) -> Vec<String> {
    let mut lines = Lines::new(width, style);
    let weighed = &card.weighed;
    lines.text(&format!("Why: {}", question_name(book, &weighed.question.ask)), Style::heading);
    lines.rule();
    let minutes = weighed.question.minutes;
    let time = if weighed.question.kind == QuestionKind::Check {
        format!("It takes {minutes:.0} minutes.")
    } else {
        "It takes no more than asking.".to_owned()
    };
    for reason in &card.reasons {
        lines.say(&format!("{}.", sentence(&plain(reason))));
    }
    lines.say(&format!("{time} What each answer would do to the suspect it moves most:"));
    lines.blank();
    for effect in &weighed.effects {
        let answer = answer_words(book, &weighed.question.ask, &effect.answer);
        lines.hanging(
            "  ",
            &format!("“{}” (chance {}):", plain(answer), per_cent(effect.chance)),
            |_, t| t.to_owned(),
        );
        let Some(moved) = &effect.moves else { continue };
        let part = book.parts.get(&moved.part).map_or(moved.part.as_str(), |part| part.name.as_str());
        let way = if moved.after >= moved.before { "up" } else { "down" };
        let text =
            format!("{} {way} from {} to {}", plain(part), per_cent(moved.before), per_cent(moved.after));
        lines.hanging("      ", &text, |_, t| t.to_owned());
    }
    if weighed.effects.is_empty() {
        lines.say("It was asked by hand; what it would tell cannot be worked out while the answers contradict each other.");
    }
    lines.finish()
}

/// Other questions, one line each.
pub fn others(book: &RuleBook, others: &[Choice]) -> Vec<String> {
    others
        .iter()
        .map(|choice| {
            let question = &choice.weighed.question;
            let name = plain(question_name(book, &question.ask));
            match question.kind {
                QuestionKind::Check => {
                    format!("{:>2.0} min  {name} ({})", question.minutes, engine_words(question.engine))
                }
                QuestionKind::Symptom | QuestionKind::History => format!("ask     {name}"),
            }
        })
        .collect()
}

/// The answers so far, one line each.
pub fn changes(book: &RuleBook, answers: &[Answer]) -> Vec<String> {
    answers
        .iter()
        .map(|answer| format!("{}: {}", plain(question_name(book, &answer.ask)), said_words(book, answer)))
        .collect()
}

/// The keys.
pub fn keys_help(width: usize, style: &impl Style) -> Vec<String> {
    let mut lines = Lines::new(width, style);
    lines.text("Keys", Style::heading);
    lines.rule();
    for (key, text) in [
        ("1 2 3", "answer with that line, at once"),
        ("y n d x", "yes, no, don't know, can't do that here"),
        ("arrows", "move; Enter answers with the line marked >"),
        ("r", "type the reading of an instrument"),
        ("w", "why this question is asked"),
        ("o", "other questions: pick one yourself"),
        ("b", "back to the question before"),
        ("c", "change any earlier answer, or forget it"),
        ("s, Esc", "stop, and see where it stands"),
        ("Ctrl-C", "leave at once; every answer is kept"),
    ] {
        lines.hanging(&format!("{key:<8} "), text, |_, line| line.to_owned());
    }
    lines.blank();
    lines.say("The case is written to the disk after every answer.");
    lines.finish()
}

/// Why it ended, and where it stands.
pub(super) fn end<S: Style>(book: &RuleBook, end: &End, lines: &mut Lines<S>) {
    let (title, detail) = match &end.stop {
        Stop::Verdict(verdict) => verdict_words(book, verdict),
        Stop::AllAsked => ("Everything that can be asked here has been asked".to_owned(), None),
        Stop::Asked => ("Stopped. This is where it stands".to_owned(), None),
    };
    lines.text(&title, Style::heading);
    if let Some(detail) = detail {
        lines.say(&detail);
    }
    lines.blank();
    if end.glance.answers == 0 {
        lines.say("Nothing has been answered yet.");
    }
    glance(book, &end.glance, SUSPECTS, lines);
    let Some(first) = end.glance.standing.as_ref().and_then(|standing| standing.suspects.first()) else {
        return;
    };
    let Some((likely, failure)) =
        first.failures.first().and_then(|likely| Some((likely, book.failures.get(&likely.id)?)))
    else {
        return;
    };
    lines.blank();
    lines.say(&format!(
        "Likeliest: {}, {}. {}",
        plain(&failure.name),
        per_cent(likely.chance),
        plain(&failure.customer)
    ));
    if likely.chance >= 0.5 {
        lines.say(&format!("If it waits: {}", plain(&failure.if_left)));
    }
}

/// A verdict as a heading and a sentence more.
pub fn verdict_words(book: &RuleBook, verdict: &Verdict) -> (String, Option<String>) {
    let name = |id: &str| plain(book.name_of(id));
    let list = |ids: &[String]| ids.iter().map(|id| name(id)).collect::<Vec<_>>().join(", or ");
    let repair = |(part, failures): &(String, Vec<String>)| format!("{} ({})", name(part), list(failures));
    let would = |ask: &Option<String>| ask.as_ref().map(|ask| format!("It would take: {}.", name(ask)));
    match verdict {
        Verdict::FitThis { part, failures, to_be_sure } => {
            let sure = to_be_sure.as_ref().map_or_else(String::new, |ask| {
                format!(" To be sure before parts are bought: {}.", name(ask))
            });
            (
                format!("Fit this part: {}", name(part)),
                Some(format!("For: {}. No further check is worth its cost.{sure}", list(failures))),
            )
        }
        Verdict::DoTogether { repairs, all_likely } => {
            // Two kinds of work on one part are named by what they are for: "drive belt, drive belt" says nothing.
            let mut parts: Vec<&str> = Vec::new();
            for (part, _) in repairs {
                if !parts.contains(&part.as_str()) {
                    parts.push(part);
                }
            }
            let heading = match parts[..] {
                [part] => {
                    let each: Vec<String> = repairs.iter().map(|(_, failures)| list(failures)).collect();
                    format!("On one visit, put the {} right for: {}", name(part), each.join("; "))
                }
                _ => {
                    let named: Vec<String> = parts.iter().map(|part| name(part)).collect();
                    format!("Do these together: {}", named.join(", "))
                }
            };
            let why = if *all_likely {
                "Several of them may well be wrong at once."
            } else {
                "It is one of them, and coming back costs more than doing both."
            };
            (heading, Some(why.to_owned()))
        }
        Verdict::CannotTell { first, rival, would: elsewhere } => (
            format!("These cannot be told apart by any check here: {}; {}", repair(first), repair(rival)),
            Some(would(elsewhere).unwrap_or_else(|| format!("Try the first: {}.", name(&first.0)))),
        ),
        Verdict::NothingWrong { normal, besides } => {
            let heading = if besides.is_empty() {
                "This looks like nothing wrong"
            } else {
                "Nothing found that explains the complaint"
            };
            let may_be = (!normal.is_empty()).then(|| format!("It may be: {}.", list(normal)));
            let found = (!besides.is_empty()).then(|| {
                let found: Vec<String> = besides.iter().map(repair).collect();
                format!(
                    "Likely wrong all the same, though seldom the reason: {}. Talk it over with the owner.",
                    found.join("; ")
                )
            });
            let told: Vec<String> = may_be.into_iter().chain(found).collect();
            (heading.to_owned(), (!told.is_empty()).then(|| told.join(" ")))
        }
        Verdict::PatienceSpent { first } => (
            "The time set for checks is spent".to_owned(),
            first.as_ref().map(|first| format!("Best bet so far: {}.", repair(first))),
        ),
        Verdict::HandOn { would: elsewhere } => (
            "No repair is worth trying on what is known".to_owned(),
            Some(
                would(elsewhere).unwrap_or_else(|| "Somebody with other means should look at it.".to_owned()),
            ),
        ),
    }
}

/// What to do next, after the last screen: commands with the name of the case, and whom the tool defers to.
pub fn farewell(
    book: &RuleBook,
    end: &End,
    case: Option<&str>,
    width: usize,
    style: &impl Style,
) -> Vec<String> {
    let mut lines = Lines::new(width, style);
    self::end(book, end, &mut lines);
    lines.blank();
    let Some(case) = case else {
        lines.say("Nothing was answered, so nothing was kept.");
        return lines.finish();
    };
    lines.text("What next", Style::heading);
    let found = end.glance.standing.as_ref().and_then(|standing| standing.failures.first());
    let found = found.map_or_else(|| "PART".to_owned(), |likely| likely.id.clone());
    for (command, text) in [
        (format!("weephole explain {case} --for workshop"), "why, and what brought it on"),
        (format!("weephole plan {case}"), "the repair: parts, order, tools, torque"),
        (format!("weephole interview --case {case}"), "go on asking"),
        (format!("weephole confirm {case} --found {found}"), "when you know that it was this"),
    ] {
        lines.push(format!("  {command}"));
        lines.hanging("      ", text, Style::faint);
    }
    lines.blank();
    lines.text(
        "This is advice from signs and chances. The maker's figures, local codes and licensed practice go before it.",
        Style::faint,
    );
    lines.finish()
}
