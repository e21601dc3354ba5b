//! A trial as a table and as JSON.

use std::fmt::Write;

use serde_json::{Value, json};

use super::style::Style;
use crate::trial::tally::Mean;
use crate::trial::{Contender, Settings, Tally};

/// How the trial was set up, in one sentence.
fn setup(settings: &Settings, vehicles: &[String]) -> String {
    let complaint =
        settings.complaint.as_ref().map_or("any complaint".to_owned(), |id| format!("complaint `{id}`"));
    format!(
        "{} vehicles ({}), {complaint}, {:.0} % wrong answers, seed {}",
        settings.runs,
        vehicles.join(", "),
        settings.wrong * 100.0,
        settings.seed
    )
}

/// The table, one strategy a row.
pub fn text(
    settings: &Settings,
    vehicles: &[String],
    currency: &str,
    tallies: &[Tally],
    style: &impl Style,
) -> String {
    let mut page = format!("{}\n{}\n\n", style.heading("Trial"), setup(settings, vehicles));
    let head = format!(
        "{:8}{:>14}{:>8}{:>8}{:>8}{:>7}{:>7}{:>8}{:>9}{:>7}",
        "",
        format!("total {currency}"),
        "beyond",
        "checks",
        "minutes",
        "asked",
        "first",
        "needless",
        "comeback",
        "unsafe"
    );
    let _ = writeln!(page, "{}", style.heading(&head));
    for tally in tallies {
        let _ = writeln!(
            page,
            "{:8}{:>14}{:>8.0}{:>8.0}{:>8.0}{:>7.1}{:>7}{:>8.2}{:>9.2}{:>7}",
            tally.who.name(),
            format!("{:.0} ± {:.0}", tally.total.value, tally.total.error),
            tally.beyond.value,
            tally.checking.value,
            tally.minutes.value,
            tally.questions.value,
            format!("{:.0} %", tally.first_right.value * 100.0),
            tally.needless.value,
            tally.comebacks.value,
            tally.unsafe_offers,
        );
    }
    if let Some(worth) = tallies.iter().find(|tally| tally.who == Contender::Worth) {
        let _ = writeln!(page);
        for other in tallies.iter().filter(|other| other.who != Contender::Worth) {
            let saved = worth.saved_against(other);
            let _ = writeln!(
                page,
                "worth against {:7} {:+.1} % ({:+.0} ± {:.0} {currency} a vehicle, the same vehicles)",
                format!("{}:", other.who.name()),
                -100.0 * saved.value / other.total.value.max(1e-9),
                -saved.value,
                saved.error,
            );
        }
    }
    let _ = writeln!(
        page,
        "\n{}",
        style.faint(
            "total: checks, repairs, comebacks and handing on. beyond: what of it is more than mending what was wrong. \
             first: the first thing done was right. needless: repairs of sound parts. Means a vehicle; ± is one standard error."
        )
    );
    page
}

/// The same for programs. The shape is documented in docs/json.md.
pub fn json(settings: &Settings, vehicles: &[String], currency: &str, tallies: &[Tally]) -> Value {
    let mean = |mean: &Mean| json!({ "mean": mean.value, "error": mean.error });
    let rows: Vec<Value> = tallies
        .iter()
        .map(|tally| {
            json!({
                "strategy": tally.who.name(),
                "runs": tally.runs,
                "total": mean(&tally.total),
                "beyond-known": mean(&tally.beyond),
                "checking": mean(&tally.checking),
                "repairing": mean(&tally.repairing),
                "comebacks-and-handing-on": mean(&tally.other),
                "minutes": mean(&tally.minutes),
                "questions": mean(&tally.questions),
                "first-right": mean(&tally.first_right),
                "top-suspect-right": mean(&tally.top_suspect_right),
                "needless-repairs": mean(&tally.needless),
                "comebacks": mean(&tally.comebacks),
                "handed-on": mean(&tally.handed_on),
                "unsafe-offers": tally.unsafe_offers,
                "contradictions": tally.contradictions,
                "totals": tally.totals,
            })
        })
        .collect();
    json!({
        "runs": settings.runs,
        "seed": settings.seed,
        "wrong": settings.wrong,
        "complaint": settings.complaint,
        "vehicles": vehicles,
        "currency": currency,
        "strategies": rows,
    })
}
