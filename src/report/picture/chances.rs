//! One suspect's chance before the first answer and after each.

use maud::{Markup, html};

use super::shortened;
use crate::report::{bar, per_cent};

/// A suspect's chance, answer by answer.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Chances {
    /// What the suspect is called.
    pub name: String,
    /// Its chance before the first answer.
    pub start: f64,
    /// Each answer in words, with the chance after it.
    pub after: Vec<(String, f64)>,
}

const WIDE: f64 = 480.0;
const TALL: f64 = 96.0;
const LEFT: f64 = 52.0;
const TOP: f64 = 14.0;

impl Chances {
    /// The bars in words.
    pub fn in_words(&self) -> Vec<String> {
        let first = format!("{}: {} {} at first", self.name, bar(self.start, 12), per_cent(self.start));
        let rest = self.after.iter().enumerate().map(|(at, (answer, chance))| {
            format!("{} {} after {}: {answer}", bar(*chance, 12), per_cent(*chance), at + 1)
        });
        std::iter::once(first).chain(rest).collect()
    }

    /// Bars side by side: the first is the start, then one after each answer, its number below it.
    pub fn draw(&self, id: &str) -> Markup {
        let count = self.after.len() + 1;
        let step = (WIDE - LEFT) / count as f64;
        let height = |chance: f64| chance.clamp(0.0, 1.0) * TALL;
        let end = self.after.last().map_or(self.start, |&(_, chance)| chance);
        let all: Vec<f64> =
            std::iter::once(self.start).chain(self.after.iter().map(|&(_, chance)| chance)).collect();
        let (title, desc) = (format!("{id}-title"), format!("{id}-desc"));
        html! {
            svg.chances role="img" viewBox=(format!("0 0 {WIDE} {}", TOP + TALL + 24.0))
                aria-labelledby=(format!("{title} {desc}")) {
                title id=(title) {
                    (shortened(&self.name, 60)) ": " (per_cent(self.start)) " at first, " (per_cent(end)) " now"
                }
                desc id=(desc) {
                    "Chance at first and after each answer: "
                    (all.iter().map(|&chance| per_cent(chance)).collect::<Vec<_>>().join(", ")) "."
                }
                @for (mark, label) in [(0.0, "0 %"), (0.5, "50 %"), (1.0, "100 %")] {
                    line.grid x1=(LEFT) x2=(WIDE) y1=(TOP + TALL - height(mark)) y2=(TOP + TALL - height(mark)) {}
                    text.scale x=(LEFT - 6.0) y=(TOP + TALL - height(mark) + 4.0) text-anchor="end" { (label) }
                }
                @for (at, &chance) in all.iter().enumerate() {
                    @let x = LEFT + step * at as f64 + step * 0.18;
                    @let before = if at == 0 { chance } else { all[at - 1] };
                    @let wide = (step * 0.64).min(40.0);
                    rect.now x=(format!("{x:.1}")) width=(format!("{wide:.1}"))
                        y=(format!("{:.1}", TOP + TALL - height(chance)))
                        height=(format!("{:.1}", height(chance).max(1.0))) {}
                    @if at > 0 {
                        line.before x1=(format!("{:.1}", x - 3.0)) x2=(format!("{:.1}", x + wide + 3.0))
                            y1=(format!("{:.1}", TOP + TALL - height(before)))
                            y2=(format!("{:.1}", TOP + TALL - height(before))) {}
                    }
                    text.scale x=(format!("{:.1}", x + wide / 2.0)) y=(TOP + TALL + 17.0) text-anchor="middle" {
                        @if at == 0 { "start" } @else { (at) }
                    }
                }
            }
        }
    }
}
