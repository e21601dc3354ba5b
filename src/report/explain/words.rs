//! Words that both pages use.

use std::collections::BTreeSet;

use super::About;
use crate::case::{Said, severe_findings, severe_states};
use crate::explain::Told;
use crate::explain::story::Story;
use crate::graph::NodeKind;
use crate::inference::NodeId;
use crate::report::per_cent;
use crate::report::picture::{Chain, Chances, Circuit, Link, LinkKind};
use crate::report::standing::{answer_words, question_name};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::{Band, Failure, Urgency};

/// A chance in the words of the book's scale, with the figure in brackets: "very likely (87 %)".
pub fn chance_words(book: &RuleBook, chance: f64) -> String {
    let mut scale: Vec<_> = book.chance_words.iter().collect();
    scale.sort_by(|a, b| b.at_least.total_cmp(&a.at_least));
    match scale.iter().find(|word| chance >= word.at_least) {
        Some(word) => format!("{} ({})", word.say, per_cent(chance)),
        None => per_cent(chance),
    }
}

/// A sentence from a note: capital first, full stop last.
pub fn sentence(text: &str) -> String {
    let text = text.trim();
    let mut letters = text.chars();
    let Some(first) = letters.next() else { return String::new() };
    let capital: String = first.to_uppercase().chain(letters).collect();
    if capital.ends_with(['.', '!', '?']) { capital } else { format!("{capital}.") }
}

