//! Known weights recovered from simulated cases, within the error that so many cases leave.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use weephole::inference::{Engine, NodeId};
use weephole::learn::fit::Settings;
use weephole::learn::proposal::{Bar, Verdict};
use weephole::learn::{Fit, Foretold, Sheet, SheetNode, Slot, fit, propose};

use super::{node, seen};

/// Two facts of history, three failures, a state nobody sees, five findings. Every number is a parameter.
fn workshop() -> (Vec<SheetNode>, Vec<f64>) {
    let mut truth = Vec::new();
    let mut nodes = Vec::new();
    let mut add = |own: f64, causes: &[(NodeId, f64)]| {
        let mut next = |value: f64| {
            truth.push(value);
            truth.len() - 1
        };
        let own = Slot::of(next(own));
        let causes: Vec<(NodeId, usize)> =
            causes.iter().map(|&(cause, weight)| (cause, next(weight))).collect();
        nodes.push(node(own, &causes));
    };
    add(0.30, &[]);
    add(0.20, &[]);
    add(0.10, &[(0, 0.35)]);
    add(0.12, &[(0, 0.15), (1, 0.40)]);
    add(0.15, &[(1, 0.25)]);
    add(0.03, &[(2, 0.70), (3, 0.55)]);
    add(0.05, &[(2, 0.80)]);
    add(0.04, &[(3, 0.65), (4, 0.30)]);
    add(0.06, &[(4, 0.85), (5, 0.40)]);
    add(0.02, &[(5, 0.75)]);
    add(0.03, &[(5, 0.60), (2, 0.20)]);
    (nodes, truth)
}

const FAILURES: [NodeId; 3] = [2, 3, 4];
const STATE: NodeId = 5;

/// Vehicles drawn from the truth. `asked` is how often a sign or fact is asked about, `looked` how often a failure is looked at.
fn vehicles(count: usize, asked: f64, looked: f64, seed: u64) -> Vec<Sheet> {
    let (nodes, truth) = workshop();
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let network = seen(&nodes, &[]).network(&truth).unwrap();
    (0..count)
        .map(|_| {
            let states = network.sample(&mut random);
            let told: Vec<(NodeId, bool)> = (0..nodes.len())
                .filter(|node| *node != STATE && !FAILURES.contains(node) && random.random_bool(asked))
                .map(|node| (node, states[node]))
                .collect();
            let verdict = FAILURES.into_iter().filter(|_| random.random_bool(looked));
            Sheet { verdict: verdict.map(|node| (node, states[node])).collect(), ..seen(&nodes, &told) }
        })
        .collect()
}

/// A poor book: every number pulled to the middle of its kind.
fn poor(truth: &[f64]) -> Vec<f64> {
    truth.iter().map(|&value| if value < 0.08 { 0.10 } else { 0.5 * value + 0.20 }).collect()
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    values.iter().sum::<f64>() / values.len() as f64
}

/// The state is never seen, and every fourth answer is missing; still the numbers come back, and as close as the
/// counts say they should (the ranges are those of expected counts, so hidden nodes make them somewhat too narrow).
#[test]
fn weights_are_recovered_within_the_expected_error() {
    let (_, truth) = workshop();
    let sheets = vehicles(1000, 0.75, 0.75, 11);
    let start = poor(&truth);
    let settings: Vec<Settings> = start.iter().map(|&word| Settings::new(word, 2.0)).collect();
    let found =
        fit(&Engine::default(), &sheets, &settings, &[], &Fit { rounds: 40, tolerance: 1e-3, slight: 0.0 })
            .unwrap();
    let was = mean(start.iter().zip(&truth).map(|(a, b)| (a - b).abs()));
    let is = mean(found.values.iter().zip(&truth).map(|(a, b)| (a - b).abs()));
    assert!(is < 0.4 * was, "mean error {is} of {was}");
    let errors: Vec<f64> = (0..truth.len())
        .map(|p| (found.values[p] - truth[p]) / found.known(&settings, p).deviation())
        .collect();
    let spread = mean(errors.iter().map(|z| z * z)).sqrt();
    assert!((0.5..2.0).contains(&spread), "errors {spread} times as large as the ranges say: {errors:?}");
}

/// A few dozen cases already foretell the rest better than a poor book does, on cases that were not learnt from.
#[test]
fn what_is_learnt_helps_on_cases_it_did_not_see() {
    let (_, truth) = workshop();
    let settings: Vec<Settings> = poor(&truth).iter().map(|&word| Settings::new(word, 20.0)).collect();
    let engine = Engine::default();
    let sheets = vehicles(200, 0.75, 0.75, 5);
    let found = fit(&engine, &sheets, &settings, &[], &Fit::default()).unwrap();
    let proposals = propose(&found, &settings, &Bar::default());
    let accepted = proposals.iter().filter(|p| p.verdict == Verdict::Better).map(|p| p.parameter).collect();
    let foretold = Foretold::of(&engine, &sheets, &settings, &found, &accepted).unwrap();
    assert!(foretold.improves());
    // The same numbers, on fresh vehicles.
    let fresh = vehicles(600, 0.75, 0.75, 99);
    let changed: Vec<f64> = (0..truth.len())
        .map(|p| if accepted.contains(&p) { proposals[p].new } else { settings[p].prior })
        .collect();
    let before: Vec<f64> = settings.iter().map(|s| s.prior).collect();
    let score = |values: &[f64]| {
        let forecasts = weephole::learn::fit::foretell(&engine, &fresh, |_| values.to_vec()).unwrap();
        weephole::learn::scores::log_score(&forecasts)
    };
    let (book, learnt, best) = (score(&before), score(&changed), score(&truth));
    assert!(learnt < book, "{learnt} is no better than {book}");
    // Most of what there is to gain is gained.
    assert!((book - learnt) > 0.5 * (book - best), "book {book}, learnt {learnt}, truth {best}");
}

/// A book that is right is left alone: next to nothing is proposed from cases it explains.
#[test]
fn a_book_that_is_right_hardly_moves() {
    let (_, truth) = workshop();
    let settings: Vec<Settings> = truth.iter().map(|&word| Settings::new(word, 20.0)).collect();
    let sheets = vehicles(200, 0.75, 0.75, 21);
    let found = fit(&Engine::default(), &sheets, &settings, &[], &Fit::default()).unwrap();
    let proposals = propose(&found, &settings, &Bar::default());
    for proposal in proposals.iter().filter(|p| p.verdict == Verdict::Better) {
        let moved = (proposal.new - proposal.old).abs();
        assert!(moved < 0.12, "{proposal:?} moves {moved}");
    }
}
