//! Questions that come up more than once in the dialogue.

use super::super::alike::finding_name;
use super::super::asker::{Asker, Stopped};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::{Band, BookFile, Entries, WeightSpec};

/// Longest id made from a name.
const LONGEST_ID: usize = 48;

/// The book and the one who answers.
pub(super) struct Questions<'a> {
    pub book: &'a RuleBook,
    pub asker: &'a mut dyn Asker,
}

impl Questions<'_> {
    /// Every symptom and outcome but those left out, by key and name.
    pub fn findings(&self, left_out: &dyn Fn(&str) -> bool) -> Vec<(String, String)> {
        let symptoms = self.book.symptoms.keys().cloned();
        let outcomes = self.book.checks.iter().flat_map(|(check, entry)| {
            entry.outcomes.keys().map(move |outcome| format!("{check}/{outcome}"))
        });
        symptoms
            .chain(outcomes)
            .filter(|key| !left_out(key))
            .map(|key| (key.clone(), finding_name(self.book, &key)))
            .collect()
    }

    /// Some of the options, each with how surely. What is `ticked` stands first in the list.
    pub fn weighted(
        &mut self,
        question: &str,
        options: Vec<(String, String)>,
        ticked: &[String],
        how: &str,
    ) -> Result<Entries<WeightSpec>, Stopped> {
        let (mut listed, rest): (Vec<_>, Vec<_>) =
            options.into_iter().partition(|(key, _)| ticked.contains(key));
        let marks: Vec<usize> = (0..listed.len()).collect();
        listed.extend(rest);
        let names: Vec<String> = listed.iter().map(|(_, name)| name.clone()).collect();
        let chosen = self.asker.choose_some(
            question,
            "Type to search, space to tick, enter when done",
            &names,
            &marks,
        )?;
        let mut weights = Entries::new();
        for at in chosen {
            let (key, name) = &listed[at];
            weights.insert(key.clone(), self.surely(&format!("{how}: {name}?"))?);
        }
        Ok(weights)
    }

    /// One word of the scale.
    pub fn surely(&mut self, question: &str) -> Result<WeightSpec, Stopped> {
        let words: Vec<(&String, f64)> = self
            .book
            .words
            .iter()
            .filter(|(_, range)| range.is > 0.0)
            .map(|(word, range)| (word, range.is))
            .collect();
        let options: Vec<String> =
            words.iter().map(|(word, is)| format!("{word} (about {:.0} in 100)", is * 100.0)).collect();
        let middle = words.iter().position(|(_, is)| *is <= 0.5).unwrap_or(0);
        let at = self.asker.choose(question, "With nothing else wrong", &options, middle)?;
        Ok(WeightSpec::word(words[at.min(words.len() - 1)].0))
    }

    /// A number within limits; asked again until it is one.
    pub fn number(
        &mut self,
        question: &str,
        help: &str,
        usual: f64,
        least: f64,
        most: f64,
    ) -> Result<f64, Stopped> {
        loop {
            let text = self.asker.text(question, help, &usual.to_string())?;
            match text.trim().replace(',', ".").parse::<f64>() {
                Ok(number) if (least..=most).contains(&number) => return Ok(number),
                _ => self
                    .asker
                    .say(&format!("`{text}` will not do: a number from {least} to {most} is needed.")),
            }
        }
    }

    /// A low and a high figure: `60-120`, or one figure for both.
    pub fn band(&mut self, question: &str, help: &str) -> Result<Band, Stopped> {
        loop {
            let text = self.asker.text(question, help, "")?;
            match band(&text) {
                Some(band) => return Ok(band),
                None => self.asker.say(&format!(
                    "`{text}` will not do: write two figures like 60-120, the lower one first."
                )),
            }
        }
    }

    /// Why the author thinks so.
    pub fn source(&mut self, case: Option<&str>) -> Result<String, Stopped> {
        let usual = match case {
            Some(case) => format!("judgement of this workshop, from the case {case}"),
            None => "judgement of this workshop".to_owned(),
        };
        self.asker.text("How do you know?", "A book, a sheet, or what you have seen", &usual)
    }

    /// An id made from a name, which neither the book nor the new entries have; the person may choose another.
    pub fn free_id(&mut self, name: &str, file: &BookFile) -> Result<String, Stopped> {
        let book = self.book;
        let taken = |id: &str| {
            book.kind_of(id).is_some()
                || file.parts.contains_key(id)
                || file.failures.contains_key(id)
                || file.symptoms.contains_key(id)
                || file.checks.contains_key(id)
        };
        let stem = kebab(name);
        let offered = (1..100_000)
            .map(|n| if n == 1 { stem.clone() } else { format!("{stem}-{n}") })
            .find(|id| !taken(id))
            .unwrap_or(stem);
        loop {
            let help = "Small letters, digits and hyphens; it is how the book names this";
            let id = self.asker.text("A short id for it", help, &offered)?;
            let id = id.trim();
            if id.is_empty() || id != kebab(id) {
                self.asker.say(&format!("`{id}` cannot be an id: small letters, digits and hyphens only."));
            } else if taken(id) {
                self.asker.say(&format!("`{id}` is taken."));
            } else {
                return Ok(id.to_owned());
            }
        }
    }
}

/// A name as an id: small letters, digits, hyphens.
pub(super) fn kebab(name: &str) -> String {
    let mut id = String::new();
    for c in name.to_lowercase().chars() {
        if c.is_ascii_alphanumeric() {
            id.push(c);
        } else if !id.is_empty() && !id.ends_with('-') {
            id.push('-');
        }
        if id.len() >= LONGEST_ID {
            break;
        }
    }
    let id = id.trim_end_matches('-');
    // An id that starts with a digit reads like a number.
    if id.starts_with(|c: char| c.is_ascii_digit()) || id.is_empty() {
        format!("x-{id}").trim_end_matches('-').to_owned()
    } else {
        id.to_owned()
    }
}

/// `60-120`, `60 to 120` or `60`.
fn band(text: &str) -> Option<Band> {
    let text = text.trim().replace(" to ", "-").replace('–', "-");
    let mut figures = text.split('-').map(|figure| figure.trim().parse::<f64>().ok());
    let low = figures.next()??;
    let high = match figures.next() {
        Some(high) => high?,
        None => low,
    };
    (figures.next().is_none() && low >= 0.0 && low <= high && high.is_finite()).then_some(Band(low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_becomes_an_id() {
        assert_eq!(kebab("Impeller slipped on its shaft!"), "impeller-slipped-on-its-shaft");
        assert_eq!(kebab("  2nd fan: dead "), "x-2nd-fan-dead");
        assert_eq!(kebab("äöü"), "x");
        assert!(kebab(&"long ".repeat(40)).len() <= LONGEST_ID);
    }

    #[test]
    fn a_band_is_two_figures_the_lower_first() {
        assert_eq!(band("60-120"), Some(Band(60.0, 120.0)));
        assert_eq!(band(" 5 to 20 "), Some(Band(5.0, 20.0)));
        assert_eq!(band("45"), Some(Band(45.0, 45.0)));
        assert_eq!(band("120-60"), None);
        assert_eq!(band("an hour"), None);
        assert_eq!(band("1-2-3"), None);
    }
}
