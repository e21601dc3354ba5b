//! Results for programs. The shapes are documented in docs/json.md.

use serde_json::{Value, json};

use super::interview::verdict_words;
use super::standing::question_name;
use crate::case::evidence::Ignored;
use crate::case::standing::{Likely, Standing};
use crate::inference::Method;
use crate::questioner::Advice;
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

fn likely(list: &[Likely]) -> Vec<Value> {
    list.iter().map(|likely| json!({ "id": likely.id, "chance": likely.chance })).collect()
}

/// A ranking.
pub fn ranking(book: &RuleBook, case: &str, standing: &Standing, ignored: &[Ignored], top: usize) -> Value {
    let suspects: Vec<Value> = standing
        .suspects
        .iter()
        .take(top)
        .map(|suspect| {
            json!({
                "part": suspect.part,
                "name": book.name_of(&suspect.part),
                "chance": suspect.chance,
                "urgency": suspect.urgency,
                "failures": likely(&suspect.failures),
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
        "ignored": ignored.iter().map(|i| json!({ "ask": i.ask, "why": i.why })).collect::<Vec<_>>(),
    })
}

/// A ranking with what to ask or check next and, if asking should stop, why.
/// `before` is the ranking from the vehicle and its history alone.
pub fn advice(book: &RuleBook, case: &str, advice: &Advice, before: &Standing, top: usize) -> Value {
    let mut value = ranking(book, case, &advice.standing, &advice.gathered.ignored, top);
    for (shown, suspect) in
        value["suspects"].as_array_mut().into_iter().flatten().zip(&advice.standing.suspects)
    {
        shown["before"] = json!(before.chance(&suspect.part));
    }
    let next: Vec<Value> = advice
        .choices
        .iter()
        .map(|choice| {
            let weighed = &choice.weighed;
            json!({
                "ask": weighed.question.ask,
                "name": question_name(book, &weighed.question.ask),
                "worth": choice.worth,
                "cost": choice.outlay.total,
                "minutes": choice.outlay.minutes(),
                "engine": weighed.question.engine,
                "bits": weighed.bits,
                "reasons": choice.reasons,
                "answers": weighed.effects.iter().map(|effect| json!({
                    "answer": effect.answer,
                    "chance": effect.chance,
                    "moves": effect.moves.as_ref().map(|moved| json!({
                        "part": moved.part, "from": moved.before, "to": moved.after,
                    })),
                })).collect::<Vec<_>>(),
            })
        })
        .collect();
    let withheld: Vec<Value> = advice
        .withheld
        .iter()
        .map(|check| json!({ "ask": check.ask, "why": check.why, "unsafe": check.unsafe_now }))
        .collect();
    value["expected-cost"] = json!(advice.expected_cost);
    value["verdict"] = advice.verdict.as_ref().map_or(Value::Null, |verdict| {
        let (heading, more) = verdict_words(book, verdict);
        json!({ "says": heading, "more": more })
    });
    value["next"] = json!(next);
    value["withheld"] = json!(withheld);
    value
}
