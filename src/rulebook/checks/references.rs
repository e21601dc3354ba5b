//! Do the ids that are named exist, and are they of the right kind?

use super::{BookCheck, Needs};
use crate::rulebook::codes::UNKNOWN_ID;
use crate::rulebook::fault::code;
use crate::rulebook::nearest::nearest;
use crate::rulebook::references::Reference;
use crate::rulebook::shape::{list_or, one_of};
use crate::rulebook::{Code, Fault, Kind, LinkList, RuleBook};

code! {
    /// An id is named where an entry of another kind belongs.
    ///
    /// `leads-to` names failures and states; what is noticed or measured stands under `shows`: symptoms by their id, a
    /// check always with one of its outcomes (`rock-pump-pulley/play`). `raised-by` names history facts, failures and
    /// states.
    ///
    /// Before:
    ///
    /// ```yaml
    /// leads-to: {grinding-noise: usually}
    /// ```
    ///
    /// After:
    ///
    /// ```yaml
    /// shows: {grinding-noise: usually}
    /// ```
    pub static WRONG_KIND = Error "wrong-kind", "a reference to an entry of the wrong kind";
}

pub(super) struct UnknownIds;

impl BookCheck for UnknownIds {
    fn code(&self) -> &'static Code {
        &UNKNOWN_ID
    }

    fn needs(&self) -> Needs {
        Needs::EveryFile
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        book.references().iter().filter_map(|reference| unknown(book, reference)).collect()
    }
}

pub(super) struct WrongKinds;

impl BookCheck for WrongKinds {
    fn code(&self) -> &'static Code {
        &WRONG_KIND
    }

    fn needs(&self) -> Needs {
        Needs::EveryFile
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        book.references().iter().filter_map(|reference| wrong_kind(book, reference)).collect()
    }
}

/// The kind of a written entry, looked for first among the wanted ones, then among all whose ids links share.
fn kind_of(book: &RuleBook, id: &str, wanted: &[Kind]) -> Option<Kind> {
    wanted.iter().chain(&Kind::GRAPH).copied().find(|&kind| book.has_written(kind, id))
}

fn unknown(book: &RuleBook, reference: &Reference<'_>) -> Option<Fault> {
    let Reference { id, wanted, .. } = *reference;
    let (entry, outcome) = match id.split_once('/') {
        Some((entry, outcome)) if reference.list.is_some() => (entry, Some(outcome)),
        _ => (id, None),
    };
    let Some(kind) = kind_of(book, entry, wanted) else {
        return Some(unknown_entry(book, reference, entry, outcome));
    };
    let (Some(outcome), Kind::Check) = (outcome, kind) else { return None };
    // A check that cannot be used as it is written may well have the outcome.
    let check = book.checks.get(entry)?;
    if check.outcomes.contains_key(outcome) {
        return None;
    }
    let known: Vec<&str> = check.outcomes.keys().map(String::as_str).collect();
    let help = match nearest(outcome, known.iter().copied()) {
        Some(near) => format!("did you mean `{entry}/{near}`?"),
        None => format!("its outcomes are {}", list_or(&known)),
    };
    let message = format!("the check `{entry}` has no outcome `{outcome}`");
    Some(Fault::at(&UNKNOWN_ID, reference.spot.clone(), message).label("not known").help(help))
}

fn unknown_entry(book: &RuleBook, reference: &Reference<'_>, entry: &str, outcome: Option<&str>) -> Fault {
    let wanted: &[Kind] = if outcome.is_some() { &[Kind::Check] } else { reference.wanted };
    let nouns: Vec<&str> = wanted.iter().map(|kind| kind.noun()).collect();
    let message = format!("the book has no {} `{entry}`", one_of(&nouns));
    let fault = Fault::at(&UNKNOWN_ID, reference.spot.clone(), message).label("not known");
    let known: Vec<&str> = wanted.iter().flat_map(|&kind| book.ids(kind)).collect();
    match nearest(entry, known.iter().copied()) {
        Some(near) => match outcome {
            Some(outcome) => fault.help(format!("did you mean `{near}/{outcome}`?")),
            None => fault.help(format!("did you mean `{near}`?")),
        },
        None if known.is_empty() => fault,
        None if known.len() <= 24 => fault.help(format!("the book knows {}", list_or(&known))),
        None => fault.help(format!("state it under `{}`, or take the reference out", wanted[0].section())),
    }
}

fn wrong_kind(book: &RuleBook, reference: &Reference<'_>) -> Option<Fault> {
    let Reference { id, wanted, list, .. } = *reference;
    let (entry, outcome) = match id.split_once('/') {
        Some((entry, outcome)) if list.is_some() => (entry, Some(outcome)),
        _ => (id, None),
    };
    let kind = kind_of(book, entry, wanted)?;
    let help = match (list, kind, outcome) {
        (Some(LinkList::Shows), Kind::Check, Some(_)) => return None,
        (Some(LinkList::Shows), Kind::Check, None) => {
            let outcomes = book.checks.get(entry).map(|check| check.outcomes.keys()).into_iter().flatten();
            let outcomes: Vec<String> = outcomes.map(|outcome| format!("{entry}/{outcome}")).collect();
            let outcomes: Vec<&str> = outcomes.iter().map(String::as_str).collect();
            return Some(
                Fault::at(&WRONG_KIND, reference.spot.clone(), format!("`{entry}` is a check, named without an outcome"))
                    .label("expected `check/outcome`")
                    .help(format!("say which outcome shows it: {}", list_or(&outcomes))),
            );
        }
        (Some(_), kind, Some(_)) if kind != Kind::Check => {
            return Some(
                Fault::at(&WRONG_KIND, reference.spot.clone(), format!("`{entry}` is a {kind}, which has no outcomes"))
                    .label("expected an id alone")
                    .help(format!("write `{entry}`")),
            );
        }
        (_, kind, None) if wanted.contains(&kind) => return None,
        (Some(LinkList::Shows), Kind::Failure | Kind::State, _) => {
            "what is brought on stands under `leads-to`; only what is noticed or measured stands under `shows`".to_owned()
        }
        (Some(LinkList::LeadsTo), Kind::Symptom | Kind::Check, _) => {
            "what is noticed or measured stands under `shows`".to_owned()
        }
        (Some(LinkList::LeadsTo), Kind::History, _) => {
            "nothing brings a history fact on: state the link under the history fact instead".to_owned()
        }
        _ => {
            let near = wanted.iter().find_map(|&kind| nearest(entry, book.ids(kind)));
            near.map(|near| format!("did you mean `{near}`?")).unwrap_or_default()
        }
    };
    let nouns: Vec<&str> = wanted.iter().map(|kind| kind.noun()).collect();
    let fault = Fault::at(&WRONG_KIND, reference.spot.clone(), format!("`{entry}` is a {kind}"))
        .label(format!("expected a {}", one_of(&nouns)));
    Some(if help.is_empty() { fault } else { fault.help(help) })
}
