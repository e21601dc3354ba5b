//! What each step says above its menu.

use super::glance::glance;
use super::lines::Lines;
use super::sheets;
use super::words::{danger_name, engine_words, question_of, said_words};
use crate::questioner::QuestionKind;
use crate::questioner::interview::{AgeStep, Card, Clash, ComplaintStep, Step};
use crate::report::standing::question_name;
use crate::report::style::{Style, per_cent, plain};
use crate::rulebook::RuleBook;

/// Suspects shown above a question.
const SUSPECTS: usize = 4;

/// Writes the body of a step.
pub fn body<S: Style>(book: &RuleBook, step: &Step, lines: &mut Lines<S>) {
    match step {
        Step::Vehicle => {
            lines.text("Which vehicle is it?", Style::heading);
            lines.text(
                "What is not known may be left out. The more is known, the better the ranking.",
                Style::faint,
            );
        }
        Step::Fact(fact) => {
            lines.text(&format!("About the vehicle, {} of {}", fact.number, fact.of), Style::faint);
            let ask = book.facts.get(&fact.fact).map_or(fact.fact.as_str(), |known| &known.ask);
            lines.text(ask, Style::heading);
        }
        Step::Age(AgeStep::Distance) => {
            lines.text("How far has it run?", Style::heading);
            lines.text("Kilometres, or miles as in `113000 mi`. Worn parts fail more often.", Style::faint);
        }
        Step::Age(AgeStep::Built) => {
            lines.text("Which year was it built?", Style::heading);
        }
        Step::Complaint(complaint) => complaint_body(book, complaint, lines),
        Step::Heard(_) => {
            lines.text("Is this what the customer means?", Style::heading);
            lines.text("Tick what is right. Nothing else is noted.", Style::faint);
        }
        Step::Question(card) => question(book, card, lines),
        Step::Clash(clash) => clash_body(book, clash, lines),
        Step::Alert(dangers) => {
            lines.text("!! DO NOT DRIVE !!", Style::danger);
            lines.blank();
            for danger in dangers {
                lines.text(&danger_name(book, &danger.id), Style::heading);
                lines.marked("!", &danger.why, Style::danger);
                lines.blank();
            }
        }
        Step::NoTool(tools) => {
            let names: Vec<String> = tools.iter().map(|tool| plain(book.name_of(tool))).collect();
            lines.text("Is a tool missing?", Style::heading);
            lines.say(&format!(
                "This check needs: {}. Other checks that need a missing tool will not be offered.",
                names.join(", ")
            ));
        }
        Step::End(end) => sheets::end(book, end, lines),
    }
}

fn complaint_body<S: Style>(book: &RuleBook, complaint: &ComplaintStep, lines: &mut Lines<S>) {
    lines.text("What brought it in?", Style::heading);
    if let Some(said) = &complaint.said {
        lines.text(&format!("“{}”", plain(said)), Style::faint);
    }
    if let Some(unheard) = &complaint.unheard {
        lines.blank();
        lines.marked(
            "*",
            &format!("Nothing in the book sounds like “{}”. It is kept with the case. Say it another way, or pick from the list.", plain(unheard)),
            Style::notice,
        );
    }
    if !complaint.noted.is_empty() {
        lines.blank();
        lines.say("Noted:");
        for (symptom, there) in &complaint.noted {
            let lead = if *there { "  + " } else { "  - not: " };
            lines.hanging(lead, question_name(book, symptom), |_, line| line.to_owned());
        }
    }
}

fn question<S: Style>(book: &RuleBook, card: &Card, lines: &mut Lines<S>) {
    let question = &card.weighed.question;
    if card.glance.answers > 0 {
        glance(book, &card.glance, SUSPECTS, lines);
        lines.blank();
    }
    match question.kind {
        QuestionKind::Check => check(book, card, lines),
        QuestionKind::Symptom => {
            lines.text(question_of(book, &question.ask), Style::heading);
            if let Some(symptom) = book.symptoms.get(&question.ask) {
                lines.text(&symptom.notice, Style::faint);
            }
        }
        QuestionKind::History => lines.text(question_of(book, &question.ask), Style::heading),
    }
    if let Some(said) = &card.said {
        lines.blank();
        lines.marked("*", &format!("Answered before: {}", said_words(book, said)), Style::notice);
    }
}

/// A check: its cautions stand before its steps, its question after them.
fn check<S: Style>(book: &RuleBook, card: &Card, lines: &mut Lines<S>) {
    let ask = &card.weighed.question.ask;
    let Some(check) = book.checks.get(ask) else { return };
    lines.text(&format!("Check: {}", check.name), Style::heading);
    let tools: Vec<String> = check.tools.iter().map(|tool| plain(book.name_of(tool))).collect();
    let mut facts = vec![format!("{:.0} min", check.minutes), engine_words(check.engine).to_owned()];
    if !tools.is_empty() {
        facts.push(tools.join(", "));
    }
    lines.text(&facts.join(" · "), Style::faint);
    if let Some(why) = &card.unsafe_now {
        lines.marked("!", &format!("Do not do this now, only put its answer right. {why}"), Style::danger);
    }
    let mut cautions: Vec<&str> = Vec::new();
    for (number, step) in card.moves.iter().enumerate() {
        if let Some(caution) = step.caution.filter(|caution| !cautions.contains(caution)) {
            cautions.push(caution);
            lines.marked("!", caution, Style::danger);
        }
        let wait = if step.wait >= 1.0 { format!(" (about {:.0} min)", step.wait) } else { String::new() };
        lines.hanging(
            if number == 0 { "First: " } else { "Then:  " },
            &format!("{}{wait}", step.words),
            Style::notice,
        );
    }
    for caution in &check.cautions {
        if let Some(caution) = book.cautions.get(caution) {
            lines.marked("!", &caution.text, Style::danger);
        }
    }
    for (number, step) in check.steps.iter().enumerate() {
        lines.hanging(&format!("{:>2}. ", number + 1), step, |_, line| line.to_owned());
    }
    lines.blank();
    lines.text(&check.ask, Style::heading);
}

fn clash_body<S: Style>(book: &RuleBook, clash: &Clash, lines: &mut Lines<S>) {
    lines.text("These answers do not go together", Style::notice);
    lines.blank();
    match clash {
        Clash::Exclude { new, old } => {
            lines.say(&format!(
                "“{}” and “{}” are not there at the same time, as a rule. Which is it?",
                plain(question_name(book, old)),
                plain(question_name(book, new))
            ));
        }
        Clash::Unlikely { ask, chance, alone, against } => {
            let name = plain(question_name(book, ask));
            if *chance > 0.0 {
                lines.say(&format!(
                    "The answer to “{name}” is a surprise. With the other answers its chance is {}; on its own it would be {}.",
                    per_cent(*chance),
                    per_cent(*alone)
                ));
            } else {
                lines.say(&format!("The answer to “{name}” cannot be true beside the others."));
            }
            if let Some(against) = against {
                lines.say(&format!("It sits worst with “{}”.", plain(question_name(book, against))));
            }
            lines.blank();
            lines.say("It may be right: two faults at once look like this. A slip looks like this too.");
        }
    }
}
