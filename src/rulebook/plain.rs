//! Text from files made safe for a terminal.

/// The text without control characters: nothing in it can move the cursor, colour the screen or turn the direction of
/// writing. Line ends and tabs become spaces, so that what is meant as one line stays one.
pub fn plain(text: &str) -> String {
    text.chars()
        .filter_map(|c| match c {
            '\n' | '\r' | '\t' | '\u{2028}' | '\u{2029}' => Some(' '),
            c if is_control(c) => None,
            c => Some(c),
        })
        .collect()
}

/// The same, but line ends stay.
pub fn plain_lines(text: &str) -> String {
    text.lines().map(plain).collect::<Vec<_>>().join("\n")
}

/// True for characters that steer a terminal or the direction of writing instead of being read: C0 and C1 controls,
/// delete, the marks that open and close bidirectional runs, and the byte order mark.
pub fn is_control(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::plain;

    #[test]
    fn nothing_that_steers_a_terminal_is_left() {
        assert_eq!(plain("a\u{1b}[31mred\u{7}\u{9b}2J\u{202e}b\nc\td"), "a[31mred2Jb c d");
    }

    #[test]
    fn letters_of_every_script_stay() {
        assert_eq!(plain("Kühlmittel ≥ 88 °C, 冷却水"), "Kühlmittel ≥ 88 °C, 冷却水");
    }
}
