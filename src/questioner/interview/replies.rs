//! What each reply does to an interview.

use super::clash::{self, Balance};
use super::danger::dangers;
use super::machine::{Interrupt, Interview, InterviewError, Place};
use super::outlook;
use super::steps::{Clash, Reply, Settle, Step};
use crate::case::file::Returned;
use crate::case::{Answer, Case, gather, interpret};
use crate::graph;
use crate::inference::InferenceError;
use crate::questioner::cost::Outlay;
use crate::questioner::hearing::{Heard, Hearing};
use crate::questioner::{Choice, Verdict, Weighed, advise, open_questions, weigh};
use crate::units::{Kind, Unit, parse_quantity};

/// Years a vehicle may have been built in.
const BUILT: std::ops::RangeInclusive<i16> = 1900..=2100;

impl Interview<'_> {
    /// Takes what was said. `when` goes into the case as it is (RFC 3339). A reply that is refused
    /// leaves the case as it was.
    pub fn reply(&mut self, reply: Reply, when: Option<&str>) -> Result<(), InterviewError> {
        if let Some(interrupt) = self.interrupts.front().cloned() {
            return self.settle(&interrupt, &reply, when);
        }
        match self.place.clone() {
            Place::Vehicle => self.at_vehicle(reply),
            Place::Fact(number) => self.at_fact(number, reply),
            Place::Complaint { .. } => self.at_complaint(reply, when),
            Place::Heard(heard) => self.at_heard(&heard, reply, when),
            Place::Next | Place::Asking(_) | Place::Ended => self.at_question(reply, when),
        }
    }

    fn at_vehicle(&mut self, reply: Reply) -> Result<(), InterviewError> {
        match reply {
            Reply::Vehicle(vehicle) => {
                self.graph = graph::asked(self.book, &vehicle, self.case.day(), self.shop.slips)?;
                self.case.vehicle = *vehicle;
                self.place = Place::Complaint { unheard: None };
            }
            Reply::Describe => self.place = Place::Fact(0),
            Reply::SkipVehicle => self.place = Place::Complaint { unheard: None },
            Reply::Stop => self.end_now()?,
            _ => return Err(InterviewError::Unfit),
        }
        Ok(())
    }

    fn at_fact(&mut self, number: usize, reply: Reply) -> Result<(), InterviewError> {
        let mut vehicle = self.case.vehicle.clone();
        let ages = number.checked_sub(self.facts.len());
        match (reply, ages) {
            (Reply::Fact(Some(option)), None) => {
                vehicle.facts.insert(self.facts[number].clone(), option);
            }
            (Reply::Fact(None), None) => {
                vehicle.facts.shift_remove(&self.facts[number]);
            }
            (Reply::Age(text), Some(0)) => vehicle.km = text.as_deref().map(kilometres).transpose()?,
            (Reply::Age(text), Some(_)) => vehicle.built = text.as_deref().map(year).transpose()?,
            (Reply::Back, _) => {
                self.place = number.checked_sub(1).map_or(Place::Vehicle, Place::Fact);
                return Ok(());
            }
            (Reply::EnoughFacts, _) => {
                self.place = Place::Complaint { unheard: None };
                return Ok(());
            }
            (Reply::Stop, _) => return self.end_now(),
            _ => return Err(InterviewError::Unfit),
        }
        self.graph = graph::asked(self.book, &vehicle, self.case.day(), self.shop.slips)?;
        self.case.vehicle = vehicle;
        let last = self.facts.len() + 1;
        self.place =
            if number >= last { Place::Complaint { unheard: None } } else { Place::Fact(number + 1) };
        Ok(())
    }

    fn at_complaint(&mut self, reply: Reply, when: Option<&str>) -> Result<(), InterviewError> {
        match reply {
            Reply::Complaint(text) => {
                let text = text.trim();
                if text.is_empty() {
                    return Ok(());
                }
                let hearing = self.hearing.get_or_init(|| Hearing::new(self.book));
                let heard = hearing.hear(text, |id| self.graph.node(id).is_some());
                match &mut self.case.complaint {
                    Some(said) => {
                        said.push_str("; ");
                        said.push_str(text);
                    }
                    none => *none = Some(text.to_owned()),
                }
                self.place = if heard.is_empty() {
                    Place::Complaint { unheard: Some(text.to_owned()) }
                } else {
                    Place::Heard(heard)
                };
            }
            Reply::Symptoms(list) => {
                if list.iter().any(|id| !self.book.symptoms.contains_key(id)) {
                    return Err(InterviewError::Unfit);
                }
                self.note(list.into_iter().map(|id| (id, true)), when);
                self.place = Place::Complaint { unheard: None };
            }
            Reply::ThatIsAll => self.go_on()?,
            Reply::Back => self.place = Place::Vehicle,
            Reply::Stop => self.end_now()?,
            _ => return Err(InterviewError::Unfit),
        }
        Ok(())
    }

    fn at_heard(&mut self, heard: &[Heard], reply: Reply, when: Option<&str>) -> Result<(), InterviewError> {
        match reply {
            Reply::Confirmed(list) => {
                let right = list.iter().filter_map(|&place| heard.get(place));
                let right: Vec<_> = right.map(|one| (one.symptom.clone(), one.there)).collect();
                self.note(right.into_iter(), when);
            }
            Reply::Back => {}
            Reply::Stop => return self.end_now(),
            _ => return Err(InterviewError::Unfit),
        }
        self.place = Place::Complaint { unheard: None };
        Ok(())
    }

    /// Notes symptoms that brought it in.
    fn note(&mut self, symptoms: impl Iterator<Item = (String, bool)>, when: Option<&str>) {
        for (ask, there) in symptoms {
            let answer = Answer {
                when: when.map(str::to_owned),
                ..Answer::said(&ask, if there { "yes" } else { "no" })
            };
            self.case.put(answer);
            if there && !self.case.brought.contains(&ask) {
                self.case.brought.push(ask.clone());
            }
            if let Some(clash) = clash::excluded_by(self.book, &self.case, &ask) {
                self.interrupts.push_back(Interrupt::Clash(clash));
            }
        }
        self.warn();
    }

    fn at_question(&mut self, reply: Reply, when: Option<&str>) -> Result<(), InterviewError> {
        let present = match self.step() {
            Step::Question(card) => Some(card.weighed.question.ask.clone()),
            _ => None,
        };
        match (reply, present) {
            (Reply::Answer(word), Some(ask)) => self.answer(Answer::said(&ask, &word), when)?,
            (Reply::Reading(text), Some(ask)) => self.answer(Answer::read(&ask, text.trim()), when)?,
            (Reply::Keep, Some(_)) => self.go_on()?,
            (Reply::Forget, Some(ask)) => {
                self.case.take(&ask);
                self.place = Place::Next;
                self.refresh(None)?;
            }
            (Reply::Back, present) => self.back(present.as_deref())?,
            (Reply::Ask(ask), _) => self.ask(&ask)?,
            (Reply::GoOn, None) => {
                self.beyond = self.advice.as_ref().and_then(outlook::stop);
                self.place = Place::Next;
            }
            (Reply::CameBack, None) if self.seems_sound() => {
                self.case.returned.push(Returned { when: when.map(str::to_owned) });
                self.place = Place::Next;
                self.refresh(None)?;
            }
            (Reply::Stop, _) => self.end_now()?,
            _ => return Err(InterviewError::Unfit),
        }
        Ok(())
    }

    fn seems_sound(&self) -> bool {
        let verdict = self.advice.as_ref().and_then(|advice| advice.verdict.as_ref());
        matches!(verdict, Some(Verdict::NothingWrong { .. }))
    }

    /// The case as it will be once `reply` is taken, if that is an answer this question understands: so that it
    /// can be kept before anything is worked out from it.
    pub fn will_be(&self, reply: &Reply, when: Option<&str>) -> Option<Case> {
        let Step::Question(card) = self.step() else { return None };
        let ask = &card.weighed.question.ask;
        let answer = match reply {
            Reply::Answer(word) => Answer::said(ask, word),
            Reply::Reading(text) => Answer::read(ask, text.trim()),
            _ => return None,
        };
        interpret(self.book, &answer).ok()?;
        let mut case = self.case.clone();
        case.put(Answer { when: when.map(str::to_owned), ..answer });
        Some(case)
    }

    fn answer(&mut self, answer: Answer, when: Option<&str>) -> Result<(), InterviewError> {
        interpret(self.book, &answer)?;
        let ask = answer.ask.clone();
        let cannot = answer.answer.as_deref() == Some("cannot");
        self.case.put(Answer { when: when.map(str::to_owned), ..answer });
        self.place = Place::Next;
        self.by_hand = None;
        if let Some(clash) = clash::excluded_by(self.book, &self.case, &ask) {
            self.interrupts.push_back(Interrupt::Clash(clash));
        }
        if cannot {
            let lacking = self.special_tools(&ask);
            // With one special tool it is plain which is missing; with several it has to be asked.
            if lacking.len() > 1 {
                self.interrupts.push_back(Interrupt::NoTool(lacking));
            }
        }
        self.refresh(Some(&ask))
    }

    /// Tools of a check that not everybody has and that are not known to be missing yet.
    fn special_tools(&self, ask: &str) -> Vec<String> {
        let special = |tool: &&String| {
            self.book.tools.get(tool.as_str()).is_some_and(|tool| !tool.common)
                && !self.case.missing_tools.contains(tool)
        };
        self.book
            .checks
            .get(ask)
            .map_or_else(Vec::new, |check| check.tools.iter().filter(special).cloned().collect())
    }

    fn settle(
        &mut self,
        interrupt: &Interrupt,
        reply: &Reply,
        when: Option<&str>,
    ) -> Result<(), InterviewError> {
        let said =
            |ask: &str, word: &str| Answer { when: when.map(str::to_owned), ..Answer::said(ask, word) };
        match (interrupt, reply) {
            (_, Reply::Stop) => {
                self.interrupts.clear();
                return self.end_now();
            }
            (Interrupt::Alert(list), Reply::Understood) => {
                self.told.extend(list.iter().map(|danger| danger.id.clone()));
                self.interrupts.pop_front();
                return Ok(());
            }
            (Interrupt::NoTool(_), Reply::Missing(tools)) => {
                for tool in tools {
                    if !self.case.missing_tools.contains(tool) {
                        self.case.missing_tools.push(tool.clone());
                    }
                }
                self.interrupts.pop_front();
            }
            (Interrupt::Clash(Clash::Exclude { new, old }), Reply::Settle(settle)) => {
                let (new_word, old_word) = match settle {
                    Settle::New => (None, Some("no")),
                    Settle::Old => (Some("no"), None),
                    Settle::Both => (None, None),
                    Settle::Neither => (Some("dont-know"), Some("dont-know")),
                };
                if let Some(word) = new_word {
                    self.case.put(said(new, word));
                }
                if let Some(word) = old_word {
                    self.case.put(said(old, word));
                }
                self.interrupts.pop_front();
            }
            (Interrupt::Clash(Clash::Unlikely { ask, against, chance, .. }), Reply::Settle(settle)) => {
                let again = match settle {
                    Settle::New => against.clone(),
                    Settle::Old => Some(ask.clone()),
                    Settle::Both if *chance > 0.0 => None,
                    // An answer that cannot be beside the others cannot stay.
                    Settle::Both => return Err(InterviewError::Unfit),
                    Settle::Neither => {
                        self.case.put(said(ask, "dont-know"));
                        None
                    }
                };
                self.interrupts.pop_front();
                if let Some(again) = again {
                    return self.ask(&again);
                }
            }
            _ => return Err(InterviewError::Unfit),
        }
        if self.asking() { self.refresh(None) } else { Ok(()) }
    }

    /// Whether the complaint lies behind.
    fn asking(&self) -> bool {
        matches!(self.place, Place::Next | Place::Asking(_) | Place::Ended)
    }

    /// Goes to the question before the present one, in the order of the answers; before the first lies the
    /// complaint.
    fn back(&mut self, present: Option<&str>) -> Result<(), InterviewError> {
        let answers = &self.case.answers;
        let at = present
            .and_then(|ask| answers.iter().position(|answer| answer.ask == ask))
            .unwrap_or(answers.len());
        match at.checked_sub(1).map(|at| answers[at].ask.clone()) {
            Some(ask) => self.ask(&ask),
            None => {
                self.place = Place::Complaint { unheard: None };
                Ok(())
            }
        }
    }

    /// Asks a question by hand, or one again that has an answer. The old answer stays until there is a new one.
    fn ask(&mut self, ask: &str) -> Result<(), InterviewError> {
        let open =
            self.advice.iter().flat_map(|advice| &advice.choices).find(|c| c.weighed.question.ask == ask);
        let choice = match open {
            Some(choice) if choice.weighed.effects.iter().all(|effect| effect.moves.is_some()) => {
                choice.clone()
            }
            // Further down the list it has not been worked out yet what each answer would do.
            Some(choice) => Choice { weighed: self.weigh_again(ask)?, ..choice.clone() },
            None => Choice {
                weighed: self.weigh_again(ask)?,
                worth: 0.0,
                outlay: Outlay::default(),
                moves: Vec::new(),
                reasons: Vec::new(),
            },
        };
        self.by_hand = Some(choice);
        self.place = Place::Asking(ask.to_owned());
        Ok(())
    }

    /// Weighs one question as if it had no answer yet.
    fn weigh_again(&self, ask: &str) -> Result<Weighed, InterviewError> {
        let mut without = self.case.clone();
        without.take(ask);
        let mut questions = open_questions(self.book, &self.graph, &without);
        questions.retain(|question| question.ask == ask);
        let question = questions.pop().ok_or(InterviewError::Unfit)?;
        let evidence = gather(self.book, &self.graph, &without).evidence;
        match weigh(&self.graph, &self.engine, &evidence, question.clone()) {
            Ok(weighed) => Ok(weighed),
            // While answers contradict each other nothing can be weighed, but anything can be asked again.
            Err(InferenceError::Impossible) => Ok(Weighed { question, bits: 0.0, effects: Vec::new() }),
            Err(other) => Err(other.into()),
        }
    }

    fn go_on(&mut self) -> Result<(), InterviewError> {
        self.place = Place::Next;
        self.by_hand = None;
        if self.advice.is_none() { self.refresh(None) } else { Ok(()) }
    }

    fn end_now(&mut self) -> Result<(), InterviewError> {
        if self.advice.is_none() && !self.case.answers.is_empty() {
            self.refresh(None)?;
        }
        self.place = Place::Ended;
        Ok(())
    }

    /// Works out anew where things stand. `answered` is the question just answered: its answer is held against
    /// the others.
    pub(super) fn refresh(&mut self, answered: Option<&str>) -> Result<(), InterviewError> {
        let old = self.advice.take().map(|advice| advice.standing);
        match advise(self.book, &self.graph, &self.engine, &self.shop, &self.case, self.strategy) {
            Ok(advice) => {
                self.advice = Some(advice);
                self.before = old;
            }
            Err(InferenceError::Impossible) => {
                let ask = answered.or(self.case.answers.last().map(|answer| answer.ask.as_str()));
                let ask = ask.unwrap_or_default().to_owned();
                self.push_unlikely(&ask)?;
            }
            Err(other) => return Err(other.into()),
        }
        if let Some(ask) = answered.filter(|_| self.advice.is_some() && self.interrupts.is_empty()) {
            let ask = ask.to_owned();
            self.push_unlikely(&ask)?;
        }
        self.warn();
        Ok(())
    }

    fn push_unlikely(&mut self, ask: &str) -> Result<(), InterviewError> {
        let balance = Balance { book: self.book, graph: &self.graph, engine: &self.engine };
        if let Some(clash) = balance.unlikely(&self.case, ask)? {
            self.interrupts.push_back(Interrupt::Clash(clash));
        }
        Ok(())
    }

    /// Puts what forbids driving before everything else, once for each reason.
    fn warn(&mut self) {
        let standing = self.advice.as_ref().map(|advice| &advice.standing);
        let mut new = dangers(self.book, &self.case, standing);
        new.retain(|danger| !self.told.contains(&danger.id));
        self.interrupts.retain(|interrupt| !matches!(interrupt, Interrupt::Alert(_)));
        if !new.is_empty() {
            self.interrupts.push_front(Interrupt::Alert(new));
        }
    }
}

/// Kilometres as typed: "182 000", "113000 mi".
fn kilometres(text: &str) -> Result<f64, InterviewError> {
    let quantity = parse_quantity(text, Kind::Distance, Unit::KILOMETRE);
    let quantity = quantity.map_err(|error| InterviewError::Typed(error.to_string()))?;
    Ok(quantity.value_in(Unit::KILOMETRE).unwrap_or_default().round())
}

fn year(text: &str) -> Result<i16, InterviewError> {
    let wrong = || InterviewError::Typed(format!("`{}` is not a year; type it like 2009", text.trim()));
    let year: i16 = text.trim().parse().map_err(|_| wrong())?;
    if BUILT.contains(&year) { Ok(year) } else { Err(wrong()) }
}
