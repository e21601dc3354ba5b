//! One entry with everything that hangs on it: what it causes, what causes it, who names it, where it is written.

use std::collections::BTreeSet;

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::entries::FitsIf;
use super::nearest::nearest_several;
use super::render::{Locator, PlaceReport, file_name, line_column};
use super::{Effect, Kind, Link, RuleBook, Spot, Weight};

/// One entry of the book as `rules show` tells it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct EntryView {
    /// Its id; for an outcome `check/outcome`.
    pub id: String,
    /// What kind of entry it is.
    pub kind: String,
    /// What the trade calls it.
    pub name: String,
    /// Where it is written.
    pub written: PlaceReport,
    /// The entry itself, as the book holds it after laying over.
    pub entry: Value,
    /// What brings it on, or what it is a sign of.
    pub causes: Vec<LinkView>,
    /// What it brings on and how it shows.
    pub effects: Vec<LinkView>,
    /// Entries that name it otherwise: failures of a part, checks that use a tool.
    pub named_by: Vec<NamedBy>,
}

/// One link as seen from one of its ends.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct LinkView {
    /// The entry or outcome at the other end.
    pub id: String,
    /// What kind it is: `outcome` for an outcome of a check.
    pub kind: String,
    /// What the trade calls it.
    pub name: String,
    /// The outcome of this check that the link is about, if a check is shown.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outcome: Option<String>,
    /// The weight.
    pub weight: WeightView,
    /// The vehicle facts under which the link holds, if it does not hold on all.
    #[serde(skip_serializing_if = "FitsIf::is_empty")]
    pub fits_if: FitsIf,
    /// Where the link is written.
    pub written: PlaceReport,
}

/// A weight in word and number.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct WeightView {
    /// The chance, 0 to 1.
    pub value: f64,
    /// Lowest chance meant.
    pub from: f64,
    /// Highest chance meant.
    pub to: f64,
    /// The word, if one was written.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub word: Option<String>,
    /// Where this very weight comes from, if it says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

impl From<&Weight> for WeightView {
    fn from(weight: &Weight) -> Self {
        Self {
            value: weight.value,
            from: rounded(weight.from),
            to: rounded(weight.to),
            word: weight.word.clone(),
            source: weight.source.clone(),
        }
    }
}

/// An entry that names another.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct NamedBy {
    /// What kind of entry it is.
    pub kind: String,
    /// Its id.
    pub id: String,
}

/// An id that the book does not have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoSuchEntry {
    /// The ids most like it, the likest first.
    pub nearest: Vec<String>,
}

fn rounded(chance: f64) -> f64 {
    (chance * 1e4).round() / 1e4
}

impl RuleBook {
    /// One entry with everything that hangs on it. `id` may be `check/outcome`, `vehicles/NAME`, `cases/NAME` or
    /// `jobs/NAME`; a bare id names what links can name first, then facts, tools, cautions, words, vehicles, cases.
    pub fn view(&self, id: &str) -> Result<EntryView, NoSuchEntry> {
        let (kind, entry, outcome) = self.named(id).ok_or_else(|| self.no_such(id))?;
        let mut locator = Locator::new(&self.sources);
        let mut steps: Vec<&str> = Vec::new();
        if let Some(outcome) = outcome {
            steps.extend(["outcomes", outcome]);
        }
        let written = self.report(&mut locator, &Spot::key(&self.within(kind, entry, &steps)));
        let effects: Vec<&Link> = self.links_from(entry).collect();
        let causes: Vec<(&Link, Option<&str>)> = match (kind, outcome) {
            (_, Some(_)) => self.links_to(id).map(|link| (link, None)).collect(),
            (Kind::Check, None) => self
                .checks
                .get(entry)
                .map(|check| check.outcomes.keys())
                .into_iter()
                .flatten()
                .flat_map(|outcome| {
                    self.links_to(&format!("{entry}/{outcome}"))
                        .map(move |link| (link, Some(outcome.as_str())))
                })
                .collect(),
            _ => self.links_to(entry).map(|link| (link, None)).collect(),
        };
        let mut causes: Vec<LinkView> = causes
            .into_iter()
            .map(|(link, outcome)| {
                self.link_view(&mut locator, link, &Effect::Node(link.from.clone()), outcome)
            })
            .collect();
        let mut effects: Vec<LinkView> =
            effects.into_iter().map(|link| self.link_view(&mut locator, link, &link.to, None)).collect();
        // The strongest first; equal ones stay in the order of the book.
        for links in [&mut causes, &mut effects] {
            links.sort_by(|a, b| b.weight.value.total_cmp(&a.weight.value));
        }
        Ok(EntryView {
            id: id.to_owned(),
            kind: if outcome.is_some() { "outcome".to_owned() } else { kind.noun().to_owned() },
            name: outcome
                .and_then(|outcome| Some(self.checks.get(entry)?.outcomes.get(outcome)?.say.clone()))
                .unwrap_or_else(|| self.name_in(kind, entry)),
            written,
            entry: self.value_of(kind, entry, outcome),
            causes,
            effects,
            named_by: self.named_by(kind, entry),
        })
    }

