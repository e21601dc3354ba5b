//! What the interview shows next, and what may be said to it.

use crate::case::{Answer, Standing};
use crate::questioner::hearing::Heard;
use crate::questioner::interview::outlook::{Outlook, Stop};
use crate::questioner::{Choice, Move, Weighed};
use crate::rulebook::entries::Vehicle;

/// What comes next.
#[derive(Debug, Clone)]
pub enum Step {
    /// Which vehicle is it?
    Vehicle,
    /// One fact about the vehicle.
    Fact(FactStep),
    /// How old the vehicle is, in one count.
    Age(AgeStep),
    /// What brought it in.
    Complaint(ComplaintStep),
    /// What the customer's words may mean, to be confirmed.
    Heard(Vec<Heard>),
    /// One question.
    Question(Box<Card>),
    /// Answers that do not go together.
    Clash(Clash),
    /// The vehicle must not be driven.
    Alert(Vec<Danger>),
    /// A check cannot be done here: is it for want of a tool?
    NoTool(Vec<String>),
    /// Nothing more to ask, or enough is known, or the person stopped.
    End(Box<End>),
}

/// One fact about the vehicle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FactStep {
    /// Id of the fact in the book.
    pub fact: String,
    /// The option it has now, if any.
    pub now: Option<String>,
    /// Which one this is, from 1.
    pub number: usize,
    /// How many are asked at most.
    pub of: usize,
}

/// What an age is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AgeStep {
    /// Kilometres run.
    Distance,
    /// The year it was built.
    Built,
}

/// What brought it in.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ComplaintStep {
    /// What the customer said so far.
    pub said: Option<String>,
    /// Symptoms noted so far, with whether they are there.
    pub noted: Vec<(String, bool)>,
    /// Symptoms that may be picked: those this vehicle can show.
    pub open: Vec<String>,
    /// The last words typed, if nothing in the book matched them.
    pub unheard: Option<String>,
}

/// One question, with where things stand.
#[derive(Debug, Clone)]
pub struct Card {
    /// The question, and what each answer would do.
    pub weighed: Weighed,
    /// What has to be done to the engine first, in order.
    pub moves: Vec<Move>,
    /// Why it is worth asking, in words.
    pub reasons: Vec<String>,
    /// Why it must not be done (again), although its answer may be corrected.
    pub unsafe_now: Option<String>,
    /// What was answered before, when it is asked again.
    pub said: Option<Answer>,
    /// Where things stand.
    pub glance: Glance,
    /// Other questions that could be asked now, best first.
    pub others: Vec<Choice>,
    /// All answers so far, in their order: what may be changed.
    pub answers: Vec<Answer>,
}

/// Where things stand, in short.
#[derive(Debug, Clone)]
pub struct Glance {
    /// The ranking; `None` while the answers contradict each other.
    pub standing: Option<Standing>,
    /// The ranking before the last answer.
    pub before: Option<Standing>,
    /// How many answers the case has.
    pub answers: usize,
    /// How sure it is, and how much longer it may take.
    pub outlook: Outlook,
    /// Why the vehicle must not be driven, in short; empty if nothing said so.
    pub dangers: Vec<Danger>,
}

/// Something that forbids driving.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Danger {
    /// The symptom, state, failure, or `check/outcome`.
    pub id: String,
    /// Why.
    pub why: String,
}

/// Answers that do not go together.
#[derive(Debug, Clone, PartialEq)]
pub enum Clash {
    /// Two symptoms that cannot both be there.
    Exclude {
        /// The one just given.
        new: String,
        /// The one given before.
        old: String,
    },
    /// An answer that the others make all but impossible.
    Unlikely {
        /// The question.
        ask: String,
        /// Chance of this answer given the others; zero if it cannot be.
        chance: f64,
        /// Chance of this answer on its own.
        alone: f64,
        /// The earlier answer it sits worst with.
        against: Option<String>,
    },
}

/// How a clash is settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Settle {
    /// The new answer is right; the old one is turned round, or asked again.
    New,
    /// The old answer is right; the new one is turned round, or asked again.
    Old,
    /// Both stay.
    Both,
    /// Nobody knows: both (or the new one) count as "don't know".
    Neither,
}

/// The end, or a pause.
#[derive(Debug, Clone)]
pub struct End {
    /// Why it ended.
    pub stop: Stop,
    /// Where things stand.
    pub glance: Glance,
    /// All answers, in their order.
    pub answers: Vec<Answer>,
    /// Whether there is anything left to ask.
    pub more: bool,
}

/// What was said.
#[derive(Debug, Clone, PartialEq)]
pub enum Reply {
    /// This vehicle.
    Vehicle(Box<Vehicle>),
    /// A vehicle of which a few things shall be asked.
    Describe,
    /// Nothing is known about the vehicle.
    SkipVehicle,
    /// A fact about it; `None` if not known.
    Fact(Option<String>),
    /// An age as typed; `None` if not known.
    Age(Option<String>),
    /// Enough asked about the vehicle.
    EnoughFacts,
    /// The customer's own words.
    Complaint(String),
    /// Symptoms picked from the list.
    Symptoms(Vec<String>),
    /// Which of the matches are right, by their place.
    Confirmed(Vec<usize>),
    /// Nothing more brought it in.
    ThatIsAll,
    /// An answer as a case keeps it.
    Answer(String),
    /// A reading as typed.
    Reading(String),
    /// The question as it was answered before stays so.
    Keep,
    /// Take the answer to this question out.
    Forget,
    /// One question back.
    Back,
    /// This question instead, or an earlier one again.
    Ask(String),
    /// How a clash is settled.
    Settle(Settle),
    /// "Do not drive" was read.
    Understood,
    /// These tools are not here.
    Missing(Vec<String>),
    /// Enough asked.
    Stop,
    /// Go on asking all the same.
    GoOn,
    /// It was sent home with nothing done, and came back with the same complaint.
    CameBack,
}
