//! Lines of a screen, broken to a width before they are marked, so that marks never count as columns.

use unicode_width::UnicodeWidthStr;

use super::WIDEST;
use crate::report::style::{Style, plain, wrapped};

/// Builds the lines of one screen.
pub struct Lines<'s, S: Style> {
    /// Columns there are for text.
    pub width: usize,
    /// How words are marked.
    pub style: &'s S,
    lines: Vec<String>,
}

impl<'s, S: Style> Lines<'s, S> {
    /// Lines for a terminal of `width` columns.
    pub fn new(width: usize, style: &'s S) -> Self {
        // The last column stays free: some terminals break the line when it is written.
        Self { width: width.saturating_sub(1).clamp(20, WIDEST), style, lines: Vec::new() }
    }

    /// One line as it is.
    pub fn push(&mut self, line: impl Into<String>) {
        self.lines.push(line.into());
    }

    /// An empty line; never two of them.
    pub fn blank(&mut self) {
        if self.lines.last().is_some_and(|line| !line.is_empty()) {
            self.lines.push(String::new());
        }
    }

    /// Text broken to the width, each line marked by `mark`.
    pub fn text(&mut self, text: &str, mark: fn(&S, &str) -> String) {
        self.hanging("", text, mark);
    }

    /// Text without a mark.
    pub fn say(&mut self, text: &str) {
        self.text(text, |_, line| line.to_owned());
    }

    /// Text behind a sign; the lines after the first stand under the text.
    pub fn marked(&mut self, sign: &str, text: &str, mark: fn(&S, &str) -> String) {
        self.hanging(&format!("{sign} "), text, mark);
    }

    /// Text behind a lead; the lines after the first are indented by its width.
    pub fn hanging(&mut self, lead: &str, text: &str, mark: fn(&S, &str) -> String) {
        let indent = lead.width();
        let body = wrapped(&plain(text), self.width, indent);
        for (number, line) in body.lines().enumerate() {
            let line = if number == 0 { format!("{lead}{line}") } else { line.to_owned() };
            self.lines.push((mark)(self.style, &line));
        }
    }

    /// A text at each end of one line; the right one goes if there is no room.
    pub fn ends(&mut self, left: &str, right: &str) {
        let left = cut(left, self.width);
        let room = self.width.saturating_sub(left.width());
        let line = if !right.is_empty() && right.width() + 2 <= room {
            let gap = " ".repeat(room - right.width());
            format!("{}{gap}{}", self.style.heading(&left), self.style.faint(right))
        } else {
            self.style.heading(&left)
        };
        self.lines.push(line);
    }

    /// A line across.
    pub fn rule(&mut self) {
        let rule = "─".repeat(self.width);
        self.lines.push(self.style.faint(&rule));
    }

    /// The lines.
    pub fn finish(mut self) -> Vec<String> {
        while self.lines.last().is_some_and(String::is_empty) {
            self.lines.pop();
        }
        self.lines
    }
}

/// Text cut to `width` columns, with a sign that it was cut.
pub fn cut(text: &str, width: usize) -> String {
    if text.width() <= width {
        return text.to_owned();
    }
    let mut kept = String::new();
    for c in text.chars() {
        if kept.width() + 2 > width {
            break;
        }
        kept.push(c);
    }
    format!("{}…", kept.trim_end())
}
