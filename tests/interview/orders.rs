//! What must hold whatever is answered and in whatever order.

use proptest::prelude::*;
use weephole::case::{Case, gather};
use weephole::inference::{Engine, InferenceError};
use weephole::questioner::engine_state::needs_running;
use weephole::questioner::interview::{Reply, Step};
use weephole::rulebook::entries::EngineState;

use super::small::{BOOK, answer, case, open, tell};

/// Questions of the small book with the answers they take.
const ASKED: [(&str, &[&str]); 11] = [
    ("grinding", &["yes", "no", "dont-know"]),
    ("squeal", &["yes", "no"]),
    ("wobble", &["yes", "no"]),
    ("weeping", &["yes", "no"]),
    ("hot-standing", &["yes", "no"]),
    ("water-only", &["yes", "no"]),
    ("rock-pulley", &["normal", "play", "cannot"]),
    ("press-belt", &["normal", "slack"]),
    ("look-level", &["normal", "low"]),
    ("watch-fan", &["normal", "still"]),
    ("cap-opens", &["=95 kPa", "=80 kPa", "=12 psi", "early"]),
];

fn chances(case: &Case) -> Result<Vec<f64>, InferenceError> {
    let graph = weephole::graph::build(&BOOK, &case.vehicle, None).unwrap();
    let gathered = gather(&BOOK, &graph, case);
    assert!(gathered.ignored.is_empty(), "{:?}", gathered.ignored);
    Ok(Engine::default().posterior(graph.network(), &gathered.evidence, &graph.hidden())?.marginals)
}

/// Some questions with an answer each, in any order.
fn some_answers() -> impl Strategy<Value = Vec<(&'static str, &'static str)>> {
    prop::collection::vec(any::<prop::sample::Index>(), ASKED.len()).prop_flat_map(|picks| {
        let all: Vec<(&str, &str)> = ASKED
            .iter()
            .zip(&picks)
            .map(|((ask, takes), pick)| (*ask, takes[pick.index(takes.len())]))
            .collect();
        (2..=ASKED.len()).prop_flat_map(move |count| {
            Just(all.clone()).prop_shuffle().prop_map(move |mut all| {
                all.truncate(count);
                all
            })
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn answers_in_any_order_give_the_same_ranking(answers in some_answers(), seed in any::<u64>()) {
        let mut other = answers.clone();
        other.sort_by_key(|(ask, _)| {
            ask.bytes().fold(seed, |sum, byte| sum.wrapping_mul(31).wrapping_add(u64::from(byte)))
        });
        let (a, b) = (chances(&case(&answers)).unwrap(), chances(&case(&other)).unwrap());
        for (a, b) in a.iter().zip(&b) {
            prop_assert!((a - b).abs() <= 1e-12 * a.max(*b), "{a} {b}");
        }
    }

    #[test]
    fn changing_an_answer_is_as_if_the_first_had_never_been_given(
        answers in some_answers(),
        which in any::<prop::sample::Index>(),
        to in any::<prop::sample::Index>(),
    ) {
        let (ask, _) = answers[which.index(answers.len())];
        let takes = ASKED.iter().find(|(known, _)| *known == ask).unwrap().1;
        let new = takes[to.index(takes.len())];
        let mut changed = case(&answers);
        changed.put(answer(ask, new));
        let straight: Vec<(&str, &str)> =
            answers.iter().map(|&(other, said)| if other == ask { (ask, new) } else { (other, said) }).collect();
        prop_assert_eq!(&changed.answers, &case(&straight).answers);
        prop_assert_eq!(chances(&changed).unwrap(), chances(&case(&straight)).unwrap());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    /// The same through the interview itself, where a change goes by another way than a first answer.
    #[test]
    fn an_interview_with_a_change_ends_where_one_without_it_ends(first in prop::bool::ANY, second in prop::bool::ANY) {
        let word = |there: bool| if there { "yes" } else { "no" };
        let mut changed = open(case(&[("grinding", "yes")]));
        tell(&mut changed, "squeal", word(first));
        tell(&mut changed, "weeping", "no");
        tell(&mut changed, "squeal", word(second));
        let mut straight = open(case(&[("grinding", "yes")]));
        tell(&mut straight, "squeal", word(second));
        tell(&mut straight, "weeping", "no");
        let of = |interview: &weephole::questioner::interview::Interview<'_>| {
            let advice = interview.advice().unwrap();
            let asked: Vec<String> = advice.choices.iter().map(|c| c.weighed.question.ask.clone()).collect();
            (advice.standing.failures.iter().map(|f| (f.id.clone(), f.chance)).collect::<Vec<_>>(), asked)
        };
        prop_assert_eq!(of(&changed), of(&straight));
    }

    /// Whatever is answered, no check is put that the answers have made unsafe.
    #[test]
    fn no_reachable_question_is_unsafe(picks in prop::collection::vec(any::<prop::sample::Index>(), 14)) {
        let mut interview = open(case(&[("grinding", "yes")]));
        for pick in picks {
            match interview.step() {
                Step::Question(card) => {
                    let question = &card.weighed.question;
                    let hazards = &interview.advice().unwrap().hazards;
                    for offered in card.others.iter().map(|other| &other.weighed.question).chain([question]) {
                        let drives = offered.engine == EngineState::Driving && hazards.no_driving.is_some();
                        let runs = needs_running(offered.engine) && hazards.no_running.is_some();
                        prop_assert!(!drives && !runs, "{} is offered", offered.ask);
                    }
                    let mut takes = question.all_answers();
                    takes.push("dont-know".to_owned());
                    let said = takes[pick.index(takes.len())].clone();
                    interview.reply(Reply::Answer(said), None).unwrap();
                }
                Step::Alert(_) => interview.reply(Reply::Understood, None).unwrap(),
                Step::Clash(_) => interview
                    .reply(Reply::Settle(weephole::questioner::interview::Settle::Both), None)
                    .or_else(|_| interview.reply(Reply::Settle(weephole::questioner::interview::Settle::Neither), None))
                    .unwrap(),
                Step::NoTool(_) => interview.reply(Reply::Missing(Vec::new()), None).unwrap(),
                Step::End(end) if end.more => interview.reply(Reply::GoOn, None).unwrap(),
                _ => break,
            }
        }
    }
}
