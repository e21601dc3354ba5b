//! The steps of a plan as a picture: what must come off before what, top to bottom.

use std::collections::{BTreeMap, BTreeSet};

use maud::{Markup, html};

use crate::plan::sheet::Work;
use crate::report::style::{plain, wrapped};

const BOX_WIDTH: f64 = 168.0;
const BOX_HEIGHT: f64 = 46.0;
const ACROSS: f64 = 190.0;
const DOWN: f64 = 78.0;
const MARGIN: f64 = 12.0;

/// Where a step stands.
struct Placed<'a> {
    name: &'a str,
    number: usize,
    renews: bool,
    x: f64,
    y: f64,
}

/// The picture, as inline SVG with its own description for those who cannot see it.
pub fn picture(work: &Work) -> Markup {
    let ids: Vec<&str> = work.undo.iter().map(|line| line.id.as_str()).collect();
    let edges = without_shortcuts(work);
    let levels = levels(&ids, &edges);
    let rows = rows(&ids, &levels, &edges);
    let widest = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = widest as f64 * ACROSS + 2.0 * MARGIN;
    let height = rows.len() as f64 * DOWN + 2.0 * MARGIN;
    let mut placed: BTreeMap<&str, Placed<'_>> = BTreeMap::new();
    for (row, members) in rows.iter().enumerate() {
        let inset = (widest - members.len()) as f64 * ACROSS / 2.0;
        for (column, &id) in members.iter().enumerate() {
            let at = ids.iter().position(|other| *other == id).unwrap_or(0);
            let line = &work.undo[at];
            placed.insert(
                id,
                Placed {
                    name: &line.name,
                    number: at + 1,
                    renews: !line.renews.is_empty(),
                    x: MARGIN + inset + column as f64 * ACROSS + (ACROSS - BOX_WIDTH) / 2.0,
                    y: MARGIN + row as f64 * DOWN + (DOWN - BOX_HEIGHT) / 2.0,
                },
            );
        }
    }
    html! {
        svg.steps viewBox=(format!("0 0 {width:.0} {height:.0}")) role="img" aria-label="The steps, and what must come off before what" {
            defs {
                marker id="tip" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="7" markerHeight="7" orient="auto" {
                    path d="M0 0 L8 4 L0 8 z" {}
                }
            }
            @for &(from, to, soft) in &edges {
                @if let (Some(a), Some(b)) = (placed.get(from), placed.get(to)) {
                    path.wait.soft[soft] d=(curve(a, b)) marker-end="url(#tip)" {}
                }
            }
            @for p in placed.values() {
                rect.box.renew[p.renews] x=(round(p.x)) y=(round(p.y)) width=(BOX_WIDTH) height=(BOX_HEIGHT) rx="6" {}
                @let label = wrapped(&format!("{}. {}", p.number, plain(p.name)), 25, 0);
                @let lines: Vec<&str> = label.lines().take(2).collect();
                @for (row, line) in lines.iter().enumerate() {
                    text x=(round(p.x + BOX_WIDTH / 2.0))
                        y=(round(p.y + BOX_HEIGHT / 2.0 + 4.5 + 16.0 * (row as f64 - (lines.len() - 1) as f64 / 2.0))) {
                        (line) @if row == 1 && label.lines().count() > 2 { "…" }
                    }
                }
            }
        }
    }
}

fn round(value: f64) -> String {
    format!("{value:.1}")
}

fn curve(a: &Placed<'_>, b: &Placed<'_>) -> String {
    let (x1, y1) = (a.x + BOX_WIDTH / 2.0, a.y + BOX_HEIGHT);
    let (x2, y2) = (b.x + BOX_WIDTH / 2.0, b.y - 2.0);
    let bend = (y2 - y1) / 2.0;
    format!("M{x1:.1} {y1:.1} C{x1:.1} {:.1} {x2:.1} {:.1} {x2:.1} {y2:.1}", y1 + bend, y2 - bend)
}

type Edge<'a> = (&'a str, &'a str, bool);

/// The edges that no longer way already says.
fn without_shortcuts(work: &Work) -> Vec<Edge<'_>> {
    let all: Vec<Edge<'_>> =
        work.waits.iter().map(|(from, to, soft)| (from.as_str(), to.as_str(), *soft)).collect();
    let reaches = |from: &str, to: &str, but: Edge<'_>| {
        let (mut open, mut seen) = (vec![from], BTreeSet::from([from]));
        while let Some(at) = open.pop() {
            for edge in all.iter().filter(|edge| edge.0 == at && **edge != but) {
                if edge.1 == to {
                    return true;
                }
                if seen.insert(edge.1) {
                    open.push(edge.1);
                }
            }
        }
        false
    };
    all.iter().copied().filter(|&edge| !reaches(edge.0, edge.1, edge)).collect()
}

/// How many steps stand above each at most.
fn levels<'a>(ids: &[&'a str], edges: &[Edge<'a>]) -> BTreeMap<&'a str, usize> {
    let mut levels: BTreeMap<&str, usize> = ids.iter().map(|&id| (id, 0)).collect();
    // The steps come in an order in which nothing stands before what it waits for: one pass will do.
    for &id in ids {
        let above = edges.iter().filter(|edge| edge.1 == id).map(|edge| levels[edge.0] + 1).max();
        levels.insert(id, above.unwrap_or(0));
    }
    levels
}

/// The rows from the top, each ordered so that a step stands near the middle of what it waits for.
fn rows<'a>(ids: &[&'a str], levels: &BTreeMap<&'a str, usize>, edges: &[Edge<'a>]) -> Vec<Vec<&'a str>> {
    let deepest = levels.values().copied().max().unwrap_or(0);
    let mut rows: Vec<Vec<&str>> = Vec::new();
    for level in 0..=deepest {
        let mut row: Vec<&str> = ids.iter().copied().filter(|id| levels[id] == level).collect();
        if let Some(above) = rows.last() {
            let middle = |id: &str| {
                let at: Vec<f64> = edges
                    .iter()
                    .filter(|edge| edge.1 == id)
                    .filter_map(|edge| above.iter().position(|other| *other == edge.0))
                    .map(|at| at as f64 / above.len() as f64)
                    .collect();
                if at.is_empty() { 0.5 } else { at.iter().sum::<f64>() / at.len() as f64 }
            };
            row.sort_by(|a, b| middle(a).total_cmp(&middle(b)));
        }
        rows.push(row);
    }
    rows
}
