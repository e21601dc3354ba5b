//! The customer's own words, matched to the symptoms of the book.
//!
//! Every symptom lists how customers put it. Words are compared by their stems, rare words count for more than
//! common ones, and a word the book does not know may be a slip of the finger for one it does. A match says why
//! it was made, so that a person can confirm it; nothing is taken as said without that.

use std::collections::{BTreeMap, BTreeSet};

use rust_stemmers::{Algorithm, Stemmer};

use crate::rulebook::RuleBook;

/// Words that carry no meaning of their own here.
const EMPTY: [&str; 61] = [
    "a", "an", "the", "is", "are", "was", "were", "be", "been", "it", "its", "my", "our", "your", "i", "we",
    "he", "she", "they", "this", "that", "of", "to", "in", "on", "at", "from", "with", "and", "or", "but",
    "so", "then", "there", "has", "have", "had", "do", "does", "did", "me", "you", "some", "as", "for", "by",
    "also", "just", "very", "really", "quite", "will", "would", "can", "now", "bit", "please", "think",
    "seems", "am", "only",
];

/// Words that turn the next ones round.
const DENIALS: [&str; 5] = ["no", "not", "never", "without", "nor"];

/// Share of a phrase's weight that must be heard.
const ENOUGH: f64 = 0.7;

/// Words of one symptom's phrases that stand together count as said when one of them belongs to at most this many
/// symptoms: "overheats in traffic" is heard although the book has "hot in traffic" and "overheats in town".
const RARE: usize = 2;

/// Share of the nearest phrase that words of different phrases must make up to be taken as said: "overheats on long climbs" is not
/// "temperature climbs when stationary".
const NEAR_ENOUGH: f64 = 0.5;

/// How many matches are worth showing.
const MOST: usize = 8;

/// One symptom that the words may mean.
#[derive(Debug, Clone, PartialEq)]
pub struct Heard {
    /// Id of the symptom.
    pub symptom: String,
    /// False if the words deny it ("no steam").
    pub there: bool,
    /// The customer's words it was taken from.
    pub said: String,
    /// The phrase of the book they match.
    pub phrase: String,
    /// Words taken for slips: as typed, and as understood.
    pub slips: Vec<(String, String)>,
    /// True if the whole phrase was heard and no longer phrase covers the same words.
    pub sure: bool,
}

/// One word of a text.
struct Word {
    text: String,
    stem: String,
}

/// One phrase of the book.
struct Phrase {
    symptom: usize,
    text: String,
    words: Vec<Word>,
    denies: bool,
}

/// One phrase found in a text.
struct Found {
    phrase: usize,
    /// Places in the text that were heard.
    at: BTreeSet<usize>,
    slips: Vec<(String, String)>,
    weight: f64,
    share: f64,
    denied: bool,
    /// Made up of words of different phrases; then this much of the one shown.
    mixed: Option<f64>,
}

/// Knows how customers put every symptom of one book.
pub struct Hearing {
    stemmer: Stemmer,
    symptoms: Vec<String>,
    phrases: Vec<Phrase>,
    /// Stems of the book.
    known: BTreeMap<String, Stem>,
}

/// One stem of the book.
struct Stem {
    weight: f64,
    /// A word of the book that has it.
    word: String,
    /// The symptoms whose phrases have it.
    holders: BTreeSet<usize>,
}

impl Hearing {
    /// Learns the words of a book.
    pub fn new(book: &RuleBook) -> Self {
        let stemmer = Stemmer::create(Algorithm::English);
        let symptoms: Vec<String> = book.symptoms.keys().cloned().collect();
        let mut phrases = Vec::new();
        for (number, symptom) in book.symptoms.values().enumerate() {
            for text in symptom.words.iter().chain([&symptom.name]) {
                let all = split(&stemmer, text);
                let denies = all.iter().any(|word| DENIALS.contains(&word.text.as_str()));
                let words: Vec<Word> = all.into_iter().filter(|word| !is_empty(&word.text)).collect();
                if !words.is_empty() {
                    phrases.push(Phrase { symptom: number, text: text.clone(), words, denies });
                }
            }
        }
        let mut holders: BTreeMap<String, (BTreeSet<usize>, String)> = BTreeMap::new();
        for phrase in &phrases {
            for word in &phrase.words {
                let entry =
                    holders.entry(word.stem.clone()).or_insert_with(|| (BTreeSet::new(), word.text.clone()));
                entry.0.insert(phrase.symptom);
            }
        }
        let count = symptoms.len().max(1) as f64;
        let known = holders
            .into_iter()
            .map(|(stem, (holders, word))| {
                let weight = (count / holders.len() as f64).ln() + 0.3;
                (stem, Stem { weight, word, holders })
            })
            .collect();
        Self { stemmer, symptoms, phrases, known }
    }

