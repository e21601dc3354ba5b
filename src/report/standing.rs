//! A ranking as a text page.

use std::fmt::Write;

use super::interview::verdict_words;
use super::style::{Style, bar, per_cent, plain, wrapped};
use crate::case::Standing;
use crate::inference::Method;
use crate::questioner::{Advice, Effect, Moved, QuestionKind, Weighed};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Urgency;

/// Columns of the page.
const WIDTH: usize = 100;

/// Failures below this chance are not listed under their part.
const WORTH_A_LINE: f64 = 0.02;

/// How urgent something is, in words.
pub fn urgency_words(urgency: Urgency) -> &'static str {
    match urgency {
        Urgency::StopNow => "do not drive",
        Urgency::Soon => "within days",
        Urgency::Plan => "plan it",
        Urgency::Nothing => "no harm",
    }
}

/// The name of a question: what the symptom, history fact or check is called.
pub fn question_name<'a>(book: &'a RuleBook, ask: &'a str) -> &'a str {
    let symptom = book.symptoms.get(ask).map(|entry| entry.name.as_str());
    symptom
        .or_else(|| book.checks.get(ask).map(|entry| entry.name.as_str()))
        .or_else(|| book.history.get(ask).map(|entry| entry.name.as_str()))
        .unwrap_or(ask)
}

/// How an answer reads: the check's own words, or yes and no.
pub fn answer_words<'a>(book: &'a RuleBook, ask: &str, answer: &'a str) -> &'a str {
    match book.checks.get(ask) {
        Some(check) if answer == "normal" => &check.normal,
        Some(check) => check.outcomes.get(answer).map_or(answer, |outcome| &outcome.say),
        None => answer,
    }
}

/// Answers rarer than this are not what a question is put forward for, unless there are no others.
const RARE_ANSWER: f64 = 0.05;

/// One sentence on what a question would tell: the answer that moves a part most, rare ones apart. Times its chance would be no
/// measure: yes and no then move a part by the same, and the last digits would decide.
pub fn reason(book: &RuleBook, weighed: &Weighed) -> String {
    let known = weighed.effects.iter().filter_map(|effect| Some((effect, effect.moves.as_ref()?)));
    let shift = |(effect, moved): &(&Effect, &Moved)| {
        let size = (moved.after - moved.before).abs();
        (effect.chance >= RARE_ANSWER, size)
    };
    let larger = |a: &(&Effect, &Moved), b: &(&Effect, &Moved)| {
        let (a, b) = (shift(a), shift(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    };
    let Some((effect, most)) = known.max_by(larger) else {
        return String::new();
    };
    let part = book.parts.get(&most.part).map_or(most.part.as_str(), |part| part.name.as_str());
    let answer = answer_words(book, &weighed.question.ask, &effect.answer);
    format!(
        "if “{}” ({}), {} goes from {} to {}",
        plain(answer),
        per_cent(effect.chance),
        plain(part),
        per_cent(most.before),
        per_cent(most.after)
    )
}

/// How many next questions are listed.
const NEXT: usize = 5;

/// The suspects, the verdict if asking should stop, and what to ask or check next. `before` is the ranking from the
/// vehicle and its history alone.
pub fn text(
    book: &RuleBook,
    advice: &Advice,
    before: &Standing,
    currency: &str,
    top: usize,
    style: &impl Style,
) -> String {
    let mut page = String::new();
    suspects(book, &advice.standing, before, top, style, &mut page);
    if let Some(verdict) = &advice.verdict {
        let (heading, more) = verdict_words(book, verdict);
        let _ = writeln!(page, "\n{}", style.heading(&heading));
        if let Some(more) = more {
            let _ = writeln!(page, "{:13}{}", "", wrapped(&more, WIDTH, 13));
        }
    }
    if !advice.choices.is_empty() {
        let heading = if advice.verdict.is_some() {
            "If you want to be surer still"
        } else {
            "What to ask or check next"
        };
        let _ = writeln!(page, "\n{}", style.heading(heading));
    }
    for (at, choice) in advice.choices.iter().take(NEXT).enumerate() {
        let question = &choice.weighed.question;
        let time = match question.kind {
            QuestionKind::Check => format!("{:.0} min", choice.outlay.minutes()),
            QuestionKind::Symptom | QuestionKind::History => "ask".to_owned(),
        };
        let saves = if choice.worth > 0.0 {
            format!("  (saves about {:.0} {currency})", choice.worth)
        } else {
            String::new()
        };
        let name = plain(question_name(book, &question.ask));
        let _ = writeln!(page, "{:>3}  {time:>7}  {name}{}", at + 1, style.faint(&saves));
        let _ =
            writeln!(page, "{:14}{}", "", style.faint(&wrapped(&reason(book, &choice.weighed), WIDTH, 14)));
    }
    page
}

/// Suspects that the signs have raised by less than this are called no likelier than before.
const RAISED: f64 = 0.02;

fn suspects(
    book: &RuleBook,
    standing: &Standing,
    before: &Standing,
    top: usize,
    style: &impl Style,
    page: &mut String,
) {
    let _ = writeln!(page, "{}", style.heading("Suspects"));
    for suspect in standing.suspects.iter().take(top) {
        let urgency = urgency_words(suspect.urgency);
        let urgency = if suspect.urgency == Urgency::StopNow && suspect.chance >= 0.2 {
            style.danger(urgency)
        } else {
            style.faint(urgency)
        };
        // What an old vehicle has anyway is not what it came in for.
        let anyway = if suspect.chance < before.chance(&suspect.part) + RAISED {
            style.faint(" (as before these signs)")
        } else {
            String::new()
        };
        let _ = writeln!(
            page,
            "{:>11}  {}  {}  {urgency}{anyway}",
            per_cent(suspect.chance),
            bar(suspect.chance, 12),
            style.heading(&plain(book.name_of(&suspect.part))),
        );
        for likely in suspect.failures.iter().filter(|likely| likely.chance >= WORTH_A_LINE) {
            let name = plain(book.name_of(&likely.id));
            let _ = writeln!(page, "{:>27}{:>11}  {name}", "", per_cent(likely.chance));
        }
    }
    if let Method::Sampled { samples, effective, .. } = standing.method {
        let _ = writeln!(page, "{}", style.notice(&estimates(samples, effective)));
    }
}

/// Estimates that so many unweighted samples would give are guesswork: of a chance of one half they know one digit.
const FEW_SAMPLES: f64 = 100.0;

/// What to say of chances that are not exact.
pub(super) fn estimates(samples: usize, effective: f64) -> String {
    if effective < FEW_SAMPLES {
        return format!(
            "DO NOT GO BY THESE CHANCES: so many signs at once are too tangled for exact work, and of {samples} samples only \
             {effective:.0} fit them. Take back what is doubtful with \"don't know\"."
        );
    }
    format!(
        "These chances are estimates: the book is too tangled for exact work ({samples} samples, worth {effective:.0})."
    )
}
