//! Whether to go on, found by weighing a few questions, against weighing all of them.

use weephole::case::Shop;
use weephole::inference::Engine;
use weephole::questioner::{Questioner, Strategy};

use super::{case_of, garage, graph_of};

/// Where the short way says "go on", so does the long one, with the same questions in the same order.
#[test]
fn the_short_way_and_the_long_way_agree() {
    let (book, engine, shop) = (garage(), Engine::default(), Shop::default());
    let graph = graph_of(&book);
    let questioner = Questioner::new(&book, &graph, &engine, &shop);
    let mut went_on = 0;
    for answers in [
        &[("drips", "yes")][..],
        &[("grinding", "yes")],
        &[("grinding", "yes"), ("drips", "no")],
        &[("drips", "yes"), ("taste-drip", "clear"), ("look-pump", "normal"), ("look-hose", "normal")],
        &[("grinding", "no")],
    ] {
        let case = case_of(answers);
        for strategy in [Strategy::List, Strategy::Random(3)] {
            let mut likely = vec!["no-such-question".to_owned()];
            let advice = questioner.advise(&case, strategy).unwrap();
            let short = questioner.going_on(&case, strategy, &mut likely).unwrap();
            let Some(offers) = short else { continue };
            went_on += 1;
            assert!(advice.verdict.is_none(), "{answers:?}");
            let long: Vec<&str> =
                advice.choices.iter().map(|choice| choice.weighed.question.ask.as_str()).collect();
            let short: Vec<&str> = offers.open.iter().map(|offer| offer.question.ask.as_str()).collect();
            assert_eq!(long, short, "{answers:?}");
            assert_ne!(likely[0], "no-such-question");
        }
    }
    assert!(went_on >= 2, "{went_on}");
}
