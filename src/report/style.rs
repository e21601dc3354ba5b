//! Small pieces every text page is made of.

use unicode_width::UnicodeWidthStr;

pub use crate::rulebook::plain::plain;

/// How words are marked for the eye. The terminal's colours are one implementation; [`Plain`] is another.
pub trait Style {
    /// A heading.
    fn heading(&self, text: &str) -> String;
    /// A caution or a "do not drive".
    fn danger(&self, text: &str) -> String;
    /// Something to take notice of.
    fn notice(&self, text: &str) -> String;
    /// Something of second importance.
    fn faint(&self, text: &str) -> String;
}

/// No marks at all.
#[derive(Debug, Clone, Copy, Default)]
pub struct Plain;

impl Style for Plain {
    fn heading(&self, text: &str) -> String {
        text.to_owned()
    }

    fn danger(&self, text: &str) -> String {
        text.to_owned()
    }

    fn notice(&self, text: &str) -> String {
        text.to_owned()
    }

    fn faint(&self, text: &str) -> String {
        text.to_owned()
    }
}

/// A chance as a per cent figure that never claims certainty: `87 %`, `0.4 %`, `over 99.9 %`.
pub fn per_cent(chance: f64) -> String {
    let percent = chance * 100.0;
    if percent > 99.95 && chance < 1.0 {
        "over 99.9 %".to_owned()
    } else if percent >= 99.0 && chance < 1.0 {
        format!("{percent:.1} %")
    } else if percent >= 0.95 || chance == 0.0 {
        format!("{percent:.0} %")
    } else if percent >= 0.05 {
        format!("{percent:.1} %")
    } else {
        "under 0.1 %".to_owned()
    }
}

/// A bar of `width` cells that reads without colour.
pub fn bar(chance: f64, width: usize) -> String {
    // At most `width` cells, so the cast is safe; a chance that is not nothing shows at least a trace.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let full = ((chance * width as f64).round() as usize).min(width);
    format!("{}{}", "█".repeat(full), "·".repeat(width - full))
}

/// Text broken into lines of at most `width` columns, each but the first after `indent` spaces. A word longer
/// than a line stands on its own.
///
/// # Panics
/// Never: there is always a last line.
pub fn wrapped(text: &str, width: usize, indent: usize) -> String {
    let mut lines: Vec<String> = vec![String::new()];
    for word in text.split_whitespace() {
        let line = lines.last_mut().expect("there is always a line");
        if !line.is_empty() && line.width() + 1 + word.width() > width.saturating_sub(indent) {
            lines.push(word.to_owned());
        } else {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines.join(&format!("\n{}", " ".repeat(indent)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_from_files_cannot_move_the_cursor() {
        assert_eq!(plain("a\u{1b}[2Jb\u{7}c\u{202e}d\ne"), "a[2Jbcd e");
    }

    #[test]
    fn a_chance_below_one_is_never_called_certain() {
        assert_eq!(per_cent(0.999_99), "over 99.9 %");
        assert_eq!(per_cent(0.994), "99.4 %");
        assert_eq!(per_cent(0.871), "87 %");
        assert_eq!(per_cent(0.004), "0.4 %");
        assert_eq!(per_cent(0.000_1), "under 0.1 %");
        assert_eq!(per_cent(0.0), "0 %");
    }

    #[test]
    fn lines_are_broken_between_words() {
        assert_eq!(wrapped("one two three", 9, 2), "one two\n  three");
    }
}
