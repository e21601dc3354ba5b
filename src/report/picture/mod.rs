//! Pictures, drawn from data as SVG that stands inside a page, and the same told in words.

pub mod chain;
pub mod chances;
pub mod circuit;

use maud::Markup;

pub use chain::{Chain, Link, LinkKind};
pub use chances::Chances;
pub use circuit::{Circuit, Mark};

/// One picture.
#[derive(Debug, Clone)]
pub enum Picture {
    /// The cooling circuit with the suspects marked.
    Circuit(Circuit),
    /// A suspect's chance before and after each answer.
    Chances(Chances),
    /// A chain of causes and effects.
    Chain(Chain),
}

impl Picture {
    /// What the picture shows, line by line: for text pages and for those who cannot see it.
    pub fn in_words(&self) -> Vec<String> {
        match self {
            Self::Circuit(circuit) => circuit.in_words(),
            Self::Chances(chances) => chances.in_words(),
            Self::Chain(chain) => chain.in_words(),
        }
    }

    /// The drawing. `id` is unique on the page and a plain word.
    pub fn draw(&self, id: &str) -> Markup {
        match self {
            Self::Circuit(circuit) => circuit.draw(id),
            Self::Chances(chances) => chances.draw(id),
            Self::Chain(chain) => chain.draw(id),
        }
    }
}

/// A label of at most `most` characters.
fn shortened(text: &str, most: usize) -> String {
    let text = super::plain(text);
    match text.char_indices().nth(most) {
        Some(_) => {
            let kept: String = text.chars().take(most.saturating_sub(1)).collect();
            format!("{}…", kept.trim_end())
        }
        None => text,
    }
}

/// A label broken into at most `rows` lines of `most` characters.
fn rows(text: &str, most: usize, rows: usize) -> Vec<String> {
    let text = super::plain(text);
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(shortened(word, most)),
        }
    }
    if lines.len() > rows {
        lines.truncate(rows);
        if let Some(last) = lines.last_mut() {
            let kept: String = last.chars().take(most.saturating_sub(1)).collect();
            *last = format!("{}…", kept.trim_end_matches(['…', ' ']));
        }
    }
    lines
}
