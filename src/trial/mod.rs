//! Does the questioner choose well? Simulated vehicles are drawn from the book, the interview runs against
//! them, repairs are tried until the complaint is gone, and everything it cost is counted.
//!
//! [`world`] is one simulated vehicle, [`visit`] one strategy at work on it, [`tally`] what came of many.
//! Every strategy meets the same vehicles with the same answers, wrong ones included. The same seed gives the
//! same digits whatever the number of threads.

pub mod tally;
pub mod visit;
pub mod world;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rayon::prelude::*;
use thiserror::Error;

use crate::case::Shop;
use crate::graph::{self, CauseGraph, Slips};
use crate::inference::{Engine, InferenceError};
use crate::questioner::{Questioner, Strategy};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Vehicle;

pub use tally::Tally;
pub use visit::Visit;
pub use world::World;

/// A strategy as it is asked for; the seed of the random one comes from the trial.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Contender {
    /// What saves the most money after its own cost.
    Worth,
    /// Most bits for each minute.
    Bits,
    /// The order of the book.
    List,
    /// Any open question.
    Random,
}

impl Contender {
    /// All of them, in the order of the report.
    pub const ALL: [Self; 4] = [Self::Worth, Self::Bits, Self::List, Self::Random];

    /// Its name on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Worth => "worth",
            Self::Bits => "bits",
            Self::List => "list",
            Self::Random => "random",
        }
    }

    fn strategy(self, seed: u64) -> Strategy {
        match self {
            Self::Worth => Strategy::Worth,
            Self::Bits => Strategy::Bits,
            Self::List => Strategy::List,
            Self::Random => Strategy::Random(seed),
        }
    }
}

/// What to try.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Simulated vehicles.
    pub runs: usize,
    /// Strategies, each on every vehicle.
    pub contenders: Vec<Contender>,
    /// Seed of everything.
    pub seed: u64,
    /// Share of answers that are wrong, 0 to 1.
    pub wrong: f64,
    /// The complaint with which every vehicle comes in; without it any symptom it has.
    pub complaint: Option<String>,
    /// The kinds of vehicle, taken in turn.
    pub vehicles: Vec<Vehicle>,
}

/// Why a trial could not run.
#[derive(Debug, Error)]
pub enum TrialError {
    /// The complaint is not a symptom of the book, or no vehicle can have it.
    #[error("`{0}` is no symptom that this vehicle can have; a trial needs the id of a symptom")]
    Complaint(String),
    /// Drawing never gave the complaint.
    #[error("in {draws} draws no vehicle had `{complaint}`; it is too rare to try")]
    TooRare {
        /// The complaint.
        complaint: String,
        /// How many vehicles were drawn.
        draws: usize,
    },
    /// The graph could not be built.
    #[error(transparent)]
    Graph(#[from] graph::GraphError),
    /// Inference failed.
    #[error(transparent)]
    Inference(#[from] InferenceError),
}

/// Runs a trial; `tick` is called after every vehicle.
pub fn run(
    book: &RuleBook,
    shop: &Shop,
    engine: &Engine,
    settings: &Settings,
    tick: &(dyn Fn() + Sync),
) -> Result<Vec<Tally>, TrialError> {
    // As the shop file would say of such answers. Vehicles are drawn from the network for true ones.
    let slips = Slips { told: settings.wrong, checked: settings.wrong };
    let graphs: Vec<CauseGraph> = settings
        .vehicles
        .iter()
        .map(|vehicle| graph::asked(book, vehicle, None, slips))
        .collect::<Result<_, _>>()?;
    let each: Vec<Vec<Visit>> = (0..settings.runs)
        .into_par_iter()
        .map(|number| {
            let at = number % graphs.len();
            let visits = one(book, shop, engine, settings, &graphs[at], &settings.vehicles[at], number);
            tick();
            visits
        })
        .collect::<Result<_, _>>()?;
    let tallies = settings.contenders.iter().enumerate();
    Ok(tallies.map(|(at, &who)| Tally::of(who, each.iter().map(|visits| &visits[at]))).collect())
}

/// One vehicle, met by every contender.
fn one(
    book: &RuleBook,
    shop: &Shop,
    engine: &Engine,
    settings: &Settings,
    graph: &CauseGraph,
    vehicle: &Vehicle,
    number: usize,
) -> Result<Vec<Visit>, TrialError> {
    let mut random = ChaCha8Rng::seed_from_u64(settings.seed);
    random.set_stream(number as u64);
    let world = World::draw(book, graph, vehicle, settings, &mut random)?;
    let mut questioner = Questioner::new(book, graph, engine, shop);
    questioner.foreseen = 0;
    let seed = settings.seed.wrapping_mul(0x9e37_79b9).wrapping_add(number as u64);
    settings
        .contenders
        .iter()
        .map(|who| Ok(visit::visit(book, shop, &questioner, &world, who.strategy(seed))?))
        .collect()
}