    /// What a text may mean, surest first. `allowed` says which symptoms this vehicle can show.
    pub fn hear(&self, text: &str, allowed: impl Fn(&str) -> bool) -> Vec<Heard> {
        let words = split(&self.stemmer, text);
        let understood: Vec<(String, Option<String>)> =
            words.iter().map(|word| self.understand(word)).collect();
        let mut best: BTreeMap<usize, Found> = BTreeMap::new();
        for (number, phrase) in self.phrases.iter().enumerate() {
            if !allowed(&self.symptoms[phrase.symptom]) {
                continue;
            }
            let Some(found) = self.find(number, &words, &understood) else { continue };
            let better = best.get(&phrase.symptom).is_none_or(|old| {
                (found.share, found.weight) > (old.share, old.weight) || (found.weight > old.weight * 1.5)
            });
            if better {
                best.insert(phrase.symptom, found);
            }
        }
        for (symptom, id) in self.symptoms.iter().enumerate().filter(|(_, id)| allowed(id)) {
            if let Some(found) = self.mixed(symptom, id, &words, &understood)
                && best.get(&symptom).is_none_or(|old| found.weight > old.weight)
            {
                best.insert(symptom, found);
            }
        }
        let mut found: Vec<Found> = best.into_values().collect();
        // The same words cannot mean less than what they say in full: "hot at idle" is not also "hot".
        let covered: Vec<bool> = found
            .iter()
            .map(|one| found.iter().any(|other| one.at.len() < other.at.len() && one.at.is_subset(&other.at)))
            .collect();
        // What is put together from several phrases steps back behind one that was said in full with the same words.
        let whole: BTreeSet<usize> = found
            .iter()
            .filter(|one| one.mixed.is_none() && one.share > 0.99 && one.at.len() > 1)
            .flat_map(|one| one.at.iter().copied())
            .collect();
        let far_fetched = |one: &Found| {
            one.mixed.is_some_and(|share| share < NEAR_ENOUGH || one.at.iter().any(|at| whole.contains(at)))
        };
        let mut ranked: Vec<(bool, Found)> = found
            .drain(..)
            .zip(covered)
            .map(|(one, covered)| {
                let sure = one.share > 0.99 && !covered && !far_fetched(&one) && self.says_enough(&one);
                (sure, one)
            })
            .collect();
        ranked.sort_by(|a, b| {
            b.0.cmp(&a.0)
                .then(b.1.weight.total_cmp(&a.1.weight))
                .then(self.phrases[a.1.phrase].symptom.cmp(&self.phrases[b.1.phrase].symptom))
        });
        ranked.truncate(MOST);
        ranked.into_iter().map(|(sure, one)| self.report(&words, sure, one)).collect()
    }

    /// Whether what was heard can be taken for the symptom: more than one word, a word that few symptoms share, or
    /// a phrase of the book that is that one word. "Water" alone is not "just water in it".
    fn says_enough(&self, found: &Found) -> bool {
        let phrase = &self.phrases[found.phrase];
        let rare = |word: &Word| self.known.get(&word.stem).is_some_and(|known| known.holders.len() <= RARE);
        found.at.len() > 1 || phrase.text.split_whitespace().count() == 1 || phrase.words.iter().any(rare)
    }

    fn report(&self, words: &[Word], sure: bool, found: Found) -> Heard {
        let phrase = &self.phrases[found.phrase];
        let (first, last) = (found.at.first().copied().unwrap_or(0), found.at.last().copied().unwrap_or(0));
        let said: Vec<&str> = words[first..=last].iter().map(|word| word.text.as_str()).collect();
        Heard {
            symptom: self.symptoms[phrase.symptom].clone(),
            there: !found.denied,
            said: said.join(" "),
            phrase: phrase.text.clone(),
            slips: found.slips,
            sure,
        }
    }

