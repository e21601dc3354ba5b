//! A plan for the terminal.

use std::fmt::Write;

use super::words::{Words, capital, engine, listed, minutes};
use crate::plan::sheet::{Plan, StepLine};
use crate::report::style::{Style, plain, wrapped};
use crate::units::UnitSystem;

/// Columns of a line.
const WIDTH: usize = 96;

struct Page<'a, S: Style> {
    text: String,
    style: &'a S,
}

impl<S: Style> Page<'_, S> {
    fn heading(&mut self, text: &str) {
        let _ = writeln!(self.text, "\n{}", self.style.heading(text));
    }

    /// A line after `mark`, broken so that what follows hangs under the first word.
    fn line(&mut self, mark: &str, text: &str) {
        let indent = mark.chars().count();
        let _ = writeln!(self.text, "{mark}{}", wrapped(&plain(text), WIDTH, indent));
    }

    fn painted(&mut self, mark: &str, text: &str, paint: impl Fn(&S, &str) -> String) {
        let indent = mark.chars().count();
        let body = wrapped(&plain(text), WIDTH, indent);
        let painted: Vec<String> = body.lines().map(|line| paint(self.style, line)).collect();
        let _ = writeln!(self.text, "{mark}{}", painted.join("\n"));
    }

    fn cautions(&mut self, mark: &str, cautions: &[String]) {
        for caution in cautions {
            self.painted(&format!("{mark}! "), caution, Style::danger);
        }
    }
}

/// The plan as text.
pub fn text(plan: &Plan, system: UnitSystem, style: &impl Style) -> String {
    let words = Words::of(plan, system);
    let mut page = Page { text: String::new(), style };
    let _ = writeln!(page.text, "{}", style.heading(&format!("Plan for {}", plain(&plan.vehicle))));
    if let Some(complaint) = &plan.complaint {
        page.line("", &format!("Brought in for: {complaint}"));
    }
    let day = plan.day.as_ref().map(|day| format!(", {day}")).unwrap_or_default();
    page.line("", &format!("Layout: {} ({}){day}", plan.layout.name, plan.layout.why));
    for reason in &plan.do_not_drive {
        page.painted("", &format!("Do not drive. {}", capital(reason)), Style::danger);
    }
    for note in &plan.notes {
        page.painted("", &format!("Note: {note}."), Style::notice);
    }
    what(&mut page, plan, words);
    buy(&mut page, plan, words);
    job(&mut page, plan, words);
    after(&mut page, plan);
    page.text.push('\n');
    page.line("", &plan.closing);
    page.text
}

fn what(page: &mut Page<'_, impl Style>, plan: &Plan, words: Words<'_>) {
    page.heading("What to do");
    for repair in &plan.choice.repairs {
        page.line("  * ", &format!("{}: {}", capital(&repair.name), repair.action));
        page.line("      ", &format!("{}.", capital(&repair.because)));
        for also in &repair.also {
            page.line("      - ", also);
        }
    }
    for line in words.totals(plan) {
        page.line("  ", &format!("{line}."));
    }
    let additions: Vec<_> =
        plan.choice.repairs.iter().filter(|r| !r.must || plan.choice.repairs.len() > 1).collect();
    if additions.len() > 1 {
        page.heading("What each one costs and saves");
        let _ = writeln!(
            page.text,
            "  {:<22} {:>18} {:>9}   {:>18} {:>9}   {:>9}",
            "", "adds now", "", "alone, later", "", "saves"
        );
        for r in additions {
            let _ = writeln!(
                page.text,
                "  {:<22} {:>18} {:>9}   {:>18} {:>9}   {:>9}",
                plain(&r.name),
                minutes(r.adds_minutes),
                words.money(r.adds_money),
                minutes(r.alone_minutes),
                words.money(r.alone_money),
                words.money(r.saves)
            );
        }
        page.line("  ", "Saves: what the plan without it is expected to cost more, by its chance, its age and what it protects.");
    }
    if !plan.choice.left_out.is_empty() {
        page.heading("Left out, and why");
        for l in &plan.choice.left_out {
            page.line("  * ", &format!("{}: {}.", capital(&l.name), words.left_out(l)));
        }
    }
    if !plan.choice.tight.is_empty() {
        page.heading("If money is tight");
        for t in &plan.choice.tight {
            page.line("  * ", &format!("{}.", words.tight(t)));
        }
    }
    page.heading("How sure this is");
    for line in words.assurance(&plan.choice) {
        page.line("  ", &line);
    }
    if !plan.roots.is_empty() {
        page.heading("What would kill the new part");
        for root in &plan.roots {
            page.line("  * ", &words.root(root));
        }
    }
}

