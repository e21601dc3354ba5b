//! A page as one HTML file that needs nothing else: no scripts, no outside loads.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::{Block, Page, Section, Table};
use crate::report::picture::Picture;

const STYLE: &str = include_str!("page.css");

/// Nothing may be loaded or run, whatever a file smuggled in.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

/// Text made harmless, its figures kept on one line with their per cent sign.
fn tame(text: &str) -> String {
    super::tame(text).replace(" %", "\u{a0}%")
}

/// Writes the page.
pub fn render(page: &Page) -> String {
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (tame(&page.title)) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    @if !page.from.is_empty() {
                        p.from { @for line in &page.from { span { (tame(line)) } } }
                    }
                    h1 { (tame(&page.title)) }
                    @for line in &page.under { p.under { (tame(line)) } }
                }
                main {
                    @if !page.danger.is_empty() {
                        section.danger aria-label="Warning" {
                            @for line in &page.danger { p { (tame(line)) } }
                        }
                    }
                    @for (at, section) in page.sections.iter().enumerate() { (section_html(at, section)) }
                }
                footer { @for line in &page.closing { p { (tame(line)) } } }
            }
        }
    };
    let mut text = markup.into_string();
    text.push('\n');
    text
}

fn section_html(at: usize, section: &Section) -> Markup {
    let id = format!("part-{at}");
    html! {
        section aria-labelledby=(id) {
            h2 id=(id) { (tame(&section.heading)) }
            @for (block_at, block) in section.blocks.iter().enumerate() {
                (block_html(block, &format!("picture-{at}-{block_at}")))
            }
        }
    }
}

fn block_html(block: &Block, id: &str) -> Markup {
    html! {
        @match block {
            Block::Say(text) => p { (tame(text)) },
            Block::Small(text) => p.small { (tame(text)) },
            Block::Head(text) => h3 { (tame(text)) },
            Block::Items(items) => ul { @for item in items { li { (tame(item)) } } },
            Block::Caution(text) => p.caution { strong { "Caution: " } (tame(text)) },
            Block::Table(table) => (table_html(table)),
            Block::Picture(picture) => {
                figure class=(figure_class(picture)) { (picture.draw(id)) (caption(picture)) }
            },
        }
    }
}

fn figure_class(picture: &Picture) -> &'static str {
    match picture {
        Picture::Circuit(_) => "of-circuit",
        Picture::Chances(_) => "of-chances",
        Picture::Chain(_) => "of-chain",
    }
}

fn caption(picture: &Picture) -> Markup {
    html! {
        @match picture {
            Picture::Circuit(_) => { figcaption { "A sketch of the circuit, not to scale. The darker the mark, the likelier the part." } },
            Picture::Chances(chances) => {
                figcaption {
                    (tame(&chances.name)) ": the chance at first and after each answer. The line across a bar is where it stood before."
                }
            },
            Picture::Chain(_) => {},
        }
    }
}

fn table_html(table: &Table) -> Markup {
    let heads: Vec<(&str, bool)> = table.head.iter().map(|head| Table::column(head)).collect();
    html! {
        table {
            @if !table.caption.is_empty() { caption { (tame(&table.caption)) } }
            thead { tr { @for (head, figures) in &heads { th.figures[*figures] scope="col" { (head) } } } }
            tbody {
                @for row in &table.rows {
                    tr {
                        @for (cell, (head, figures)) in row.iter().zip(&heads) {
                            td.figures[*figures] data-head=(head) { (tame(cell)) }
                        }
                    }
                }
            }
        }
    }
}
