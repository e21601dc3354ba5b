//! The graph as a picture that any browser shows: causes on the left, stronger links thicker and darker.

use std::fmt::Write;

use maud::{Markup, html};
use unicode_width::UnicodeWidthStr;

use super::layout::{Layout, lay_out};
use super::{View, colours, noun};
use crate::graph::NodeKind;
use crate::inference::NodeId;

const WIDE: f64 = 190.0;
const TALL: f64 = 46.0;
const GAP: f64 = 10.0;
/// Room between two layers, for the links.
const BETWEEN: f64 = 110.0;
const MARGIN: f64 = 24.0;
/// Room for title and legend.
const HEAD: f64 = 64.0;
/// Columns of text in a box.
const COLUMNS: usize = 29;
/// Weights are written on the links while there are no more links than this.
const WRITTEN: usize = 90;

/// The picture.
pub fn svg(view: &View) -> String {
    let place = |node: NodeId| view.nodes.binary_search(&node).unwrap_or_default();
    let links = view.links();
    let ends: Vec<(usize, usize)> =
        links.iter().map(|&(cause, effect, _)| (place(cause), place(effect))).collect();
    let layout = lay_out(view.nodes.len(), &ends, TALL, GAP);
    let width = (2.0 * MARGIN + layout.layers as f64 * (WIDE + BETWEEN) - BETWEEN).max(720.0);
    let height = HEAD + layout.height + 2.0 * MARGIN;
    let drawn = html! {
        svg xmlns="http://www.w3.org/2000/svg" width=(round(width)) height=(round(height))
            viewBox=(format!("0 0 {} {}", round(width), round(height))) font-family="sans-serif" role="img" {
            title { (view.title) }
            rect width="100%" height="100%" fill="#ffffff" {}
            text x=(MARGIN) y="28" font-size="18" font-weight="bold" fill="#111111" { (view.title) }
            (legend(view))
            g fill="none" stroke="#555555" {
                @for (at, &(cause, effect, weight)) in links.iter().enumerate() {
                    path d=(way(&layout, ends[at], &layout.passes[at])) stroke-width=(round(0.5 + 2.5 * weight))
                        stroke-opacity=(round(0.25 + 0.6 * weight)) {
                        title { (view.name(cause)) " → " (view.name(effect)) ": " (view.weight(cause, effect, weight)) }
                    }
                }
            }
            @for (at, &node) in view.nodes.iter().enumerate() { (boxed(view, &layout, at, node)) }
            @if links.len() <= WRITTEN {
                g font-size="10" fill="#222222" stroke="#ffffff" stroke-width="3" paint-order="stroke" text-anchor="end" {
                    @for (at, &(_, _, weight)) in links.iter().enumerate() {
                        text x=(round(left(&layout, ends[at].1) - 8.0))
                            y=(round(arrival(&layout, ends[at], &layout.passes[at]) + 3.0)) { (weight) }
                    }
                }
            }
        }
    };
    format!("{}\n", drawn.into_string())
}

/// Pixels to a tenth.
fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn left(layout: &Layout, at: usize) -> f64 {
    MARGIN + layout.layer[at] as f64 * (WIDE + BETWEEN)
}

fn middle(layout: &Layout, at: usize) -> f64 {
    HEAD + MARGIN + layout.middle[at]
}

/// The height at which a link's number stands: a little before its end, on the last stretch.
fn arrival(layout: &Layout, (from, to): (usize, usize), passes: &[f64]) -> f64 {
    let last = passes.last().map_or(middle(layout, from), |height| HEAD + MARGIN + height);
    // An S-curve is this far from its end where the number stands.
    0.12 * last + 0.88 * middle(layout, to)
}

/// The curve of one link, through every layer it passes.
fn way(layout: &Layout, (from, to): (usize, usize), passes: &[f64]) -> String {
    let mut x = left(layout, from) + WIDE;
    let mut y = middle(layout, from);
    let mut path = format!("M{} {}", round(x), round(y));
    let mut curve = |x: &mut f64, y: &mut f64, next: (f64, f64)| {
        let half = f64::midpoint(*x, next.0);
        let _ = write!(
            path,
            "C{} {} {} {} {} {}",
            round(half),
            round(*y),
            round(half),
            round(next.1),
            round(next.0),
            round(next.1)
        );
        (*x, *y) = next;
    };
    for (step, height) in passes.iter().enumerate() {
        let start = MARGIN + (layout.layer[from] + 1 + step) as f64 * (WIDE + BETWEEN);
        let height = HEAD + MARGIN + height;
        curve(&mut x, &mut y, (start, height));
        curve(&mut x, &mut y, (start + WIDE, height));
    }
    let end = (left(layout, to), middle(layout, to));
    curve(&mut x, &mut y, end);
    path
}

fn boxed(view: &View, layout: &Layout, at: usize, node: NodeId) -> Markup {
    let own = view.graph.get(node);
    let (fill, line) = colours(own.kind);
    let (x, y) = (left(layout, at), middle(layout, at) - TALL / 2.0);
    let round_corner = match own.kind {
        NodeKind::State => 22.0,
        NodeKind::Failure | NodeKind::Part => 6.0,
        _ => 0.0,
    };
    let lines = fitted(&view.name(node));
    html! {
        g {
            title { (view.name(node)) " (" (own.key) "), " (noun(own.kind)) ", by itself " (own.background) }
            rect x=(round(x)) y=(round(y)) width=(WIDE) height=(TALL) rx=(round_corner) fill=(fill) stroke=(line)
                stroke-width=(if view.centre == Some(node) { 3 } else { 1 }) {}
            @for (row, text) in lines.iter().enumerate() {
                text x=(round(x + 8.0)) y=(round(y + 14.0 + 12.0 * row as f64)) font-size="11" fill="#111111" { (text) }
            }
            text x=(round(x + 8.0)) y=(round(y + 40.0)) font-size="9" fill=(line) { (noun(own.kind)) }
        }
    }
}

/// A name on at most two lines; the whole of it stands in the box's title.
fn fitted(name: &str) -> Vec<String> {
    let mut lines: Vec<String> = vec![String::new()];
    for word in name.split_whitespace() {
        let full =
            lines.last().is_some_and(|line| !line.is_empty() && line.width() + 1 + word.width() > COLUMNS);
        if full && lines.len() == 2 {
            if let Some(line) = lines.last_mut() {
                line.push('…');
            }
            break;
        }
        if full {
            lines.push(word.to_owned());
        } else if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}

fn legend(view: &View) -> Markup {
    let kinds = [
        NodeKind::History,
        NodeKind::Part,
        NodeKind::Failure,
        NodeKind::State,
        NodeKind::Symptom,
        NodeKind::Outcome,
    ];
    let shown: Vec<NodeKind> = kinds
        .into_iter()
        .filter(|&kind| view.nodes.iter().any(|&node| view.graph.get(node).kind == kind))
        .collect();
    html! {
        g font-size="11" fill="#111111" {
            @for (at, &kind) in shown.iter().enumerate() {
                @let x = MARGIN + 90.0 * at as f64;
                rect x=(x) y="42" width="14" height="12" fill=(colours(kind).0) stroke=(colours(kind).1) {}
                text x=(x + 20.0) y="52" { (noun(kind)) }
            }
            text x=(MARGIN + 90.0 * shown.len() as f64) y="52" { "thicker: more often" }
        }
    }
}