    /// What words of the book weigh together: rare ones more than common ones.
    fn weight<'a>(&self, words: impl IntoIterator<Item = &'a Word>) -> f64 {
        words.into_iter().filter_map(|word| self.known.get(&word.stem)).map(|known| known.weight).sum()
    }

    /// The stem a word stands for, and the book's word if it was taken for a slip.
    fn understand(&self, word: &Word) -> (String, Option<String>) {
        if self.known.contains_key(&word.stem) || word.text.chars().count() < 5 || is_empty(&word.text) {
            return (word.stem.clone(), None);
        }
        let most = if word.text.chars().count() >= 9 { 2 } else { 1 };
        let near = self
            .known
            .iter()
            .filter(|(_, known)| known.word.chars().next() == word.text.chars().next())
            .filter_map(|(stem, Stem { word: known, .. })| {
                let far = strsim::osa_distance(known, &word.text).min(strsim::osa_distance(stem, &word.stem));
                (far <= most && known.chars().count() >= 4).then_some((far, stem, known))
            })
            .min_by_key(|(far, stem, _)| (*far, (*stem).clone()));
        near.map_or((word.stem.clone(), None), |(_, stem, known)| (stem.clone(), Some(known.clone())))
    }

    /// Looks for words of different phrases of one symptom that stand together.
    fn mixed(
        &self,
        symptom: usize,
        id: &str,
        words: &[Word],
        understood: &[(String, Option<String>)],
    ) -> Option<Found> {
        let mut at = BTreeSet::new();
        let mut stems: BTreeSet<&str> = BTreeSet::new();
        let (mut weight, mut rare) = (0.0, false);
        for (place, (stem, _)) in understood.iter().enumerate() {
            let Some(known) = self.known.get(stem).filter(|known| known.holders.contains(&symptom)) else {
                continue;
            };
            let between =
                |last: usize| words[last + 1..place].iter().filter(|word| !is_empty(&word.text)).count();
            let near = at.last().is_none_or(|&last| between(last) <= 2);
            if !near || DENIALS.contains(&words[place].text.as_str()) || !stems.insert(stem) {
                continue;
            }
            at.insert(place);
            weight += known.weight;
            rare |= known.holders.len() <= RARE;
        }
        if stems.len() < 2 || !rare {
            return None;
        }
        // Shown beside the phrase it comes nearest to.
        let shared = |phrase: &Phrase| -> f64 {
            self.weight(phrase.words.iter().filter(|word| stems.contains(word.stem.as_str())))
        };
        let of_symptom =
            self.phrases.iter().enumerate().filter(|(_, phrase)| self.symptoms[phrase.symptom] == id);
        let (phrase, nearest) =
            of_symptom.max_by(|a, b| shared(a.1).total_cmp(&shared(b.1)).then(b.0.cmp(&a.0)))?;
        let mixed = Some(shared(nearest) / self.weight(&nearest.words));
        let slips =
            at.iter().filter_map(|&place| Some((words[place].text.clone(), understood[place].1.clone()?)));
        let slips = slips.collect();
        let denied = denied(words, *at.first()?) && !self.phrases[phrase].denies;
        Some(Found { phrase, at, slips, weight, share: 1.0, denied, mixed })
    }

    /// Looks for a phrase in a text.
    fn find(&self, number: usize, words: &[Word], understood: &[(String, Option<String>)]) -> Option<Found> {
        let phrase = &self.phrases[number];
        let whole = self.weight(&phrase.words);
        let (mut at, mut slips, mut weight) = (BTreeSet::new(), Vec::new(), 0.0);
        for word in &phrase.words {
            let place =
                (0..understood.len()).find(|place| !at.contains(place) && understood[*place].0 == word.stem);
            if let Some(place) = place {
                at.insert(place);
                weight += self.weight([word]);
                if let Some(known) = &understood[place].1 {
                    slips.push((words[place].text.clone(), known.clone()));
                }
            }
        }
        let (first, last) = (*at.first()?, *at.last()?);
        // Words far apart belong to different complaints.
        let near = last - first <= phrase.words.len() * 2 + 2;
        let share = weight / whole;
        if !near || share < ENOUGH {
            return None;
        }
        let denied = !phrase.denies && denied(words, first);
        Some(Found { phrase: number, at, slips, weight, share, denied, mixed: None })
    }
}

/// Whether one of the two words before a place turns it round.
fn denied(words: &[Word], first: usize) -> bool {
    words[first.saturating_sub(2)..first].iter().any(|word| DENIALS.contains(&word.text.as_str()))
}

/// Words without meaning of their own; denials have one.
fn is_empty(word: &str) -> bool {
    EMPTY.contains(&word)
}

/// A text as words in lower case: "doesn't" becomes "not", "P 0128" becomes "p0128".
fn split(stemmer: &Stemmer, text: &str) -> Vec<Word> {
    let lower = text.to_lowercase().replace('\u{2019}', "'");
    let mut words: Vec<String> = Vec::new();
    for raw in lower.split(|c: char| !c.is_alphanumeric() && c != '\'') {
        let raw = raw.trim_matches('\'');
        let word = if raw.ends_with("n't") || raw == "cannot" {
            "not"
        } else {
            raw.split('\'').next().unwrap_or("")
        };
        let code = word.len() == 4 && word.chars().all(|c| c.is_ascii_digit());
        match words.last_mut() {
            Some(last) if code && last == "p" => last.push_str(word),
            _ if word.is_empty() => {}
            _ => words.push(word.to_owned()),
        }
    }
    words.into_iter().map(|text| Word { stem: stemmer.stem(&text).into_owned(), text }).collect()
}
