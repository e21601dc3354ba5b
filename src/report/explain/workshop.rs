//! The page for the workshop: why, what brought it on, how firm it is, how well it fits.

use super::About;
use super::words::listed;
use crate::explain::fit::Verdict;
use crate::explain::pull::{Interplay, Pull};
use crate::explain::{Root, Why};
use crate::inference::Method;
use crate::report::page::{Block, DEFERRAL, Page, Section, Table};
use crate::report::per_cent;
use crate::report::picture::Picture;
use crate::report::standing::{answer_words, estimates, question_name, urgency_words};

/// Suspects in the table at the top.
const SUSPECTS: usize = 8;

/// Writes the page.
pub fn page(about: &About) -> Page {
    let danger = if about.must_stop() {
        std::iter::once("Do not drive or run it.".to_owned()).chain(about.severe()).collect()
    } else {
        Vec::new()
    };
    let mut sections = vec![suspects(about)];
    let told = |(at, why): &(usize, &Why)| {
        let pulls = &about.explanation.pulls;
        *at == 0 || (why.chance >= 0.1 && (pulls.end[why.target] - pulls.start[why.target]).abs() >= 1.0)
    };
    let why = about.explanation.why.iter().enumerate().filter(told).take(3);
    sections.extend(why.map(|(_, why)| because(about, why)));
    sections.extend([
        rivals(about),
        root(about),
        turns(about),
        firmness(about),
        fit(about),
        unused(about),
        Section::new("Before any work", about.standing_cautions().into_iter().map(Block::Caution).collect()),
    ]);
    let title = match &about.case.title {
        Some(title) => format!("Why: {title}"),
        None => "Why these suspects".to_owned(),
    };
    Page {
        title,
        under: about.under(),
        from: about.from(),
        danger,
        sections: sections.into_iter().filter(|section| !section.blocks.is_empty()).collect(),
        closing: vec![DEFERRAL.to_owned()],
    }
}

fn suspects(about: &About) -> Section {
    let explanation = about.explanation;
    let rows = explanation
        .standing
        .suspects
        .iter()
        .take(SUSPECTS)
        .enumerate()
        .map(|(at, suspect)| {
            let failures: Vec<String> = suspect
                .failures
                .iter()
                .filter(|likely| likely.chance >= 0.02)
                .take(3)
                .map(|likely| format!("{} {}", about.part(&likely.id), per_cent(likely.chance)))
                .collect();
            vec![
                format!("{}", at + 1),
                about.part(&suspect.part),
                per_cent(about.before(&suspect.part)),
                per_cent(suspect.chance),
                urgency_words(suspect.urgency).to_owned(),
                failures.join("; "),
            ]
        })
        .collect();
    let table = Table {
        caption: "Chance before the first answer and now; several may have failed at once".to_owned(),
        head: ["#No.", "Part", "#Before", "#Now", "Urgency", "How it failed"].map(str::to_owned).to_vec(),
        rows,
    };
    let mut blocks = vec![Block::Table(table), Block::Picture(Picture::Circuit(about.circuit()))];
    if let Method::Sampled { samples, effective, .. } = explanation.standing.method {
        blocks.push(Block::Small(estimates(samples, effective)));
    }
    Section::new("Suspects", blocks)
}

/// A weight in words. Good's rule of thumb: one deciban is about the smallest change a mind can feel.
fn weight_words(weight: f64) -> String {
    let side = if weight >= 0.0 { "for" } else { "against" };
    let strength = match weight.abs() {
        w if w < 1.0 => return "says little".to_owned(),
        w if w < 3.0 => "a little",
        w if w < 6.0 => "clearly",
        w if w < 10.0 => "strongly",
        _ => "very strongly",
    };
    format!("{strength} {side} it")
}

fn figure(weight: f64) -> String {
    let rounded = (weight * 10.0).round() / 10.0;
    // No minus before a zero.
    format!("{:+.1}", if rounded == 0.0 { 0.0 } else { rounded })
}

