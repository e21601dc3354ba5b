//! Warnings that are meant.

use crate::rulebook::entries::Silence;
use crate::rulebook::{Code, Fault, Place, Point, RuleBook, Severity, Source, Spot, code, nearest};

code! {
    /// `silence` names a code that does not exist, or one of an error, which cannot be silenced.
    ///
    /// `weephole rules check --explain` lists the codes.
    pub static BAD_SILENCE = Warning "bad-silence", "a silence that cannot be";
}

code! {
    /// A `silence` that silences nothing.
    ///
    /// What it was about has been mended or renamed. Take the line out, so that it cannot hide something new.
    pub static IDLE_SILENCE = Note "idle-silence", "a silence that silences nothing";
}

pub(super) fn codes() -> Vec<&'static Code> {
    vec![&BAD_SILENCE, &IDLE_SILENCE]
}

/// What is left after silencing.
#[derive(Debug, Clone, Default)]
pub struct Silenced {
    /// Faults that stand.
    pub kept: Vec<Fault>,
    /// How many were silenced.
    pub silenced: usize,
}

/// Takes out the warnings and notes that the book says are meant. `known` are all codes there are.
pub fn silence(book: &RuleBook, faults: Vec<Fault>, known: &[&'static Code]) -> Silenced {
    let mut used = vec![false; book.silences.len()];
    let mut result = Silenced::default();
    for fault in faults {
        let mut meant = false;
        if fault.code.severity != Severity::Error {
            for (at, (silence, _)) in book.silences.iter().enumerate() {
                if speaks_of(book, silence, &fault) {
                    used[at] = true;
                    meant = true;
                }
            }
        }
        if meant {
            result.silenced += 1;
        } else {
            result.kept.push(fault);
        }
    }
    for (at, (silence, place)) in book.silences.iter().enumerate() {
        if let Some(fault) = fault_of(silence, place, known, used[at]) {
            result.kept.push(fault);
        }
    }
    result
}

fn fault_of(silence: &Silence, place: &Place, known: &[&'static Code], used: bool) -> Option<Fault> {
    let place = Place { source: place.source, route: place.route.then("code") };
    let name = &silence.code;
    match known.iter().find(|code| code.name == name) {
        None => {
            let fault = Fault::at(&BAD_SILENCE, Spot::value(&place), format!("there is no code `{name}`"));
            let near = nearest(name, known.iter().map(|code| code.name));
            Some(match near {
                Some(near) => fault.help(format!("did you mean `{near}`?")),
                None => fault,
            })
        }
        Some(code) if code.severity == Severity::Error => Some(
            Fault::at(
                &BAD_SILENCE,
                Spot::value(&place),
                format!("`{name}` is an error: it cannot be silenced"),
            )
            .help("mend what it reports"),
        ),
        Some(_) if !used => Some(
            Fault::at(&IDLE_SILENCE, Spot::value(&place), format!("nothing is silenced at `{}`", silence.at))
                .label("this does nothing any more"),
        ),
        Some(_) => None,
    }
}

fn speaks_of(book: &RuleBook, silence: &Silence, fault: &Fault) -> bool {
    if silence.code != fault.code.name {
        return false;
    }
    let spots: Vec<&Spot> = fault.spot.iter().chain(fault.also.iter().map(|(spot, _)| spot)).collect();
    let at = |id: &str| spots.iter().any(|spot| is_at(book, spot, id));
    at(&silence.at) && silence.with.as_ref().is_none_or(|with| at(with))
}

/// Whether a spot is in the entry `id`, or at the place inside an entry that `id` names with dots.
fn is_at(book: &RuleBook, spot: &Spot, id: &str) -> bool {
    let wanted: Vec<&str> = id.split('.').collect();
    let (Point::Key(route) | Point::Value(route)) = &spot.point else {
        return book.sources.get(spot.source).is_some_and(|source| source.stem() == id);
    };
    let stem = book.sources.get(spot.source).map(Source::stem).unwrap_or_default();
    // In a book file the section comes first; a file of one vehicle, case or layout is its own entry.
    let steps: Vec<&str> = route.0.iter().map(String::as_str).collect();
    let within = |steps: &[&str]| steps.len() >= wanted.len() && steps[..wanted.len()] == wanted[..];
    let whole: Vec<&str> = std::iter::once(stem).chain(steps.iter().copied()).collect();
    within(steps.get(1..).unwrap_or_default()) || within(&whole)
}
