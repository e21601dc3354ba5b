//! Results for programs. The shapes are documented in docs/json.md.

use serde_json::{Value, json};

use super::standing::{question_name, reason};
use crate::case::evidence::Ignored;
use crate::case::standing::{Likely, Standing};
use crate::inference::Method;
use crate::questioner::Weighed;
use crate::rulebook::RuleBook;

/// How chances were worked out.
pub fn method(method: &Method) -> Value {
    match method {
        Method::Exact { .. } => json!({ "exact": true }),
        Method::Sampled { samples, effective, .. } => {
            json!({ "exact": false, "samples": samples, "effective-samples": effective })
        }
    }
}

/// A ranking with its next questions.
pub fn ranking(
    book: &RuleBook,
    case: &str,
    standing: &Standing,
    ignored: &[Ignored],
    next: &[Weighed],
    top: usize,
) -> Value {
    let likely = |list: &[Likely]| -> Vec<Value> {
        list.iter().map(|likely| json!({ "id": likely.id, "chance": likely.chance })).collect()
    };
    let suspects: Vec<Value> = standing
        .suspects
        .iter()
        .take(top)
        .map(|suspect| {
            json!({
                "part": suspect.part,
                "name": book.parts.get(&suspect.part).map(|part| part.name.as_str()),
                "chance": suspect.chance,
                "urgency": suspect.urgency,
                "failures": likely(&suspect.failures),
            })
        })
        .collect();
    let next: Vec<Value> = next
        .iter()
        .map(|weighed| {
            json!({
                "ask": weighed.question.ask,
                "name": question_name(book, &weighed.question.ask),
                "minutes": weighed.question.minutes,
                "engine": weighed.question.engine,
                "bits": weighed.bits,
                "reason": reason(book, weighed),
                "answers": weighed.effects.iter().map(|effect| json!({
                    "answer": effect.answer,
                    "chance": effect.chance,
                    "moves": { "part": effect.part, "from": effect.before, "to": effect.after },
                })).collect::<Vec<_>>(),
            })
        })
        .collect();
    json!({
        "case": case,
        "method": method(&standing.method),
        "log-evidence": standing.log_evidence,
        "suspects": suspects,
        "states": likely(&standing.states),
        "history": likely(&standing.history),
        "next": next,
        "ignored": ignored.iter().map(|i| json!({ "ask": i.ask, "why": i.why })).collect::<Vec<_>>(),
    })
}
