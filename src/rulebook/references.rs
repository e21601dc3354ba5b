//! Every place in the book where one entry names another.

use super::entries::{FitsIf, Job, Severe};
use super::fault::Spot;
use super::statements::Statement;
use super::{Kind, LinkList, Place, RuleBook};

/// One id named somewhere, with the kinds of entry it may be.
#[derive(Debug, Clone)]
pub struct Reference<'a> {
    /// Where it stands.
    pub spot: Spot,
    /// The kind of the entry it stands in.
    pub owner_kind: Kind,
    /// The entry it stands in.
    pub owner: &'a str,
    /// What is named: an id, or `check/outcome`.
    pub id: &'a str,
    /// What it may be.
    pub wanted: &'static [Kind],
    /// The link list it stands in, if it is the end of a link.
    pub list: Option<LinkList>,
}

const CAUSES: &[Kind] = &[Kind::History, Kind::Failure, Kind::State];
const BROUGHT_ON: &[Kind] = &[Kind::Failure, Kind::State];
const FINDINGS: &[Kind] = &[Kind::Symptom, Kind::Check];
const ASKED: &[Kind] = &[Kind::Symptom, Kind::History, Kind::Check];
const RANKED: &[Kind] = &[Kind::Part, Kind::Failure];
const CHANCES: &[Kind] = &[Kind::Part, Kind::Failure, Kind::State, Kind::History];

