//! Near-duplicates: what the book already has that looks like a failure about to be added.
//!
//! Two failures are compared by the words of their names and by their signs. Words are stemmed and compared as sets
//! (Dice's coefficient: twice the shared words over all words); signs are compared by the weighted Jaccard index, the
//! shared chance over all the chance, where a sign's chance counts what reaches it through states as well.

use std::collections::{BTreeMap, BTreeSet};

use rust_stemmers::{Algorithm, Stemmer};

use crate::rulebook::{Effect, RuleBook};

/// Names at least this alike are offered (0 to 1), or signs at least [`ALIKE_SIGNS`].
const ALIKE_NAMES: f64 = 0.6;

/// Signs at least this alike are offered.
const ALIKE_SIGNS: f64 = 0.5;

/// For failures of one part both limits are lower by this factor: that is where doubles come from.
const SAME_PART: f64 = 0.65;

/// Words that say nothing about which failure is meant.
const EMPTY_WORDS: [&str; 14] =
    ["the", "a", "an", "of", "in", "on", "at", "to", "and", "or", "is", "its", "with", "no"];

/// A failure the book has that looks like the one in hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Alike {
    /// Its id.
    pub failure: String,
    /// How alike the names are, 0 to 1.
    pub names: f64,
    /// How alike the signs are, 0 to 1.
    pub signs: f64,
    /// The signs they share, by `symptom` or `check/outcome`, most telling first.
    pub shared: Vec<String>,
    /// Whether it belongs to the same part.
    pub same_part: bool,
}

impl Alike {
    fn score(&self) -> f64 {
        self.names.max(self.signs) + if self.same_part { 0.1 } else { 0.0 }
    }
}

/// What is known so far of the failure in hand.
#[derive(Debug, Clone, Default)]
pub struct Sketch {
    /// Its part, if it is one the book has.
    pub part: String,
    /// What it is called.
    pub name: String,
    /// Its links: to states, symptoms and outcomes, with their weights.
    pub links: Vec<(String, f64)>,
}

/// Failures that look like the sketch, most alike first, at most five.
pub fn alike(book: &RuleBook, sketch: &Sketch) -> Vec<Alike> {
    let words = stems(&sketch.name);
    let signs = signs(book, &sketch.links);
    let mut found: Vec<Alike> = book
        .failures
        .iter()
        .filter_map(|(id, failure)| {
            let same_part = failure.part == sketch.part;
            let theirs = signs_of(book, id);
            let known = Alike {
                failure: id.clone(),
                names: dice(&words, &stems(&failure.name)).max(dice(&words, &stems(id))),
                signs: overlap(&signs, &theirs),
                shared: shared(&signs, &theirs),
                same_part,
            };
            let factor = if same_part { SAME_PART } else { 1.0 };
            (known.names >= ALIKE_NAMES * factor || known.signs >= ALIKE_SIGNS * factor).then_some(known)
        })
        .collect();
    found.sort_by(|a, b| b.score().total_cmp(&a.score()).then_with(|| a.failure.cmp(&b.failure)));
    found.truncate(5);
    found
}

/// The chance of every finding, given one failure of the book alone.
pub fn signs_of(book: &RuleBook, failure: &str) -> BTreeMap<String, f64> {
    let links: Vec<(String, f64)> =
        book.links_from(failure).map(|link| (link.to.to_string(), link.weight.value)).collect();
    signs(book, &links)
}

/// The chance of every finding, given links from one cause: what they show, and what the states they lead to show in
/// turn. Paths to one finding are combined as if they were independent, which is near enough to compare by.
fn signs(book: &RuleBook, links: &[(String, f64)]) -> BTreeMap<String, f64> {
    let mut signs = BTreeMap::new();
    for (to, weight) in links {
        reach(book, to, *weight, 0, &mut signs);
    }
    signs
}

/// Longest chain of states that is followed; the shipped book's longest is shorter.
const DEEPEST: usize = 8;

