//! The checked rule book.

use std::collections::BTreeMap;
use std::fmt;

use super::entries::{
    BookHead, Caution, ChanceWord, Check, Entries, Failure, History, Job, KnownCase, Part, Silence, State,
    Symptom, Tool, Vehicle, VehicleFact, WeightSpec, WordRange,
};
use super::render::file_name;
use super::statements::StatementKey;
use super::{Layer, Link, Place, Route, Source, Weight};

/// The kinds of entry a rule book holds, in the order in which they are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A thing that can be bought or mended.
    Part,
    /// One way a part fails.
    Failure,
    /// What the system does because of failures.
    State,
    /// A fact about the vehicle's past or setting.
    History,
    /// What anyone can notice without a test.
    Symptom,
    /// What the mechanic does to learn more.
    Check,
    /// Something that differs from vehicle to vehicle.
    Fact,
    /// A tool.
    Tool,
    /// A caution.
    Caution,
    /// A word of the scale of weights.
    Word,
    /// A vehicle file.
    Vehicle,
    /// A known case.
    Case,
    /// The access steps of one engine layout.
    Job,
}

impl Kind {
    /// The kinds whose ids share one namespace.
    pub const GRAPH: [Self; 6] =
        [Self::Part, Self::Failure, Self::State, Self::History, Self::Symptom, Self::Check];

    /// Every kind, in order.
    pub const ALL: [Self; 13] = [
        Self::Part,
        Self::Failure,
        Self::State,
        Self::History,
        Self::Symptom,
        Self::Check,
        Self::Fact,
        Self::Tool,
        Self::Caution,
        Self::Word,
        Self::Vehicle,
        Self::Case,
        Self::Job,
    ];

    /// The section of a rule file, or the folder, that holds entries of this kind.
    pub fn section(self) -> &'static str {
        match self {
            Self::Part => "parts",
            Self::Failure => "failures",
            Self::State => "states",
            Self::History => "history",
            Self::Symptom => "symptoms",
            Self::Check => "checks",
            Self::Fact => "facts",
            Self::Tool => "tools",
            Self::Caution => "cautions",
            Self::Word => "words",
            Self::Vehicle => "vehicles",
            Self::Case => "cases",
            Self::Job => "jobs",
        }
    }

    /// What one entry of this kind is called in a sentence.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Part => "part",
            Self::Failure => "failure",
            Self::State => "state",
            Self::History => "history fact",
            Self::Symptom => "symptom",
            Self::Check => "check",
            Self::Fact => "vehicle fact",
            Self::Tool => "tool",
            Self::Caution => "caution",
            Self::Word => "weight word",
            Self::Vehicle => "vehicle",
            Self::Case => "known case",
            Self::Job => "layout",
        }
    }

    /// True for kinds whose ids share one namespace: what links, answers and reports name.
    pub fn shares_ids(self) -> bool {
        Self::GRAPH.contains(&self)
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.noun())
    }
}

/// A whole rule book: every layer merged, every link resolved.
///
/// A book is a graph of causes. History facts and failures bring on failures and states; states bring on
/// further states; all of them show as symptoms and as outcomes of checks. Each [`Link`] carries the chance that
/// its cause, alone, brings on its effect. The maps keep the order of the book (layer, then path of the file, then
/// place in the file), and so does [`links`](Self::links): the same book gives the same order everywhere.
#[derive(Debug, Clone)]
pub struct RuleBook {
    /// Title, version, currency.
    pub head: BookHead,
    /// The scale of weight words.
    pub words: Entries<WordRange>,
    /// How a chance is put into words for a customer, highest first.
    pub chance_words: Vec<ChanceWord>,
    /// Cautions by id.
    pub cautions: Entries<Caution>,
    /// Tools by id.
    pub tools: Entries<Tool>,
    /// Vehicle facts by id.
    pub facts: Entries<VehicleFact>,
    /// Parts by id.
    pub parts: Entries<Part>,
    /// Failures by id.
    pub failures: Entries<Failure>,
    /// States by id.
    pub states: Entries<State>,
    /// History facts by id.
    pub history: Entries<History>,
    /// Symptoms by id.
    pub symptoms: Entries<Symptom>,
    /// Checks by id.
    pub checks: Entries<Check>,
    /// All links from cause to effect, each once, none of weight 0, in book order.
    pub links: Vec<Link>,
    /// Vehicle files by name.
    pub vehicles: Entries<Vehicle>,
    /// Known cases by name.
    pub cases: Entries<KnownCase>,
    /// Engine layouts by id: the access steps of the plan.
    pub jobs: Entries<Job>,
    /// Faults that are known and meant, with where that is said.
    pub silences: Vec<(Silence, Place)>,
    /// What the folders laid over the book changed, one sentence each.
    pub laid_over: Vec<String>,
    /// The layers, lowest first.
    pub layers: Vec<Layer>,
    /// Every file the book was read from.
    pub sources: Vec<Source>,
    pub(super) places: BTreeMap<(Kind, String), Place>,
    /// The file whose words for chances hold.
    pub(super) chances_in: Option<usize>,
    /// Where statements are written that a `change` set.
    pub(super) changed: BTreeMap<StatementKey, Place>,
    /// For each cause, the numbers of its links; filled when the links are.
    pub(super) from: BTreeMap<String, Vec<usize>>,
    /// For each effect, the numbers of its links.
    pub(super) to: BTreeMap<String, Vec<usize>>,
}