impl RuleBook {
    /// Every reference of the book, in a fixed order.
    pub fn references(&self) -> Vec<Reference<'_>> {
        let mut found = Found { book: self, list: Vec::new() };
        for (id, failure) in &self.failures {
            found.value(Kind::Failure, id, &["part"], &failure.part, &[Kind::Part]);
            found.values(Kind::Failure, id, &["repair", "with"], &failure.repair.with, &[Kind::Part]);
        }
        for (id, check) in &self.checks {
            found.values(Kind::Check, id, &["tools"], &check.tools, &[Kind::Tool]);
            found.values(Kind::Check, id, &["cautions"], &check.cautions, &[Kind::Caution]);
        }
        for (kind, id, mut way, severe) in self.severe() {
            way.push("until");
            found.values(kind, id, &way, &severe.until, &[Kind::Check]);
        }
        for (id, symptom) in &self.symptoms {
            found.values(Kind::Symptom, id, &["not-with"], &symptom.not_with, &[Kind::Symptom]);
        }
        for (kind, id, conditions) in self.conditions() {
            found.keys(kind, id, &["fits-if"], conditions.keys(), &[Kind::Fact]);
        }
        for (statement, place, conditions) in self.link_conditions() {
            for fact in conditions.keys() {
                let spot = Spot::key(&place.then(fact.as_str()));
                found.add(spot, statement.kind, statement.owner, fact, &[Kind::Fact]);
            }
        }
        for statement in self.statements() {
            let wanted = match statement.list {
                LinkList::RaisedBy => CAUSES,
                LinkList::LeadsTo => BROUGHT_ON,
                LinkList::Shows => FINDINGS,
            };
            found.list.push(Reference {
                spot: Spot::key(&self.place_of_statement(&statement)),
                owner_kind: statement.kind,
                owner: statement.owner,
                id: statement.other,
                wanted,
                list: Some(statement.list),
            });
        }
        for (id, vehicle) in &self.vehicles {
            found.keys(Kind::Vehicle, id, &["facts"], vehicle.facts.keys(), &[Kind::Fact]);
            found.keys(Kind::Vehicle, id, &["fitted"], vehicle.fitted.keys(), &[Kind::Part]);
            found.keys(Kind::Vehicle, id, &["history"], vehicle.history.keys(), &[Kind::History]);
            // A book without access steps leaves layouts open.
            if let Some(layout) = vehicle.layout.as_ref().filter(|_| !self.jobs.is_empty()) {
                found.value(Kind::Vehicle, id, &["layout"], layout, &[Kind::Job]);
            }
        }
        for (id, job) in &self.jobs {
            found.job(id, job);
        }
        for (id, case) in &self.cases {
            if let Some(vehicle) = &case.vehicle {
                found.value(Kind::Case, id, &["vehicle"], vehicle, &[Kind::Vehicle]);
            }
            found.keys(Kind::Case, id, &["facts"], case.facts.keys(), &[Kind::Fact]);
            for (number, answer) in case.answers.iter().enumerate() {
                found.value(Kind::Case, id, &["answers", &number.to_string(), "ask"], &answer.ask, ASKED);
            }
            if let Some(first) = &case.expect.first {
                found.value(Kind::Case, id, &["expect", "first"], first, RANKED);
            }
            found.values(Kind::Case, id, &["expect", "with"], &case.expect.with, RANKED);
            found.keys(Kind::Case, id, &["expect", "below"], case.expect.below.keys(), CHANCES);
            found.keys(Kind::Case, id, &["expect", "above"], case.expect.above.keys(), CHANCES);
        }
        found.list
    }

    /// Every condition on vehicle facts, with the entry it belongs to.
    pub fn conditions(&self) -> impl Iterator<Item = (Kind, &str, &FitsIf)> {
        let parts = self.parts.iter().map(|(id, e)| (Kind::Part, id.as_str(), &e.fits_if));
        let failures = self.failures.iter().map(|(id, e)| (Kind::Failure, id.as_str(), &e.fits_if));
        let states = self.states.iter().map(|(id, e)| (Kind::State, id.as_str(), &e.fits_if));
        let history = self.history.iter().map(|(id, e)| (Kind::History, id.as_str(), &e.fits_if));
        let symptoms = self.symptoms.iter().map(|(id, e)| (Kind::Symptom, id.as_str(), &e.fits_if));
        let checks = self.checks.iter().map(|(id, e)| (Kind::Check, id.as_str(), &e.fits_if));
        parts.chain(failures).chain(states).chain(history).chain(symptoms).chain(checks)
    }

    /// Everything severe: the entry, the way to it in there, and why.
    pub(super) fn severe(&self) -> impl Iterator<Item = (Kind, &str, Vec<&str>, &Severe)> {
        let found = |kind, id, way, severe: Option<_>| severe.map(|severe| (kind, id, way, severe));
        let states = self
            .states
            .iter()
            .filter_map(move |(id, e)| found(Kind::State, id.as_str(), vec!["severe"], e.severe.as_ref()));
        let symptoms = self
            .symptoms
            .iter()
            .filter_map(move |(id, e)| found(Kind::Symptom, id.as_str(), vec!["severe"], e.severe.as_ref()));
        let outcomes = self.checks.iter().flat_map(|(id, check)| check.outcomes.iter().map(move |o| (id, o)));
        let outcomes = outcomes.filter_map(move |(id, (name, e))| {
            found(Kind::Check, id.as_str(), vec!["outcomes", name, "severe"], e.severe.as_ref())
        });
        states.chain(symptoms).chain(outcomes)
    }

    /// Every condition on vehicle facts that a link has: the link as stated, where the condition stands, the condition.
    pub(super) fn link_conditions(&self) -> impl Iterator<Item = (Statement<'_>, Place, &FitsIf)> {
        self.statements().filter(|statement| !statement.spec.fits_if.is_empty()).map(|statement| {
            let place = self.place_of_statement(&statement).then("fits-if");
            (statement, place, &statement.spec.fits_if)
        })
    }

    /// Every condition on vehicle facts in a layout: the layout, the way to it, the condition.
    pub(super) fn job_conditions(&self) -> impl Iterator<Item = (&str, Vec<&str>, &FitsIf)> {
        self.jobs.iter().flat_map(|(id, job)| {
            let steps = job.steps.iter().map(|(name, e)| (vec!["steps", name, "fits-if"], &e.fits_if));
            let prove = job.prove.iter().map(|(name, e)| (vec!["prove", name, "fits-if"], &e.fits_if));
            let watch = job.watch.iter().map(|(name, e)| (vec!["watch", name, "fits-if"], &e.fits_if));
            std::iter::once((vec!["suits"], &job.suits))
                .chain(steps)
                .chain(prove)
                .chain(watch)
                .map(move |(way, conditions)| (id.as_str(), way, conditions))
        })
    }

    /// A place inside an entry of this book; the file itself if the entry is not known.
    pub(crate) fn within(&self, kind: Kind, id: &str, steps: &[&str]) -> Place {
        self.inside(kind, id, steps).unwrap_or_else(|| Place { source: 0, route: super::Route::default() })
    }
}

