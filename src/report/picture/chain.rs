//! A chain of causes and effects.

use maud::{Markup, html};

use super::rows;
use crate::report::per_cent;

/// What one link of a chain stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LinkKind {
    /// Something in the vehicle's past.
    Past,
    /// A part that failed.
    Failed,
    /// What the system does.
    State,
    /// What was seen.
    Seen,
}

impl LinkKind {
    fn word(self) -> &'static str {
        match self {
            Self::Past => "before",
            Self::Failed => "failed",
            Self::State => "so",
            Self::Seen => "seen",
        }
    }

    fn class(self) -> &'static str {
        match self {
            Self::Past => "past",
            Self::Failed => "failed",
            Self::State => "state",
            Self::Seen => "seen",
        }
    }
}

/// One link.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// What it is.
    pub kind: LinkKind,
    /// What it is called.
    pub name: String,
    /// Chance that it is there.
    pub chance: f64,
    /// How likely the link before brought it on, if it is there; none for the first.
    pub share: Option<f64>,
}

/// A chain, causes first.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Chain {
    /// The links.
    pub links: Vec<Link>,
    /// Whether the shares are printed at the arrows.
    pub figures: bool,
}

const WIDE: f64 = 360.0;
const BOX: f64 = 46.0;
const GAP: f64 = 26.0;

impl Chain {
    /// The chain in one line.
    pub fn in_words(&self) -> Vec<String> {
        let names: Vec<String> = self
            .links
            .iter()
            .map(|link| match link.share.filter(|_| self.figures) {
                Some(share) => format!("({}) {}", per_cent(share), link.name),
                None => link.name.clone(),
            })
            .collect();
        vec![names.join(" → ")]
    }

    /// Boxes from top to bottom with arrows between them.
    pub fn draw(&self, id: &str) -> Markup {
        let tall = self.links.len() as f64 * (BOX + GAP) - GAP + 4.0;
        let (title, desc, head) = (format!("{id}-title"), format!("{id}-desc"), format!("{id}-head"));
        html! {
            svg.chain role="img" viewBox=(format!("0 0 {WIDE} {tall}")) aria-labelledby=(format!("{title} {desc}")) {
                title id=(title) { "How one thing led to the next" }
                desc id=(desc) { (crate::report::plain(&self.in_words().join(" "))) }
                defs {
                    marker id=(head) viewBox="0 0 10 10" refX="9" refY="5" markerWidth="7" markerHeight="7" orient="auto" {
                        path.head d="M0 0 L10 5 L0 10 z" {}
                    }
                }
                @for (at, link) in self.links.iter().enumerate() {
                    @let top = 2.0 + at as f64 * (BOX + GAP);
                    @let lines = rows(&link.name, 35, 2);
                    @if at > 0 {
                        line.arrow x1="110" x2="110" y1=(top - GAP + 2.0) y2=(top - 3.0) marker-end=(format!("url(#{head})")) {}
                        @if let Some(share) = link.share.filter(|_| self.figures) {
                            text.share x="122" y=(top - 8.0) { "brought on, " (per_cent(share)) }
                        }
                    }
                    rect class=(format!("link {}", link.kind.class())) x="2" y=(top) width=(WIDE - 4.0) height=(BOX) rx="8" {}
                    text.kind x="14" y=(top + BOX / 2.0 + 5.0) { (link.kind.word()) }
                    @for (row, line) in lines.iter().enumerate() {
                        @let middle = top + BOX / 2.0 + 5.0;
                        @let y = if lines.len() == 1 { middle } else { middle - 9.0 + 18.0 * row as f64 };
                        text.name x="72" y=(y) { (line) }
                    }
                }
            }
        }
    }
}
