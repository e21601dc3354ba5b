//! A plan as one page to print: tick boxes, the steps as a picture, nothing fetched from elsewhere.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::picture::picture;
use super::words::{Words, capital, engine, listed, minutes};
use crate::plan::sheet::{Plan, StepLine};
use crate::report::style::{per_cent, plain};
use crate::units::UnitSystem;

/// The look of the page, on the screen and on paper.
const LOOK: &str = include_str!("plan.css");

/// The plan as an HTML page.
pub fn html(plan: &Plan, system: UnitSystem) -> String {
    let words = Words::of(plan, system);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Plan for " (plain(&plan.vehicle)) }
                style { (PreEscaped(LOOK)) }
            }
            body {
                (head(plan))
                main {
                    (what(plan, words))
                    (buy(plan, words))
                    (job(plan, words))
                    (after(plan))
                }
                footer { p { (plain(&plan.closing)) } }
            }
        }
    };
    page.into_string()
}

fn head(plan: &Plan) -> Markup {
    html! {
        header {
            h1 { "Plan for " (plain(&plan.vehicle)) }
            p.sub {
                @if let Some(shop) = &plan.shop { (plain(shop)) ". " }
                @if let Some(day) = &plan.day { (plain(day)) ". " }
                (capital(&plain(&plan.layout.name))) " (" (plain(&plan.layout.why)) ")."
            }
            @if let Some(complaint) = &plan.complaint { p { "Brought in for: " (plain(complaint)) } }
            @for reason in &plan.do_not_drive { p.danger { strong { "Do not drive. " } (capital(&plain(reason))) } }
            @for note in &plan.notes { p.note { strong { "Note. " } (capital(&plain(note))) "." } }
        }
    }
}

fn what(plan: &Plan, words: Words<'_>) -> Markup {
    let c = &plan.choice;
    html! {
        section {
            h2 { "What to do" }
            ul.plain {
                @for r in &c.repairs {
                    li {
                        strong { (capital(&plain(&r.name))) ": " } (plain(&r.action))
                        div.why { (capital(&plain(&r.because))) "." }
                        @if !r.also.is_empty() { ul { @for also in &r.also { li { (plain(also)) } } } }
                    }
                }
            }
            p.totals { @for line in words.totals(plan) { (line) "." br; } }
            @if c.repairs.len() > 1 {
                h3 { "What each one costs and saves" }
                table {
                    thead { tr { th { "repair" } th { "chance" } th colspan="2" { "adds now" } th colspan="2" { "alone, later" } th { "saves" } } }
                    tbody {
                        @for r in &c.repairs {
                            tr {
                                td { (plain(&r.name)) }
                                td { (per_cent(r.chance)) }
                                td { (minutes(r.adds_minutes)) } td { (words.money(r.adds_money)) }
                                td { (minutes(r.alone_minutes)) } td { (words.money(r.alone_money)) }
                                td { (words.money(r.saves)) }
                            }
                        }
                    }
                }
            }
            @if !c.left_out.is_empty() {
                h3 { "Left out, and why" }
                ul { @for l in &c.left_out { li { strong { (capital(&plain(&l.name))) ": " } (plain(&words.left_out(l))) "." } } }
            }
            @if !c.tight.is_empty() {
                h3 { "If money is tight" }
                ul { @for t in &c.tight { li { (plain(&words.tight(t))) "." } } }
            }
            h3 { "How sure this is" }
            ul { @for line in words.assurance(c) { li { (plain(&line)) } } }
            @if !plan.roots.is_empty() {
                h3 { "What would kill the new part" }
                ul { @for root in &plan.roots { li { (plain(&words.root(root))) } } }
            }
        }
    }
}

fn tick(text: &str) -> Markup {
    html! { li { label { input type="checkbox"; span { (plain(text)) } } } }
}