struct Found<'a> {
    book: &'a RuleBook,
    list: Vec<Reference<'a>>,
}

impl<'a> Found<'a> {
    fn job(&mut self, id: &'a str, job: &'a Job) {
        self.values(Kind::Job, id, &["builds-on"], &job.builds_on, &[Kind::Job]);
        self.keys(Kind::Job, id, &["suits"], job.suits.keys(), &[Kind::Fact]);
        for (name, step) in &job.steps {
            let lists: [(&str, &'a [String], &'static [Kind]); 7] = [
                ("tools", &step.tools, &[Kind::Tool]),
                ("cautions", &step.cautions, &[Kind::Caution]),
                ("cautions-refit", &step.cautions_refit, &[Kind::Caution]),
                ("renews", &step.renews, &[Kind::Part]),
                ("mends", &step.mends, &[Kind::Failure]),
                ("clears", &step.clears, &[Kind::State, Kind::History]),
                ("leaves", &step.leaves, &[Kind::History]),
            ];
            for (key, ids, wanted) in lists {
                self.values(Kind::Job, id, &["steps", name, key], ids, wanted);
            }
            self.keys(Kind::Job, id, &["steps", name, "fits-if"], step.fits_if.keys(), &[Kind::Fact]);
        }
        for (name, proof) in &job.prove {
            self.values(Kind::Job, id, &["prove", name, "tools"], &proof.tools, &[Kind::Tool]);
            self.values(Kind::Job, id, &["prove", name, "cautions"], &proof.cautions, &[Kind::Caution]);
            self.keys(Kind::Job, id, &["prove", name, "fits-if"], proof.fits_if.keys(), &[Kind::Fact]);
        }
        for (name, watch) in &job.watch {
            self.values(Kind::Job, id, &["watch", name, "ask"], &watch.ask, FINDINGS);
            self.values(Kind::Job, id, &["watch", name, "cautions"], &watch.cautions, &[Kind::Caution]);
            self.keys(Kind::Job, id, &["watch", name, "fits-if"], watch.fits_if.keys(), &[Kind::Fact]);
        }
        for (name, watch) in &job.watch {
            self.values(Kind::Job, id, &["watch", name, "ask"], &watch.ask, ASKED);
            self.values(Kind::Job, id, &["watch", name, "cautions"], &watch.cautions, &[Kind::Caution]);
            self.keys(Kind::Job, id, &["watch", name, "fits-if"], watch.fits_if.keys(), &[Kind::Fact]);
        }
    }

    fn add(&mut self, spot: Spot, owner_kind: Kind, owner: &'a str, id: &'a str, wanted: &'static [Kind]) {
        self.list.push(Reference { spot, owner_kind, owner, id, wanted, list: None });
    }

    fn value(&mut self, kind: Kind, owner: &'a str, steps: &[&str], id: &'a str, wanted: &'static [Kind]) {
        let spot = Spot::value(&self.book.within(kind, owner, steps));
        self.add(spot, kind, owner, id, wanted);
    }

    fn values(
        &mut self,
        kind: Kind,
        owner: &'a str,
        steps: &[&str],
        ids: &'a [String],
        wanted: &'static [Kind],
    ) {
        for (number, id) in ids.iter().enumerate() {
            let number = number.to_string();
            let steps: Vec<&str> = steps.iter().copied().chain([number.as_str()]).collect();
            self.value(kind, owner, &steps, id, wanted);
        }
    }

    fn keys(
        &mut self,
        kind: Kind,
        owner: &'a str,
        steps: &[&str],
        ids: impl Iterator<Item = &'a String>,
        wanted: &'static [Kind],
    ) {
        for id in ids {
            let steps: Vec<&str> = steps.iter().copied().chain([id.as_str()]).collect();
            let spot = Spot::key(&self.book.within(kind, owner, &steps));
            self.add(spot, kind, owner, id, wanted);
        }
    }
}
