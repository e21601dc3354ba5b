//! When asking stops, and what is said then.

use weephole::case::Shop;
use weephole::graph;
use weephole::inference::Engine;
use weephole::questioner::{Present, Strategy, Verdict, advise};
use weephole::report::interview::verdict_words;
use weephole::rulebook::RuleBook;
use weephole::rulebook::entries::EngineState;

use super::{advice, case_of, garage, graph_of};

#[test]
fn one_clear_suspect_is_to_be_fitted() {
    let answers =
        [("growl", "yes"), ("rock-pulley", "play"), ("drips", "no"), ("hot", "no"), ("level", "normal")];
    let advice = advice(&garage(), &Shop::default(), &answers);
    match advice.verdict {
        Some(Verdict::FitThis { part, failures, .. }) => {
            assert_eq!(part, "pump");
            assert_eq!(failures[0], "pump-bearing");
        }
        other => panic!("{other:?}"),
    }
    assert_eq!(advice.more, 0);
}

#[test]
fn normal_behaviour_is_not_repaired() {
    let answers =
        [("drips", "yes"), ("taste-drip", "clear"), ("look-pump", "normal"), ("look-hose", "normal")];
    let advice = advice(&garage(), &Shop::default(), &answers);
    match advice.verdict {
        Some(Verdict::NothingWrong { normal, besides }) => {
            assert_eq!(normal, ["drip-normal"]);
            assert!(besides.is_empty(), "{besides:?}");
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn without_the_tool_the_check_elsewhere_is_named() {
    // Thermostat, cap and fan all fit a hot engine; without tools and without a running engine none can be told.
    let shop = Shop { lacks: vec!["tester".to_owned(), "hands".to_owned()], ..Shop::default() };
    let answers = [("hot", "yes"), ("drips", "no"), ("growl", "no")];
    let advice = advice(&garage(), &shop, &answers);
    match &advice.verdict {
        Some(Verdict::CannotTell { would, .. } | Verdict::HandOn { would }) => assert!(would.is_some()),
        Some(Verdict::DoTogether { all_likely, .. }) => assert!(!all_likely),
        other => panic!("{other:?}"),
    }
    assert!(advice.choices.is_empty(), "{:?}", advice.choices);
}

#[test]
fn asking_ends_when_patience_does() {
    let shop = Shop { patience: 1.0, ..Shop::default() };
    let advice = advice(&garage(), &shop, &[("hot", "yes"), ("drips", "no"), ("growl", "no")]);
    assert!(advice.spent >= 1.0);
    assert!(matches!(advice.verdict, Some(Verdict::PatienceSpent { .. })), "{:?}", advice.verdict);
}

#[test]
fn two_likely_failures_are_mended_together() {
    let answers = [
        ("drips", "yes"),
        ("look-hose", "wet"),
        ("look-pump", "wet"),
        ("growl", "yes"),
        ("rock-pulley", "play"),
        ("taste-drip", "normal"),
        ("pressure-test", "falls"),
    ];
    let advice = advice(&garage(), &Shop::default(), &answers);
    match advice.verdict {
        Some(Verdict::DoTogether { repairs, all_likely }) => {
            let parts: Vec<&str> = repairs.iter().map(|(part, _)| part.as_str()).collect();
            assert!(parts.contains(&"pump") && parts.contains(&"hose"), "{parts:?}");
            assert!(all_likely);
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_cold_check_costs_the_wait_once_the_engine_is_hot() {
    let book = garage();
    let before = advice(&book, &Shop::default(), &[("hot", "yes")]);
    let after = advice(&book, &Shop::default(), &[("hot", "yes"), ("hose-warm", "normal")]);
    let cold = |advice: &weephole::questioner::Advice| {
        advice.choices.iter().find(|c| c.weighed.question.ask == "cap-test").unwrap().outlay
    };
    assert_eq!(after.present, Present::Known(EngineState::Hot));
    assert!(cold(&before).wait < 1.0);
    assert!(cold(&after).wait >= 60.0);
    assert!(cold(&after).total > cold(&before).total);
}

#[test]
fn a_tool_is_fetched_once() {
    let book = garage();
    let before = advice(&book, &Shop::default(), &[("hot", "yes")]);
    let after = advice(&book, &Shop::default(), &[("hot", "yes"), ("pressure-test", "normal")]);
    let hands = |advice: &weephole::questioner::Advice| {
        advice.choices.iter().find(|c| c.weighed.question.ask == "cap-test").unwrap().outlay.hands
    };
    assert!((hands(&before) - hands(&after) - 4.0).abs() < 1e-9);
}

#[test]
fn a_tool_said_to_be_missing_is_not_asked_for_again() {
    let advice = advice(&garage(), &Shop::default(), &[("hot", "yes"), ("pressure-test", "cannot")]);
    let offered = |ask: &str| advice.choices.iter().any(|c| c.weighed.question.ask == ask);
    assert!(!offered("pressure-test") && !offered("cap-test") && !offered("gas-test"));
    assert!(offered("look-hose"));
    assert!(advice.withheld.iter().any(|held| held.ask == "cap-test" && !held.unsafe_now));
}

#[test]
fn every_choice_says_why() {
    let advice = advice(&garage(), &Shop::default(), &[("hot", "yes")]);
    assert!(advice.verdict.is_none());
    assert!(advice.more >= 1);
    assert!(advice.choices.iter().all(|choice| !choice.reasons.is_empty()));
    let best = &advice.choices[0];
    assert!(best.worth > 0.0 && best.reasons[0].contains("saves about"), "{:?}", best.reasons);
    assert!(advice.choices.iter().skip(1).all(|choice| choice.rate() <= best.rate()));
}

/// What is clearly wrong is told to the owner even if it does not explain the complaint.
#[test]
fn what_is_wrong_besides_is_not_kept_back() {
    let mut case = case_of(&[
        ("drips", "yes"),
        ("taste-drip", "clear"),
        ("look-pump", "normal"),
        ("look-hose", "normal"),
        ("growl", "yes"),
        ("rock-pulley", "play"),
    ]);
    case.brought.push("drips".to_owned());
    let book = garage();
    let found = advise(&book, &graph_of(&book), &Engine::default(), &Shop::default(), &case, Strategy::Worth);
    let verdict = found.expect("the answers agree").verdict.expect("nothing is worth asking");
    let (heading, more) = verdict_words(&book, &verdict);
    let Verdict::NothingWrong { normal, besides } = verdict else { panic!("{verdict:?}") };
    assert_eq!(normal, ["drip-normal"]);
    assert_eq!(besides[0].1, ["pump-bearing"]);
    assert_eq!(heading, "Nothing found that explains the complaint");
    assert!(more.expect("there is more to say").contains("Likely wrong all the same"));
}

/// Whether the pump is bought does not hang on it, so rocking the pulley is not asked for; it is named all the same.
#[test]
fn before_parts_are_bought_the_telling_check_is_named() {
    let (book, shop) = (RuleBook::shipped(), Shop::default());
    let vehicle = book.vehicles["pickup"].clone();
    let graph = graph::asked(&book, &vehicle, None, shop.slips).unwrap();
    let mut case = case_of(&[
        ("grinding-noise", "yes"),
        ("pulley-wobble", "yes"),
        ("belt-chirp", "no"),
        ("rattle-front", "no"),
        ("twist-belt", "normal"),
    ]);
    case.brought = vec!["grinding-noise".to_owned(), "pulley-wobble".to_owned()];
    case.vehicle = vehicle;
    let found = advise(&book, &graph, &Engine::default(), &shop, &case, Strategy::Worth).unwrap();
    match found.verdict {
        Some(Verdict::FitThis { part, to_be_sure, .. }) => {
            assert_eq!(part, "water-pump");
            assert_eq!(to_be_sure.as_deref(), Some("rock-pump-pulley"));
        }
        other => panic!("{other:?}"),
    }
}
