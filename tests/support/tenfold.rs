//! A rule book ten times the shipped one, as one grows: ten systems of one vehicle, each as large and as closely tied as
//! the cooling system, that share what happens to the whole vehicle.

use weephole::rulebook::RuleBook;
use weephole::rulebook::{Effect, Link};

/// How many systems the book covers.
const SYSTEMS: usize = 10;

/// History of the whole vehicle. What was done to one system belongs to that system.
const SHARED: [&str; 7] = [
    "stood-long",
    "heavy-towing",
    "dusty-work",
    "front-knock",
    "electrical-work-recent",
    "frost-exposed",
    "salt-roads",
];

/// The shipped book with nine copies of everything but the [`SHARED`] history, which brings on failures in all of them.
pub fn ten_systems() -> RuleBook {
    let one = RuleBook::shipped();
    let mut book = one.clone();
    for system in 2..=SYSTEMS {
        let own = |id: &str| format!("{id}-{system}");
        let end = |id: &str| if SHARED.contains(&id) { id.to_owned() } else { own(id) };
        let of_system = one.history.iter().filter(|(id, _)| !SHARED.contains(&id.as_str()));
        book.history.extend(of_system.map(|(id, history)| (own(id), history.clone())));
        for (id, part) in &one.parts {
            book.parts.insert(own(id), part.clone());
        }
        for (id, failure) in &one.failures {
            let mut failure = failure.clone();
            failure.part = own(&failure.part);
            book.failures.insert(own(id), failure);
        }
        book.states.extend(one.states.iter().map(|(id, state)| (own(id), state.clone())));
        book.symptoms.extend(one.symptoms.iter().map(|(id, symptom)| (own(id), symptom.clone())));
        book.checks.extend(one.checks.iter().map(|(id, check)| (own(id), check.clone())));
        book.links.extend(one.links.iter().map(|link| {
            let to = match &link.to {
                Effect::Node(id) => Effect::Node(end(id)),
                Effect::Outcome { check, outcome } => {
                    Effect::Outcome { check: own(check), outcome: outcome.clone() }
                }
            };
            Link { from: end(&link.from), to, ..link.clone() }
        }));
    }
    book
}