    /// The kind and id of what is named, and the outcome if one is.
    fn named<'a>(&self, id: &'a str) -> Option<(Kind, &'a str, Option<&'a str>)> {
        if let Some((folder, rest)) = id.split_once('/') {
            let kind =
                [Kind::Vehicle, Kind::Case, Kind::Job].into_iter().find(|kind| kind.section() == folder);
            if let Some(kind) = kind.filter(|&kind| self.has(kind, rest)) {
                return Some((kind, rest, None));
            }
            let known = self.checks.get(folder).is_some_and(|check| check.outcomes.contains_key(rest));
            return known.then_some((Kind::Check, folder, Some(rest)));
        }
        let kind = self.kind_of(id).or_else(|| Kind::ALL.into_iter().find(|&kind| self.has(kind, id)))?;
        Some((kind, id, None))
    }

    fn no_such(&self, id: &str) -> NoSuchEntry {
        let mut known: Vec<String> =
            Kind::ALL.into_iter().flat_map(|kind| self.ids(kind)).map(str::to_owned).collect();
        if let Some((check, _)) = id.split_once('/') {
            let outcomes = self.checks.get(check).map(|entry| entry.outcomes.keys()).into_iter().flatten();
            known = outcomes.map(|outcome| format!("{check}/{outcome}")).chain(known).collect();
        }
        let unique: BTreeSet<&str> = known.iter().map(String::as_str).collect();
        NoSuchEntry { nearest: nearest_several(id, unique, 5).into_iter().map(str::to_owned).collect() }
    }

    fn link_view(
        &self,
        locator: &mut Locator<'_>,
        link: &Link,
        end: &Effect,
        outcome: Option<&str>,
    ) -> LinkView {
        let (kind, name) = match end {
            Effect::Node(id) => {
                (self.kind_of(id).map_or("", Kind::noun).to_owned(), self.name_of(id).to_owned())
            }
            Effect::Outcome { check, outcome } => {
                let say =
                    self.checks.get(check).and_then(|c| c.outcomes.get(outcome)).map(|o| o.say.as_str());
                ("outcome".to_owned(), format!("{}: {}", self.name_of(check), say.unwrap_or(outcome)))
            }
        };
        LinkView {
            id: end.to_string(),
            kind,
            name,
            outcome: outcome.map(str::to_owned),
            weight: (&link.weight).into(),
            fits_if: link.fits_if.clone(),
            written: self.report(locator, &Spot::key(&link.place)),
        }
    }

    fn report(&self, locator: &mut Locator<'_>, spot: &Spot) -> PlaceReport {
        let source = &self.sources[spot.source];
        let position = locator.span(spot).map(|span| line_column(&source.text, span.start));
        PlaceReport {
            file: file_name(source, &self.layers),
            line: position.map(|(line, _)| line),
            column: position.map(|(_, column)| column),
            label: String::new(),
        }
    }

    fn name_in(&self, kind: Kind, id: &str) -> String {
        let name = match kind {
            Kind::Vehicle => self.vehicles.get(id).and_then(|e| e.name.clone()),
            Kind::Case => self.cases.get(id).map(|e| e.title.clone()),
            Kind::Job => self.jobs.get(id).map(|e| e.name.clone()),
            Kind::Fact => self.facts.get(id).map(|e| e.ask.clone()),
            Kind::Caution => self.cautions.get(id).map(|e| e.text.clone()),
            Kind::Tool => self.tools.get(id).map(|e| e.name.clone()),
            _ => None,
        };
        name.unwrap_or_else(|| self.name_of(id).to_owned())
    }

    fn value_of(&self, kind: Kind, id: &str, outcome: Option<&str>) -> Value {
        fn of<T: Serialize>(entry: Option<&T>) -> Value {
            entry.and_then(|entry| serde_json::to_value(entry).ok()).unwrap_or(Value::Null)
        }
        if let Some(outcome) = outcome {
            return of(self.checks.get(id).and_then(|check| check.outcomes.get(outcome)));
        }
        match kind {
            Kind::Part => of(self.parts.get(id)),
            Kind::Failure => of(self.failures.get(id)),
            Kind::State => of(self.states.get(id)),
            Kind::History => of(self.history.get(id)),
            Kind::Symptom => of(self.symptoms.get(id)),
            Kind::Check => of(self.checks.get(id)),
            Kind::Fact => of(self.facts.get(id)),
            Kind::Tool => of(self.tools.get(id)),
            Kind::Caution => of(self.cautions.get(id)),
            Kind::Word => of(self.words.get(id)),
            Kind::Vehicle => of(self.vehicles.get(id)),
            Kind::Case => of(self.cases.get(id)),
            Kind::Job => of(self.jobs.get(id)),
        }
    }

    /// Who names an entry other than as the end of a link; each once.
    fn named_by(&self, kind: Kind, id: &str) -> Vec<NamedBy> {
        let mut seen = BTreeSet::new();
        let mut named: Vec<NamedBy> = self
            .references()
            .iter()
            .filter(|r| r.list.is_none() && r.id == id && r.wanted.contains(&kind))
            .map(|r| NamedBy { kind: r.owner_kind.noun().to_owned(), id: r.owner.to_owned() })
            .collect();
        if kind == Kind::Word {
            named.extend(
                self.statements()
                    .filter(|s| s.spec.word.as_deref() == Some(id))
                    .map(|s| NamedBy { kind: s.kind.noun().to_owned(), id: s.owner.to_owned() }),
            );
        }
        named.retain(|name| seen.insert(name.clone()));
        named
    }
}
