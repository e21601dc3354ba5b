//! Everything there is to say about one case, in one value.

use std::collections::BTreeSet;

use super::comeback::{Comeback, Repair, comeback, comes_back};
use super::firm::{Firmness, firmness};
use super::fit::{Fit, judge};
use super::pull::{Interplay, Pulls, Subsets};
use super::story::{Credits, Story, stories};
use super::turn::{Turn, turns};
use crate::case::evidence::{Ignored, apply};
use crate::case::standing::from_posterior;
use crate::case::{Answer, Case, Said, Standing, gather};
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Engine, Evidence, InferenceError, Method, NodeId, Posterior};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Urgency;

/// What may be spent on an explanation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Seed of everything that is drawn.
    pub seed: u64,
    /// Redraws of the weights.
    pub redraws: usize,
    /// Rankings spent on order-free weights.
    pub rankings: usize,
    /// Suspects explained, at most.
    pub suspects: usize,
    /// Parts less likely than this are not explained (the first always is).
    pub least: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self { seed: 1, redraws: 200, rankings: 600, suspects: 5, least: 0.03 }
    }
}

/// Multiplications that the redraws may cost, and the order-free weights too; on a tangled book fewer are made.
const MOST_OPERATIONS: f64 = 4e8;

/// Most nodes whose causes are worked out for the stories.
const MOST_NODES: usize = 32;

/// Pairs of answers that change each other by less than this, in decibans, are not worth a line.
const TOGETHER: f64 = 2.0;

/// Causes below this chance are not called a root cause.
const CULPRIT: f64 = 0.05;

/// One answer, as it went into the ranking.
#[derive(Debug, Clone)]
pub struct Told {
    /// The question.
    pub ask: String,
    /// What was said.
    pub said: Said,
    /// The answer as the case keeps it.
    pub answer: Answer,
    /// The findings it shows to be there.
    pub signs: Vec<NodeId>,
}

/// Why one part is where it is in the ranking.
#[derive(Debug, Clone)]
pub struct Why {
    /// The part.
    pub part: String,
    /// Its place among the targets of [`Explanation::pulls`].
    pub target: usize,
    /// Chance before the first answer.
    pub before: f64,
    /// Chance now.
    pub chance: f64,
    /// What the vehicle's file alone did to its odds, in decibans.
    pub record: f64,
    /// Answers that matter together, strongest first.
    pub together: Vec<Interplay>,
    /// The story of its likeliest failure.
    pub story: Option<Story>,
}

/// Two suspects of which one would explain the other away.
#[derive(Debug, Clone, PartialEq)]
pub struct Rival {
    /// The failure that is found.
    pub found: String,
    /// The part whose chance then changes most.
    pub part: String,
    /// Its chance now.
    pub before: f64,
    /// Its chance then.
    pub after: f64,
}

/// Something upstream that may have brought the suspect on.
#[derive(Debug, Clone, PartialEq)]
pub struct Culprit {
    /// The node.
    pub node: NodeId,
    /// Chance that it is there.
    pub chance: f64,
    /// How likely it had a hand in the first suspect's likeliest failure, if that is there. Exact for a direct
    /// cause; farther up, the ways down are taken to fire on their own.
    pub share: f64,
}

/// A further repair beside the first suspect's, with what it would leave.
#[derive(Debug, Clone, PartialEq)]
pub struct Measure {
    /// The part or history fact put right.
    pub id: String,
    /// Chance that the complaint comes back when it is put right as well.
    pub left: f64,
}

/// What brought it on, and whether it comes back.
#[derive(Debug, Clone, PartialEq)]
pub struct Root {
    /// The part that would be renewed.
    pub part: String,
    /// Its likeliest failure.
    pub failure: String,
    /// What may have brought that on, likeliest first.
    pub culprits: Vec<Culprit>,
    /// The findings that make up the complaint.
    pub complaint: Vec<NodeId>,
    /// Findings that were seen and that this part does not bring on: its repair cannot take them away.
    pub beside: Vec<NodeId>,
    /// Chances if only this part is put right; none if the book is too tangled to say.
    pub alone: Option<Comeback>,
    /// Further repairs, the one that lowers the chance most first.
    pub measures: Vec<Measure>,
}

