//! An engine layout as it stands for one vehicle: the steps it needs, and what must come off before what.

use petgraph::Direction;
use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::visit::EdgeRef;
use thiserror::Error;

use crate::rulebook::entries::{Band, Entries, FitsIf, Job, Proof, Step, Vehicle, Watch};
use crate::rulebook::steps::BuildError;
use crate::rulebook::{RuleBook, nearest};

/// Most steps a layout may have: sets of steps are the bits of one number.
pub const MOST_STEPS: usize = 128;

/// A set of steps: bit `i` is step `i` of [`Layout::steps`].
pub type StepSet = u128;

/// Why a layout cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LayoutError {
    /// No layout of that name.
    #[error("there is no layout `{name}`{}; the book knows {known}", near.as_ref().map(|n| format!(", did you mean `{n}`?")).unwrap_or_default())]
    Unknown {
        /// What was named.
        name: String,
        /// The nearest known name.
        near: Option<String>,
        /// All known names.
        known: String,
    },
    /// Layouts that cannot be put together.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// Steps that wait for each other.
    #[error("the steps of layout `{layout}` wait for each other: {ring}")]
    StepRing {
        /// The layout.
        layout: String,
        /// The ring, spelled out.
        ring: String,
    },
    /// More steps than a plan can hold.
    #[error("layout `{0}` has more than {MOST_STEPS} steps")]
    TooLarge(String),
    /// No layout at all.
    #[error("the book has no layout; put one in a folder `jobs` of your rules (docs/job-files.md)")]
    None,
}

/// Why one step stands before another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wait {
    /// It must have come off first.
    Off,
    /// It goes first if both are done.
    IfBoth,
}

fn unknown(book: &RuleBook, id: &str) -> LayoutError {
    let known: Vec<String> = book.jobs.keys().map(|id| format!("`{id}`")).collect();
    if known.is_empty() {
        return LayoutError::None;
    }
    LayoutError::Unknown {
        name: id.to_owned(),
        near: nearest(id, book.jobs.keys().map(String::as_str)).map(str::to_owned),
        known: known.join(", "),
    }
}

/// Whether a vehicle meets conditions. A fact that is not known counts as its commonest value.
pub fn fits(book: &RuleBook, vehicle: &Vehicle, conditions: &FitsIf) -> bool {
    conditions.iter().all(|(fact, allowed)| {
        let known = vehicle.facts.get(fact).map(String::as_str);
        let value = known.or_else(|| {
            let options = &book.facts.get(fact)?.options;
            let most = options.values().map(|o| o.share).fold(0.0, f64::max);
            options.iter().find(|(_, o)| o.share >= most).map(|(id, _)| id.as_str())
        });
        value.is_none_or(|value| allowed.iter().any(|a| a == value))
    })
}

/// Which layout a vehicle has, and how that was found.
pub fn choose(book: &RuleBook, vehicle: &Vehicle) -> Result<(String, String), LayoutError> {
    if let Some(named) = &vehicle.layout {
        return if book.jobs.contains_key(named) {
            Ok((named.clone(), "named in the vehicle file".to_owned()))
        } else {
            Err(unknown(book, named))
        };
    }
    // Share of vehicles like this one that the layout suits; more conditions met say more.
    let share = |job: &Job| -> f64 {
        job.suits
            .iter()
            .map(|(fact, allowed)| match vehicle.facts.get(fact) {
                Some(value) => f64::from(u8::from(allowed.contains(value))),
                None => book.facts.get(fact).map_or(0.0, |known| {
                    known.options.iter().filter(|(o, _)| allowed.contains(o)).map(|(_, o)| o.share).sum()
                }),
            })
            .product()
    };
    let mut best: Option<(f64, usize, &String)> = None;
    for (id, job) in book.jobs.iter().filter(|(_, job)| !job.suits.is_empty()) {
        let (share, met) = (share(job), job.suits.len());
        if best.is_none_or(|(top, count, _)| share > top + 1e-12 || (share > top - 1e-12 && met > count)) {
            best = Some((share, met, id));
        }
    }
    match best {
        Some((share, _, id)) if share > 0.999 => Ok((
            id.clone(),
            "chosen by the vehicle's facts; name another with `layout:` in the vehicle file".to_owned(),
        )),
        Some((share, _, id)) if share > 0.0 => Ok((
            id.clone(),
            "guessed, as the vehicle file leaves facts open; name the right one with `layout:`".to_owned(),
        )),
        Some((_, _, id)) => Ok((
            id.clone(),
            "no layout of the book fits this vehicle's facts; this one is the nearest, so check every step"
                .to_owned(),
        )),
        None => Err(LayoutError::None),
    }
}

/// One step of a layout.
#[derive(Debug, Clone)]
pub struct LayoutStep<'a> {
    /// Its id.
    pub id: String,
    /// What the file says.
    pub step: &'a Step,
}

/// A layout for one vehicle.
#[derive(Debug, Clone)]
pub struct Layout<'a> {
    /// Its id.
    pub id: String,
    /// The job file itself.
    pub job: &'a Job,
    /// The steps this vehicle has, in file order.
    pub steps: Vec<LayoutStep<'a>>,
    /// What waits for what: an edge runs from the earlier step to the later.
    pub graph: DiGraph<usize, Wait>,
    /// How the repair is proved.
    pub prove: &'a Entries<Proof>,
    /// What is looked at afterwards.
    pub watch: &'a Entries<Watch>,
    needs: Vec<StepSet>,
}

