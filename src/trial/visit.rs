//! One strategy at work on one simulated vehicle, from the complaint until it is gone.

use super::world::World;
use crate::case::file::{Repaired, Returned};
use crate::case::{Answer, Case, Shop, severe_findings};
use crate::inference::{InferenceError, NodeId};
use crate::questioner::cost::Remedy;
use crate::questioner::engine_state::{needs_cold, needs_running};
use crate::questioner::getting_right::Step;
use crate::questioner::{Advice, Choice, Move, Offer, Present, Question, Questioner, Strategy};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::EngineState;

/// After this many visits the vehicle is handed on.
const MOST_VISITS: usize = 6;

/// What came of one vehicle. Money is in the shop's currency.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Visit {
    /// Questions and checks answered.
    pub questions: usize,
    /// Minutes of work and waiting for them.
    pub minutes: f64,
    /// Money for them.
    pub checking: f64,
    /// Money for repairs.
    pub repairing: f64,
    /// Money for comebacks, for sending it home and for handing it on.
    pub other: f64,
    /// Repairs made.
    pub repairs: usize,
    /// Repairs of parts with nothing wrong.
    pub needless: usize,
    /// Times it came back.
    pub comebacks: usize,
    /// Whether the first thing done was right: a part with a failure behind the complaint, or nothing where nothing was
    /// wrong.
    pub first_right: bool,
    /// Whether the part ranked first when the asking stopped had a failure behind the complaint.
    pub top_suspect_right: bool,
    /// Whether it was handed on.
    pub handed_on: bool,
    /// Checks offered that would have been unsafe.
    pub unsafe_offers: usize,
    /// Answers that could not be true together with the others.
    pub contradictions: usize,
    /// Money that mending alone would have cost, had it been known what is wrong.
    pub known: f64,
}

impl Visit {
    /// All the money it took.
    pub fn total(&self) -> f64 {
        self.checking + self.repairing + self.other
    }
}

/// Sees one vehicle through.
pub fn visit(
    book: &RuleBook,
    shop: &Shop,
    questioner: &Questioner,
    world: &World,
    strategy: Strategy,
) -> Result<Visit, InferenceError> {
    let mut job = Job {
        book,
        shop,
        questioner,
        world,
        case: world.case(),
        mended: Vec::new(),
        likely: Vec::new(),
        visit: Visit::default(),
    };
    job.visit.known = job.mending(&world.culprits(&[]));
    for round in 0..MOST_VISITS {
        let step = match job.ask(strategy)? {
            Some(advice) => job.decide(&advice, round == 0),
            None => Step::HandOn,
        };
        if job.carry_out(&step, round == 0) {
            return Ok(job.visit);
        }
    }
    job.carry_out(&Step::HandOn, false);
    Ok(job.visit)
}

struct Job<'a> {
    book: &'a RuleBook,
    shop: &'a Shop,
    questioner: &'a Questioner<'a>,
    world: &'a World,
    case: Case,
    /// Failures whose repair was made.
    mended: Vec<NodeId>,
    /// Questions found worth their cost, the last one first.
    likely: Vec<String>,
    visit: Visit,
}

/// What a strategy says next.
enum Next {
    Ask(Box<Offer>),
    Stop(Box<Advice>),
}

