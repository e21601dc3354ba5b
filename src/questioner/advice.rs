//! The questioner's advice: what to ask or check next, or why to stop.

use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use super::cost::{Outlay, Remedies, Workplace};
use super::engine_state::{self, Hazards, Move, Present};
use super::getting_right::Plan;
use super::questions::{Question, QuestionKind, all_questions};
use super::verdict::{Grounds, Verdict};
use super::weigh::{Weighed, weigh_each};
use super::worth::{Reckoner, history_alone};
use crate::case::standing::from_posterior;
use crate::case::{Case, Gathered, Said, Shop, Standing, gather};
use crate::graph::CauseGraph;
use crate::inference::{Candidate, CandidateResult, Engine, Evidence, InferenceError, NodeId};
use crate::rulebook::RuleBook;

/// How the next question is chosen.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Strategy {
    /// What saves the most money after its own cost.
    #[default]
    Worth,
    /// Most bits for each minute, set-up included.
    Bits,
    /// The order of the book: symptoms, history, checks.
    List,
    /// Any open question, by this seed.
    Random(u64),
}

/// One question that may be put next.
#[derive(Debug, Clone)]
pub struct Choice {
    /// The question, and what each answer would do.
    pub weighed: Weighed,
    /// Money it is expected to save after its own cost; below 0 it costs more than it saves.
    pub worth: f64,
    /// What it costs, set-up included.
    pub outlay: Outlay,
    /// What has to be done first, in order.
    pub moves: Vec<Move>,
    /// Why, in words: most telling first.
    pub reasons: Vec<String>,
}

/// A check that makes sense but cannot be offered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Withheld {
    /// The check.
    pub ask: String,
    /// Why not, in words.
    pub why: String,
    /// True if it would be unsafe; false if it merely cannot be done here.
    pub unsafe_now: bool,
}

/// What the questioner advises.
#[derive(Debug, Clone)]
pub struct Advice {
    /// Where things stand.
    pub standing: Standing,
    /// The answers behind it, and those that could not be used.
    pub gathered: Gathered,
    /// What the engine is like now.
    pub present: Present,
    /// What must not be done to this vehicle.
    pub hazards: Hazards,
    /// Open questions that can be put, best first.
    pub choices: Vec<Choice>,
    /// Checks that are not offered, and why.
    pub withheld: Vec<Withheld>,
    /// Money that getting the vehicle right is expected to cost from here without further questions.
    pub expected_cost: f64,
    /// What to do without further questions.
    pub plan: Plan,
    /// Minutes spent on questions and checks so far.
    pub spent: f64,
    /// Why to stop asking, when no question is worth its cost any more.
    pub verdict: Option<Verdict>,
    /// How many more questions are likely; 0 with a verdict.
    pub more: usize,
}

/// Gives advice on the cases of one vehicle.
#[derive(Debug, Clone)]
pub struct Questioner<'a> {
    book: &'a RuleBook,
    graph: &'a CauseGraph,
    engine: &'a Engine,
    shop: &'a Shop,
    /// The repairs that the vehicle may need.
    pub remedies: Remedies,
}

/// Advises on a case.
pub fn advise(
    book: &RuleBook,
    graph: &CauseGraph,
    engine: &Engine,
    shop: &Shop,
    case: &Case,
    strategy: Strategy,
) -> Result<Advice, InferenceError> {
    Questioner::new(book, graph, engine, shop).advise(case, strategy)
}

/// A question with its price, before it is weighed.
struct Priced {
    moves: Vec<Move>,
    outlay: Outlay,
}

impl<'a> Questioner<'a> {
    /// A questioner for one vehicle in one shop.
    pub fn new(book: &'a RuleBook, graph: &'a CauseGraph, engine: &'a Engine, shop: &'a Shop) -> Self {
        Self { book, graph, engine, shop, remedies: Remedies::new(book, graph, shop) }
    }

    /// Id of a node.
    pub fn key(&self, node: NodeId) -> &str {
        self.graph.key(node)
    }

    /// The part of a failure.
    pub fn part_of(&self, failure: NodeId) -> Option<&str> {
        self.book.failures.get(self.graph.key(failure)).map(|entry| entry.part.as_str())
    }

