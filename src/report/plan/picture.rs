//! The steps of a plan as a picture: what must come off before what, top to bottom.
//!
//! Steps stand in rows by how many stand above them. A line that passes a row gets a place of its own in it, so that no
//! line runs behind a box (Sugiyama, Tagawa & Toda 1981, with one sweep of barycentres).

use std::collections::{BTreeMap, BTreeSet};

use maud::{Markup, html};

use crate::plan::sheet::Work;
use crate::report::style::{plain, wrapped};

const BOX_WIDTH: f64 = 176.0;
const BOX_HEIGHT: f64 = 46.0;
const STEP_SPACE: f64 = 194.0;
const PASS_SPACE: f64 = 30.0;
const DOWN: f64 = 78.0;
const MARGIN: f64 = 12.0;

type Edge<'a> = (&'a str, &'a str, bool);

/// What has a place in a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Slot<'a> {
    /// A step.
    Step(&'a str),
    /// A line passing, by its number.
    Pass(usize),
}

impl Slot<'_> {
    fn space(self) -> f64 {
        match self {
            Self::Step(_) => STEP_SPACE,
            Self::Pass(_) => PASS_SPACE,
        }
    }
}

/// The picture, as inline SVG with its own description for those who cannot see it.
pub fn picture(work: &Work) -> Markup {
    let ids: Vec<&str> = work.undo.iter().map(|line| line.id.as_str()).collect();
    let edges = without_shortcuts(work);
    let levels = levels(&ids, &edges);
    let (middles, width) = place(&ids, &levels, &edges);
    let rows = levels.values().max().map_or(0, |deepest| deepest + 1);
    let height = rows as f64 * DOWN + 2.0 * MARGIN;
    let top = |level: usize| MARGIN + level as f64 * DOWN + (DOWN - BOX_HEIGHT) / 2.0;
    html! {
        svg.steps viewBox=(format!("0 0 {width:.0} {height:.0}")) style=(format!("max-width: {width:.0}px")) role="img" aria-label="The steps, and what must come off before what" {
            defs {
                marker id="tip" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="7" markerHeight="7" orient="auto" {
                    path d="M0 0 L8 4 L0 8 z" {}
                }
            }
            @for (number, &(from, to, soft)) in edges.iter().enumerate() {
                path.wait.soft[soft] d=(line(number, from, to, &levels, &middles, top)) marker-end="url(#tip)" {}
            }
            @for (at, step) in work.undo.iter().enumerate() {
                @let middle = middles[&(levels[step.id.as_str()], Slot::Step(&step.id))];
                @let y = top(levels[step.id.as_str()]);
                rect.box.renew[!step.renews.is_empty()] x=(round(middle - BOX_WIDTH / 2.0)) y=(round(y))
                    width=(BOX_WIDTH) height=(BOX_HEIGHT) rx="6" {}
                @let label = wrapped(&format!("{}. {}", at + 1, plain(&step.name)), 24, 0);
                @let lines: Vec<&str> = label.lines().take(2).collect();
                @for (row, line) in lines.iter().enumerate() {
                    text x=(round(middle))
                        y=(round(y + BOX_HEIGHT / 2.0 + 4.5 + 16.0 * (row as f64 - (lines.len() - 1) as f64 / 2.0))) {
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

/// A line from below one step, through its places in the rows between, to above another.
fn line(
    number: usize,
    from: &str,
    to: &str,
    levels: &BTreeMap<&str, usize>,
    middles: &BTreeMap<(usize, Slot<'_>), f64>,
    top: impl Fn(usize) -> f64,
) -> String {
    let start = (middles[&(levels[from], Slot::Step(from))], top(levels[from]) + BOX_HEIGHT);
    let mut points = vec![start];
    for level in levels[from] + 1..levels[to] {
        let pass = middles[&(level, Slot::Pass(number))];
        points.extend([(pass, top(level)), (pass, top(level) + BOX_HEIGHT)]);
    }
    points.push((middles[&(levels[to], Slot::Step(to))], top(levels[to]) - 2.0));
    let bends = points.windows(2).map(|pair| {
        let ((x, y), (to_x, to_y)) = (pair[0], pair[1]);
        let half = f64::midpoint(y, to_y);
        format!(" C{x:.1} {half:.1} {to_x:.1} {half:.1} {to_x:.1} {to_y:.1}")
    });
    format!("M{:.1} {:.1}{}", start.0, start.1, bends.collect::<String>())
}

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

/// The middle of every place by row, and the width of the whole. A place stands near the middle of what it hangs from.
fn place<'a>(
    ids: &[&'a str],
    levels: &BTreeMap<&'a str, usize>,
    edges: &[Edge<'a>],
) -> (BTreeMap<(usize, Slot<'a>), f64>, f64) {
    let deepest = levels.values().copied().max().unwrap_or(0);
    let mut rows: Vec<Vec<Slot<'a>>> = vec![Vec::new(); deepest + 1];
    for &id in ids {
        rows[levels[id]].push(Slot::Step(id));
    }
    for (number, edge) in edges.iter().enumerate() {
        for row in &mut rows[levels[edge.0] + 1..levels[edge.1]] {
            row.push(Slot::Pass(number));
        }
    }
    let space = |row: &[Slot<'_>]| row.iter().map(|slot| slot.space()).sum::<f64>();
    let width = rows.iter().map(|row| space(row)).fold(0.0, f64::max) + 2.0 * MARGIN;
    let mut middles: BTreeMap<(usize, Slot<'a>), f64> = BTreeMap::new();
    for (level, row) in rows.iter_mut().enumerate() {
        let hangs_from = |slot: Slot<'a>| -> Vec<f64> {
            let of = |number: usize| {
                let from = edges[number].0;
                let above = if levels[from] + 1 == level { Slot::Step(from) } else { Slot::Pass(number) };
                middles.get(&(level.wrapping_sub(1), above)).copied()
            };
            match slot {
                Slot::Pass(number) => of(number).into_iter().collect(),
                Slot::Step(id) => (0..edges.len()).filter(|&n| edges[n].1 == id).filter_map(of).collect(),
            }
        };
        let key = |slot: Slot<'a>| {
            let above = hangs_from(slot);
            if above.is_empty() { width / 2.0 } else { above.iter().sum::<f64>() / above.len() as f64 }
        };
        row.sort_by(|&a, &b| key(a).total_cmp(&key(b)));
        let mut x = (width - space(row)) / 2.0;
        let placed: Vec<((usize, Slot<'a>), f64)> = row
            .iter()
            .map(|&slot| {
                x += slot.space();
                ((level, slot), x - slot.space() / 2.0)
            })
            .collect();
        middles.extend(placed);
    }
    (middles, width)
}