/// Everything there is to say about one case.
#[derive(Debug, Clone)]
pub struct Explanation {
    /// The ranking now.
    pub standing: Standing,
    /// The answers that were used, in order.
    pub told: Vec<Told>,
    /// Answers that could not be used.
    pub ignored: Vec<Ignored>,
    /// Nodes that the pulls are about: all parts.
    pub targets: Vec<NodeId>,
    /// The weight of every answer for every target.
    pub pulls: Pulls,
    /// The suspects explained, in the order of the ranking.
    pub why: Vec<Why>,
    /// Suspects that explain each other away.
    pub rivals: Vec<Rival>,
    /// Root cause and comeback; none when nothing needs repair.
    pub root: Option<Root>,
    /// How well it all fits.
    pub fit: Fit,
    /// Answers that would put another part first.
    pub turns: Vec<Turn>,
    /// How firm the order is.
    pub firmness: Firmness,
    /// Chance of every node, by number.
    pub chances: Vec<f64>,
}

/// The case with every answer unsaid: what is left is the record.
fn unsaid(case: &Case) -> Case {
    let answers = case.answers.iter().map(|answer| Answer::said(&answer.ask, "dont-know")).collect();
    Case { answers, ..case.clone() }
}

/// The findings an answer shows to be there.
fn signs_of(graph: &CauseGraph, chances: &[f64], ask: &str, said: &Said) -> Vec<NodeId> {
    let is_sign = |node: &NodeId| matches!(graph.get(*node).kind, NodeKind::Symptom | NodeKind::Outcome);
    match said {
        Said::Yes => graph.node(ask).into_iter().filter(is_sign).collect(),
        Said::Outcome(outcome) => graph.node(&format!("{ask}/{outcome}")).into_iter().collect(),
        Said::Reading(_) => {
            graph.outcomes(ask).iter().copied().filter(|&node| chances[node] >= 0.5).collect()
        }
        Said::No | Said::Normal | Said::DontKnow | Said::Cannot => Vec::new(),
    }
}

/// Explains a case.
pub fn explain(
    book: &RuleBook,
    graph: &CauseGraph,
    engine: &Engine,
    case: &Case,
    options: &Options,
) -> Result<Explanation, InferenceError> {
    let network = graph.network();
    let gathered = gather(book, graph, case);
    let record = gather(book, graph, &unsaid(case)).evidence;
    let used: Vec<&(String, Said)> = gathered.used.iter().filter(|(_, said)| said.tells()).collect();
    let pieces: Vec<Evidence> = used
        .iter()
        .map(|(ask, said)| {
            let mut piece = Evidence::new();
            // It was applied once already, to the whole.
            let _ = apply(book, graph, &case.vehicle, &mut piece, ask, said);
            piece
        })
        .collect();
    let (now, chances) = all_chances(graph, engine, &gathered.evidence, &pieces)?;
    let standing = from_posterior(book, graph, &now);
    let told: Vec<Told> = used
        .iter()
        .map(|(ask, said)| Told {
            ask: ask.clone(),
            said: said.clone(),
            answer: case.answer_to(ask).cloned().unwrap_or_default(),
            signs: signs_of(graph, &chances, ask, said),
        })
        .collect();
    let signs: Vec<NodeId> = told.iter().flat_map(|told| told.signs.iter().copied()).collect();

    let targets = graph.of_kind(NodeKind::Part);
    let parts_now = engine.posterior(network, &gathered.evidence, &targets)?;
    let cost = match parts_now.method {
        Method::Exact { cost } | Method::Sampled { cost, .. } => cost.operations.max(1.0),
    };
    // Never counted by the clock: the same case gets the same explanation on a slow machine.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let affordable = (MOST_OPERATIONS / cost).min(1e6) as usize;
    let mut subsets = Subsets::new(engine, network, &record, &pieces, &targets);
    let pulls = subsets.pulls(options.rankings.min(affordable), options.seed)?;
    let log_record = subsets.odds(0)?.0;
    let mut log_without = Vec::with_capacity(subsets.len());
    for answer in 0..subsets.len() {
        log_without.push(subsets.odds(subsets.all() & !(1 << answer))?.0 - log_record);
    }

    let explained: Vec<&crate::case::Suspect> = standing
        .suspects
        .iter()
        .enumerate()
        .filter(|(at, suspect)| *at == 0 || suspect.chance >= options.least)
        .map(|(_, suspect)| suspect)
        .take(options.suspects)
        .collect();
    let leading: Vec<NodeId> =
        explained.iter().filter_map(|suspect| graph.node(&suspect.failures.first()?.id)).collect();
    let about = (signs.as_slice(), leading.as_slice());
    let seen = (chances.as_slice(), now.log_evidence);
    let most = MOST_NODES.min(affordable / 4);
    let credits = Credits::of(graph, engine, &gathered.evidence, seen, about, most)?;
    let stories = stories(graph, &credits, &chances, &signs, &leading);
    let bare = engine.posterior(network, &Evidence::new(), &targets)?;
    let mut why = Vec::new();
    for (place, suspect) in explained.iter().enumerate() {
        let target = targets.iter().position(|&node| graph.key(node) == suspect.part).unwrap_or(0);
        let with_pairs = place < 2 && subsets.len() * subsets.len() / 2 <= affordable;
        why.push(Why {
            part: suspect.part.clone(),
            target,
            before: super::pull::chance_of(pulls.start[target]),
            chance: suspect.chance,
            record: pulls.start[target] - super::pull::decibans(bare.marginals[target]),
            together: if with_pairs { subsets.interplay(target, TOGETHER)? } else { Vec::new() },
            story: stories.iter().find(|story| Some(&story.failure) == leading.get(place)).cloned(),
        });
    }
    let rivals = rivals(graph, engine, &gathered.evidence, &standing, &leading)?;
    let fit = judge(&pulls, &log_without, &credits, &signs);
    let known = (&gathered.evidence, now.log_evidence);
    let root = root(book, graph, engine, known, &standing, &signs, &credits, &chances)?;
    let turns = turns(book, graph, engine, case, &gathered.evidence)?;
    let suspects: Vec<String> = explained.iter().map(|suspect| suspect.part.clone()).collect();
    let draws = (options.redraws.min(affordable), options.seed);
    let firmness = firmness(book, graph, engine, &gathered.evidence, &suspects, draws)?;
    Ok(Explanation {
        standing,
        told,
        ignored: gathered.ignored,
        targets,
        pulls,
        why,
        rivals,
        root,
        fit,
        turns,
        firmness,
        chances,
    })
}