impl<'a> Layout<'a> {
    /// The layout `id` of the book for `vehicle`. Steps the vehicle does not need drop out, and nothing waits for them.
    pub fn of(book: &'a RuleBook, vehicle: &Vehicle, id: &str) -> Result<Self, LayoutError> {
        let job = book.jobs.get(id).ok_or_else(|| unknown(book, id))?;
        let built = book.built(id)?;
        let steps: Vec<LayoutStep<'a>> = built
            .steps
            .iter()
            .filter(|(_, (_, step))| fits(book, vehicle, &step.fits_if))
            .map(|(id, &(_, step))| LayoutStep { id: id.clone(), step })
            .collect();
        if steps.len() > MOST_STEPS {
            return Err(LayoutError::TooLarge(id.to_owned()));
        }
        let graph = precedence(&steps);
        if let Some(ring) = ring(&graph) {
            let ring: Vec<&str> = ring.iter().map(|&at| steps[at].id.as_str()).collect();
            return Err(LayoutError::StepRing { layout: id.to_owned(), ring: ring.join(" -> ") });
        }
        let needs = closures(&graph);
        Ok(Self { id: id.to_owned(), job, steps, graph, prove: built.prove, watch: built.watch, needs })
    }

    /// Everything that must be done to do the steps of `wanted`, with those steps: the smallest such set.
    pub fn closure(&self, wanted: StepSet) -> StepSet {
        members(wanted).fold(0, |all, at| all | self.needs[at])
    }

    /// The step after which a part can be renewed.
    pub fn renews(&self, part: &str) -> Option<usize> {
        self.steps.iter().position(|s| s.step.renews.iter().any(|p| p == part))
    }

    /// The step that mends a failure without a new part.
    pub fn mends(&self, failure: &str) -> Option<usize> {
        self.steps.iter().position(|s| s.step.mends.iter().any(|f| f == failure))
    }

    /// Minutes of a set of steps, both ways.
    pub fn minutes(&self, set: StepSet) -> Band {
        members(set).fold(Band(0.0, 0.0), |sum, at| {
            let minutes = self.steps[at].step.minutes;
            Band(sum.0 + minutes.undo.0 + minutes.refit.0, sum.1 + minutes.undo.1 + minutes.refit.1)
        })
    }

    /// What waits for what among the steps of `set`: pairs of step numbers, earlier first.
    pub fn waits(&self, set: StepSet) -> Vec<(usize, usize, Wait)> {
        let mut pairs: Vec<(usize, usize, Wait)> = self
            .graph
            .edge_references()
            .map(|edge| (edge.source().index(), edge.target().index(), *edge.weight()))
            .filter(|&(from, to, _)| set >> from & 1 == 1 && set >> to & 1 == 1)
            .collect();
        pairs.sort_by_key(|&(from, to, _)| (from, to));
        pairs
    }
}

/// The steps of a set, in file order.
pub fn members(set: StepSet) -> impl Iterator<Item = usize> {
    (0..MOST_STEPS).filter(move |at| set >> at & 1 == 1)
}

/// What waits for what among steps; names of steps that are not there are passed over.
pub(super) fn precedence(steps: &[LayoutStep<'_>]) -> DiGraph<usize, Wait> {
    let mut graph = DiGraph::new();
    let nodes: Vec<NodeIndex> = (0..steps.len()).map(|at| graph.add_node(at)).collect();
    let find = |id: &String| steps.iter().position(|s| &s.id == id);
    for (at, step) in steps.iter().enumerate() {
        for earlier in step.step.after.iter().filter_map(find) {
            graph.update_edge(nodes[earlier], nodes[at], Wait::Off);
        }
    }
    for (at, step) in steps.iter().enumerate() {
        for later in step.step.before.iter().filter_map(find) {
            if graph.find_edge(nodes[at], nodes[later]).is_none() {
                graph.add_edge(nodes[at], nodes[later], Wait::IfBoth);
            }
        }
    }
    graph
}

/// One ring among the steps, its first member again at the end; `None` if there is none.
pub(super) fn ring(graph: &DiGraph<usize, Wait>) -> Option<Vec<usize>> {
    let knot = petgraph::algo::tarjan_scc(graph)
        .into_iter()
        .find(|scc| scc.len() > 1 || scc.first().is_some_and(|&at| graph.find_edge(at, at).is_some()))?;
    // Inside a strongly connected set every walk comes back to where it was.
    let mut walk = vec![*knot.iter().min()?];
    loop {
        let last = *walk.last()?;
        let mut onwards: Vec<NodeIndex> =
            graph.neighbors_directed(last, Direction::Outgoing).filter(|n| knot.contains(n)).collect();
        onwards.sort();
        let next = *onwards.first()?;
        if let Some(at) = walk.iter().position(|&seen| seen == next) {
            walk.push(next);
            return Some(walk[at..].iter().map(|n| n.index()).collect());
        }
        walk.push(next);
    }
}

/// For every step, itself and all that must come off before it.
fn closures(graph: &DiGraph<usize, Wait>) -> Vec<StepSet> {
    let order = petgraph::algo::toposort(graph, None).unwrap_or_default();
    let mut needs = vec![0; graph.node_count()];
    for node in order {
        let mut set: StepSet = 1 << node.index();
        for edge in graph.edges_directed(node, Direction::Incoming) {
            if *edge.weight() == Wait::Off {
                set |= needs[edge.source().index()];
            }
        }
        needs[node.index()] = set;
    }
    needs
}
