//! Links as they are stated: every line of every `raised-by`, `leads-to` and `shows`.

use super::entries::{Entries, WeightSpec};
use super::{Kind, Place, Route, RuleBook};

/// The list of an entry in which a link is stated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LinkList {
    /// `raised-by`: the entry is the effect.
    RaisedBy,
    /// `leads-to`: the entry is the cause of a failure or state.
    LeadsTo,
    /// `shows`: the entry is the cause of a finding.
    Shows,
}

impl LinkList {
    /// The list's key in a rule file.
    pub fn key(self) -> &'static str {
        match self {
            Self::RaisedBy => "raised-by",
            Self::LeadsTo => "leads-to",
            Self::Shows => "shows",
        }
    }
}

/// One link as stated in an entry, whether or not it can be resolved.
#[derive(Debug, Clone, Copy)]
pub struct Statement<'a> {
    /// The kind of the entry that states it.
    pub kind: Kind,
    /// The entry that states it.
    pub owner: &'a str,
    /// In which of its lists.
    pub list: LinkList,
    /// What is named there.
    pub other: &'a str,
    /// The weight, as written.
    pub spec: &'a WeightSpec,
}

impl<'a> Statement<'a> {
    /// The cause and the effect, as written.
    pub fn ends(&self) -> (&'a str, &'a str) {
        match self.list {
            LinkList::RaisedBy => (self.other, self.owner),
            LinkList::LeadsTo | LinkList::Shows => (self.owner, self.other),
        }
    }
}

/// The key of a statement whose place is not in its owner's entry but in a `change`.
pub(super) type StatementKey = (Kind, String, LinkList, String);

impl RuleBook {
    /// Every link as stated, in book order: history, failures, states; within an entry `raised-by`, `leads-to`, `shows`.
    pub fn statements(&self) -> impl Iterator<Item = Statement<'_>> {
        let history = self.history.iter().flat_map(|(id, e)| {
            [
                (Kind::History, id, LinkList::LeadsTo, &e.leads_to),
                (Kind::History, id, LinkList::Shows, &e.shows),
            ]
        });
        let failures = self.failures.iter().flat_map(|(id, e)| {
            [
                (Kind::Failure, id, LinkList::RaisedBy, &e.raised_by),
                (Kind::Failure, id, LinkList::LeadsTo, &e.leads_to),
                (Kind::Failure, id, LinkList::Shows, &e.shows),
            ]
        });
        let states = self.states.iter().flat_map(|(id, e)| {
            [
                (Kind::State, id, LinkList::RaisedBy, &e.raised_by),
                (Kind::State, id, LinkList::LeadsTo, &e.leads_to),
                (Kind::State, id, LinkList::Shows, &e.shows),
            ]
        });
        history.chain(failures).chain(states).flat_map(|(kind, owner, list, links)| {
            links.iter().map(move |(other, spec)| Statement { kind, owner, list, other, spec })
        })
    }

    /// Where a statement is written.
    pub fn place_of_statement(&self, statement: &Statement<'_>) -> Place {
        let Statement { kind, owner, list, other, .. } = *statement;
        if !self.changed.is_empty() {
            let key = (kind, owner.to_owned(), list, other.to_owned());
            if let Some(place) = self.changed.get(&key) {
                return place.clone();
            }
        }
        self.inside(kind, owner, &[list.key(), other])
            .unwrap_or_else(|| Place { source: 0, route: Route::default() })
    }

    /// One of the three link lists of an entry; `None` if there is no such entry or it has no such list.
    pub(super) fn list_mut(
        &mut self,
        kind: Kind,
        id: &str,
        list: LinkList,
    ) -> Option<&mut Entries<WeightSpec>> {
        match (kind, list) {
            (Kind::Failure, _) => {
                let entry = self.failures.get_mut(id)?;
                Some(match list {
                    LinkList::RaisedBy => &mut entry.raised_by,
                    LinkList::LeadsTo => &mut entry.leads_to,
                    LinkList::Shows => &mut entry.shows,
                })
            }
            (Kind::State, _) => {
                let entry = self.states.get_mut(id)?;
                Some(match list {
                    LinkList::RaisedBy => &mut entry.raised_by,
                    LinkList::LeadsTo => &mut entry.leads_to,
                    LinkList::Shows => &mut entry.shows,
                })
            }
            (Kind::History, LinkList::LeadsTo) => Some(&mut self.history.get_mut(id)?.leads_to),
            (Kind::History, LinkList::Shows) => Some(&mut self.history.get_mut(id)?.shows),
            _ => None,
        }
    }

    /// Every link list of the book, for taking links out.
    pub(super) fn lists_mut(&mut self) -> impl Iterator<Item = &mut Entries<WeightSpec>> {
        let failures =
            self.failures.values_mut().flat_map(|e| [&mut e.raised_by, &mut e.leads_to, &mut e.shows]);
        let states = self.states.values_mut().flat_map(|e| [&mut e.raised_by, &mut e.leads_to, &mut e.shows]);
        let history = self.history.values_mut().flat_map(|e| [&mut e.leads_to, &mut e.shows]);
        failures.chain(states).chain(history)
    }
}
