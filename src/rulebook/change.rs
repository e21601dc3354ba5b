//! Patches: single fields and links of an entry changed by a layer above it, and entries taken out.

use super::codes::CHANGE_DOES_NOT_FIT;
use super::entries::{Change, Entries, WeightSpec};
use super::fault::{Fault, Spot};
use super::nearest::unknown_id;
use super::{Kind, LinkList, Place, Route, RuleBook};

impl RuleBook {
    /// Applies the `change` section of a file.
    pub(super) fn change(&mut self, source: usize, changes: Entries<Change>) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (id, change) in changes {
            let place = Place { source, route: Route::of(&["change", &id]) };
            let Some(kind) = self.kind_of(&id).filter(|kind| kind.shares_ids()) else {
                faults.push(unknown_id(self, Spot::key(&place), "entry", &id, &Kind::GRAPH));
                continue;
            };
            let mut told = Vec::new();
            let mut misfits = Vec::new();
            self.change_fields(kind, &id, &change, &mut told, &mut misfits);
            self.change_lists(kind, &id, &change, &place, &mut told, &mut misfits);
            for misfit in misfits {
                faults.push(
                    Fault::at(
                        &CHANGE_DOES_NOT_FIT,
                        Spot::key(&Place { source, route: place.route.then(misfit) }),
                        format!("`{id}` is a {kind}, which has no `{misfit}` to change"),
                    )
                    .label("this cannot be changed here")
                    .help(format!("to replace the whole {kind}, state it anew under `{}`", kind.section())),
                );
            }
            self.laid_over.push(format!(
                "{} changes the {kind} `{id}`: {}",
                self.name_of_source(source),
                if told.is_empty() { "nothing".to_owned() } else { told.join("; ") }
            ));
        }
        faults
    }

    fn change_fields(
        &mut self,
        kind: Kind,
        id: &str,
        change: &Change,
        told: &mut Vec<String>,
        misfits: &mut Vec<&'static str>,
    ) {
        let mut note = |field: &'static str, change: Option<String>| match change {
            Some(what) => told.push(format!("{field} {what}")),
            None => misfits.push(field),
        };
        if let Some(base) = change.base {
            let old = match kind {
                Kind::Failure => self.failures.get_mut(id).map(|e| &mut e.base),
                Kind::History => self.history.get_mut(id).map(|e| &mut e.base),
                _ => None,
            };
            note("base", swap(old, base, ToString::to_string));
        }
        if let Some(background) = &change.background {
            let old = match kind {
                Kind::State => self.states.get_mut(id).map(|e| &mut e.background),
                Kind::Symptom => self.symptoms.get_mut(id).map(|e| &mut e.background),
                _ => None,
            };
            note("background", swap(old, background.clone(), written));
        }
        if let Some(price) = change.price {
            let old = self.parts.get_mut(id).map(|e| &mut e.price);
            note("price", swap(old, price, |band| format!("{} to {}", band.0, band.1)));
        }
        if let Some(minutes) = change.minutes {
            let old = self.checks.get_mut(id).map(|e| &mut e.minutes);
            note("minutes", swap(old, minutes, ToString::to_string));
        }
        if !change.outcomes.is_empty() {
            match self.checks.get_mut(id) {
                None => note("outcomes", None),
                Some(check) => {
                    for (outcome, background) in &change.outcomes {
                        let old = check.outcomes.get_mut(outcome).map(|o| &mut o.background);
                        match swap(old, background.clone(), written) {
                            Some(what) => note("outcomes", Some(format!("`{outcome}` {what}"))),
                            None => note("outcomes", None),
                        }
                    }
                }
            }
        }
        if !change.words.is_empty() {
            match self.symptoms.get_mut(id) {
                None => note("words", None),
                Some(symptom) => {
                    symptom.words.extend(change.words.iter().cloned());
                    note("words", Some(format!("gains {}", change.words.len())));
                }
            }
        }
        if let Some(source) = &change.source {
            let add = |old: &str| format!("{old}; changed: {source}");
            let add_option = |old: &mut Option<String>| {
                *old = Some(old.as_deref().map_or_else(|| source.clone(), add));
            };
            match kind {
                Kind::Failure => {
                    self.failures.get_mut(id).into_iter().for_each(|e| e.source = add(&e.source));
                }
                Kind::Check => self.checks.get_mut(id).into_iter().for_each(|e| e.source = add(&e.source)),
                Kind::State => self.states.get_mut(id).into_iter().for_each(|e| add_option(&mut e.source)),
                Kind::History => self.history.get_mut(id).into_iter().for_each(|e| add_option(&mut e.source)),
                Kind::Symptom => {
                    self.symptoms.get_mut(id).into_iter().for_each(|e| add_option(&mut e.source));
                }
                _ => {}
            }
        }
    }

    fn change_lists(
        &mut self,
        kind: Kind,
        id: &str,
        change: &Change,
        place: &Place,
        told: &mut Vec<String>,
        misfits: &mut Vec<&'static str>,
    ) {
        for (list, links) in [
            (LinkList::RaisedBy, &change.raised_by),
            (LinkList::LeadsTo, &change.leads_to),
            (LinkList::Shows, &change.shows),
        ] {
            if links.is_empty() {
                continue;
            }
            if self.list_mut(kind, id, list).is_none() {
                misfits.push(list.key());
                continue;
            }
            for (other, spec) in links {
                let at = Place { source: place.source, route: place.route.then(list.key()).then(other) };
                let mut spec = spec.clone();
                spec.source = spec.source.or_else(|| change.source.clone());
                let now = written(&spec);
                let was = self.change_link(kind, id, list, other, spec, at);
                told.push(format!("{} `{other}` {was} -> {now}", list.key()));
            }
        }
    }

    /// Sets the weight of one link where it is stated, be it in this entry or at the link's other end, or adds it to
    /// this entry; returns what stood there.
    fn change_link(
        &mut self,
        kind: Kind,
        id: &str,
        list: LinkList,
        other: &str,
        mut spec: WeightSpec,
        at: Place,
    ) -> String {
        let here = (kind, id.to_owned(), list, other.to_owned());
        let far_kind = self.kind_of(other);
        let far = match (list, far_kind) {
            (LinkList::RaisedBy, Some(far)) => {
                Some((far, other.to_owned(), LinkList::LeadsTo, id.to_owned()))
            }
            (LinkList::LeadsTo, Some(far)) => {
                Some((far, other.to_owned(), LinkList::RaisedBy, id.to_owned()))
            }
            _ => None,
        };
        let stated = |book: &mut Self, key: &(Kind, String, LinkList, String)| {
            book.list_mut(key.0, &key.1, key.2).and_then(|links| links.get(&key.3)).map(written)
        };
        let at_far_end = far.filter(|key| stated(self, &here).is_none() && stated(self, key).is_some());
        let key = at_far_end.unwrap_or(here);
        let was = stated(self, &key).unwrap_or_else(|| "none".to_owned());
        if let Some(links) = self.list_mut(key.0, &key.1, key.2) {
            // Another weight says nothing about where the link holds.
            if let (true, Some(old)) = (spec.fits_if.is_empty(), links.get(&key.3)) {
                spec.fits_if.clone_from(&old.fits_if);
            }
            links.insert(key.3.clone(), spec);
        }
        self.changed.insert(key, at);
        was
    }

    /// Takes an entry out.
    pub(super) fn take_out(&mut self, kind: Kind, id: &str) {
        match kind {
            Kind::Part => drop(self.parts.shift_remove(id)),
            Kind::Failure => drop(self.failures.shift_remove(id)),
            Kind::State => drop(self.states.shift_remove(id)),
            Kind::History => drop(self.history.shift_remove(id)),
            Kind::Symptom => drop(self.symptoms.shift_remove(id)),
            Kind::Check => drop(self.checks.shift_remove(id)),
            Kind::Fact => drop(self.facts.shift_remove(id)),
            Kind::Tool => drop(self.tools.shift_remove(id)),
            Kind::Caution => drop(self.cautions.shift_remove(id)),
            Kind::Word => drop(self.words.shift_remove(id)),
            Kind::Vehicle => drop(self.vehicles.shift_remove(id)),
            Kind::Case => drop(self.cases.shift_remove(id)),
            Kind::Job => drop(self.jobs.shift_remove(id)),
        }
        self.places.remove(&(kind, id.to_owned()));
    }

    /// Takes every link to an id (or to one of a check's outcomes) out of the lists; returns how many there were.
    pub(super) fn drop_links(&mut self, id: &str) -> usize {
        let mut dropped = 0;
        for links in self.lists_mut() {
            let before = links.len();
            links.retain(|other, _| other.split('/').next() != Some(id));
            dropped += before - links.len();
        }
        dropped
    }

    /// A check stated anew may have fewer outcomes than the one below: links of the layers below to those that are
    /// gone go with them, and are said.
    pub(super) fn drop_outdated_links(&mut self) {
        let mut gone = Vec::new();
        for statement in self.statements() {
            let Some((check, outcome)) = statement.other.split_once('/') else { continue };
            let (Some(entry), Some(place)) = (self.checks.get(check), self.place_of(Kind::Check, check))
            else {
                continue;
            };
            let outdated = self.layer_of(&self.place_of_statement(&statement)) < self.layer_of(place);
            if outdated && !entry.outcomes.contains_key(outcome) {
                let key =
                    (statement.kind, statement.owner.to_owned(), statement.list, statement.other.to_owned());
                gone.push((key, place.source));
            }
        }
        for ((kind, owner, list, other), source) in gone {
            if let Some(links) = self.list_mut(kind, &owner, list) {
                links.shift_remove(&other);
            }
            let by = self.name_of_source(source);
            self.laid_over.push(format!("{by} takes out `{other}`, and with it the link from `{owner}`"));
        }
    }
}

/// Puts a new value in the place of an old one and says both; `None` if there is no such place.
fn swap<T>(old: Option<&mut T>, new: T, say: impl Fn(&T) -> String) -> Option<String> {
    let old = old?;
    let was = say(old);
    *old = new;
    Some(format!("{was} -> {}", say(old)))
}

/// A weight as it was written.
pub(super) fn written(spec: &WeightSpec) -> String {
    match (&spec.word, spec.number) {
        (Some(word), _) => word.clone(),
        (None, number) => number.unwrap_or(0.0).to_string(),
    }
}
