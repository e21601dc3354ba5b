//! The interview as a state machine.

use weephole::case::Case;
use weephole::questioner::interview::{Clash, Reply, Settle, Step, Stop};
use weephole::rulebook::entries::Vehicle;

use super::small::{BOOK, asked, case, open, tell};

fn kind(step: &Step) -> &'static str {
    match step {
        Step::Vehicle => "vehicle",
        Step::Fact(_) => "fact",
        Step::Age(_) => "age",
        Step::Complaint(_) => "complaint",
        Step::Heard(_) => "heard",
        Step::Question(_) => "question",
        Step::Clash(_) => "clash",
        Step::Alert(_) => "alert",
        Step::NoTool(_) => "no-tool",
        Step::End(_) => "end",
    }
}

#[test]
fn a_new_case_starts_with_the_vehicle_and_then_the_complaint() {
    let mut interview = open(Case::default());
    assert_eq!(kind(&interview.step()), "vehicle");
    let pickup = BOOK.vehicles["farm-pickup"].clone();
    interview.reply(Reply::Vehicle(Box::new(pickup.clone())), None).unwrap();
    assert_eq!(kind(&interview.step()), "complaint");
    assert_eq!(interview.case().vehicle, pickup);
    interview.reply(Reply::Complaint("it is growling".into()), None).unwrap();
    assert_eq!(kind(&interview.step()), "heard");
    interview.reply(Reply::Confirmed(vec![0]), Some("2026-01-02T03:04:05Z")).unwrap();
    assert_eq!(kind(&interview.step()), "complaint");
    interview.reply(Reply::ThatIsAll, None).unwrap();
    assert_eq!(kind(&interview.step()), "question");
    let answer = interview.case().answer_to("grinding").unwrap();
    assert_eq!(
        (answer.answer.as_deref(), answer.when.as_deref()),
        (Some("yes"), Some("2026-01-02T03:04:05Z"))
    );
    assert_eq!(interview.case().complaint.as_deref(), Some("it is growling"));
}

#[test]
fn every_fact_about_the_vehicle_may_be_left_out() {
    let mut interview = open(Case::default());
    interview.reply(Reply::Describe, None).unwrap();
    let mut steps = 0;
    while kind(&interview.step()) != "complaint" {
        let reply = if kind(&interview.step()) == "fact" { Reply::Fact(None) } else { Reply::Age(None) };
        interview.reply(reply, None).unwrap();
        steps += 1;
        assert!(steps < 20);
    }
    assert!(steps >= 3);
    assert_eq!(interview.case().vehicle, Vehicle::default());
}

#[test]
fn ages_are_read_with_their_unit_and_slips_are_refused() {
    let mut interview = open(Case::default());
    interview.reply(Reply::Describe, None).unwrap();
    while kind(&interview.step()) == "fact" {
        interview.reply(Reply::Fact(None), None).unwrap();
    }
    assert!(interview.reply(Reply::Age(Some("a lot".into())), None).is_err());
    interview.reply(Reply::Age(Some("100000 mi".into())), None).unwrap();
    assert!(interview.reply(Reply::Age(Some("209".into())), None).is_err());
    assert_eq!(kind(&interview.step()), "age");
    interview.reply(Reply::Age(Some("2009".into())), None).unwrap();
    assert_eq!(interview.case().vehicle.km, Some(160_934.0));
    assert_eq!(interview.case().vehicle.built, Some(2009));
}

#[test]
fn a_fact_takes_away_what_the_vehicle_cannot_have() {
    let mut interview = open(Case::default());
    interview.reply(Reply::Describe, None).unwrap();
    let Step::Fact(fact) = interview.step() else { panic!() };
    assert_eq!(fact.fact, "fan");
    interview.reply(Reply::Fact(Some("viscous".into())), None).unwrap();
    assert!(interview.graph().node("fan-dead").is_none());
}

#[test]
fn words_nothing_matches_are_kept_and_said_to_be_unheard() {
    let mut interview = open(case(&[]));
    interview.reply(Reply::Complaint("the ashtray is full".into()), None).unwrap();
    let Step::Complaint(complaint) = interview.step() else { panic!() };
    assert_eq!(complaint.unheard.as_deref(), Some("the ashtray is full"));
    assert_eq!(interview.case().complaint.as_deref(), Some("the ashtray is full"));
}