    /// Advises on a case.
    pub fn advise(&self, case: &Case, strategy: Strategy) -> Result<Advice, InferenceError> {
        let gathered = gather(self.book, self.graph, case);
        let hidden = self.graph.hidden();
        let posterior = self.engine.posterior(self.graph.network(), &gathered.evidence, &hidden)?;
        let standing = from_posterior(self.book, self.graph, &posterior);
        let hazards = engine_state::hazards(self.book, case, &gathered, &standing);
        let workplace = Workplace::after(self.book, self.shop, case);
        let all = all_questions(self.book, self.graph, case);
        let spent = self.spent(case, &all);

        let (mut offered, mut priced, mut withheld, mut elsewhere) = (vec![], vec![], vec![], vec![]);
        for question in all {
            let answered = case.answer_to(&question.ask);
            let cannot = answered.is_some_and(|answer| answer.answer.as_deref() == Some("cannot"));
            if answered.is_some() && !cannot {
                continue;
            }
            if let Some(no) = self.withheld(&question, &hazards, &workplace, cannot) {
                if !no.unsafe_now {
                    elsewhere.push(question);
                }
                withheld.push(no);
                continue;
            }
            let moves = workplace.moves(&question);
            let outlay = workplace.outlay(&question, &moves);
            priced.push(Priced { moves, outlay });
            offered.push(question);
        }

        let history = history_alone(self.graph, &gathered.evidence);
        let reckoner = Reckoner::new(self.graph, self.engine, self.shop, &self.remedies, &history)?;
        let now = self.targets_of(&standing);
        let plan = reckoner.plan(&now);
        let weighed = weigh_each(self.graph, self.engine, &gathered.evidence, offered)?;
        let told = self.told(&history, &weighed)?;
        let mut choices: Vec<Choice> = Vec::with_capacity(weighed.len());
        for (((weighed, result), priced), told) in weighed.into_iter().zip(priced).zip(told) {
            let later = match told {
                Some(usual) => reckoner.once_told(&result, &usual),
                None => reckoner.once_answered(&result),
            };
            let worth = plan.cost - later - priced.outlay.total;
            let Priced { moves, outlay } = priced;
            choices.push(Choice { weighed, worth, outlay, moves, reasons: Vec::new() });
        }
        let best = choices.iter().map(|choice| choice.worth).fold(f64::NEG_INFINITY, f64::max);
        let complained = gathered.used.iter().any(|(ask, said)| self.is_a_sign(ask, said));
        let out_of_time = spent >= self.shop.patience;
        let stop = complained && (best <= 0.0 || out_of_time);
        let strategy = if complained { strategy } else { no_complaint_yet(strategy) };
        arrange(&mut choices, strategy);
        for choice in &mut choices {
            choice.reasons = self.reasons(choice, workplace.present);
        }
        let blame = reckoner.blame(&now);
        let verdict = if stop {
            let would = self.would(&gathered.evidence, &reckoner, &plan, elsewhere)?;
            let grounds = Grounds {
                graph: self.graph,
                remedies: &self.remedies,
                blame: &blame,
                chances: &now,
                plan: &plan,
                would,
                out_of_time: out_of_time && best > 0.0,
            };
            Some(grounds.verdict())
        } else {
            None
        };
        let more = if verdict.is_some() { 0 } else { self.likely_more(&plan, &blame, &choices) };
        Ok(Advice {
            standing,
            gathered,
            present: workplace.present,
            hazards,
            choices,
            withheld,
            expected_cost: plan.cost,
            plan,
            spent,
            verdict,
            more,
        })
    }

    /// Whether an answer says that something may be wrong.
    fn is_a_sign(&self, ask: &str, said: &Said) -> bool {
        match said {
            Said::Yes => self.book.symptoms.contains_key(ask),
            Said::Outcome(_) | Said::Reading(_) => true,
            Said::No | Said::Normal | Said::DontKnow | Said::Cannot => false,
        }
    }

    /// Why a question is not offered, if it is not.
    fn withheld(
        &self,
        question: &Question,
        hazards: &Hazards,
        workplace: &Workplace,
        cannot: bool,
    ) -> Option<Withheld> {
        let no =
            |why: String, unsafe_now: bool| Some(Withheld { ask: question.ask.clone(), why, unsafe_now });
        if let Some(why) = hazards.against(question.engine) {
            return no(why.to_owned(), true);
        }
        if cannot {
            return no("you said that it cannot be done here".to_owned(), false);
        }
        let tool = workplace.lacking(question)?;
        let name = self.book.tools.get(tool).map_or(tool, |tool| &tool.name);
        no(format!("it needs a {name}, and there is none here"), false)
    }

    /// Chances of failures, then parts, in graph order, out of a standing.
    fn targets_of(&self, standing: &Standing) -> Vec<f64> {
        let mut known = std::collections::BTreeMap::new();
        known.extend(standing.failures.iter().map(|likely| (likely.id.as_str(), likely.chance)));
        known.extend(standing.suspects.iter().map(|suspect| (suspect.part.as_str(), suspect.chance)));
        let targets = self.remedies.targets();
        targets.iter().map(|&node| known.get(self.graph.key(node)).copied().unwrap_or(0.0)).collect()
    }