fn reach(book: &RuleBook, to: &str, chance: f64, depth: usize, signs: &mut BTreeMap<String, f64>) {
    if book.symptoms.contains_key(to) || to.contains('/') {
        let seen = signs.entry(to.to_owned()).or_insert(0.0);
        *seen = 1.0 - (1.0 - *seen) * (1.0 - chance);
    } else if depth < DEEPEST && chance > 0.01 {
        for link in book.links_from(to) {
            reach(book, &link.to.to_string(), chance * link.weight.value, depth + 1, signs);
        }
    }
}

/// Shared chance over all chance: 1 if the signs are the same, 0 if none is shared or there are none.
fn overlap(a: &BTreeMap<String, f64>, b: &BTreeMap<String, f64>) -> f64 {
    let keys: BTreeSet<&String> = a.keys().chain(b.keys()).collect();
    let (mut least, mut most) = (0.0, 0.0);
    for key in keys {
        let (x, y) = (a.get(key).copied().unwrap_or(0.0), b.get(key).copied().unwrap_or(0.0));
        least += x.min(y);
        most += x.max(y);
    }
    if most > 0.0 { least / most } else { 0.0 }
}

fn shared(a: &BTreeMap<String, f64>, b: &BTreeMap<String, f64>) -> Vec<String> {
    let both = |key: &String| b.get(key).map_or(0.0, |&y| y.min(a[key]));
    let mut shared: Vec<(String, f64)> =
        a.keys().map(|key| (key.clone(), both(key))).filter(|&(_, chance)| chance > 0.1).collect();
    shared.sort_by(|x, y| y.1.total_cmp(&x.1).then_with(|| x.0.cmp(&y.0)));
    shared.into_iter().map(|(key, _)| key).collect()
}

fn stems(text: &str) -> BTreeSet<String> {
    let stemmer = Stemmer::create(Algorithm::English);
    text.split(|c: char| !c.is_alphanumeric())
        .map(str::to_lowercase)
        .filter(|word| !word.is_empty() && !EMPTY_WORDS.contains(&word.as_str()))
        .map(|word| stemmer.stem(&word).into_owned())
        .collect()
}

fn dice(a: &BTreeSet<String>, b: &BTreeSet<String>) -> f64 {
    if a.is_empty() || b.is_empty() {
        return 0.0;
    }
    2.0 * a.intersection(b).count() as f64 / (a.len() + b.len()) as f64
}

/// What a finding is called: the symptom's name, or the check's with its outcome.
pub fn finding_name(book: &RuleBook, key: &str) -> String {
    match Effect::parse(key) {
        Effect::Node(id) => book.name_of(&id).to_owned(),
        Effect::Outcome { check, outcome } => {
            let say = book.checks.get(&check).and_then(|c| c.outcomes.get(&outcome)).map(|o| o.say.as_str());
            format!("{}: {}", book.name_of(&check), say.unwrap_or(&outcome))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_compared_by_the_stems_of_their_words() {
        let stems = |text: &str| stems(text);
        assert!((dice(&stems("bearings of the pump worn"), &stems("pump bearing worn")) - 1.0).abs() < 1e-12);
        assert!((dice(&stems("cap seal"), &stems("cap spring")) - 0.5).abs() < 1e-12);
        assert!(dice(&stems("the of"), &stems("cap")).abs() < 1e-12);
    }

    #[test]
    fn signs_overlap_by_the_chance_they_share() {
        let of = |list: &[(&str, f64)]| list.iter().map(|&(k, c)| (k.to_owned(), c)).collect();
        let a: BTreeMap<String, f64> = of(&[("x", 0.8), ("y", 0.4)]);
        let b: BTreeMap<String, f64> = of(&[("x", 0.4), ("z", 0.4)]);
        // Shared 0.4 of 0.8 + 0.4 + 0.4.
        assert!((overlap(&a, &b) - 0.25).abs() < 1e-12);
        assert!((overlap(&a, &a) - 1.0).abs() < 1e-12);
    }
}
