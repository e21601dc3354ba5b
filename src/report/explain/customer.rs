//! The page for the customer: one page that someone who has never opened a bonnet understands.
//!
//! What stands on it comes from the book's customer texts; what is written here is kept short and plain, and a
//! test holds the whole page to a reading grade of 8.

use super::About;
use super::words::{chance_words, listed, sentence};
use crate::case::Said;
use crate::explain::fit::Verdict;
use crate::graph::NodeKind;
use crate::report::page::{Block, DEFERRAL, Page, Section, Table};
use crate::report::per_cent;
use crate::report::picture::Picture;
use crate::rulebook::entries::{Band, Urgency};

/// A suspect at least this likely is advised to be mended without a further check.
const SURE: f64 = 0.6;

/// Suspects below this are not named to the customer.
const WORTH_NAMING: f64 = 0.05;

fn stop_order(about: &About) -> String {
    if about.stands_still() { "Do not run it." } else { "Do not drive it." }.to_owned()
}

/// Writes the page.
pub fn page(about: &About) -> Page {
    let danger = if about.must_stop() {
        std::iter::once(stop_order(about)).chain(about.severe()).collect()
    } else {
        Vec::new()
    };
    let sections = [
        told(about),
        found(about),
        meaning(about),
        driving(about),
        Section::new("Take care", about.standing_cautions().into_iter().map(Block::Caution).collect()),
        advice(about),
        cost(about),
        waiting(about),
        unsure(about),
    ];
    Page {
        title: "Your cooling system: what we found".to_owned(),
        under: about.under(),
        from: about.from(),
        danger,
        sections: sections.into_iter().filter(|section| !section.blocks.is_empty()).collect(),
        closing: vec![
            "The numbers in brackets say how sure we are, out of 100. They come from weighing each answer with a book of \
             rules. They are not a promise."
                .to_owned(),
            DEFERRAL.to_owned(),
        ],
    }
}

fn told(about: &About) -> Section {
    let mut blocks = Vec::new();
    if let Some(complaint) = &about.case.complaint {
        blocks.push(Block::Say(format!("You said: “{}”", complaint.trim())));
    }
    let items: Vec<String> = about
        .explanation
        .told
        .iter()
        .filter(|told| told.said == Said::Yes)
        .filter_map(|told| {
            let symptom = about.book.symptoms.get(&told.ask).map(|entry| &entry.customer);
            symptom.or_else(|| about.book.history.get(&told.ask).map(|entry| &entry.customer)).cloned()
        })
        .collect();
    if !items.is_empty() {
        blocks.push(Block::Items(items));
    }
    Section::new("What you told us", blocks)
}

fn found(about: &About) -> Section {
    let items: Vec<String> = about
        .explanation
        .told
        .iter()
        .filter_map(|told| {
            let check = about.book.checks.get(&told.ask)?;
            let result = match &told.said {
                Said::Normal => format!("All right: {}", check.normal),
                Said::Outcome(outcome) => {
                    format!("We found: {}", check.outcomes.get(outcome).map_or("", |entry| &entry.say))
                }
                Said::Reading(_) => {
                    format!("It reads {}", told.answer.reading.as_deref().unwrap_or("nothing").trim())
                }
                _ => return None,
            };
            Some(format!("{} {}", check.customer, sentence(&result)))
        })
        .collect();
    let blocks = if items.is_empty() {
        vec![Block::Say("We have not tested anything yet. We know only what you told us.".to_owned())]
    } else {
        vec![Block::Items(items)]
    };
    Section::new("What we found", blocks)
}

fn meaning(about: &About) -> Section {
    let mut blocks = Vec::new();
    let Some(first) = about.explanation.standing.suspects.first() else {
        return Section::new("What it means", blocks);
    };
    if let Some(why) = about.explanation.why.first()
        && let Some(story) = why.story.as_ref().filter(|story| story.steps.len() > 1)
    {
        blocks.push(Block::Picture(Picture::Chain(about.chain(story, false))));
    }
    let words = chance_words(about.book, first.chance);
    let Some((_, failure)) = about.failure(0) else {
        return Section::new("What it means", blocks);
    };
    let part = about.part(&first.part);
    if failure.urgency == Urgency::Nothing {
        blocks.push(Block::Say(format!("It is {words} that nothing is wrong. {}", failure.customer)));
    } else {
        let what = about.book.parts.get(&first.part).map(|part| part.customer.as_str()).unwrap_or_default();
        blocks.push(Block::Say(format!("It is {words} the {part}. That is {}.", what.trim_end_matches('.'))));
        let sure = first.failures.first().map_or(0.0, |likely| likely.chance) >= 0.5;
        let lead = if sure { "" } else { "Our best guess: " };
        blocks.push(Block::Say(format!("{lead}{}", failure.customer)));
    }
    let causes = causes(about);
    if !causes.is_empty() {
        blocks.push(Block::Say(format!("What may have brought it on: {}", causes.join(" "))));
    }
    blocks.push(Block::Picture(Picture::Circuit(about.circuit())));
    if let Some(why) = about.explanation.why.first().filter(|_| !about.explanation.told.is_empty()) {
        blocks.push(Block::Picture(Picture::Chances(about.chances(why.target))));
    }
    Section::new("What it means", blocks)
}