    /// For each question on history: what its answers do to the usual chances.
    fn told(
        &self,
        history: &Evidence,
        weighed: &[(Weighed, CandidateResult)],
    ) -> Result<Vec<Option<CandidateResult>>, InferenceError> {
        let is_history = |weighed: &Weighed| weighed.question.kind == QuestionKind::History;
        let asked = weighed.iter().filter(|(weighed, _)| is_history(weighed));
        let asked: Vec<Candidate> = asked.map(|(weighed, _)| weighed.question.candidate()).collect();
        let network = self.graph.network();
        let mut results =
            self.engine.candidates(network, history, &self.remedies.targets(), &asked)?.into_iter();
        Ok(weighed
            .iter()
            .map(|(weighed, _)| if is_history(weighed) { results.next() } else { None })
            .collect())
    }

    /// Minutes spent on the answers of a case, in their order.
    fn spent(&self, case: &Case, all: &[Question]) -> f64 {
        let mut so_far = Case { vehicle: case.vehicle.clone(), ..Case::default() };
        let mut minutes = 0.0;
        for answer in &case.answers {
            let question = all.iter().find(|question| question.ask == answer.ask);
            if let Some(question) = question.filter(|_| answer.answer.as_deref() != Some("cannot")) {
                let workplace = Workplace::after(self.book, self.shop, &so_far);
                minutes += workplace.outlay(question, &workplace.moves(question)).minutes();
            }
            so_far.answers.push(answer.clone());
        }
        minutes
    }

    /// The check elsewhere that would save the most, if any would save at least a little.
    fn would(
        &self,
        evidence: &Evidence,
        reckoner: &Reckoner,
        plan: &Plan,
        elsewhere: Vec<Question>,
    ) -> Result<Option<String>, InferenceError> {
        let mut best: Option<(f64, String)> = None;
        for (weighed, result) in weigh_each(self.graph, self.engine, evidence, elsewhere)? {
            let saved = plan.cost - reckoner.once_answered(&result);
            if saved > 1.0 && best.as_ref().is_none_or(|(known, _)| saved > *known) {
                best = Some((saved, weighed.question.ask));
            }
        }
        Ok(best.map(|(_, ask)| ask))
    }

    /// How many more questions are likely: what is still to be saved shrinks by the share that the best
    /// question saves, until what is left is not worth another question.
    fn likely_more(&self, plan: &Plan, blame: &[f64], choices: &[Choice]) -> usize {
        let mending: f64 = blame.iter().zip(&self.remedies.repairs).map(|(chance, r)| chance * r.cost).sum();
        let to_save = (plan.cost - mending).max(0.0);
        let Some(best) = choices.iter().max_by(|a, b| a.worth.total_cmp(&b.worth)) else { return 0 };
        let share = ((best.worth + best.outlay.total) / to_save.max(1e-9)).clamp(0.02, 0.98);
        let left = (best.outlay.total.max(1.0) / to_save.max(1e-9)).min(1.0);
        // Between 1 and 20, so the cast is safe.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let more = (left.ln() / (1.0 - share).ln()).ceil().clamp(1.0, 20.0) as usize;
        more
    }

    /// Why a question is worth asking, in words.
    fn reasons(&self, choice: &Choice, present: Present) -> Vec<String> {
        let currency = self.shop.currency(self.book);
        let mut reasons = Vec::new();
        let Outlay { total, wait, .. } = choice.outlay;
        reasons.push(if choice.worth > 0.0 {
            format!("saves about {:.0} {currency} after its own {total:.0} {currency}", choice.worth.max(1.0))
        } else {
            format!("costs {total:.0} {currency} and is not likely to save as much")
        });
        if let Present::Known(state) = present
            && state == choice.weighed.question.engine
        {
            reasons.push("the engine is as it must be for this".to_owned());
        }
        if wait >= 10.0 {
            reasons.push(format!("about {wait:.0} minutes of waiting first"));
        }
        reasons
    }
}

/// Before anybody has complained nothing can be saved, and the most telling question goes first.
fn no_complaint_yet(strategy: Strategy) -> Strategy {
    if strategy == Strategy::Worth { Strategy::Bits } else { strategy }
}

/// Puts choices, given in book order, into the order of a strategy.
fn arrange(choices: &mut [Choice], strategy: Strategy) {
    let per_minute = |choice: &Choice| choice.weighed.bits / choice.outlay.minutes().max(0.1);
    match strategy {
        Strategy::Worth => choices.sort_by(|a, b| b.worth.total_cmp(&a.worth)),
        Strategy::Bits => choices.sort_by(|a, b| per_minute(b).total_cmp(&per_minute(a))),
        Strategy::List => {}
        Strategy::Random(seed) => choices.shuffle(&mut ChaCha8Rng::seed_from_u64(seed)),
    }
}