#[test]
fn dont_know_and_cannot_say_nothing_and_are_not_asked_again() {
    let mut interview = open(case(&[("grinding", "yes")]));
    let before = interview.advice().unwrap().standing.chance("pump");
    for word in ["dont-know", "cannot"] {
        let ask = asked(&interview).unwrap();
        interview.reply(Reply::Answer(word.into()), None).unwrap();
        assert_ne!(asked(&interview), Some(ask.clone()));
        assert_eq!(interview.case().answer_to(&ask).unwrap().answer.as_deref(), Some(word));
        assert!((interview.advice().unwrap().standing.chance("pump") - before).abs() < 1e-12);
    }
}

#[test]
fn a_tool_that_is_not_here_takes_its_checks_away() {
    let mut interview = open(case(&[("grinding", "yes")]));
    tell(&mut interview, "cap-and-neck", "cannot");
    let Step::NoTool(tools) = interview.step() else { panic!("{:?}", interview.step()) };
    assert_eq!(tools, ["endoscope", "mirror"]);
    interview.reply(Reply::Missing(vec!["endoscope".into()]), None).unwrap();
    assert_eq!(interview.case().missing_tools, ["endoscope"]);
    assert!(interview.advice().unwrap().choices.iter().all(|c| c.weighed.question.ask != "cap-and-neck"));
}

#[test]
fn back_asks_the_last_question_again_and_keeps_its_answer_until_there_is_another() {
    let mut interview = open(case(&[("grinding", "yes")]));
    tell(&mut interview, "squeal", "no");
    interview.reply(Reply::Back, None).unwrap();
    assert_eq!(asked(&interview).as_deref(), Some("squeal"));
    assert!(interview.case().answer_to("squeal").is_some());
    interview.reply(Reply::Back, None).unwrap();
    assert_eq!(asked(&interview).as_deref(), Some("grinding"));
    interview.reply(Reply::Back, None).unwrap();
    assert_eq!(kind(&interview.step()), "complaint");
    interview.reply(Reply::ThatIsAll, None).unwrap();
    assert_eq!(interview.case().answers.len(), 2);
}

#[test]
fn an_answer_can_be_changed_kept_or_forgotten() {
    let mut interview = open(case(&[("grinding", "yes"), ("squeal", "no")]));
    interview.reply(Reply::Ask("squeal".into()), None).unwrap();
    interview.reply(Reply::Keep, None).unwrap();
    assert_eq!(interview.case().answer_to("squeal").unwrap().answer.as_deref(), Some("no"));
    tell(&mut interview, "squeal", "yes");
    assert_eq!(interview.case().answer_to("squeal").unwrap().answer.as_deref(), Some("yes"));
    interview.reply(Reply::Ask("squeal".into()), None).unwrap();
    interview.reply(Reply::Forget, None).unwrap();
    assert!(interview.case().answer_to("squeal").is_none());
}

#[test]
fn symptoms_that_exclude_each_other_are_questioned() {
    for (settle, red, dead) in [
        (Settle::New, "no", "yes"),
        (Settle::Old, "yes", "no"),
        (Settle::Both, "yes", "yes"),
        (Settle::Neither, "dont-know", "dont-know"),
    ] {
        let mut interview = open(case(&[("needle-red", "yes")]));
        tell(&mut interview, "needle-dead", "yes");
        let clash = loop {
            match interview.step() {
                Step::Alert(_) => interview.reply(Reply::Understood, None).unwrap(),
                Step::Clash(clash) => break clash,
                other => panic!("{}", kind(&other)),
            }
        };
        assert_eq!(clash, Clash::Exclude { new: "needle-dead".into(), old: "needle-red".into() });
        interview.reply(Reply::Settle(settle), None).unwrap();
        let said = |ask: &str| interview.case().answer_to(ask).unwrap().answer.clone().unwrap();
        assert_eq!((said("needle-red").as_str(), said("needle-dead").as_str()), (red, dead), "{settle:?}");
    }
}

#[test]
fn an_answer_the_others_make_all_but_impossible_is_questioned() {
    let mut interview = open(case(&[("grinding", "yes"), ("wobble", "yes")]));
    tell(&mut interview, "rock-pulley", "normal");
    let Step::Clash(Clash::Unlikely { ask, chance, alone, against }) = interview.step() else {
        panic!("{}", kind(&interview.step()))
    };
    assert_eq!(ask, "rock-pulley");
    assert!(chance < 0.02 && alone > 0.9, "{chance} {alone}");
    assert_eq!(against.as_deref(), Some("wobble"));
    interview.reply(Reply::Settle(Settle::Old), None).unwrap();
    assert_eq!(asked(&interview).as_deref(), Some("rock-pulley"));
    interview.reply(Reply::Answer("play".into()), None).unwrap();
    assert_ne!(kind(&interview.step()), "clash");
}

