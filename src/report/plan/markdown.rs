//! A plan as Markdown.

use std::fmt::Write;

use super::words::{Words, capital, engine, listed, minutes};
use crate::plan::sheet::{Plan, StepLine};
use crate::report::style::{per_cent, plain};
use crate::units::UnitSystem;

/// Text that Markdown takes as it stands.
fn safe(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in plain(text).chars() {
        if matches!(c, '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '#') {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

/// The plan as Markdown.
pub fn markdown(plan: &Plan, system: UnitSystem) -> String {
    let words = Words::of(plan, system);
    let mut page = String::new();
    let _ = writeln!(page, "# Plan for {}\n", safe(&plan.vehicle));
    if let Some(complaint) = &plan.complaint {
        let _ = writeln!(page, "Brought in for: {}\n", safe(complaint));
    }
    let day = plan.day.as_ref().map(|day| format!(", {day}")).unwrap_or_default();
    let _ = writeln!(page, "Layout: {} ({}){day}", safe(&plan.layout.name), safe(&plan.layout.why));
    for reason in &plan.do_not_drive {
        let _ = writeln!(page, "\n> **Do not drive.** {}", safe(&capital(reason)));
    }
    for note in &plan.notes {
        let _ = writeln!(page, "\n> **Note:** {}.", safe(note));
    }
    what(&mut page, plan, words);
    let _ = writeln!(page, "\n## To buy\n");
    for item in &plan.shopping {
        let _ = writeln!(page, "- [ ] {}", safe(&words.item(item)));
    }
    if let Some(f) = &plan.fluids {
        for packs in &f.buy {
            let _ = writeln!(page, "- [ ] {}", safe(&words.packs(packs)));
        }
        let _ = writeln!(page, "\n## Coolant\n");
        for line in words.fluids(f) {
            let _ = writeln!(page, "- {}", safe(&line));
        }
    }
    job(&mut page, plan, words);
    after(&mut page, plan);
    let _ = writeln!(page, "\n---\n\n{}", safe(&plan.closing));
    page
}

fn what(page: &mut String, plan: &Plan, words: Words<'_>) {
    let _ = writeln!(page, "\n## What to do\n");
    for r in &plan.choice.repairs {
        let _ = writeln!(
            page,
            "- **{}**: {} {}.",
            safe(&capital(&r.name)),
            safe(&r.action),
            safe(&capital(&r.because))
        );
        for also in &r.also {
            let _ = writeln!(page, "  - {}", safe(also));
        }
    }
    let _ = writeln!(page);
    for line in words.totals(plan) {
        let _ = writeln!(page, "- {}.", safe(&line));
    }
    if plan.choice.repairs.len() > 1 {
        let _ = writeln!(page, "\n## What each one costs and saves\n");
        let _ = writeln!(page, "| repair | chance | adds now | | alone, later | | saves |");
        let _ = writeln!(page, "| --- | ---: | ---: | ---: | ---: | ---: | ---: |");
        for r in &plan.choice.repairs {
            let _ = writeln!(
                page,
                "| {} | {} | {} | {} | {} | {} | {} |",
                safe(&r.name),
                per_cent(r.chance),
                minutes(r.adds_minutes),
                words.money(r.adds_money),
                minutes(r.alone_minutes),
                words.money(r.alone_money),
                words.money(r.saves)
            );
        }
    }
    if !plan.choice.left_out.is_empty() {
        let _ = writeln!(page, "\n## Left out, and why\n");
        for l in &plan.choice.left_out {
            let _ = writeln!(page, "- **{}**: {}.", safe(&capital(&l.name)), safe(&words.left_out(l)));
        }
    }
    if !plan.choice.tight.is_empty() {
        let _ = writeln!(page, "\n## If money is tight\n");
        for t in &plan.choice.tight {
            let _ = writeln!(page, "- {}.", safe(&words.tight(t)));
        }
    }
    let _ = writeln!(page, "\n## How sure this is\n");
    for line in words.assurance(&plan.choice) {
        let _ = writeln!(page, "- {}", safe(&line));
    }
    if !plan.roots.is_empty() {
        let _ = writeln!(page, "\n## What would kill the new part\n");
        for root in &plan.roots {
            let _ = writeln!(page, "- {}", safe(&words.root(root)));
        }
    }
}

fn step(page: &mut String, number: usize, line: &StepLine, words: Words<'_>) {
    let _ = writeln!(page, "\n### {number}. {} ({})\n", safe(&capital(&line.name)), minutes(line.minutes));
    for caution in &line.cautions {
        let _ = writeln!(page, "> **Caution:** {}\n", safe(caution));
    }
    if !line.tools.is_empty() {
        let _ = writeln!(page, "Tools: {}.\n", safe(&line.tools.join(", ")));
    }
    for order in &line.lines {
        let _ = writeln!(page, "- [ ] {}", safe(order));
    }
    for keep in &line.keep {
        let _ = writeln!(page, "- [ ] Keep the {}.", safe(keep));
    }
    if let Some(seal) = &line.seal {
        let _ = writeln!(page, "- Seal: {}.", safe(seal));
    }
    for torque in &line.torques {
        let _ = writeln!(page, "- Torque: {}.", safe(&words.torque(torque)));
    }
    for look in &line.look {
        let _ = writeln!(page, "- Look: {}", safe(look));
    }
    if !line.renews.is_empty() {
        let _ = writeln!(page, "- **Here: {}.**", safe(&listed(&line.renews)));
    }
}

fn job(page: &mut String, plan: &Plan, words: Words<'_>) {
    let _ = writeln!(page, "\n## Taking apart");
    if !plan.work.lacks.is_empty() {
        let _ = writeln!(page, "\nNot in this shop, borrow first: {}.", safe(&listed(&plan.work.lacks)));
    }
    for (at, line) in plan.work.undo.iter().enumerate() {
        step(page, at + 1, line, words);
    }
    if !plan.work.loose.is_empty() {
        let _ = writeln!(page, "\n## Without steps in this layout\n");
        for l in &plan.work.loose {
            let _ = writeln!(
                page,
                "- [ ] {}: {} ({})",
                safe(&capital(&l.name)),
                safe(&l.action),
                minutes(l.minutes)
            );
        }
    }
    let _ = writeln!(page, "\n## Putting together");
    for (at, line) in plan.work.refit.iter().enumerate() {
        // What is renewed is said on the way in.
        step(page, at + 1, &StepLine { renews: Vec::new(), ..line.clone() }, words);
    }
    let _ = writeln!(page, "\nMinutes and habits: {}.", safe(&plan.layout.source));
}

fn after(page: &mut String, plan: &Plan) {
    let _ = writeln!(page, "\n## Prove it");
    for (at, p) in plan.prove.iter().enumerate() {
        let _ = writeln!(
            page,
            "\n### {}. {} ({}, {})\n",
            at + 1,
            safe(&capital(&p.name)),
            engine(p.engine),
            minutes(p.minutes)
        );
        for caution in &p.cautions {
            let _ = writeln!(page, "> **Caution:** {}\n", safe(caution));
        }
        for order in &p.lines {
            let _ = writeln!(page, "- [ ] {}", safe(order));
        }
        let _ = writeln!(page, "- Good: {}\n- Not good: {}", safe(&p.good), safe(&p.bad));
    }
    let _ = writeln!(page, "\n## Watch it");
    for w in &plan.watch {
        let date = w.date.as_ref().map(|date| format!(" ({date})")).unwrap_or_default();
        let _ = writeln!(page, "\n### {}{date}\n", safe(&capital(&w.when)));
        for caution in &w.cautions {
            let _ = writeln!(page, "> **Caution:** {}\n", safe(caution));
        }
        for line in &w.look {
            let _ = writeln!(page, "- [ ] {}", safe(line));
        }
        let _ = writeln!(page, "- Back to the questions if: {}", safe(&w.back_if));
    }
}
