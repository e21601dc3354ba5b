//! A page as text for a terminal or a file.

use std::fmt::Write;

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::{Block, Page, Table, tame};
use crate::report::{Style, wrapped};

/// Widest line, in columns.
const WIDTH: usize = 92;

/// Widest column of a table that holds words.
const WORDS: usize = 46;

/// A word longer than a line, broken so that it cannot run over.
fn breakable(text: &str, width: usize) -> String {
    let mut broken = String::with_capacity(text.len());
    for word in text.split_whitespace() {
        let mut columns = 0;
        for c in word.chars() {
            columns += c.width().unwrap_or(0);
            if columns > width {
                broken.push(' ');
                columns = c.width().unwrap_or(0);
            }
            broken.push(c);
        }
        broken.push(' ');
    }
    broken.truncate(broken.trim_end().len());
    broken
}

fn lines(text: &str, width: usize, indent: usize) -> String {
    wrapped(&breakable(&tame(text), width.saturating_sub(indent)), width, indent)
}

/// Writes the page.
pub fn render(page: &Page, style: &impl Style) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}", style.heading(&lines(&page.title, WIDTH, 0)));
    for line in page.under.iter().chain(&page.from) {
        let _ = writeln!(out, "{}", style.faint(&lines(line, WIDTH, 0)));
    }
    for line in &page.danger {
        let _ = writeln!(out, "\n{}", style.danger(&lines(line, WIDTH, 0)));
    }
    for section in &page.sections {
        let _ = writeln!(out, "\n{}", style.heading(&lines(&section.heading, WIDTH, 0)));
        for block in &section.blocks {
            write_block(&mut out, block, style);
        }
    }
    for line in &page.closing {
        let _ = writeln!(out, "\n{}", lines(line, WIDTH, 0));
    }
    out
}

fn write_block(out: &mut String, block: &Block, style: &impl Style) {
    let _ = match block {
        Block::Say(text) => writeln!(out, "{}", lines(text, WIDTH, 0)),
        Block::Small(text) => writeln!(out, "{}", style.faint(&lines(text, WIDTH, 0))),
        Block::Head(text) => writeln!(out, "\n{}", style.heading(&lines(text, WIDTH, 0))),
        Block::Items(items) => {
            items.iter().try_for_each(|item| writeln!(out, "  - {}", lines(item, WIDTH, 4)))
        }
        Block::Caution(text) => writeln!(out, "{}", style.danger(&format!("  ! {}", lines(text, WIDTH, 4)))),
        Block::Table(table) => writeln!(out, "{}", table_text(table)),
        Block::Picture(picture) => {
            picture.in_words().iter().try_for_each(|line| writeln!(out, "  {}", lines(line, WIDTH, 4)))
        }
    };
}

fn table_text(table: &Table) -> String {
    let cells: Vec<Vec<Vec<String>>> = table
        .rows
        .iter()
        .map(|row| {
            row.iter().map(|cell| lines(cell, WORDS, 0).lines().map(str::to_owned).collect()).collect()
        })
        .collect();
    let widths: Vec<usize> = (0..table.head.len())
        .map(|column| {
            let head = Table::column(&table.head[column]).0.width();
            let body = cells.iter().filter_map(|row| row.get(column)).flatten().map(|line| line.width());
            body.fold(head, usize::max)
        })
        .collect();
    let line = |row: &[&str]| -> String {
        let padded = row.iter().zip(&widths).zip(&table.head).map(|((cell, &width), head)| {
            let space = " ".repeat(width.saturating_sub(cell.width()));
            if Table::column(head).1 { format!("{space}{cell}") } else { format!("{cell}{space}") }
        });
        format!("  {}", padded.collect::<Vec<_>>().join("  ")).trim_end().to_owned()
    };
    let head: Vec<&str> = table.head.iter().map(|head| Table::column(head).0).collect();
    let mut all = vec![line(&head)];
    for row in &cells {
        let tallest = row.iter().map(Vec::len).max().unwrap_or(0);
        for at in 0..tallest {
            let parts: Vec<&str> = row.iter().map(|cell| cell.get(at).map_or("", String::as_str)).collect();
            all.push(line(&parts));
        }
    }
    all.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_without_end_is_broken() {
        let broken = breakable(&"x".repeat(25), 10);
        assert_eq!(broken, "xxxxxxxxxx xxxxxxxxxx xxxxx");
    }

    #[test]
    fn figures_stand_right_and_long_words_wrap() {
        let table = Table {
            caption: String::new(),
            head: vec!["answer".to_owned(), "#db".to_owned()],
            rows: vec![vec!["wet".to_owned(), "+3.0".to_owned()], vec!["no".to_owned(), "-12.5".to_owned()]],
        };
        assert_eq!(table_text(&table), "  answer     db\n  wet      +3.0\n  no      -12.5");
    }
}
