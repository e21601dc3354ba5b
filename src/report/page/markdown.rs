//! A page as Markdown.

use std::fmt::Write;

use super::{Block, Page, Table, tame};

/// Text that means nothing to Markdown: marks are escaped, so that what is read is what was written.
pub fn escaped(text: &str) -> String {
    let text = tame(text);
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' | '`' | '*' | '_' | '[' | ']' | '|' | '#' | '~' | '$' => {
                out.push('\\');
                out.push(c);
            }
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            _ => out.push(c),
        }
    }
    let marks_a_list = out.starts_with(['-', '+', '=']) || {
        let digits = out.chars().take_while(char::is_ascii_digit).count();
        digits > 0 && matches!(out[digits..].chars().next(), Some('.' | ')'))
    };
    if marks_a_list {
        let digits = out.chars().take_while(char::is_ascii_digit).count();
        out.insert(digits, '\\');
    }
    out
}

/// Writes the page.
pub fn render(page: &Page) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "# {}", escaped(&page.title));
    for line in page.under.iter().chain(&page.from) {
        let _ = writeln!(out, "\n{}", escaped(line));
    }
    for line in &page.danger {
        let _ = writeln!(out, "\n> **{}**", escaped(line));
    }
    for section in &page.sections {
        let _ = writeln!(out, "\n## {}", escaped(&section.heading));
        for block in &section.blocks {
            let _ = writeln!(out, "\n{}", block_markdown(block));
        }
    }
    let _ = writeln!(out, "\n---");
    for line in &page.closing {
        let _ = writeln!(out, "\n{}", escaped(line));
    }
    out
}

fn block_markdown(block: &Block) -> String {
    let list = |items: &[String]| {
        items.iter().map(|item| format!("- {}", escaped(item))).collect::<Vec<_>>().join("\n")
    };
    match block {
        Block::Say(text) => escaped(text),
        Block::Small(text) => format!("*{}*", escaped(text).replace('*', "\\*")),
        Block::Head(text) => format!("### {}", escaped(text)),
        Block::Items(items) => list(items),
        Block::Caution(text) => format!("> **Caution:** {}", escaped(text)),
        Block::Table(table) => table_markdown(table),
        Block::Picture(picture) => list(&picture.in_words()),
    }
}

fn table_markdown(table: &Table) -> String {
    let row = |cells: &[String]| format!("| {} |", cells.join(" | "));
    let heads: Vec<(&str, bool)> = table.head.iter().map(|head| Table::column(head)).collect();
    let mut lines = vec![
        row(&heads.iter().map(|(head, _)| escaped(head)).collect::<Vec<_>>()),
        row(&heads
            .iter()
            .map(|&(_, figures)| if figures { "---:" } else { "---" }.to_owned())
            .collect::<Vec<_>>()),
    ];
    lines.extend(table.rows.iter().map(|cells| row(&cells.iter().map(|c| escaped(c)).collect::<Vec<_>>())));
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::escaped;

    #[test]
    fn nothing_written_in_a_file_becomes_markup() {
        assert_eq!(escaped("<script>*x*</script>"), "&lt;script&gt;\\*x\\*&lt;/script&gt;");
        assert_eq!(escaped("# a | b"), "\\# a \\| b");
        assert_eq!(escaped("1. no list"), "1\\. no list");
        assert_eq!(escaped("- no list"), "\\- no list");
        assert_eq!(escaped("[x](javascript:y)"), "\\[x\\](javascript:y)");
    }
}