impl Job<'_> {
    /// Asks until nothing is worth asking; the advice at that point, or none if the answers make no sense.
    fn ask(&mut self, strategy: Strategy) -> Result<Option<Advice>, InferenceError> {
        let mut last: Option<String> = None;
        loop {
            let next = match self.next(strategy) {
                Ok(Next::Ask(offer)) => *offer,
                Ok(Next::Stop(advice)) => return Ok(Some(*advice)),
                Err(InferenceError::Impossible) => {
                    // An answer that cannot be true is questioned and left open.
                    let Some(ask) = last.take() else { return Ok(None) };
                    self.visit.contradictions += 1;
                    self.case.put(Answer::said(&ask, "dont-know"));
                    continue;
                }
                Err(other) => return Err(other),
            };
            self.visit.questions += 1;
            self.visit.minutes += next.outlay.minutes();
            self.visit.checking += next.outlay.total;
            let answer = self.world.answer(&next.question);
            self.case.put(Answer::said(&next.question.ask, answer));
            last = Some(next.question.ask);
        }
    }

    /// The next question of a strategy. What is on offer is judged for safety, all of it.
    fn next(&mut self, strategy: Strategy) -> Result<Next, InferenceError> {
        if matches!(strategy, Strategy::List | Strategy::Random(_))
            && let Some(offers) = self.questioner.going_on(&self.case, strategy, &mut self.likely)?
        {
            self.judge(offers.present, offers.open.iter().map(|offer| (&offer.question, &offer.moves[..])));
            return Ok(Next::Ask(Box::new(offers.open.into_iter().next().expect("one is worth its cost"))));
        }
        let advice = self.questioner.advise(&self.case, strategy)?;
        let offered = advice.choices.iter().map(|choice| (&choice.weighed.question, &choice.moves[..]));
        self.judge(advice.present, offered);
        Ok(match advice.choices.first() {
            Some(Choice { weighed, moves, outlay, .. }) if advice.verdict.is_none() => {
                let question = weighed.question.clone();
                Next::Ask(Box::new(Offer { question, moves: moves.clone(), outlay: *outlay }))
            }
            _ => Next::Stop(Box::new(advice)),
        })
    }

    fn judge<'b>(&mut self, present: Present, offered: impl Iterator<Item = (&'b Question, &'b [Move])>) {
        let is_unsafe = |(question, moves)| is_unsafe(self.book, &self.case, present, question, moves);
        self.visit.unsafe_offers += offered.filter(|&offer| is_unsafe(offer)).count();
    }

    /// What to do on this advice. Sending it home a second time is no use.
    fn decide(&mut self, advice: &Advice, first: bool) -> Step {
        if first {
            let culprits = self.world.culprits(&[]);
            let part = |node: &NodeId| self.questioner.part_of(*node);
            let top = advice.standing.suspects.first().map(|suspect| suspect.part.as_str());
            self.visit.top_suspect_right = culprits.iter().any(|node| part(node) == top);
        }
        let steps = advice.plan.steps.iter();
        steps
            .clone()
            .find(|step| self.case.returned.is_empty() || **step != Step::Leave)
            .cloned()
            .unwrap_or(Step::HandOn)
    }

    /// Does one step; true when the vehicle is right.
    fn carry_out(&mut self, step: &Step, first: bool) -> bool {
        let before = self.world.culprits(&self.mended);
        let innocent = self.world.culprits(&[]).is_empty();
        let right = match step {
            Step::HandOn => {
                self.visit.handed_on = true;
                self.visit.other += self.shop.hand_on + self.mending(&before);
                return true;
            }
            Step::Leave => {
                self.visit.other += self.shop.labour(5.0);
                if first {
                    self.visit.first_right = innocent;
                }
                if !before.is_empty() {
                    self.case.returned.push(Returned::default());
                }
                before.is_empty()
            }
            Step::Repair(done) => {
                let done: Vec<&Remedy> =
                    done.iter().map(|&at| &self.questioner.remedies.repairs[at]).collect();
                for remedy in done {
                    self.repair(remedy, &before, first);
                }
                // Where nothing was wrong no repair ends the complaint; being told so does.
                self.world.culprits(&self.mended).is_empty() && !innocent
            }
        };
        if !right {
            self.visit.comebacks += 1;
            self.visit.other += self.shop.comeback;
        }
        right
    }

    fn repair(&mut self, remedy: &Remedy, culprits: &[NodeId], first: bool) {
        let failures: Vec<NodeId> =
            remedy.failures.iter().map(|&at| self.questioner.remedies.failures[at]).collect();
        self.visit.repairs += 1;
        self.visit.repairing += remedy.cost;
        if !failures.iter().any(|&failure| self.world.has(failure)) {
            self.visit.needless += 1;
        }
        if first && failures.iter().any(|failure| culprits.contains(failure)) {
            self.visit.first_right = true;
        }
        for failure in failures {
            self.mended.push(failure);
            let failure = self.questioner.key(failure).to_owned();
            self.case.repaired.push(Repaired { failure, when: None });
        }
    }

    /// What mending these failures costs, each repair once.
    fn mending(&self, failures: &[NodeId]) -> f64 {
        let remedies = &self.questioner.remedies;
        let needed =
            |remedy: &&Remedy| remedy.failures.iter().any(|&at| failures.contains(&remedies.failures[at]));
        remedies.repairs.iter().filter(needed).map(|remedy| remedy.cost).sum()
    }
}

/// Whether an offered check would be unsafe, judged apart from the questioner's own filter: by what the
/// moves before it leave the engine in, and by the severe texts of what has been answered.
fn is_unsafe(book: &RuleBook, case: &Case, present: Present, question: &Question, moves: &[Move]) -> bool {
    let wanted = question.engine;
    if wanted == EngineState::Any {
        return false;
    }
    let reached = moves.last().map_or(present, |last| Present::Known(last.to));
    if needs_cold(wanted) && reached != Present::Known(wanted) {
        return true;
    }
    let hot_before = matches!(
        present,
        Present::Known(EngineState::Hot | EngineState::HotOff | EngineState::Running | EngineState::Driving)
    );
    if needs_cold(wanted) && hot_before && !moves.iter().any(|step| step.wait >= 30.0) {
        return true;
    }
    // By the texts themselves, not by the keys that the questioner goes by.
    severe_findings(book, case).iter().any(|(_, severe)| {
        let text = severe.say.to_lowercase();
        wanted == EngineState::Driving
            || (needs_running(wanted)
                && (text.contains("do not run the") || text.contains("do not start the")))
    })
}