/// Customer texts of the likeliest culprits.
fn causes(about: &About) -> Vec<String> {
    let Some(root) = &about.explanation.root else { return Vec::new() };
    root.culprits
        .iter()
        .filter(|culprit| culprit.share >= 0.2 && culprit.chance >= 0.5)
        .filter_map(|culprit| {
            let key = about.graph.key(culprit.node);
            match about.graph.get(culprit.node).kind {
                NodeKind::History => about.book.history.get(key).map(|entry| entry.customer.clone()),
                NodeKind::Failure => about.book.failures.get(key).map(|entry| entry.customer.clone()),
                NodeKind::State => about.book.states.get(key).map(|entry| entry.customer.clone()),
                _ => None,
            }
        })
        .take(2)
        .collect()
}

fn driving(about: &About) -> Section {
    let first = about.explanation.standing.suspects.first().map_or(Urgency::Plan, |first| first.urgency);
    let stands = about.stands_still();
    let text = match first {
        _ if about.must_stop() && stands => "No. Leave it switched off. Running on could ruin the engine.",
        _ if about.must_stop() => {
            "No. Leave it where it is, or have it towed. Driving on could ruin the engine."
        }
        Urgency::StopNow | Urgency::Soon if stands => {
            "For a short time, with care. Watch the gauge, and stop at once if it climbs towards the red."
        }
        Urgency::StopNow | Urgency::Soon => {
            "For a short way, with care. Take water along, and pour it in only when the engine has cooled down: \
             cold water can crack a hot one. Watch the gauge, and stop at once if it climbs towards the red."
        }
        Urgency::Plan => "Yes. Keep an eye on the gauge and on the level.",
        Urgency::Nothing => "Yes.",
    };
    let heading = if stands { "Can it be run?" } else { "Can it be driven?" };
    Section::new(heading, vec![Block::Say(text.to_owned())])
}

fn advice(about: &About) -> Section {
    let (mut now, mut soon, mut later) = (Vec::new(), Vec::new(), Vec::new());
    if about.must_stop() {
        now.push(format!("{} until this is settled.", stop_order(about).trim_end_matches('.')));
    }
    let suspects = &about.explanation.standing.suspects;
    let first_is_sure = suspects.first().is_some_and(|first| first.chance >= SURE);
    if !first_is_sure && let Some(turn) = about.explanation.turns.first() {
        let name = crate::report::standing::question_name(about.book, &turn.question.ask);
        now.push(format!("Buy no part yet. The next thing to find out: {name}."));
    }
    for (at, suspect) in suspects.iter().enumerate().take(4) {
        let Some((_, failure)) = about.failure(at) else { continue };
        let wanted = if at == 0 { suspect.chance >= 0.2 } else { suspect.chance >= 0.5 };
        if !wanted || failure.urgency == Urgency::Nothing {
            continue;
        }
        let step = if suspect.chance >= SURE {
            failure.repair.action.clone()
        } else {
            format!("If it proves to be the {}: {}", about.part(&suspect.part), failure.repair.action)
        };
        match suspect.urgency {
            Urgency::StopNow => now.push(step),
            Urgency::Soon => soon.push(step),
            Urgency::Plan | Urgency::Nothing => later.push(step),
        }
    }
    for fact in about.explanation.standing.history.iter().filter(|fact| fact.chance >= 0.5) {
        let is_culprit = about.explanation.root.as_ref().is_some_and(|root| {
            root.culprits
                .iter()
                .any(|culprit| about.graph.key(culprit.node) == fact.id && culprit.share >= 0.25)
        });
        if let Some(remedy) = about.book.history.get(&fact.id).and_then(|entry| entry.remedy.clone())
            && is_culprit
        {
            soon.push(remedy);
        }
    }
    if suspects.first().is_some_and(|first| first.urgency == Urgency::Nothing && first.chance >= 0.5) {
        later.push("There is nothing to mend. Come back if it gets worse.".to_owned());
    }
    later.push("Look at the coolant level once a week for a month, with the engine cold.".to_owned());
    let mut blocks = Vec::new();
    let mut known = std::collections::BTreeSet::new();
    for (head, mut items) in [("Now", now), ("Within days", soon), ("Later", later)] {
        items.retain(|item| known.insert(item.clone()));
        if !items.is_empty() {
            blocks.push(Block::Head(head.to_owned()));
            blocks.push(Block::Items(items));
        }
    }
    Section::new("What we advise", blocks)
}