fn buy(plan: &Plan, words: Words<'_>) -> Markup {
    html! {
        section {
            h2 { "To buy" }
            ul.ticks {
                @for item in &plan.shopping { (tick(&words.item(item))) }
                @if let Some(f) = &plan.fluids { @for packs in &f.buy { (tick(&words.packs(packs))) } }
            }
            @if let Some(f) = &plan.fluids {
                h3 { "Coolant" }
                ul { @for line in words.fluids(f) { li { (plain(&line)) } } }
            }
            h3 { "Tools" }
            p { (capital(&plain(&plan.work.tools.join(", ")))) "." }
            @if !plan.work.lacks.is_empty() { p.note { "Not in this shop, borrow first: " (plain(&listed(&plan.work.lacks))) "." } }
        }
    }
}

fn cautions(list: &[String]) -> Markup {
    html! { @for caution in list { p.danger { strong { "Caution. " } (plain(caution)) } } }
}

fn step(line: &StepLine, words: Words<'_>, back: bool) -> Markup {
    html! {
        li.step {
            h4 { (capital(&plain(&line.name))) span.min { (minutes(line.minutes)) } }
            (cautions(&line.cautions))
            @if !line.tools.is_empty() { p.tools { "Tools: " (plain(&line.tools.join(", "))) "." } }
            ul.ticks {
                @for order in &line.lines { (tick(order)) }
                @for keep in &line.keep { (tick(&format!("Keep the {keep}."))) }
            }
            @if let Some(seal) = &line.seal { p.fact { strong { "Seal: " } (plain(seal)) "." } }
            @for torque in &line.torques { p.fact { strong { "Torque: " } (plain(&words.torque(torque))) "." } }
            @for look in &line.look { p.fact { strong { "Look: " } (plain(look)) } }
            @if !back && !line.renews.is_empty() { p.here { "Here: " (plain(&listed(&line.renews))) "." } }
        }
    }
}

fn job(plan: &Plan, words: Words<'_>) -> Markup {
    html! {
        section {
            h2 { "Taking apart" }
            @if plan.work.undo.len() > 1 {
                figure {
                    (picture(&plan.work))
                    figcaption { "What must come off before what. Filled: here something is renewed or mended. Dashed: goes first only because the belt still holds the pulley, or the like. Numbers are the order below." }
                }
            }
            ol.steps { @for line in &plan.work.undo { (step(line, words, false)) } }
            @if !plan.work.loose.is_empty() {
                h3 { "Without steps in this layout" }
                ul.ticks {
                    @for l in &plan.work.loose { (tick(&format!("{}: {} ({})", capital(&l.name), l.action, minutes(l.minutes)))) }
                }
            }
        }
        section {
            h2 { "Putting together" }
            ol.steps { @for line in &plan.work.refit { (step(line, words, true)) } }
            p.sub { "Minutes and habits: " (plain(&plan.layout.source)) "." }
        }
    }
}

fn after(plan: &Plan) -> Markup {
    html! {
        section {
            h2 { "Prove it" }
            ol.steps {
                @for p in &plan.prove {
                    li.step {
                        h4 { (capital(&plain(&p.name))) span.min { (engine(p.engine)) ", " (minutes(p.minutes)) } }
                        (cautions(&p.cautions))
                        ul.ticks { @for order in &p.lines { (tick(order)) } }
                        p.fact { strong { "Good: " } (plain(&p.good)) }
                        p.fact { strong { "Not good: " } (plain(&p.bad)) }
                    }
                }
            }
        }
        section {
            h2 { "Watch it" }
            div.watch {
                @for w in &plan.watch {
                    div.day {
                        h4 { (capital(&plain(&w.when))) @if let Some(date) = &w.date { span.min { (plain(date)) } } }
                        (cautions(&w.cautions))
                        ul.ticks { @for line in &w.look { (tick(line)) } }
                        p.fact { strong { "Back to the questions if: " } (plain(&w.back_if)) }
                    }
                }
            }
        }
    }
}