fn buy(page: &mut Page<'_, impl Style>, plan: &Plan, words: Words<'_>) {
    page.heading("To buy");
    for item in &plan.shopping {
        page.line("  [ ] ", &words.item(item));
    }
    if let Some(f) = &plan.fluids {
        for packs in &f.buy {
            page.line("  [ ] ", &words.packs(packs));
        }
        page.heading("Coolant");
        for line in words.fluids(f) {
            page.line("  ", &line);
        }
    }
}

fn step(page: &mut Page<'_, impl Style>, number: usize, line: &StepLine, words: Words<'_>) {
    let _ = writeln!(
        page.text,
        "{}",
        page.style.heading(&format!(
            "  {number:>2}. {} ({})",
            capital(&plain(&line.name)),
            minutes(line.minutes)
        ))
    );
    page.cautions("      ", &line.cautions);
    if !line.tools.is_empty() {
        let tools = format!("Tools: {}.", line.tools.join(", "));
        page.painted("      ", &tools, Style::faint);
    }
    for order in &line.lines {
        page.line("      [ ] ", order);
    }
    for keep in &line.keep {
        page.line("      [ ] ", &format!("Keep the {keep}."));
    }
    if let Some(seal) = &line.seal {
        page.line("      Seal: ", &format!("{seal}."));
    }
    for torque in &line.torques {
        page.line("      Torque: ", &format!("{}.", words.torque(torque)));
    }
    for look in &line.look {
        page.line("      Look: ", look);
    }
}

fn job(page: &mut Page<'_, impl Style>, plan: &Plan, words: Words<'_>) {
    page.heading("Taking apart");
    if !plan.work.lacks.is_empty() {
        page.line("  ", &format!("Not in this shop, borrow first: {}.", listed(&plan.work.lacks)));
    }
    for (at, line) in plan.work.undo.iter().enumerate() {
        step(page, at + 1, line, words);
        if !line.renews.is_empty() {
            page.line("      => ", &format!("Here: {}.", listed(&line.renews)));
        }
    }
    if !plan.work.loose.is_empty() {
        page.heading("Without steps in this layout");
        for loose in &plan.work.loose {
            page.line(
                "  [ ] ",
                &format!("{}: {} ({})", capital(&loose.name), loose.action, minutes(loose.minutes)),
            );
        }
    }
    page.heading("Putting together");
    for (at, line) in plan.work.refit.iter().enumerate() {
        step(page, at + 1, line, words);
    }
    page.line("  ", &format!("Minutes and habits: {}.", plan.layout.source));
}

fn after(page: &mut Page<'_, impl Style>, plan: &Plan) {
    page.heading("Prove it");
    for (at, proof) in plan.prove.iter().enumerate() {
        let head = format!(
            "  {:>2}. {} ({}, {})",
            at + 1,
            capital(&plain(&proof.name)),
            engine(proof.engine),
            minutes(proof.minutes)
        );
        let _ = writeln!(page.text, "{}", page.style.heading(&head));
        page.cautions("      ", &proof.cautions);
        for order in &proof.lines {
            page.line("      [ ] ", order);
        }
        page.line("      Good: ", &proof.good);
        page.line("      Not good: ", &proof.bad);
    }
    page.heading("Watch it");
    for look in &plan.watch {
        let date = look.date.as_ref().map(|date| format!(" ({date})")).unwrap_or_default();
        let _ = writeln!(
            page.text,
            "{}",
            page.style.heading(&format!("  {}{date}", capital(&plain(&look.when))))
        );
        page.cautions("      ", &look.cautions);
        for line in &look.look {
            page.line("      [ ] ", line);
        }
        page.line("      Back to the questions if: ", &look.back_if);
    }
    page.line(
        "  ",
        "After the work, `weephole plan CASE --done` opens the follow-up case: the repaired failures count as absent there, \
         and the interview starts from what is left.",
    );
}
