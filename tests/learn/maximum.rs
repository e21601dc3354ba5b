//! The maximisation: stated rounds and fixed points, what never falls, what never moves.

use proptest::prelude::*;
use weephole::inference::Engine;
use weephole::learn::fit::Settings;
use weephole::learn::proposal::{Bar, Verdict};
use weephole::learn::{Fit, Fitted, Sheet, Slot, fit, propose};

use super::{near, node, seen};

/// The counts the worked figures are about: causes 1 and 2, how many such vehicles, how many of them with the effect.
const COUNTS: [(bool, bool, f64, f64); 4] = [
    (false, false, 400.0, 8.0),
    (true, false, 100.0, 45.0),
    (false, true, 60.0, 50.0),
    (true, true, 40.0, 37.0),
];

fn counted() -> Vec<Sheet> {
    let nodes =
        [node(Slot::fixed(0.3), &[]), node(Slot::fixed(0.2), &[]), node(Slot::of(2), &[(0, 0), (1, 1)])];
    let both = |(one, two, all, there): (bool, bool, f64, f64)| {
        [(true, there), (false, all - there)]
            .map(|(state, times)| Sheet { times, ..seen(&nodes, &[(0, one), (1, two), (2, state)]) })
    };
    COUNTS.into_iter().flat_map(both).collect()
}

/// Log chance of the causes themselves, which the stated likelihoods leave out.
fn of_causes() -> f64 {
    COUNTS
        .iter()
        .map(|&(one, two, all, _)| {
            let of = |there: bool, p: f64| if there { p } else { 1.0 - p };
            all * (of(one, 0.3) * of(two, 0.2)).ln()
        })
        .sum()
}

fn start(start: f64, prior: f64, strength: f64) -> Settings {
    Settings { prior, strength, start, held: false, per: 1.0 }
}

fn rounds(settings: &[Settings], rounds: usize, tolerance: f64) -> Fitted {
    fit(&Engine::default(), &counted(), settings, &[], &Fit { rounds, tolerance, slight: 0.0 }).unwrap()
}

/// Figures recomputed from the equations by a second program; the fixed point also by direct maximisation (BFGS).
#[test]
fn the_stated_rounds_and_the_fixed_point() {
    let free = [start(0.5, 0.5, 0.0), start(0.5, 0.5, 0.0), start(0.1, 0.1, 0.0)];
    let rows = [
        (0, [0.5, 0.5, 0.1], Some(-182.325_496_074_358)),
        (1, [0.462_714_704_650, 0.693_255_131_965, 0.050_078_201_369], Some(-154.637_162_857)),
        (2, [0.448_752_598_841, 0.793_276_666_505, 0.030_554_862_500], Some(-147.130_050_543)),
        (3, [0.443_128_816_914, 0.826_015_074_752, 0.023_557_872_503], None),
        (10, [0.441_512_276_756, 0.838_387_359_721, 0.019_972_508_340], None),
    ];
    for (count, wanted, likelihood) in rows {
        let found = rounds(&free, count, 0.0);
        found.values.iter().zip(wanted).for_each(|(&found, wanted)| near(found, wanted, 1e-11));
        if let Some(wanted) = likelihood {
            near(found.log_likelihood.last().unwrap() - of_causes(), wanted, 1e-8);
        }
    }
    let settled = rounds(&free, 2000, 1e-14);
    assert!(settled.settled);
    let wanted = [0.441_519_524_371, 0.838_387_627_017, 0.019_970_522_496];
    settled.values.iter().zip(wanted).for_each(|(&found, wanted)| near(found, wanted, 1e-11));
    near(settled.log_likelihood.last().unwrap() - of_causes(), -145.782_386_567, 1e-8);
}

/// A Beta(2, 2) prior on the weights is a word of one half that counts as two cases; Beta(1, 19) on the background is a
/// word of nothing that counts as eighteen.
#[test]
fn the_stated_maximum_with_a_prior() {
    let settings = [start(0.5, 0.5, 2.0), start(0.5, 0.5, 2.0), start(0.1, 0.0, 18.0)];
    let settled = rounds(&settings, 2000, 1e-14);
    let wanted = [0.444_070_287_667, 0.829_907_328_170, 0.019_127_797_643];
    settled.values.iter().zip(wanted).for_each(|(&found, wanted)| near(found, wanted, 1e-10));
}

/// With one cause, no background and everything seen, nothing is hidden: the closed form of a Beta and a binomial holds.
#[test]
fn the_closed_form_where_nothing_is_hidden() {
    let nodes = [node(Slot::fixed(0.5), &[]), node(Slot::fixed(0.0), &[(0, 0)])];
    let cases: Vec<Sheet> = (0..980).map(|i| seen(&nodes, &[(0, true), (1, i < 437)])).collect();
    let settings = [Settings::new(0.485, 20.0)];
    let found = fit(&Engine::default(), &cases, &settings, &[], &Fit::default()).unwrap();
    near(found.values[0], (0.485 * 20.0 + 437.0) / 1000.0, 1e-12);
    near(found.known(&settings, 0).quantile(0.5), 0.446_664, 6e-7);
    // Each case left out: exactly what learning from the others gives.
    let rest = fit(&Engine::default(), &cases[1..], &settings, &[], &Fit::default()).unwrap();
    near(found.without(&settings, 0)[0], rest.values[0], 1e-12);
}

