//! The questioner's advice: what to ask or check next, or why to stop.

use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use super::blame::{complaint, shares};
use super::cost::{Outlay, Remedies, Workplace};
use super::engine_state::{Hazards, Move, Present};
use super::getting_right::Plan;
use super::lead::to_be_sure;
use super::offers::{Offers, Withheld};
use super::questions::{Question, QuestionKind};
use super::verdict::{Grounds, Verdict};
use super::weigh::{Weighed, foresee, places, weigh_each};
use super::worth::Reckoner;
use crate::case::standing::from_posterior;
use crate::case::{Answer, Case, Gathered, Said, Shop, Standing, gather};
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Candidate, Engine, InferenceError, NodeId, Prepared, spread_out};
use crate::rulebook::RuleBook;

/// How many questions are followed two steps ahead where none saves anything by itself.
const LOOKED_AHEAD: usize = 3;

/// Among how many the second step is looked for.
const FOLLOWED_BY: usize = 16;

/// For how many choices it is worked out what each answer would do to the parts, if nobody asks for more.
const FORESEEN: usize = 5;

/// How the next question is chosen.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Strategy {
    /// What saves the most money for its cost, while anything saves more than it costs.
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

impl Choice {
    /// Money saved for each unit of its own cost; what costs more than it saves comes after what does not, in
    /// order of its worth.
    pub fn rate(&self) -> f64 {
        if self.worth > 0.0 { self.worth / self.outlay.total.max(1e-3) } else { self.worth }
    }
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
    pub(super) book: &'a RuleBook,
    pub(super) graph: &'a CauseGraph,
    pub(super) engine: &'a Engine,
    pub(super) shop: &'a Shop,
    /// For how many of the first choices it is worked out what each answer would do to the parts.
    pub foreseen: usize,
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

impl<'a> Questioner<'a> {
    /// A questioner for one vehicle in one shop.
    pub fn new(book: &'a RuleBook, graph: &'a CauseGraph, engine: &'a Engine, shop: &'a Shop) -> Self {
        let remedies = Remedies::new(book, graph, shop);
        Self { book, graph, engine, shop, foreseen: FORESEEN, remedies }
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
        let wanted = places(&hidden, &self.remedies.failures);
        let prepared =
            self.engine.prepare_to_weigh(self.graph.network(), &gathered.evidence, &hidden, &wanted)?;
        let standing = from_posterior(self.book, self.graph, prepared.posterior());
        let offers = Offers::of(self.book, self.graph, self.shop, case, &standing);

        let reckoner = self.reckoner(case, &gathered)?;
        let now: Vec<f64> = wanted.iter().map(|&at| prepared.posterior().marginals[at]).collect();
        let plan = reckoner.plan(&now);

        let questions: Vec<Question> = offers.open.iter().map(|offer| offer.question.clone()).collect();
        let weighed = weigh_each(self.graph, &prepared, &wanted, questions)?;
        let mut choices: Vec<Choice> = Vec::with_capacity(weighed.len());
        let search = reckoner.search(&now, &plan);
        let reckoned = spread_out(&weighed, |(_, result)| {
            (reckoner.once_answered(result), reckoner.found(&search, result))
        });
        let mut found = Vec::with_capacity(weighed.len());
        let mut results = Vec::with_capacity(weighed.len());
        for (((weighed, result), (cost, told)), offer) in weighed.into_iter().zip(reckoned).zip(&offers.open)
        {
            let worth = plan.cost - cost - offer.outlay.total;
            found.push(told - offer.outlay.total);
            results.push(result);
            let (moves, outlay) = (offer.moves.clone(), offer.outlay);
            choices.push(Choice { weighed, worth, outlay, moves, reasons: Vec::new() });
        }
        let complained = self.complained(&gathered);
        let out_of_time = offers.spent >= self.shop.patience;
        if strategy == Strategy::Worth && complained && !out_of_time && best_worth(&choices) <= 0.0 {
            self.look_ahead(case, &offers, &reckoner, &plan, &mut choices)?;
        }
        if complained && !out_of_time && best_worth(&choices) <= 0.0 {
            for (choice, found) in choices.iter_mut().zip(found) {
                choice.worth = choice.worth.max(found);
            }
        }
        let best = best_worth(&choices);
        let stop = complained && (best <= 0.0 || out_of_time);
        arrange(&mut choices, if complained { strategy } else { no_complaint_yet(strategy) });
        let foreseen = choices.iter_mut().take(self.foreseen).map(|choice| &mut choice.weighed);
        foresee(self.graph, &prepared, &hidden, foreseen)?;
        for choice in &mut choices {
            choice.reasons = self.reasons(choice, offers.present);
        }
        let blame = reckoner.blame(&now);
        let verdict = if stop {
            let would = would(&prepared, &wanted, &reckoner, &plan, &offers.elsewhere)?;
            let grounds = Grounds {
                graph: self.graph,
                remedies: &self.remedies,
                blame: &blame,
                chances: &now,
                plan: &plan,
                would,
                to_be_sure: to_be_sure(&plan, &reckoner, &now, &offers.open, &results),
                out_of_time: out_of_time && best > 0.0,
            };
            Some(grounds.verdict())
        } else {
            None
        };
        let more = if verdict.is_some() { 0 } else { self.likely_more(&plan, &blame, &choices) };
        let Offers { present, hazards, withheld, spent, .. } = offers;
        let expected_cost = plan.cost;
        Ok(Advice {
            standing,
            gathered,
            present,
            hazards,
            choices,
            withheld,
            expected_cost,
            plan,
            spent,
            verdict,
            more,
        })
    }

