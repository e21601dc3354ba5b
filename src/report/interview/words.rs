//! How things of the interview are said.

use crate::case::Answer;
use crate::report::standing::answer_words;
use crate::report::style::plain;
use crate::rulebook::RuleBook;
use crate::rulebook::entries::EngineState;

/// What the engine must be like.
pub fn engine_words(engine: EngineState) -> &'static str {
    match engine {
        EngineState::Any => "engine as it is",
        EngineState::Cold => "engine off and cold",
        EngineState::Running => "engine running, started cold",
        EngineState::Hot => "engine hot and running",
        EngineState::HotOff => "engine hot, just switched off",
        EngineState::BeltOff => "engine cold, drive belt off",
        EngineState::Drained => "engine cold, coolant drained",
        EngineState::Driving => "on the road",
    }
}

/// How an answer reads.
pub fn said_words(book: &RuleBook, answer: &Answer) -> String {
    match (answer.answer.as_deref(), &answer.reading) {
        (_, Some(reading)) => plain(reading),
        (Some("dont-know"), _) => "don't know".to_owned(),
        (Some("cannot"), _) => "can't do that here".to_owned(),
        (Some(word), _) => plain(answer_words(book, &answer.ask, word)),
        (None, None) => "nothing".to_owned(),
    }
}

/// How likely something is, in the words of the book.
pub fn chance_words(book: &RuleBook, chance: f64) -> String {
    book.chance_words
        .iter()
        .find(|word| chance >= word.at_least)
        .map_or_else(String::new, |word| plain(&word.say))
}

/// The question that settles a symptom, history fact or check.
pub fn question_of<'a>(book: &'a RuleBook, ask: &'a str) -> &'a str {
    let symptom = book.symptoms.get(ask).map(|entry| entry.ask.as_str());
    symptom
        .or_else(|| book.history.get(ask).map(|entry| entry.ask.as_str()))
        .or_else(|| book.checks.get(ask).map(|entry| entry.ask.as_str()))
        .unwrap_or(ask)
}

/// What forbids driving, by name: a symptom or check outcome as it was said, a state or failure as likely.
pub fn danger_name(book: &RuleBook, id: &str) -> String {
    match id.split_once('/') {
        Some((check, outcome)) => {
            plain(&format!("{}: {}", book.name_of(check), answer_words(book, check, outcome)))
        }
        None if book.symptoms.contains_key(id) => plain(book.name_of(id)),
        None => plain(&format!("likely {}", book.name_of(id))),
    }
}

/// A sentence with its first letter large.
pub fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + chars.as_str())
}
