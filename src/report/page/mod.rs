//! A page of a report as a value, and its renderings: [`text`], [`markdown`], [`html`].
//!
//! Whoever fills a page need not think about escaping: every string in it may come from a file. Each rendering
//! makes it harmless in its own way.

pub mod html;
pub mod markdown;
pub mod text;

use super::picture::Picture;

/// How every report ends.
pub const DEFERRAL: &str = "The maker's figures, local rules and the judgement of a licensed mechanic on the spot \
                            come before anything said here.";

/// One page of a report.
#[derive(Debug, Clone, Default)]
pub struct Page {
    /// Its title.
    pub title: String,
    /// Lines under the title: the vehicle, the day.
    pub under: Vec<String>,
    /// Who it comes from: name and contact of the shop.
    pub from: Vec<String>,
    /// "Do not drive", with the reasons; comes before everything else.
    pub danger: Vec<String>,
    /// The sections, in order.
    pub sections: Vec<Section>,
    /// Closing lines.
    pub closing: Vec<String>,
}

/// A part of a page under its own heading.
#[derive(Debug, Clone, Default)]
pub struct Section {
    /// The heading.
    pub heading: String,
    /// What stands under it.
    pub blocks: Vec<Block>,
}

impl Section {
    /// A section with its blocks.
    pub fn new(heading: &str, blocks: Vec<Block>) -> Self {
        Self { heading: heading.to_owned(), blocks }
    }
}

/// One piece of a section.
#[derive(Debug, Clone)]
pub enum Block {
    /// A paragraph.
    Say(String),
    /// Something of second importance.
    Small(String),
    /// A heading within the section.
    Head(String),
    /// A list.
    Items(Vec<String>),
    /// A caution; it stands before what it warns of.
    Caution(String),
    /// A table.
    Table(Table),
    /// A picture, drawn from data.
    Picture(Picture),
}

/// A table. All rows are as long as the head.
#[derive(Debug, Clone, Default)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Heads of the columns; a column whose head starts with `#` holds figures (the `#` is not printed).
    pub head: Vec<String>,
    /// The rows.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// Head of a column as printed, and whether it holds figures.
    pub fn column(head: &str) -> (&str, bool) {
        head.strip_prefix('#').map_or((head, false), |head| (head, true))
    }
}

/// Longest text from a file that is printed whole.
const LONGEST: usize = 700;

/// Text from a file made harmless and cut where it is longer than anyone wrote by hand.
pub fn tame(text: &str) -> String {
    let plain = super::plain(text);
    match plain.char_indices().nth(LONGEST) {
        Some((at, _)) => format!("{}…", &plain[..at]),
        None => plain,
    }
}
