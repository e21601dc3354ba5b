//! The questions that turn what a mechanic found into entries of the rule book.
//!
//! Nothing is written here: the result is an [`Addition`]. The person is asked in the order in which a mechanic would
//! tell it: which part, what fails, what it looked like, what it never looks like, what brought it on, what mends it.
//! What the book already has is offered before anything new is made of it.

mod new_findings;
mod questions;

use super::addition::Addition;
use super::alike::{Alike, Sketch, alike, finding_name};
use super::asker::{Asker, Stopped};
use super::start::{CaseStart, as_known};
use crate::case::Case;
use crate::explain::fit::SMALL;
use crate::rulebook::entries::{BookFile, Change, Entries, Failure, Repair, Urgency, WeightSpec};
use crate::rulebook::{Kind, RuleBook};
use questions::Questions;

/// The case a dialogue starts from.
#[derive(Debug, Clone, Copy)]
pub struct FromCase<'a> {
    /// What it says.
    pub start: &'a CaseStart,
    /// The case itself, to be kept as a known case if wanted.
    pub case: &'a Case,
}

/// Asks for a failure the book lacks, from scratch or from a case. `day` is noted beside the new entries
/// (`2026-03-01`). `None` if the person found that nothing has to be added.
pub fn ask(
    book: &RuleBook,
    asker: &mut dyn Asker,
    from: Option<FromCase<'_>>,
    day: &str,
) -> Result<Option<Addition>, Stopped> {
    let mut dialogue =
        Dialogue { q: Questions { book, asker }, from, file: BookFile::default(), cases: Entries::new() };
    dialogue.greet();
    let part = dialogue.part()?;
    let name = dialogue.q.asker.text(
        "What fails, in a few words?",
        "As you would say it over the bench: \"impeller slipped on its shaft\"",
        "",
    )?;
    let mut sketch = Sketch { part: part.clone(), name: name.clone(), links: Vec::new() };
    if let Some(known) = dialogue.offer(&sketch, false)? {
        return dialogue.extend(&known, day);
    }
    let leads_to = dialogue.states()?;
    let mut shows = dialogue.signs(&leads_to)?;
    sketch.links =
        leads_to.iter().chain(&shows).map(|(id, weight)| (id.clone(), book.weight(weight).value)).collect();
    if let Some(known) = dialogue.offer(&sketch, true)? {
        return dialogue.extend(&known, day);
    }
    dialogue.never(&mut shows)?;
    let raised_by = dialogue.causes()?;
    let failure = dialogue.rest(part, name.clone(), leads_to, shows, raised_by)?;
    let id = dialogue.q.free_id(&name, &dialogue.file)?;
    dialogue.file.failures.insert(id.clone(), failure);
    dialogue.keep_case(&id)?;
    Ok(Some(dialogue.finish(format!("the failure `{id}`"), day)))
}

struct Dialogue<'a> {
    q: Questions<'a>,
    from: Option<FromCase<'a>>,
    file: BookFile,
    cases: Entries<crate::rulebook::entries::KnownCase>,
}

