//! From links as stated to links as they hold.

use std::collections::BTreeMap;

use super::codes::DUPLICATE_LINK;
use super::fault::{Fault, Spot};
use super::statements::Statement;
use super::{Effect, Kind, Link, LinkList, RuleBook, Weight};

impl RuleBook {
    /// Fills [`links`](Self::links) from what the entries state. A statement whose ends or weight mean nothing is left
    /// out here; the checks report it.
    pub(super) fn resolve_links(&mut self) -> Vec<Fault> {
        let mut faults = Vec::new();
        let mut links: Vec<Link> = Vec::new();
        let mut layers: Vec<usize> = Vec::new();
        let mut seen: BTreeMap<(String, Effect), usize> = BTreeMap::new();
        let mut said = Vec::new();
        for statement in self.statements() {
            let Some((effect, weight)) = self.meaning(&statement) else { continue };
            let from = statement.ends().0;
            let place = self.place_of_statement(&statement);
            let layer = self.layer_of(&place);
            let fits_if = statement.spec.fits_if.clone();
            let link = Link { from: from.to_owned(), to: effect.clone(), weight, fits_if, place };
            match seen.get(&(from.to_owned(), effect.clone())) {
                None => {
                    seen.insert((from.to_owned(), effect), links.len());
                    links.push(link);
                    layers.push(layer);
                }
                Some(&number) if layers[number] == layer => {
                    faults.push(
                        Fault::at(
                            &DUPLICATE_LINK,
                            Spot::key(&link.place),
                            format!("the link from `{from}` to `{effect}` is stated twice"),
                        )
                        .label("stated again here")
                        .also(Spot::key(&links[number].place), "first stated here")
                        .help("keep one of the two"),
                    );
                }
                Some(&number) => {
                    let (upper, lower) = if layers[number] > layer {
                        (&links[number], &link)
                    } else {
                        (&link, &links[number])
                    };
                    said.push(format!(
                        "{} states the link from `{from}` to `{effect}` anew, over {}",
                        self.name_of_source(upper.place.source),
                        self.name_of_source(lower.place.source)
                    ));
                    if layers[number] < layer {
                        links[number] = link;
                        layers[number] = layer;
                    }
                }
            }
        }
        links.retain(|link| link.weight.value > 0.0);
        self.laid_over.extend(said);
        self.from.clear();
        self.to.clear();
        for (number, link) in links.iter().enumerate() {
            self.from.entry(link.from.clone()).or_default().push(number);
            self.to.entry(link.to.to_string()).or_default().push(number);
        }
        self.links = links;
        faults
    }

    /// What a statement says, if its ends are of the right kinds and its weight is a chance.
    fn meaning(&self, statement: &Statement<'_>) -> Option<(Effect, Weight)> {
        let (from, to) = statement.ends();
        let effect = Effect::parse(to);
        let fits = match (statement.list, &effect) {
            (LinkList::RaisedBy, _) => self.is_cause(from),
            (LinkList::LeadsTo, Effect::Node(id)) => {
                self.failures.contains_key(id) || self.states.contains_key(id)
            }
            (LinkList::LeadsTo, Effect::Outcome { .. }) => false,
            (LinkList::Shows, Effect::Node(id)) => self.symptoms.contains_key(id),
            (LinkList::Shows, Effect::Outcome { check, outcome }) => {
                self.checks.get(check).is_some_and(|c| c.outcomes.contains_key(outcome))
            }
        };
        let weight = Weight::on_scale(statement.spec, &self.words)?;
        (fits && (0.0..=1.0).contains(&weight.value)).then_some((effect, weight))
    }

    /// True for ids that may stand at the tail of a link.
    pub fn is_cause(&self, id: &str) -> bool {
        [Kind::History, Kind::Failure, Kind::State].into_iter().any(|kind| self.has(kind, id))
    }
}
