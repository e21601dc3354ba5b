//! How hard a text is to read: the Flesch-Kincaid grade.
//!
//! `0.39 words/sentences + 11.8 syllables/words - 15.59` (Kincaid, Fishburne, Rogers & Chissom 1975, Naval Technical
//! Training Command Research Branch Report 8-75): the school grade, in years, at which the text can be read.
//! Syllables are counted by the letters: runs of vowels, a silent `e` at the end left out. On English texts that
//! is within a few hundredths of a count by dictionary for each word on average (judgement, tried on the
//! book's own texts).

/// Highest grade a text for customers may have.
pub const MOST_FOR_CUSTOMERS: f64 = 8.0;

/// Words, sentences and syllables of a text.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Words: runs of letters, digits, apostrophes and hyphens with at least one letter or digit.
    pub words: usize,
    /// Sentences: ends marked by `.`, `!`, `?`, `:` or `;` or by the end of a paragraph.
    pub sentences: usize,
    /// Syllables.
    pub syllables: usize,
}

/// The Flesch-Kincaid grade of a text; 0 for a text without words. Short simple texts can be below 0.
pub fn grade(text: &str) -> f64 {
    let Counts { words, sentences, syllables } = counts(text);
    if words == 0 {
        return 0.0;
    }
    let (words, sentences, syllables) = (words as f64, sentences as f64, syllables as f64);
    0.39 * words / sentences + 11.8 * syllables / words - 15.59
}

/// Counts words, sentences and syllables. A blank line ends a sentence too.
pub fn counts(text: &str) -> Counts {
    let mut total = Counts::default();
    for paragraph in text.split("\n\n") {
        let mut open = false;
        for token in paragraph.split_whitespace() {
            let word: String = token.chars().filter(|c| c.is_alphanumeric()).collect();
            if !word.is_empty() {
                total.words += 1;
                total.syllables += syllables(&word);
                open = true;
            }
            let ends = token.trim_end_matches(['"', '\'', ')', '”', '’']);
            if open && ends.ends_with(['.', '!', '?', ':', ';']) {
                total.sentences += 1;
                open = false;
            }
        }
        total.sentences += usize::from(open);
    }
    total
}

/// Syllables of one word, by its letters; a number or an abbreviation counts as one.
fn syllables(word: &str) -> usize {
    let word = word.to_lowercase();
    let is_vowel = |c: char| matches!(c, 'a' | 'e' | 'i' | 'o' | 'u' | 'y' | 'ä' | 'ö' | 'ü' | 'é');
    let letters: Vec<char> = word.chars().collect();
    let mut runs = 0;
    let mut before = false;
    for &letter in &letters {
        runs += usize::from(is_vowel(letter) && !before);
        before = is_vowel(letter);
    }
    let ends = |end: &str| word.ends_with(end);
    let before_last = |at: usize| letters.len() > at && is_vowel(letters[letters.len() - 1 - at]);
    // "made", "pumped", "leaves" have a silent e; "table", "added", "hoses" do not.
    let silent_e = ends("e") && !ends("le") && !before_last(1);
    let silent_le = ends("le") && before_last(2);
    let silent_ed = ends("ed") && !ends("ted") && !ends("ded") && !before_last(2);
    let hissing = ["ses", "zes", "ces", "ges", "shes", "ches", "xes"].iter().any(|end| ends(end));
    let silent_es = ends("es") && !hissing && !before_last(2) && !ends("les");
    let silent = usize::from(silent_e || silent_le || silent_ed || silent_es);
    runs.saturating_sub(silent).max(1)
}

#[cfg(test)]
mod tests {
    use super::{Counts, counts, grade, syllables};

    #[test]
    fn syllables_of_common_words() {
        for (word, expected) in [
            ("pump", 1),
            ("coolant", 2),
            ("engine", 2),
            ("radiator", 3),
            ("made", 1),
            ("pumped", 1),
            ("added", 2),
            ("table", 2),
            ("hoses", 2),
            ("leaves", 1),
            ("the", 1),
            ("temperature", 4),
            ("whole", 1),
            ("90", 1),
            ("gauge", 1),
            ("pressure", 2),
            ("bearing", 2),
            ("leaking", 2),
        ] {
            assert_eq!(syllables(word), expected, "{word}");
        }
    }

    /// Counted by hand: 13 words, 2 sentences, 15 syllables ("seven", "before").
    #[test]
    fn the_grade_follows_the_published_formula() {
        let text = "The pump lets seven drops out. Do not drive it before we look.";
        assert_eq!(counts(text), Counts { words: 13, sentences: 2, syllables: 15 });
        let expected = 0.39 * 13.0 / 2.0 + 11.8 * 15.0 / 13.0 - 15.59;
        assert!((grade(text) - expected).abs() < 1e-12);
        assert!(grade("") == 0.0);
    }

    #[test]
    fn long_words_in_long_sentences_are_harder() {
        let hard = "Consequently, considerable deterioration of the circulating installation necessitates comprehensive \
                    investigation before recommissioning can responsibly be contemplated";
        assert!(grade(hard) > 16.0);
    }
}