fn cost(about: &About) -> Section {
    let suspects = &about.explanation.standing.suspects;
    let rows: Vec<Vec<String>> = suspects
        .iter()
        .enumerate()
        .take(3)
        .filter(|(at, suspect)| if *at == 0 { suspect.chance >= 0.1 } else { suspect.chance >= 0.2 })
        .filter_map(|(at, suspect)| {
            let (_, failure) = about.failure(at).filter(|(_, f)| f.urgency != Urgency::Nothing)?;
            let [materials, work, both] = about.cost(failure);
            let money = |band: Band| about.money(band);
            Some(vec![about.part(&suspect.part), money(materials), money(work), money(both)])
        })
        .collect();
    if rows.is_empty() {
        return Section::new("What it may cost", Vec::new());
    }
    let table = Table {
        caption: "From low to high, for each part by itself".to_owned(),
        head: ["If it is the", "#Parts and fluids", "#Work", "#Together"].map(str::to_owned).to_vec(),
        rows,
    };
    let note = "These are bands from a price list, not a quote. We will ask you before we spend more.";
    Section::new("What it may cost", vec![Block::Table(table), Block::Small(note.to_owned())])
}

fn waiting(about: &About) -> Section {
    let suspects = about.explanation.standing.suspects.iter().enumerate().take(3);
    let mut texts: Vec<String> = suspects
        .filter(|(at, suspect)| *at == 0 || suspect.chance >= 0.3)
        .filter_map(|(at, _)| Some(about.failure(at)?.1.if_left.clone()))
        .collect();
    texts.dedup();
    Section::new("What happens if it waits", texts.into_iter().map(Block::Say).collect())
}

fn unsure(about: &About) -> Section {
    let explanation = about.explanation;
    let mut items = Vec::new();
    let others: Vec<String> = explanation
        .standing
        .suspects
        .iter()
        .skip(1)
        .filter(|suspect| suspect.chance >= WORTH_NAMING)
        .take(3)
        .map(|suspect| {
            let chance = chance_words(about.book, suspect.chance);
            match suspect.urgency {
                Urgency::Nothing => format!("nothing being wrong: {chance}"),
                _ => format!("the {}: {chance}", about.part(&suspect.part)),
            }
        })
        .collect();
    if !others.is_empty() {
        let lead = if explanation.standing.suspects.iter().map(|s| s.chance).sum::<f64>() > 1.2 {
            "There may be more than one fault."
        } else {
            "It could be something else."
        };
        items.push(format!("{lead} We also thought of {}.", listed(&others)));
    }
    if let Some(root) = &explanation.root
        && let Some(alone) = &root.alone
    {
        let mut text = format!(
            "If only the {} is put right, the chance that the trouble comes back is {}.",
            about.part(&root.part),
            per_cent(alone.either)
        );
        if let Some(best) = root.measures.first() {
            let name = match about.book.history.get(&best.id) {
                Some(_) => "what brought it on".to_owned(),
                None => format!("the {}", about.part(&best.id)),
            };
            text = format!("{text} If {name} is put right too, it is {}.", per_cent(best.left));
        }
        items.push(text);
    }
    let unexplained: Vec<String> =
        explanation.fit.unexplained.iter().map(|found| format!("“{}”", about.name(found.sign))).collect();
    match explanation.fit.verdict {
        Verdict::FitsPoorly | Verdict::NewPattern if !unexplained.is_empty() => {
            items.push(format!("This does not fit the rest well: {}.", listed(&unexplained)));
        }
        Verdict::FitsPoorly | Verdict::NewPattern => {
            items.push("Some of the answers do not go well together. We may ask you again.".to_owned());
        }
        Verdict::FitsIfRare => {
            items.push("This would be a rare fault. A second look is worth it.".to_owned());
        }
        Verdict::NoAnswers | Verdict::Fits => {}
    }
    if !explanation.standing.method.is_exact() {
        items.push("The chances here are rough this time.".to_owned());
    }
    Section::new(
        "What we are not sure of",
        vec![Block::Items(items)]
            .into_iter()
            .filter(|b| !matches!(b, Block::Items(i) if i.is_empty()))
            .collect(),
    )
}