/// A list in a sentence: "a, b and c".
pub fn listed(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

impl About<'_> {
    /// What a node is called.
    pub fn name(&self, node: NodeId) -> String {
        let key = self.graph.key(node);
        match key.split_once('/') {
            Some((check, outcome)) => {
                format!("{}: {}", question_name(self.book, check), answer_words(self.book, check, outcome))
            }
            None => self.book.name_of(key).to_owned(),
        }
    }

    /// Chance of a part before the first answer.
    pub fn before(&self, part: &str) -> f64 {
        let mut targets = self.explanation.targets.iter();
        let target = targets.position(|&node| self.graph.key(node) == part);
        target.map_or(0.0, |at| crate::explain::pull::chance_of(self.explanation.pulls.start[at]))
    }

    /// What a part is called.
    pub fn part(&self, id: &str) -> String {
        self.book.name_of(id).to_owned()
    }

    /// An answer as the workshop puts it: "puddle under the front: yes".
    pub fn answer(&self, told: &Told) -> String {
        let name = question_name(self.book, &told.ask);
        let said = match &told.said {
            Said::Yes => "yes",
            Said::No => "no",
            Said::Normal => answer_words(self.book, &told.ask, "normal"),
            Said::Outcome(outcome) => answer_words(self.book, &told.ask, outcome),
            Said::Reading(_) => told.answer.reading.as_deref().unwrap_or("a reading"),
            Said::DontKnow => "not known",
            Said::Cannot => "cannot be done here",
        };
        format!("{name}: {said}")
    }

    /// Why the vehicle must not be driven, from the findings seen and the states that are likely, by the rule of the interview:
    /// each sentence once.
    pub fn severe(&self) -> Vec<String> {
        let states = severe_states(self.book, self.case, self.explanation.standing.state_chances());
        let found = severe_findings(self.book, self.case).into_iter().chain(states);
        let mut known = BTreeSet::new();
        found.map(|(_, severe)| severe.say.clone()).filter(|text| known.insert(text.clone())).collect()
    }

    /// The likeliest failure of the `at`th suspect, with its entry.
    pub fn failure(&self, at: usize) -> Option<(&str, &Failure)> {
        let likely = self.explanation.standing.suspects.get(at)?.failures.first()?;
        Some((&likely.id, self.book.failures.get(&likely.id)?))
    }

    /// Whether the vehicle must not be driven: a severe finding, or a suspect that may let go and is not
    /// unlikely.
    pub fn must_stop(&self) -> bool {
        let may_let_go = |(at, suspect): (usize, &crate::case::Suspect)| {
            suspect.urgency == Urgency::StopNow && suspect.chance >= if at == 0 { 0.2 } else { 0.4 }
        };
        !self.severe().is_empty() || self.explanation.standing.suspects.iter().enumerate().any(may_let_go)
    }

    /// Whether the engine stands still and turns something, so that there is nothing to drive.
    pub fn stands_still(&self) -> bool {
        self.case.vehicle.facts.get("use").is_some_and(|how| how == "stationary")
    }

    /// Cautions by id, with a text of our own for those that every page must have.
    pub fn cautions<'b>(&self, ids: impl IntoIterator<Item = &'b str>) -> Vec<String> {
        let mut known = BTreeSet::new();
        ids.into_iter()
            .filter(|id| known.insert((*id).to_owned()))
            .filter_map(|id| match (self.book.cautions.get(id), id) {
                (Some(caution), _) => Some(caution.text.clone()),
                (None, "hot-cap") => Some("Never open a hot cap. Wait until the engine is cold.".to_owned()),
                (None, "poison-coolant") => {
                    Some("Coolant is poison and tastes sweet. Keep it from people and animals.".to_owned())
                }
                (None, _) => None,
            })
            .collect()
    }

    /// The cautions that stand on every page, with that of a fan that starts by itself if there may be one.
    pub fn standing_cautions(&self) -> Vec<String> {
        let electric = self.graph.node("fan-motor").is_some().then_some("fan-starts-itself");
        self.cautions(["hot-cap"].into_iter().chain(electric).chain(["poison-coolant"]))
    }

    /// What mending a failure costs: materials, work, and both together, each from low to high.
    pub fn cost(&self, failure: &Failure) -> [Band; 3] {
        let materials = failure.repair.price.unwrap_or_else(|| {
            let parts: BTreeSet<&String> =
                std::iter::once(&failure.part).chain(&failure.repair.with).collect();
            parts
                .into_iter()
                .filter_map(|part| self.shop.price(self.book, part))
                .fold(Band(0.0, 0.0), |sum, price| Band(sum.0 + price.0, sum.1 + price.1))
        });
        let minutes = failure.repair.minutes;
        let work = Band(self.shop.labour(minutes.0), self.shop.labour(minutes.1));
        [materials, work, Band(materials.0 + work.0, materials.1 + work.1)]
    }

    /// A band of money, rounded so that it does not look surer than it is.
    pub fn money(&self, band: Band) -> String {
        let round = |figure: f64, up: bool| {
            let step = if figure < 100.0 { 5.0 } else { 10.0 };
            let steps = figure / step;
            (if up { steps.ceil() } else { steps.floor() }) * step
        };
        let currency = self.shop.currency(self.book);
        let (low, high) = (round(band.0, false), round(band.1, true));
        if low >= high {
            format!("{currency} {high:.0}")
        } else {
            format!("{currency} {low:.0} to {high:.0}")
        }
    }

    /// The circuit with the suspects that are likely enough to be marked.
    pub fn circuit(&self) -> Circuit {
        let mut circuit = Circuit::of(self.book, self.graph, &self.case.vehicle);
        let suspects = self.explanation.standing.suspects.iter().enumerate();
        for (_, suspect) in suspects.filter(|(at, suspect)| *at == 0 || suspect.chance >= 0.05).take(4) {
            let words = chance_words(self.book, suspect.chance);
            circuit.mark(self.book, &suspect.part, &self.part(&suspect.part), &words, suspect.chance);
        }
        circuit
    }

    /// A story as a chain of boxes.
    pub fn chain(&self, story: &Story, figures: bool) -> Chain {
        let links = story
            .steps
            .iter()
            .enumerate()
            .map(|(at, step)| Link {
                kind: match self.graph.get(step.node).kind {
                    NodeKind::History => LinkKind::Past,
                    NodeKind::Failure | NodeKind::Part => LinkKind::Failed,
                    NodeKind::State => LinkKind::State,
                    NodeKind::Symptom | NodeKind::Outcome => LinkKind::Seen,
                },
                name: self.name(step.node),
                chance: step.chance,
                share: (at > 0).then_some(step.share),
            })
            .collect();
        Chain { links, figures }
    }

    /// A suspect's chance before and after each answer.
    pub fn chances(&self, target: usize) -> Chances {
        let pulls = &self.explanation.pulls;
        let mut odds = pulls.start[target];
        let after = self
            .explanation
            .told
            .iter()
            .zip(&pulls.pulls[target])
            .map(|(told, pull)| {
                odds += pull.in_order;
                (self.answer(told), crate::explain::pull::chance_of(odds))
            })
            .collect();
        let name = self.name(self.explanation.targets[target]);
        Chances { name, start: crate::explain::pull::chance_of(pulls.start[target]), after }
    }

    /// Lines under the title: the vehicle and the day.
    pub fn under(&self) -> Vec<String> {
        let vehicle =
            self.case.vehicle.name.clone().map(|name| sentence(&name).trim_end_matches('.').to_owned());
        let km = self.case.vehicle.km.map(|km| format!("{km:.0} km"));
        let hours = self.case.vehicle.hours.map(|hours| format!("{hours:.0} hours"));
        let day = self.case.day().map(|day| day.to_string());
        let line: Vec<String> = vehicle.into_iter().chain(km).chain(hours).chain(day).collect();
        if line.is_empty() { Vec::new() } else { vec![line.join(" · ")] }
    }

    /// Name and contact of the shop.
    pub fn from(&self) -> Vec<String> {
        self.shop.name.iter().chain(&self.shop.contact).cloned().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_become_sentences() {
        assert_eq!(sentence("it moves or clicks"), "It moves or clicks.");
        assert_eq!(sentence("Stop!"), "Stop!");
        assert_eq!(listed(&["a".to_owned(), "b".to_owned(), "c".to_owned()]), "a, b and c");
    }

    #[test]
    fn a_chance_is_said_in_words_with_its_number() {
        let book = RuleBook::shipped();
        assert_eq!(chance_words(&book, 0.87), "very likely (87 %)");
        assert_eq!(chance_words(&book, 0.03), "hardly (3 %)");
    }
}
