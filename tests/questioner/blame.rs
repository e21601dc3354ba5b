//! Who is to blame for the complaint, against vehicles simulated forward with every link settled.

use std::collections::BTreeMap;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use weephole::case::file::Returned;
use weephole::case::{Case, Shop, gather};
use weephole::graph;
use weephole::inference::Engine;
use weephole::questioner::blame::{complaint, shares};
use weephole::questioner::cost::Remedies;
use weephole::questioner::{Strategy, Verdict, advise};
use weephole::rulebook::RuleBook;
use weephole::trial::World;

use super::{case_of, garage, graph_of};
use crate::support::trials::hot_at_idle;

fn shares_of(book: &RuleBook, case: &Case) -> BTreeMap<String, f64> {
    let graph = graph_of(book);
    let remedies = Remedies::new(book, &graph, &Shop::default());
    let gathered = gather(book, &graph, case);
    let complaint = complaint(book, &graph, case, &gathered);
    let found = shares(&graph, &Engine::default(), &remedies, &gathered.evidence, &complaint).unwrap();
    remedies.failures.iter().map(|&node| graph.key(node).to_owned()).zip(found).collect()
}

/// A failure from which no way leads to the complaint is not to blame, however surely it is there.
#[test]
fn what_cannot_bring_the_complaint_on_is_not_to_blame() {
    let book = garage();
    let mut case = case_of(&[("drips", "yes"), ("growl", "yes")]);
    case.brought = vec!["growl".to_owned()];
    let growl = shares_of(&book, &case);
    assert!(growl["hose-leak"] < 1e-15, "{growl:?}");
    // By hand: the bearing alone makes it growl with chance 0.85, everything else together with 0.02.
    assert!((growl["pump-bearing"] - 0.85 / (0.85 + 0.15 * 0.02)).abs() < 1e-12, "{growl:?}");
    case.brought = vec!["drips".to_owned()];
    let drips = shares_of(&book, &case);
    assert!(drips["pump-bearing"] < 1e-15, "{drips:?}");
    assert!(drips["hose-leak"] > 0.85, "{drips:?}");
}

/// The chance that a failure is there and to blame, against 1,500 pickups that run hot at idle, each drawn with
/// every link settled so that the culprits are known. The formula takes the other failures as independent, so it may be
/// off by a little more than chance allows.
#[test]
fn blame_is_as_often_right_as_it_says() {
    let book = RuleBook::shipped();
    let vehicle = book.vehicles["pickup"].clone();
    let graph = graph::build(&book, &vehicle, None).unwrap();
    let settings = hot_at_idle(&vehicle);
    let remedies = Remedies::new(&book, &graph, &Shop::default());
    let mut random = ChaCha8Rng::seed_from_u64(5);
    let worlds: Vec<World> =
        (0..1500).map(|_| World::draw(&book, &graph, &vehicle, &settings, &mut random).unwrap()).collect();
    let case = worlds[0].case();
    let gathered = gather(&book, &graph, &case);
    // The pickup's file tells some of its history: the vehicles drawn have it too.
    for world in &worlds {
        for (node, (absent, present)) in gathered.evidence.pairs() {
            assert!(if world.has(node) { present > 0.0 } else { absent > 0.0 }, "{}", graph.key(node));
        }
    }
    let count = worlds.len() as f64;
    let engine = Engine::default();
    let complaint = complaint(&book, &graph, &case, &gathered);
    let shares = shares(&graph, &engine, &remedies, &gathered.evidence, &complaint).unwrap();
    let chances =
        engine.posterior(graph.network(), &gathered.evidence, &remedies.failures).unwrap().marginals;
    let mut seen: BTreeMap<usize, f64> = BTreeMap::new();
    for world in &worlds {
        for culprit in world.culprits(&[]) {
            *seen.entry(culprit).or_default() += 1.0;
        }
    }
    let (mut said, mut found) = (0.0, 0.0);
    for (at, &failure) in remedies.failures.iter().enumerate() {
        if remedies.harmless.contains(&at) {
            continue;
        }
        let (blame, share) = (chances[at] * shares[at], seen.get(&failure).copied().unwrap_or(0.0) / count);
        said += blame;
        found += share;
        let error = (blame * (1.0 - blame) / count).sqrt();
        assert!(
            (blame - share).abs() < 4.0 * error + 0.03,
            "{}: said {blame:.3}, found {share:.3} ± {error:.3}",
            graph.key(failure)
        );
    }
    assert!((said - found).abs() < 0.15 * found, "said {said:.2} culprits a vehicle, found {found:.2}");
}

/// Once it has come back with nothing done, "nothing is wrong" is no answer any more.
#[test]
fn what_came_back_is_not_sound() {
    let book = garage();
    let graph = graph_of(&book);
    let mut case = case_of(&[
        ("drips", "yes"),
        ("taste-drip", "clear"),
        ("look-pump", "normal"),
        ("look-hose", "normal"),
    ]);
    let verdict = |case: &Case| {
        advise(&book, &graph, &Engine::default(), &Shop::default(), case, Strategy::Worth).unwrap().verdict
    };
    assert!(matches!(verdict(&case), Some(Verdict::NothingWrong { .. })));
    case.returned.push(Returned::default());
    assert!(!matches!(verdict(&case), Some(Verdict::NothingWrong { .. })));
}