    /// Where no single question saves anything: whether one of the most promising does with the best that may
    /// follow it. Its worth is then what both save.
    fn look_ahead(
        &self,
        case: &Case,
        offers: &Offers,
        reckoner: &Reckoner,
        plan: &Plan,
        choices: &mut [Choice],
    ) -> Result<(), InferenceError> {
        let mut order: Vec<usize> = (0..choices.len()).collect();
        let can_pay = |at: &usize| choices[*at].outlay.total < plan.cost;
        order.retain(can_pay);
        order.sort_by(|&a, &b| choices[b].worth.total_cmp(&choices[a].worth));
        order.truncate(FOLLOWED_BY);
        let (targets, failures) = self.with_parts();
        for &first in order.iter().take(LOOKED_AHEAD) {
            let question = &offers.open[first].question;
            let mut total = choices[first].outlay.total;
            for effect in &choices[first].weighed.effects {
                if effect.chance <= 1e-3 {
                    // Not followed: taken to leave things as they are.
                    total += effect.chance * plan.cost;
                    continue;
                }
                let mut after = case.clone();
                after.put(Answer::said(&question.ask, &effect.answer));
                let evidence = gather(self.book, self.graph, &after).evidence;
                let prepared = match self.engine.prepare(self.graph.network(), &evidence, &targets) {
                    Ok(prepared) => prepared,
                    // Rounding left a chance to what cannot be.
                    Err(InferenceError::Impossible) => continue,
                    Err(other) => return Err(other),
                };
                let mut cost = reckoner.plan(&prepared.posterior().marginals).cost;
                let next: Vec<Question> = order
                    .iter()
                    .filter(|&&at| at != first)
                    .map(|&at| offers.open[at].question.clone())
                    .filter(|next| next.kind != QuestionKind::History)
                    .collect();
                let candidates: Vec<Candidate> = next.iter().map(Question::candidate).collect();
                let workplace = Workplace::after(self.book, self.shop, &after);
                for (next, result) in next.iter().zip(prepared.candidates_on(&candidates, &failures)?) {
                    let outlay = workplace.outlay(next, &workplace.moves(next)).total;
                    cost = cost.min(outlay + reckoner.once_answered(&result));
                }
                total += effect.chance * cost;
            }
            choices[first].worth = choices[first].worth.max(plan.cost - total);
        }
        Ok(())
    }

    /// The failures, then the parts, and the places of the failures. A failure whose part is a target too keeps a
    /// variable of its own, which costs nothing when candidates are weighed.
    fn with_parts(&self) -> (Vec<NodeId>, Vec<usize>) {
        let parts = self.graph.of_kind(NodeKind::Part);
        let failures = &self.remedies.failures;
        (failures.iter().copied().chain(parts).collect(), (0..failures.len()).collect())
    }

    /// Whether any answer says that something may be wrong.
    pub(super) fn complained(&self, gathered: &Gathered) -> bool {
        gathered.used.iter().any(|(ask, said)| self.is_a_sign(ask, said))
    }

    /// Whether an answer says that something may be wrong.
    fn is_a_sign(&self, ask: &str, said: &Said) -> bool {
        match said {
            Said::Yes => self.book.symptoms.contains_key(ask),
            Said::Outcome(_) | Said::Reading(_) => true,
            Said::No | Said::Normal | Said::DontKnow | Said::Cannot => false,
        }
    }

    /// What turns chances into money for a case.
    pub(super) fn reckoner(&self, case: &Case, gathered: &Gathered) -> Result<Reckoner<'_>, InferenceError> {
        let complaint = complaint(self.book, self.graph, case, gathered);
        let shares = shares(self.graph, self.engine, &self.remedies, &gathered.evidence, &complaint)?;
        Ok(Reckoner::new(self.shop, &self.remedies, shares, case.returned.is_empty()))
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

/// The check elsewhere that would save the most, if any would save at least a little. `failures` says where they stand among
/// the prepared targets.
fn would(
    prepared: &Prepared,
    failures: &[usize],
    reckoner: &Reckoner,
    plan: &Plan,
    elsewhere: &[Question],
) -> Result<Option<String>, InferenceError> {
    let mut best: Option<(f64, String)> = None;
    let candidates: Vec<Candidate> = elsewhere.iter().map(Question::candidate).collect();
    let results = prepared.candidates_on(&candidates, failures)?;
    for (question, result) in elsewhere.iter().zip(results) {
        let saved = plan.cost - reckoner.once_answered(&result);
        if saved > 1.0 && best.as_ref().is_none_or(|(known, _)| saved > *known) {
            best = Some((saved, question.ask.clone()));
        }
    }
    Ok(best.map(|(_, ask)| ask))
}

/// What the best question is worth; below everything if there is none.
fn best_worth(choices: &[Choice]) -> f64 {
    choices.iter().map(|choice| choice.worth).fold(f64::NEG_INFINITY, f64::max)
}

/// Before anybody has complained nothing can be saved, and the most telling question goes first.
fn no_complaint_yet(strategy: Strategy) -> Strategy {
    if strategy == Strategy::Worth { Strategy::Bits } else { strategy }
}

/// A seeded order of `things`.
pub(super) fn shuffle<T>(things: &mut [T], seed: u64) {
    things.shuffle(&mut ChaCha8Rng::seed_from_u64(seed));
}

/// Puts choices, given in book order, into the order of a strategy.
fn arrange(choices: &mut [Choice], strategy: Strategy) {
    let per_minute = |choice: &Choice| choice.weighed.bits / choice.outlay.minutes().max(0.1);
    match strategy {
        Strategy::Worth => choices.sort_by(|a, b| b.rate().total_cmp(&a.rate())),
        Strategy::Bits => choices.sort_by(|a, b| per_minute(b).total_cmp(&per_minute(a))),
        Strategy::List => {}
        Strategy::Random(seed) => shuffle(choices, seed),
    }
}