/// The chances of all hidden nodes, and by number those of every node that was asked about as well.
fn all_chances(
    graph: &CauseGraph,
    engine: &Engine,
    evidence: &Evidence,
    pieces: &[Evidence],
) -> Result<(Posterior, Vec<f64>), InferenceError> {
    let hidden = graph.hidden();
    let mut asked: BTreeSet<NodeId> = BTreeSet::new();
    for piece in pieces {
        asked.extend(piece.pairs().map(|(node, _)| node));
        asked.extend(piece.tables().iter().flat_map(|table| table.nodes.iter().copied()));
    }
    let known: BTreeSet<NodeId> = hidden.iter().copied().collect();
    let wanted: Vec<NodeId> =
        hidden.iter().copied().chain(asked.into_iter().filter(|node| !known.contains(node))).collect();
    let mut found = engine.posterior(graph.network(), evidence, &wanted)?;
    let mut chances = vec![0.0; graph.len()];
    for (&node, &chance) in wanted.iter().zip(&found.marginals) {
        chances[node] = chance;
    }
    found.marginals.truncate(hidden.len());
    found.errors.truncate(hidden.len());
    Ok((found, chances))
}

/// For each leading failure: which other suspect its discovery would move most.
fn rivals(
    graph: &CauseGraph,
    engine: &Engine,
    evidence: &Evidence,
    standing: &Standing,
    leading: &[NodeId],
) -> Result<Vec<Rival>, InferenceError> {
    let mut found = Vec::new();
    for &failure in leading {
        let then = match engine.posterior(
            graph.network(),
            &evidence.clone().present(failure),
            &graph.of_kind(NodeKind::Part),
        ) {
            Ok(then) => then,
            Err(InferenceError::Impossible) => continue,
            Err(other) => return Err(other),
        };
        let own = graph.effects(failure).into_iter().map(|(node, _)| node).collect::<BTreeSet<_>>();
        let moved = graph
            .of_kind(NodeKind::Part)
            .into_iter()
            .zip(then.marginals)
            .filter(|(part, _)| !own.contains(part))
            .map(|(part, after)| Rival {
                found: graph.key(failure).to_owned(),
                part: graph.key(part).to_owned(),
                before: standing.chance(graph.key(part)),
                after,
            })
            .max_by(|a, b| (a.after - a.before).abs().total_cmp(&(b.after - b.before).abs()));
        found.extend(moved.filter(|rival| (rival.after - rival.before).abs() >= 0.05));
    }
    Ok(found)
}

/// Nodes that keep their state whatever is repaired: failures are damage done.
fn lasting(graph: &CauseGraph) -> BTreeSet<NodeId> {
    graph.of_kind(NodeKind::Failure).into_iter().collect()
}

/// History that nothing can put right is over: it brought the fault on once and does not do so again.
fn past(book: &RuleBook, graph: &CauseGraph) -> BTreeSet<NodeId> {
    let over = |node: &NodeId| book.history.get(graph.key(*node)).is_some_and(|entry| entry.remedy.is_none());
    graph.of_kind(NodeKind::History).into_iter().filter(over).collect()
}