#[test]
fn a_surprise_may_be_kept() {
    let mut interview = open(case(&[("grinding", "yes"), ("wobble", "yes")]));
    tell(&mut interview, "rock-pulley", "normal");
    interview.reply(Reply::Settle(Settle::Both), None).unwrap();
    assert_ne!(kind(&interview.step()), "clash");
    assert_eq!(interview.case().answer_to("rock-pulley").unwrap().answer.as_deref(), Some("normal"));
}

#[test]
fn an_answer_that_fits_is_not_questioned() {
    let mut interview = open(case(&[("grinding", "yes"), ("wobble", "yes")]));
    tell(&mut interview, "rock-pulley", "play");
    assert_ne!(kind(&interview.step()), "clash");
}

#[test]
fn a_severe_answer_interrupts_once_and_stays_in_sight() {
    let mut interview = open(case(&[("grinding", "yes")]));
    interview.reply(Reply::Ask("needle-red".into()), None).unwrap();
    interview.reply(Reply::Answer("yes".into()), None).unwrap();
    let Step::Alert(dangers) = interview.step() else { panic!("{}", kind(&interview.step())) };
    assert_eq!(dangers[0].id, "needle-red");
    assert!(dangers[0].why.contains("switch off"));
    interview.reply(Reply::Understood, None).unwrap();
    let Step::Question(card) = interview.step() else { panic!("{}", kind(&interview.step())) };
    assert!(card.glance.dangers.iter().any(|danger| danger.id == "needle-red"));
}

#[test]
fn a_severe_case_warns_again_when_it_is_opened_again() {
    assert_eq!(kind(&open(case(&[("needle-red", "yes")])).step()), "alert");
}

#[test]
fn stop_shows_where_it_stands_and_may_be_taken_back() {
    let mut interview = open(case(&[("grinding", "yes")]));
    interview.reply(Reply::Stop, None).unwrap();
    let Step::End(end) = interview.step() else { panic!() };
    assert_eq!(end.stop, Stop::Asked);
    assert!(end.more);
    interview.reply(Reply::GoOn, None).unwrap();
    assert_eq!(kind(&interview.step()), "question");
}

#[test]
fn it_comes_to_an_end_by_itself_and_says_what_to_fit() {
    let mut interview = open(case(&[("grinding", "yes"), ("wobble", "yes")]));
    for _ in 0..40 {
        match interview.step() {
            Step::Question(card) => {
                let ask = card.weighed.question.ask.clone();
                let said = if ask == "rock-pulley" { "play" } else { card.weighed.question.plain_answer() };
                interview.reply(Reply::Answer(said.to_owned()), None).unwrap();
            }
            Step::Clash(_) => interview.reply(Reply::Settle(Settle::Both), None).unwrap(),
            Step::Alert(_) => interview.reply(Reply::Understood, None).unwrap(),
            Step::End(end) => {
                assert!(
                    matches!(&end.stop, Stop::Verdict(weephole::questioner::Verdict::FitThis { part, .. }) if part == "pump"),
                    "{:?}",
                    end.stop
                );
                return;
            }
            other => panic!("{}", kind(&other)),
        }
    }
    panic!("it never ended");
}

#[test]
fn a_reading_is_taken_with_its_unit_and_refused_without_sense() {
    let mut interview = open(case(&[("grinding", "yes")]));
    interview.reply(Reply::Ask("cap-opens".into()), None).unwrap();
    assert!(interview.reply(Reply::Reading("900 kPa".into()), None).is_err());
    assert!(interview.case().answer_to("cap-opens").is_none());
    interview.reply(Reply::Reading("10 psi".into()), None).unwrap();
    assert!(interview.advice().unwrap().standing.chance("cap") > 0.5);
}

#[test]
fn a_reply_that_does_not_belong_to_the_step_is_refused() {
    let mut interview = open(Case::default());
    assert!(interview.reply(Reply::Answer("yes".into()), None).is_err());
    assert!(interview.reply(Reply::Settle(Settle::Both), None).is_err());
    assert_eq!(kind(&interview.step()), "vehicle");
}

#[test]
fn opening_a_case_again_asks_the_question_it_stopped_at() {
    let mut interview = open(case(&[("grinding", "yes")]));
    let first = asked(&interview).unwrap();
    interview.reply(Reply::Answer("dont-know".into()), None).unwrap();
    let next = asked(&interview);
    assert_eq!(asked(&open(interview.case().clone())), next);
    assert_ne!(next, Some(first));
}