fn because(about: &About, why: &Why) -> Section {
    let explanation = about.explanation;
    let pulls = &explanation.pulls.pulls[why.target];
    let mut order: Vec<usize> = (0..pulls.len()).collect();
    order.sort_by(|&a, &b| pulls[b].fair.abs().total_cmp(&pulls[a].fair.abs()).then(a.cmp(&b)));
    let row = |at: usize| {
        let Pull { alone, last, fair, .. } = pulls[at];
        let number = at + 1;
        let answer = format!("{number}. {}", about.answer(&explanation.told[at]));
        vec![answer, weight_words(fair), figure(fair), figure(alone), figure(last)]
    };
    let total: f64 = pulls.iter().map(|pull| pull.fair).sum();
    let (quiet, loud): (Vec<usize>, Vec<usize>) = order.into_iter().partition(|&at| {
        let Pull { alone, last, fair, .. } = pulls[at];
        alone.abs() < 0.5 && last.abs() < 0.5 && fair.abs() < 0.5
    });
    let mut rows: Vec<Vec<String>> = loud.into_iter().map(row).collect();
    if !quiet.is_empty() {
        let sum: f64 = quiet.iter().map(|&at| pulls[at].fair).sum();
        let numbers: Vec<String> = quiet.iter().map(|at| (at + 1).to_string()).collect();
        let answer = format!("answer {}", listed(&numbers));
        rows.push(vec![answer, "says little".to_owned(), figure(sum), String::new(), String::new()]);
    }
    rows.push(vec![
        "all answers together".to_owned(),
        weight_words(total),
        figure(total),
        String::new(),
        String::new(),
    ]);
    let mut blocks = Vec::new();
    if let Some(story) = why.story.as_ref().filter(|story| story.steps.len() > 1) {
        blocks.push(Block::Picture(Picture::Chain(about.chain(story, true))));
    }
    let from_file = if why.record.abs() >= 0.5 {
        format!(" What the vehicle's file says had already moved it by {} db.", figure(why.record))
    } else {
        String::new()
    };
    blocks.push(Block::Say(format!(
        "{} before the first answer, {} now.{from_file}",
        per_cent(why.before),
        per_cent(why.chance)
    )));
    if !pulls.is_empty() {
        let table = Table {
            caption:
                "Weight of evidence in decibans: 3 db doubles the odds, 10 db makes them ten times as high"
                    .to_owned(),
            head: ["Answer", "Pulls", "#Weight", "#Alone", "#After the rest"].map(str::to_owned).to_vec(),
            rows,
        };
        blocks.push(Block::Table(table));
        blocks.push(Block::Small(match explanation.pulls.orders {
            None => "Weight: mean over every order of the answers, so it does not depend on the order, and the weights add up.".to_owned(),
            Some(orders) => format!(
                "Weight: mean over {orders} drawn orders of the answers; the weights add up, each is good to about {:.1} db.",
                2.0 * pulls.iter().map(|pull| pull.fair_error).fold(0.0, f64::max)
            ),
        }));
        blocks.push(Block::Picture(Picture::Chances(about.chances(why.target))));
    }
    let together: Vec<String> = why.together.iter().take(4).map(|pair| together(about, pair)).collect();
    if !together.is_empty() {
        blocks.push(Block::Head("Answers that matter together".to_owned()));
        blocks.push(Block::Items(together));
    }
    if let Some(story) = &why.story {
        let also: Vec<String> = story.also.iter().take(4).map(|&(sign, _)| about.name(sign)).collect();
        if !also.is_empty() {
            blocks.push(Block::Say(format!("It also accounts for: {}.", listed(&also))));
        }
    }
    Section::new(&format!("Why {}", about.part(&why.part)), blocks)
}