/// No evidence, no move: not by a hair, whatever the strength of the author's word.
#[test]
fn a_number_without_evidence_stays() {
    let nodes = [node(Slot::of(0), &[]), node(Slot::of(1), &[(0, 2)]), node(Slot::of(3), &[(0, 4)])];
    let cases: Vec<Sheet> = (0..30).map(|i| seen(&nodes, &[(0, i < 20), (1, i < 18)])).collect();
    let words = [0.1, 0.01, 0.5, 0.013, 0.7];
    for strength in [0.0, 1.0, 20.0] {
        let settings = words.map(|word| Settings::new(word, strength));
        let found = fit(&Engine::default(), &cases, &settings, &[], &Fit::default()).unwrap();
        assert_eq!(found.values[3].to_bits(), words[3].to_bits());
        assert_eq!(found.values[4].to_bits(), words[4].to_bits());
        let proposals = propose(&found, &settings, &Bar::default());
        assert_eq!(proposals[4].verdict, Verdict::Unseen);
        assert_eq!(proposals[2].verdict, Verdict::Better);
    }
    // 0 and 1 mean what they say.
    let settings = [
        Settings::new(0.1, 5.0),
        Settings::new(0.0, 5.0),
        Settings::new(1.0, 5.0),
        Settings::new(0.1, 5.0),
        Settings::new(0.7, 5.0),
    ];
    let true_by_definition: Vec<Sheet> = (0..9).map(|i| seen(&nodes, &[(0, i < 5), (1, i < 5)])).collect();
    let found = fit(&Engine::default(), &true_by_definition, &settings, &[], &Fit::default()).unwrap();
    near(found.values[1], 0.0, 0.0);
    near(found.values[2], 1.0, 0.0);
}

/// Signs that always followed their cause are learnt to be certain without a prior; a case without the signs then rules
/// the cause out, which is a credit of nothing and no contradiction.
#[test]
fn a_cause_ruled_out_by_certain_links_has_no_credit() {
    let nodes = [
        node(Slot::of(0), &[]),
        node(Slot::of(1), &[(0, 6)]),
        node(Slot::of(2), &[(1, 7)]),
        node(Slot::of(3), &[(1, 8)]),
    ];
    let cases: [&[(usize, bool)]; 3] =
        [&[(1, false)], &[(1, true), (2, true), (3, true)], &[(2, false), (3, false)]];
    let sheets: Vec<Sheet> = cases.iter().map(|states| seen(&nodes, states)).collect();
    let settings: Vec<Settings> = (0..9).map(|_| Settings::new(0.02, 0.0)).collect();
    let fitting = Fit { rounds: 12, tolerance: 0.0, slight: 0.0 };
    let found = fit(&Engine::default(), &sheets, &settings, &[], &fitting).unwrap();
    assert!(
        found.log_posterior.windows(2).all(|pair| pair[1] >= pair[0] - 1e-9),
        "{:?}",
        found.log_posterior
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is seen and whatever is hidden, what is maximised never falls from one round to the next.
    #[test]
    fn what_is_maximised_never_falls(
        links in proptest::collection::vec(any::<bool>(), 36),
        numbers in proptest::collection::vec(0.02_f64..0.98, 42),
        cases in proptest::collection::vec(proptest::collection::vec(proptest::option::weighted(0.6, any::<bool>()), 6), 1..8),
        strength in prop_oneof![Just(0.0), 0.1_f64..30.0],
    ) {
        let nodes: Vec<_> = (0..6)
            .map(|id| {
                let causes: Vec<(usize, usize)> = (0..id).filter(|c| links[id * 6 + c]).map(|c| (c, 6 + id * 6 + c)).collect();
                node(Slot::of(id), &causes)
            })
            .collect();
        let sheets: Vec<Sheet> = cases
            .iter()
            .map(|states| {
                let states: Vec<(usize, bool)> =
                    states.iter().enumerate().filter_map(|(node, state)| Some((node, (*state)?))).collect();
                seen(&nodes, &states)
            })
            .collect();
        let settings: Vec<Settings> = numbers.iter().map(|&number| Settings::new(number, strength)).collect();
        let found = fit(&Engine::default(), &sheets, &settings, &[], &Fit { rounds: 12, tolerance: 0.0, slight: 0.0 }).unwrap();
        for pair in found.log_posterior.windows(2) {
            prop_assert!(pair[1] >= pair[0] - 1e-9, "{} fell to {}", pair[0], pair[1]);
        }
    }
}
