//! The explanation for programs. The shape is documented in docs/json.md.

use serde_json::{Value, json};

use super::About;
use super::words::chance_words;
use crate::case::standing::Likely;
use crate::explain::comeback::Comeback;
use crate::explain::fit::Verdict;
use crate::explain::story::Story;
use crate::report::json::method;

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::NoAnswers => "no-answers",
        Verdict::Fits => "fits",
        Verdict::FitsIfRare => "fits-if-rare",
        Verdict::FitsPoorly => "fits-poorly",
        Verdict::NewPattern => "new-pattern",
    }
}

fn comeback(comeback: &Comeback) -> Value {
    json!({ "chance": comeback.either, "stays": comeback.stays, "again": comeback.again })
}

fn story(about: &About, story: &Story) -> Value {
    let key = |node| about.graph.key(node);
    json!({
        "failure": key(story.failure),
        "strength": story.strength,
        "steps": story.steps.iter().map(|step| json!({
            "id": key(step.node), "name": about.name(step.node), "chance": step.chance, "share": step.share,
        })).collect::<Vec<_>>(),
        "also": story.also.iter().map(|&(sign, strength)| json!({
            "id": key(sign), "strength": strength,
        })).collect::<Vec<_>>(),
    })
}

/// Everything there is to say about a case.
pub fn explanation(about: &About, case: &str) -> Value {
    let explanation = about.explanation;
    let key = |node| about.graph.key(node);
    let answers: Vec<Value> = explanation
        .told
        .iter()
        .enumerate()
        .map(|(at, told)| {
            json!({
                "number": at + 1,
                "ask": told.ask,
                "answer": told.answer.answer,
                "reading": told.answer.reading,
                "words": about.answer(told),
                "signs": told.signs.iter().map(|&sign| key(sign)).collect::<Vec<_>>(),
                "conflict-bits": explanation.fit.conflict_of.get(at),
            })
        })
        .collect();
    let why: Vec<Value> = explanation
        .why
        .iter()
        .map(|why| {
            let pulls = explanation.pulls.pulls[why.target].iter().enumerate().map(|(at, pull)| {
                json!({
                    "answer": at + 1, "weight": pull.fair, "weight-error": pull.fair_error, "in-order": pull.in_order,
                    "alone": pull.alone, "after-the-rest": pull.last,
                })
            });
            let together = why.together.iter().map(|pair| {
                json!({
                    "answers": [pair.first + 1, pair.second + 1],
                    "together": pair.together(),
                    "first": { "without": pair.first_without, "with": pair.first_with },
                    "second": { "without": pair.second_without, "with": pair.second_with },
                })
            });
            json!({
                "part": why.part,
                "name": about.part(&why.part),
                "before": why.before,
                "chance": why.chance,
                "words": chance_words(about.book, why.chance),
                "record": why.record,
                "start": explanation.pulls.start[why.target],
                "end": explanation.pulls.end[why.target],
                "answers": pulls.collect::<Vec<_>>(),
                "together": together.collect::<Vec<_>>(),
                "story": why.story.as_ref().map(|told| story(about, told)),
            })
        })
        .collect();
    let root = explanation.root.as_ref().map(|root| {
        json!({
            "part": root.part,
            "failure": root.failure,
            "complaint": root.complaint.iter().map(|&sign| key(sign)).collect::<Vec<_>>(),
            "culprits": root.culprits.iter().map(|culprit| json!({
                "id": key(culprit.node), "name": about.name(culprit.node), "chance": culprit.chance, "share": culprit.share,
            })).collect::<Vec<_>>(),
            "beside": root.beside.iter().map(|&sign| key(sign)).collect::<Vec<_>>(),
            "only-this": root.alone.as_ref().map(comeback),
            "and-also": root.measures.iter().map(|measure| json!({
                "id": measure.id, "name": about.part(&measure.id), "chance": measure.left,
            })).collect::<Vec<_>>(),
        })
    });
    let fit = &explanation.fit;
    let likely = |list: &[Likely]| -> Vec<Value> {
        list.iter().map(|likely| json!({ "id": likely.id, "chance": likely.chance })).collect()
    };
    json!({
        "case": case,
        "method": method(&explanation.standing.method),
        "do-not-drive": about.must_stop(),
        "severe": about.severe(),
        "suspects": explanation.standing.suspects.iter().map(|suspect| json!({
            "part": suspect.part,
            "name": about.part(&suspect.part),
            "before": about.before(&suspect.part),
            "chance": suspect.chance,
            "urgency": suspect.urgency,
            "failures": likely(&suspect.failures),
        })).collect::<Vec<_>>(),
        "answers": answers,
        "orders": explanation.pulls.orders,
        "why": why,
        "rivals": explanation.rivals.iter().map(|rival| json!({
            "found": rival.found, "part": rival.part, "before": rival.before, "after": rival.after,
        })).collect::<Vec<_>>(),
        "root-cause": root,
        "turns": explanation.turns.iter().map(|turn| json!({
            "ask": turn.question.ask, "answer": turn.answer, "chance": turn.chance, "first": turn.part,
            "before": turn.before, "after": turn.after, "leader-after": turn.leader_after,
        })).collect::<Vec<_>>(),
        "firmness": {
            "redraws": explanation.firmness.redraws,
            "seed": explanation.firmness.seed,
            "parts": explanation.firmness.parts.iter().map(|spread| json!({
                "part": spread.part, "first": spread.first, "from": spread.from, "to": spread.to,
            })).collect::<Vec<_>>(),
        },
        "fit": {
            "verdict": verdict(fit.verdict),
            "conflict-bits": fit.conflict,
            "settled-by": fit.settled_by.map(|(target, left)| json!({
                "part": key(explanation.targets[target]), "left-bits": left,
            })),
            "unexplained": fit.unexplained.iter().map(|found| json!({
                "id": key(found.sign), "own-share": found.own_share,
            })).collect::<Vec<_>>(),
        },
        "ignored": explanation.ignored.iter().map(|i| json!({ "ask": i.ask, "why": i.why })).collect::<Vec<_>>(),
    })
}