fn together(about: &About, pair: &Interplay) -> String {
    let told = &about.explanation.told;
    let name = |at: usize| format!("“{}”", about.answer(&told[at]));
    let shift =
        |without: f64, with: f64| format!("{} db without it, {} db with it", figure(without), figure(with));
    // The one that changes the other's meaning most is named as the cause of the change.
    let (quiet, loud, without, with, loud_with) = if pair.first_without.abs() >= pair.second_without.abs() {
        (pair.first, pair.second, pair.first_without, pair.first_with, pair.second_with)
    } else {
        (pair.second, pair.first, pair.second_without, pair.second_with, pair.first_with)
    };
    if pair.together() > 0.0 {
        format!(
            "{} and {} say more together than apart: {} counts {}.",
            name(quiet),
            name(loud),
            name(quiet),
            shift(without, with)
        )
    } else if without > 0.0 && with < without / 2.0 && loud_with < 0.0 {
        format!("{} explains much of {} away: it counts {}.", name(loud), name(quiet), shift(without, with))
    } else {
        format!(
            "{} and {} say partly the same: {} counts {}.",
            name(quiet),
            name(loud),
            name(quiet),
            shift(without, with)
        )
    }
}

fn rivals(about: &About) -> Section {
    let items: Vec<String> = about
        .explanation
        .rivals
        .iter()
        .map(|rival| {
            let verb = if rival.after < rival.before { "falls" } else { "rises" };
            format!(
                "If “{}” is found, {} {verb} from {} to {}.",
                about.part(&rival.found),
                about.part(&rival.part),
                per_cent(rival.before),
                per_cent(rival.after)
            )
        })
        .collect();
    let blocks = if items.is_empty() { Vec::new() } else { vec![Block::Items(items)] };
    Section::new("What finding one says about another", blocks)
}

fn root(about: &About) -> Section {
    let Some(Root { part, failure, culprits, alone, measures, complaint, beside }) = &about.explanation.root
    else {
        return Section::new("What brought it on", Vec::new());
    };
    let mut blocks = Vec::new();
    let rows: Vec<Vec<String>> = culprits
        .iter()
        .take(6)
        .map(|culprit| vec![about.name(culprit.node), per_cent(culprit.chance), per_cent(culprit.share)])
        .collect();
    if rows.is_empty() {
        blocks.push(Block::Say(format!(
            "Nothing in particular: “{}” mostly came of itself, by age or wear.",
            about.part(failure)
        )));
    } else {
        blocks.push(Block::Table(Table {
            caption: format!("What may lie behind “{}”", about.part(failure)),
            head: ["Upstream", "#Is there", "#Had a hand in it"].map(str::to_owned).to_vec(),
            rows,
        }));
    }
    blocks.push(Block::Head(format!("If only the {} is put right", about.part(part))));
    let quoted = |signs: &[crate::inference::NodeId]| {
        listed(&signs.iter().map(|&sign| format!("“{}”", about.name(sign))).collect::<Vec<_>>())
    };
    let signs = if complaint.is_empty() { "the complaint".to_owned() } else { quoted(complaint) };
    blocks.push(Block::Say(match alone {
        Some(alone) => format!(
            "Chance that it comes back: {}. Chance that any of {signs} is still there: {}; that a cause left as it is \
             brings the same failure on again: {}.",
            per_cent(alone.either),
            per_cent(alone.stays),
            per_cent(alone.again)
        ),
        None => "Too tangled to say how likely it comes back.".to_owned(),
    }));
    if !beside.is_empty() {
        blocks.push(Block::Say(format!(
            "It does not bring on {}; that needs a cause of its own.",
            quoted(beside)
        )));
    }
    let items: Vec<String> = measures
        .iter()
        .take(4)
        .map(|measure| {
            let name = about.part(&measure.id);
            let remedy = about.book.history.get(&measure.id).and_then(|entry| entry.remedy.clone());
            let remedy =
                remedy.map(|remedy| format!(" ({})", remedy.trim_end_matches('.'))).unwrap_or_default();
            format!("with {name} put right as well{remedy}: {}", per_cent(measure.left))
        })
        .collect();
    if !items.is_empty() {
        blocks.push(Block::Say("What lowers it most:".to_owned()));
        blocks.push(Block::Items(items));
    }
    Section::new("What brought it on, and does it come back?", blocks)
}