/// Further repairs tried beside the first, at most of each kind.
const MOST_MEASURES: usize = 3;

#[allow(clippy::too_many_arguments)]
fn root(
    book: &RuleBook,
    graph: &CauseGraph,
    engine: &Engine,
    known: (&Evidence, f64),
    standing: &Standing,
    signs: &[NodeId],
    credits: &Credits,
    chances: &[f64],
) -> Result<Option<Root>, InferenceError> {
    let Some(first) = standing.suspects.first().filter(|first| first.urgency != Urgency::Nothing) else {
        return Ok(None);
    };
    let Some((failure, likely)) =
        first.failures.first().and_then(|likely| Some((graph.node(&likely.id)?, likely)))
    else {
        return Ok(None);
    };
    let failures = |part: &str| graph.failures_of(part).into_iter().collect::<BTreeSet<_>>();
    let repaired = failures(&first.part);
    let below = below(graph, &repaired);
    let of_kind = |kind: NodeKind, is_below: bool| {
        signs
            .iter()
            .copied()
            .filter(|&node| graph.get(node).kind == kind && below.contains(&node) == is_below)
            .collect::<Vec<_>>()
    };
    // What was noticed goes before what a check found: it is what the customer came for.
    let noticed = of_kind(NodeKind::Symptom, true);
    let complaint = if noticed.is_empty() { of_kind(NodeKind::Outcome, true) } else { noticed };
    let repair = Repair {
        sound: repaired.clone(),
        renewed: repaired,
        lasting: lasting(graph),
        past: past(book, graph),
        complaint: complaint.clone(),
    };
    let alone = comeback(engine, graph.network(), known, &repair)?;
    let others = standing
        .suspects
        .iter()
        .skip(1)
        .filter(|suspect| suspect.chance >= CULPRIT && suspect.urgency != Urgency::Nothing)
        .take(MOST_MEASURES)
        .map(|suspect| (suspect.part.clone(), failures(&suspect.part)));
    let culprits = culprits(graph, credits, chances, failure);
    let facts = culprits
        .iter()
        .map(|culprit| graph.key(culprit.node).to_owned())
        .filter(|fact| book.history.get(fact).is_some_and(|entry| entry.remedy.is_some()))
        .filter_map(|fact| graph.node(&fact).map(|node| (fact, BTreeSet::from([node]))))
        .take(MOST_MEASURES);
    let mut measures = Vec::new();
    for (id, nodes) in others.chain(facts).filter(|_| alone.is_some()) {
        let mut repair = repair.clone();
        repair.sound.extend(nodes);
        let left = comes_back(engine, graph.network(), known, &repair)?;
        // A measure that changes nothing worth a word is none.
        if let (Some(alone), Some(left)) = (&alone, left)
            && alone.either - left >= 0.005
        {
            measures.push(Measure { id, left });
        }
    }
    measures.sort_by(|a, b| a.left.total_cmp(&b.left).then_with(|| a.id.cmp(&b.id)));
    Ok(Some(Root {
        part: first.part.clone(),
        failure: likely.id.clone(),
        culprits,
        complaint,
        beside: of_kind(NodeKind::Symptom, false),
        alone,
        measures,
    }))
}

/// Everything that any of `nodes` can bring on, themselves included.
fn below(graph: &CauseGraph, nodes: &BTreeSet<NodeId>) -> BTreeSet<NodeId> {
    let mut below = nodes.clone();
    for node in 0..graph.len() {
        if graph.causes(node).iter().any(|(cause, _)| below.contains(cause)) {
            below.insert(node);
        }
    }
    below
}

/// Everything upstream of a failure with its hand in it, likeliest first.
fn culprits(graph: &CauseGraph, credits: &Credits, chances: &[f64], failure: NodeId) -> Vec<Culprit> {
    // Nodes are numbered causes first, so one pass from the failure upwards joins all ways: a cause had no hand
    // in it if none of its links to what had a hand in it fired.
    let mut none = vec![1.0_f64; graph.len()];
    none[failure] = 0.0;
    for node in (0..=failure).rev() {
        let hand = 1.0 - none[node];
        let Some(credit) = credits.get(node).filter(|_| hand > 0.0) else { continue };
        for &(cause, _) in &credit.causes {
            none[cause] *= 1.0 - hand * credit.share(cause);
        }
    }
    let mut found: Vec<Culprit> = (0..failure)
        .filter(|&node| 1.0 - none[node] >= CULPRIT && chances[node] >= CULPRIT)
        .map(|node| Culprit { node, chance: chances[node], share: 1.0 - none[node] })
        .collect();
    found.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.node.cmp(&b.node)));
    found
}
