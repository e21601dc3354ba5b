//! Parts, symptoms and checks that the book lacks, made on the way.

use super::super::asker::Stopped;
use super::Dialogue;
use crate::rulebook::Kind;
use crate::rulebook::entries::{Check, EngineState, Entries, Outcome, Part, Symptom, WeightSpec};

/// Words that say nothing on their own when texts are compared.
const ALIKE: f64 = 0.8;

impl Dialogue<'_> {
    pub(super) fn new_part(&mut self) -> Result<String, Stopped> {
        let name = self.q.asker.text("What does the trade call the part?", "", "")?;
        let customer = self.q.asker.text("What is it, for someone who has never opened a bonnet?", "", "")?;
        let price = self.q.band("What does it cost?", "The least and the most: 20-60")?;
        let id = self.q.free_id(&name, &self.file)?;
        self.file
            .parts
            .insert(id.clone(), Part { name, customer, price, fits_if: Entries::new(), place: None });
        Ok(id)
    }

    /// A new symptom, or one the book has after all: its key and name.
    pub(super) fn new_symptom(&mut self) -> Result<(String, String), Stopped> {
        let name = self.q.asker.text("What is noticed?", "A few words: \"clicks behind the dash\"", "")?;
        if let Some(known) = self.offer_symptom(&name)? {
            let name = self.q.book.name_of(&known).to_owned();
            return Ok((known, name));
        }
        let asker = &mut *self.q.asker;
        let ask = asker.text(
            "What would you ask the customer?",
            "To be answered yes or no",
            &format!("Is it so: {name}?"),
        )?;
        let notice = asker.text("How is it recognised, and what is it mistaken for?", "", "")?;
        let words =
            asker.text("How do customers put it?", "Several ways, with commas between them", &name)?;
        let customer = asker.text("The same as a plain sentence", "", "")?;
        let background = self.background("How often is it noticed with nothing of this kind wrong?")?;
        let source = Some("judgement of this workshop".to_owned());
        let id = self.q.free_id(&name, &self.file)?;
        let words =
            words.split(',').map(str::trim).filter(|word| !word.is_empty()).map(str::to_owned).collect();
        let symptom = Symptom {
            name: name.clone(),
            ask,
            notice,
            words,
            customer,
            background,
            source,
            fits_if: Entries::new(),
            not_with: Vec::new(),
            severe: None,
        };
        self.file.symptoms.insert(id.clone(), symptom);
        Ok((id, name))
    }

    /// Symptoms whose name or customers' words are much like these.
    fn offer_symptom(&mut self, name: &str) -> Result<Option<String>, Stopped> {
        let book = self.q.book;
        let lower = name.to_lowercase();
        let near: Vec<&String> = book
            .symptoms
            .iter()
            .filter(|(_, symptom)| {
                let texts = std::iter::once(&symptom.name).chain(&symptom.words);
                texts.into_iter().any(|text| strsim::sorensen_dice(&text.to_lowercase(), &lower) >= ALIKE)
            })
            .map(|(id, _)| id)
            .take(5)
            .collect();
        if near.is_empty() {
            return Ok(None);
        }
        let mut options: Vec<String> = near.iter().map(|id| book.name_of(id).to_owned()).collect();
        options.push("none of these".to_owned());
        let last = options.len() - 1;
        let at =
            self.q.asker.choose("The book may already have it. Is it one of these?", "", &options, last)?;
        Ok(near.get(at).map(|id| (*id).clone()))
    }

    /// A new check with one outcome: its key and name.
    pub(super) fn new_check(&mut self) -> Result<(String, String), Stopped> {
        let asker = &mut *self.q.asker;
        let name = asker.text("What is the check called?", "", "")?;
        let ask = asker.text("What question does its result answer?", "", "")?;
        let customer = asker.text("What does it tell the customer?", "We looked at ...", "")?;
        let states = [
            ("it does not matter", EngineState::Any),
            ("cold", EngineState::Cold),
            ("running", EngineState::Running),
            ("hot and running", EngineState::Hot),
            ("just switched off, hot, nothing opened", EngineState::HotOff),
            ("cold, belt off", EngineState::BeltOff),
            ("cold, drained", EngineState::Drained),
            ("on the road", EngineState::Driving),
        ];
        let options: Vec<String> = states.iter().map(|(name, _)| (*name).to_owned()).collect();
        let at = asker.choose("What must the engine be like?", "", &options, 1)?;
        let minutes = self.q.number(
            "How many minutes does it take?",
            "Without warming up or cooling down",
            5.0,
            0.1,
            600.0,
        )?;
        let tools = self.several("Which tools?", Kind::Tool)?;
        let cautions = self.cautions()?;
        let steps = self.steps()?;
        let asker = &mut *self.q.asker;
        let normal = asker.text("What does a good result look like?", "", "")?;
        let say = asker.text("What does this failure make of it?", "The result, as you would say it", "")?;
        let background = self.background("How often does it come out so with nothing of this kind wrong?")?;
        let source = self.q.source(None)?;
        let id = self.q.free_id(&name, &self.file)?;
        let outcome = super::questions::kebab(&say);
        let named = format!("{name}: {say}");
        let outcomes = Entries::from_iter([(
            outcome.clone(),
            Outcome { say, background, severe: None, above: None, below: None },
        )]);
        let check = Check {
            name,
            ask,
            customer,
            engine: states[at.min(states.len() - 1)].1,
            minutes,
            cost: None,
            tools,
            cautions,
            fits_if: Entries::new(),
            steps,
            normal,
            outcomes,
            reading: None,
            source,
        };
        self.file.checks.insert(id.clone(), check);
        Ok((format!("{id}/{outcome}"), named))
    }

    fn background(&mut self, question: &str) -> Result<WeightSpec, Stopped> {
        let percent =
            self.q.number(question, "Of 100 vehicles; 0.2 is usual for a plain sign", 0.2, 0.001, 50.0)?;
        Ok(WeightSpec::number((percent * 1e3).round() / 1e5))
    }

    fn several(&mut self, question: &str, kind: Kind) -> Result<Vec<String>, Stopped> {
        let book = self.q.book;
        let ids: Vec<&str> = book.ids(kind);
        let names: Vec<String> = ids.iter().map(|id| book.name_of(id).to_owned()).collect();
        let chosen = self.q.asker.choose_some(question, "", &names, &[])?;
        Ok(chosen.into_iter().map(|at| ids[at].to_owned()).collect())
    }

    fn cautions(&mut self) -> Result<Vec<String>, Stopped> {
        let book = self.q.book;
        let ids: Vec<&String> = book.cautions.keys().collect();
        let texts: Vec<String> = book.cautions.values().map(|caution| caution.text.clone()).collect();
        let help = "What may hurt somebody who does this for the first time";
        let chosen = self.q.asker.choose_some("Which cautions come first?", help, &texts, &[])?;
        Ok(chosen.into_iter().map(|at| ids[at].clone()).collect())
    }

    fn steps(&mut self) -> Result<Vec<String>, Stopped> {
        let mut steps = vec![self.q.asker.text("How is it done? First step", "One short sentence", "")?];
        loop {
            let step = self.q.asker.text("Next step", "Enter `done` when there are no more", "done")?;
            if step.trim() == "done" {
                return Ok(steps);
            }
            steps.push(step);
        }
    }
}