fn turns(about: &About) -> Section {
    let items: Vec<String> = about
        .explanation
        .turns
        .iter()
        .take(6)
        .map(|turn| {
            let ask = &turn.question.ask;
            format!(
                "{}: “{}” ({}) puts {} first, {} to {}",
                question_name(about.book, ask),
                answer_words(about.book, ask, &turn.answer),
                per_cent(turn.chance),
                about.part(&turn.part),
                per_cent(turn.before),
                per_cent(turn.after)
            )
        })
        .collect();
    let blocks = if items.is_empty() {
        vec![Block::Say("No single further answer would put another part first.".to_owned())]
    } else {
        vec![Block::Items(items)]
    };
    Section::new("What single answer would change the order", blocks)
}

fn firmness(about: &About) -> Section {
    let firmness = &about.explanation.firmness;
    let Some(first) = about.explanation.standing.suspects.first().filter(|_| firmness.redraws > 0) else {
        return Section::new("How firm the order is", Vec::new());
    };
    let leads =
        firmness.parts.iter().find(|spread| spread.part == first.part).map_or(0, |spread| spread.first);
    let rows = firmness
        .parts
        .iter()
        .take(6)
        .map(|spread| {
            vec![
                about.part(&spread.part),
                format!("{} of {}", spread.first, firmness.redraws),
                format!("{} to {}", per_cent(spread.from), per_cent(spread.to)),
            ]
        })
        .collect();
    let table = Table {
        caption: format!(
            "{} redraws of every weight within its word's range, seed {}",
            firmness.redraws, firmness.seed
        ),
        head: ["Part", "#First in", "#Chance, 5th to 95th of 100"].map(str::to_owned).to_vec(),
        rows,
    };
    let said = format!("{} stays first in {leads} of {} redraws.", about.part(&first.part), firmness.redraws);
    Section::new("How firm the order is", vec![Block::Say(said), Block::Table(table)])
}

fn fit(about: &About) -> Section {
    let fit = &about.explanation.fit;
    let mut blocks = Vec::new();
    let verdict = match fit.verdict {
        Verdict::NoAnswers => return Section::new("How well it fits", blocks),
        Verdict::Fits => {
            "It fits: the answers support each other, and something in the book explains each sign."
        }
        Verdict::FitsIfRare => "It fits, but only if a rare fault is there.",
        Verdict::FitsPoorly => "It fits poorly: see below.",
        Verdict::NewPattern => "It looks like a pattern the book does not know.",
    };
    blocks.push(Block::Say(verdict.to_owned()));
    let meaning =
        if fit.conflict > 0.0 { "above 0: they are in conflict" } else { "below 0: they support each other" };
    let mut figures = format!("Jensen's conflict of all answers: {:+.1} bits ({meaning}).", fit.conflict);
    if let Some((target, left)) = fit.settled_by {
        let part = about.name(about.explanation.targets[target]);
        figures.push_str(&format!(" The {part} settles it ({left:+.1} bits are left)."));
    }
    blocks.push(Block::Say(figures));
    let against: Vec<String> = fit
        .conflict_of
        .iter()
        .zip(&about.explanation.told)
        .filter(|(conflict, _)| **conflict > crate::explain::fit::SMALL)
        .map(|(conflict, told)| {
            format!("“{}” is at odds with the rest by {conflict:.1} bits", about.answer(told))
        })
        .collect();
    let unexplained = fit.unexplained.iter().map(|found| {
        format!(
            "“{}” is not well explained: {} that none of its listed causes brought it on",
            about.name(found.sign),
            per_cent(found.own_share)
        )
    });
    let items: Vec<String> = against.into_iter().chain(unexplained).collect();
    if !items.is_empty() {
        blocks.push(Block::Items(items));
    }
    if fit.verdict == Verdict::NewPattern {
        blocks.push(Block::Say(
            "Check the answers once more. If they hold, record the pattern: confirm what was found with `weephole confirm`, \
             then add the failure with `weephole rules add`."
                .to_owned(),
        ));
    }
    Section::new("How well it fits", blocks)
}

fn unused(about: &About) -> Section {
    let items: Vec<String> =
        about.explanation.ignored.iter().map(|ignored| format!("{}: {}", ignored.ask, ignored.why)).collect();
    let blocks = if items.is_empty() { Vec::new() } else { vec![Block::Items(items)] };
    Section::new("Answers that could not be used", blocks)
}