impl Dialogue<'_> {
    /// Says what of the case the book cannot explain.
    fn greet(&mut self) {
        let Some(FromCase { start, .. }) = self.from else { return };
        let clash = if start.conflict > SMALL {
            format!("do not go together (a conflict of {:.1} bits)", start.conflict)
        } else {
            format!("go together ({:.1} bits of conflict)", start.conflict)
        };
        self.q.asker.say(&format!("From the case {}. Its answers {clash}.", start.name));
        if !start.unexplained.is_empty() {
            self.q.asker.say("Nothing in the book explains well:");
        }
        for key in &start.unexplained {
            let line = format!("  - {}", finding_name(self.q.book, key));
            self.q.asker.say(&line);
        }
    }

    fn part(&mut self) -> Result<String, Stopped> {
        let book = self.q.book;
        let ids: Vec<&String> = book.parts.keys().collect();
        let mut options: Vec<String> = book.parts.values().map(|part| part.name.clone()).collect();
        options.push("another part, which the book lacks".to_owned());
        let at = self.q.asker.choose("Which part?", "Type to search", &options, 0)?;
        match ids.get(at) {
            Some(id) => Ok((*id).clone()),
            None => self.new_part(),
        }
    }

    /// Offers failures that look like this one. `Some` if one of them is what is meant.
    fn offer(&mut self, sketch: &Sketch, signs_known: bool) -> Result<Option<String>, Stopped> {
        let book = self.q.book;
        let near: Vec<Alike> = alike(book, sketch);
        if near.is_empty() {
            return Ok(None);
        }
        let mut options: Vec<String> = near
            .iter()
            .map(|known| {
                let failure = &book.failures[&known.failure];
                let part = book.name_of(&failure.part);
                let why = if signs_known && known.signs > 0.0 {
                    format!("{:.0} % of the signs alike", known.signs * 100.0)
                } else {
                    format!("names {:.0} % alike", known.names * 100.0)
                };
                format!("{} ({part}; {why})", failure.name)
            })
            .collect();
        options.push("none of these: it is a new one".to_owned());
        let last = options.len() - 1;
        let question = if signs_known {
            "By its signs, the book may already have it. Is it one of these?"
        } else {
            "The book may already have it. Is it one of these?"
        };
        let help = "If it is, the signs it lacks are added to it instead";
        let at = self.q.asker.choose(question, help, &options, last)?;
        Ok(near.get(at).map(|known| known.failure.clone()))
    }

    /// Adds signs to a failure the book has.
    fn extend(mut self, failure: &str, day: &str) -> Result<Option<Addition>, Stopped> {
        let book = self.q.book;
        let known = &book.failures[failure];
        self.q.asker.say(&format!("{}: {}", known.name, known.customer));
        let listed = |key: &str| book.links_from(failure).any(|link| link.to.to_string() == key);
        let of_case = self.from.map(|from| from.start.there.clone()).unwrap_or_default();
        let ticked: Vec<String> = of_case.into_iter().filter(|key| !listed(key)).collect();
        let shows = self.q.weighted(
            "Which signs did it show that the book does not list for it?",
            self.q.findings(&listed),
            &ticked,
            "How surely does it show",
        )?;
        if shows.is_empty() {
            self.q.asker.say("Then the book needs nothing new for it.");
            return Ok(None);
        }
        let source = self.q.source(self.from.map(|from| from.start.name.as_str()))?;
        let change = Change { shows, source: Some(source), ..Change::default() };
        self.file.change.insert(failure.to_owned(), change);
        self.keep_case(failure)?;
        Ok(Some(self.finish(format!("signs of the failure `{failure}`"), day)))
    }

    fn states(&mut self) -> Result<Entries<WeightSpec>, Stopped> {
        let book = self.q.book;
        let options = book.states.iter().map(|(id, state)| (id.clone(), state.name.clone())).collect();
        self.q.weighted("What does it do to the cooling system?", options, &[], "How surely does it bring on")
    }

    /// The signs it shows by itself; what the chosen states show already need not be said again.
    fn signs(&mut self, leads_to: &Entries<WeightSpec>) -> Result<Entries<WeightSpec>, Stopped> {
        let book = self.q.book;
        let shown = |key: &str| {
            leads_to.keys().any(|state| book.links_from(state).any(|link| link.to.to_string() == key))
        };
        let of_case = self.from.map(|from| from.start.there.clone()).unwrap_or_default();
        let ticked: Vec<String> = of_case.into_iter().filter(|key| !shown(key)).collect();
        let mut shows = self.q.weighted(
            "Which signs does it show by itself?",
            self.q.findings(&|_| false),
            &ticked,
            "How surely does it show",
        )?;
        loop {
            let options =
                ["no more signs".to_owned(), "a symptom".to_owned(), "a check and its outcome".to_owned()];
            let at = self.q.asker.choose("Does it show anything the book lacks?", "", &options, 0)?;
            let (key, name) = match at {
                0 => break,
                1 => self.new_symptom()?,
                _ => self.new_check()?,
            };
            let weight = self.q.surely(&format!("How surely does it show: {name}?"))?;
            shows.insert(key, weight);
        }
        Ok(shows)
    }

    fn never(&mut self, shows: &mut Entries<WeightSpec>) -> Result<(), Stopped> {
        let taken: Vec<String> = shows.keys().cloned().collect();
        let options = self.q.findings(&|key| taken.iter().any(|taken| taken == key));
        let absent = self.from.map(|from| from.start.absent.clone()).unwrap_or_default();
        let names: Vec<String> = options.iter().map(|(_, name)| name.clone()).collect();
        let listed: Vec<String> = absent.iter().map(|key| finding_name(self.q.book, key)).collect();
        if !listed.is_empty() {
            self.q.asker.say(&format!("Not there in this case: {}.", listed.join("; ")));
        }
        let help = "Only what it cannot show, so that a mechanic may rule it out; leave the rest";
        for at in self.q.asker.choose_some("Which signs does it never show?", help, &names, &[])? {
            shows.insert(options[at].0.clone(), WeightSpec::word("never"));
        }
        Ok(())
    }

    fn causes(&mut self) -> Result<Entries<WeightSpec>, Stopped> {
        let book = self.q.book;
        let options = [Kind::History, Kind::State, Kind::Failure]
            .into_iter()
            .flat_map(|kind| book.ids(kind))
            .map(|id| (id.to_owned(), book.name_of(id).to_owned()))
            .collect();
        let ticked = self.from.map(|from| from.start.history.clone()).unwrap_or_default();
        self.q.weighted("What brings it on?", options, &ticked, "How surely is it brought on by")
    }

    fn rest(
        &mut self,
        part: String,
        name: String,
        leads_to: Entries<WeightSpec>,
        shows: Entries<WeightSpec>,
        raised_by: Entries<WeightSpec>,
    ) -> Result<Failure, Stopped> {
        let asker = &mut *self.q.asker;
        let customer = asker.text(
            "What does it mean, for someone who has never opened a bonnet?",
            "One short sentence",
            "",
        )?;
        let if_left = asker.text("What happens if it waits?", "One short sentence for the customer", "")?;
        let options = ["it can wait for the next service", "within days", "do not drive", "no harm done"]
            .map(str::to_owned);
        let urgency = [Urgency::Plan, Urgency::Soon, Urgency::StopNow, Urgency::Nothing];
        let at = asker.choose("How soon must it be dealt with?", "", &options, 1)?;
        let base = self.q.number(
            "Of 1,000 vehicles that come in with a cooling complaint, how many have it?",
            "1 or 2 is rare, 10 is common, 30 is as common as anything",
            2.0,
            0.01,
            500.0,
        )?;
        let action =
            self.q.asker.text("What mends it?", "As an order: Replace the pump and its gasket.", "")?;
        let minutes = self
            .q
            .band("How many minutes does that take?", "From a closed bonnet to a running engine: 60-120")?;
        let own_price = self.q.asker.agree(
            "Does the repair cost what the part costs?",
            "No, if it is mended for less or needs more",
            true,
        )?;
        let price =
            if own_price { None } else { Some(self.q.band("What do parts and fluids cost?", "5-20")?) };
        let source = self.q.source(self.from.map(|from| from.start.name.as_str()))?;
        Ok(Failure {
            part,
            name,
            customer,
            if_left,
            base,
            source,
            wear: None,
            fits_if: Entries::new(),
            raised_by,
            leads_to,
            shows,
            urgency: urgency[at.min(3)],
            repair: Repair { action, minutes, price, with: Vec::new(), also: Vec::new() },
        })
    }

    /// Offers to keep the case as a known one, so that no later change can unlearn it unnoticed.
    fn keep_case(&mut self, failure: &str) -> Result<(), Stopped> {
        let Some(FromCase { start, case }) = self.from else { return Ok(()) };
        let keep = self.q.asker.agree(
            "Keep this case as a known case?",
            "Then every later change to the book is tried on it",
            true,
        )?;
        if keep {
            let reason = self.q.asker.text(
                "Why was it this and nothing else?",
                "What you saw when it was apart",
                &format!("confirmed in the case {}", start.name),
            )?;
            self.cases.insert(start.name.clone(), as_known(case, failure, &reason));
        }
        Ok(())
    }

    fn finish(self, what: String, day: &str) -> Addition {
        let remark = match self.from {
            Some(from) => format!("added {day}, from the case {}", from.start.name),
            None => format!("added {day}"),
        };
        Addition::of_entries(what, &self.file, &self.cases, &remark)
    }
}
