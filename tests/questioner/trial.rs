//! The trial itself: repeatable, fair, and won by the right strategy on a small book.

use weephole::case::Shop;
use weephole::inference::Engine;
use weephole::rulebook::entries::Vehicle;
use weephole::trial::{self, Contender, Settings, Tally};

use super::garage;

fn settings(runs: usize, wrong: f64) -> Settings {
    Settings {
        runs,
        contenders: Contender::ALL.to_vec(),
        seed: 7,
        wrong,
        complaint: None,
        vehicles: vec![Vehicle::default()],
    }
}

fn run(settings: &Settings) -> Vec<Tally> {
    trial::run(&garage(), &Shop::default(), &Engine::default(), settings, &|| {}).unwrap()
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let settings = settings(12, 0.05);
    let on = |threads| {
        rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap().install(|| run(&settings))
    };
    assert_eq!(on(1), on(3));
}

#[test]
fn nothing_unsafe_is_ever_offered() {
    for tally in run(&settings(40, 0.2)) {
        assert_eq!(tally.unsafe_offers, 0, "{:?}", tally.who);
    }
}

/// The bars of the project on a book small enough for a debug build; the figures for the shipped book are in
/// docs/questioner.md.
#[test]
fn worth_is_no_dearer_than_bits_and_cheaper_than_the_fixed_order() {
    let tallies = run(&settings(150, 0.02));
    let of = |who: Contender| tallies.iter().find(|tally| tally.who == who).unwrap();
    let (worth, bits, list) = (of(Contender::Worth), of(Contender::Bits), of(Contender::List));
    let against_bits = worth.saved_against(bits);
    assert!(against_bits.value > -2.0 * against_bits.error, "{against_bits:?}");
    let against_list = worth.saved_against(list);
    assert!(against_list.value > 2.0 * against_list.error, "{against_list:?}");
}

#[test]
fn a_complaint_that_is_no_symptom_is_refused() {
    let settings = Settings { complaint: Some("pump-seal".to_owned()), ..settings(1, 0.0) };
    let error = trial::run(&garage(), &Shop::default(), &Engine::default(), &settings, &|| {}).unwrap_err();
    assert!(error.to_string().contains("`pump-seal` is no symptom"), "{error}");
}