impl RuleBook {
    /// What kind of entry an id names: first the kinds that share one namespace (parts, failures, states, history,
    /// symptoms, checks), then vehicle facts, tools, cautions and words.
    pub fn kind_of(&self, id: &str) -> Option<Kind> {
        Kind::ALL
            .into_iter()
            .find(|&kind| !matches!(kind, Kind::Vehicle | Kind::Case | Kind::Job) && self.has(kind, id))
    }

    /// True if the book has an entry of this kind under this id.
    pub fn has(&self, kind: Kind, id: &str) -> bool {
        match kind {
            Kind::Part => self.parts.contains_key(id),
            Kind::Failure => self.failures.contains_key(id),
            Kind::State => self.states.contains_key(id),
            Kind::History => self.history.contains_key(id),
            Kind::Symptom => self.symptoms.contains_key(id),
            Kind::Check => self.checks.contains_key(id),
            Kind::Fact => self.facts.contains_key(id),
            Kind::Tool => self.tools.contains_key(id),
            Kind::Caution => self.cautions.contains_key(id),
            Kind::Word => self.words.contains_key(id),
            Kind::Vehicle => self.vehicles.contains_key(id),
            Kind::Case => self.cases.contains_key(id),
            Kind::Job => self.jobs.contains_key(id),
        }
    }

    /// True if an entry of this kind stands in the book under this id, even one that cannot be used as it is written.
    pub fn has_written(&self, kind: Kind, id: &str) -> bool {
        self.places.contains_key(&(kind, id.to_owned()))
    }

    /// Every id of one kind, in book order.
    pub fn ids(&self, kind: Kind) -> Vec<&str> {
        fn of<T>(entries: &Entries<T>) -> Vec<&str> {
            entries.keys().map(String::as_str).collect()
        }
        match kind {
            Kind::Part => of(&self.parts),
            Kind::Failure => of(&self.failures),
            Kind::State => of(&self.states),
            Kind::History => of(&self.history),
            Kind::Symptom => of(&self.symptoms),
            Kind::Check => of(&self.checks),
            Kind::Fact => of(&self.facts),
            Kind::Tool => of(&self.tools),
            Kind::Caution => of(&self.cautions),
            Kind::Word => of(&self.words),
            Kind::Vehicle => of(&self.vehicles),
            Kind::Case => of(&self.cases),
            Kind::Job => of(&self.jobs),
        }
    }

    /// What the trade calls an entry: its `name`, or a case's title; the id itself if there is none.
    pub fn name_of<'a>(&'a self, id: &'a str) -> &'a str {
        let name = match self.kind_of(id) {
            Some(Kind::Part) => self.parts.get(id).map(|e| &e.name),
            Some(Kind::Failure) => self.failures.get(id).map(|e| &e.name),
            Some(Kind::State) => self.states.get(id).map(|e| &e.name),
            Some(Kind::History) => self.history.get(id).map(|e| &e.name),
            Some(Kind::Symptom) => self.symptoms.get(id).map(|e| &e.name),
            Some(Kind::Check) => self.checks.get(id).map(|e| &e.name),
            Some(Kind::Tool) => self.tools.get(id).map(|e| &e.name),
            _ => None,
        };
        name.map_or(id, String::as_str)
    }

    /// What a weight or background as written is worth. A word that is not on the scale is worth 0; a book that
    /// [`load`](Self::load) accepted has none.
    pub fn weight(&self, spec: &WeightSpec) -> Weight {
        Weight::on_scale(spec, &self.words).unwrap_or(Weight {
            value: 0.0,
            from: 0.0,
            to: 0.0,
            word: spec.word.clone(),
            source: spec.source.clone(),
        })
    }

    /// The links that leave a cause, in book order.
    pub fn links_from<'a>(&'a self, id: &str) -> impl Iterator<Item = &'a Link> + use<'a> {
        self.from.get(id).into_iter().flatten().map(|&number| &self.links[number])
    }

    /// The links that reach an effect (`symptom`, `failure`, `state` or `check/outcome`), in book order.
    pub fn links_to<'a>(&'a self, effect: &str) -> impl Iterator<Item = &'a Link> + use<'a> {
        self.to.get(effect).into_iter().flatten().map(|&number| &self.links[number])
    }

    /// The failures of a part, in book order.
    pub fn failures_of<'a>(
        &'a self,
        part: &'a str,
    ) -> impl Iterator<Item = (&'a str, &'a Failure)> + use<'a> {
        self.failures.iter().filter(move |(_, f)| f.part == part).map(|(id, f)| (id.as_str(), f))
    }

    /// Where an entry is written.
    pub fn place_of(&self, kind: Kind, id: &str) -> Option<&Place> {
        self.places.get(&(kind, id.to_owned()))
    }

    /// The place of something inside an entry: `inside(Failure, "x", &["repair", "do"])`.
    pub fn inside(&self, kind: Kind, id: &str, steps: &[&str]) -> Option<Place> {
        let place = self.place_of(kind, id)?;
        let mut route = place.route.0.clone();
        route.extend(steps.iter().map(|&s| s.to_owned()));
        Some(Place { source: place.source, route: Route(route) })
    }

    /// The layer a place belongs to.
    pub(super) fn layer_of(&self, place: &Place) -> usize {
        self.sources.get(place.source).map_or(0, |source| source.layer)
    }

    /// What a file is called in messages: its layer's folder and its path below it.
    pub fn name_of_source(&self, source: usize) -> String {
        self.sources.get(source).map(|source| file_name(source, &self.layers)).unwrap_or_default()
    }
}
