//! The customer's own words, on the shipped book.

use std::sync::LazyLock;

use weephole::questioner::hearing::{Heard, Hearing};
use weephole::rulebook::RuleBook;

static HEARING: LazyLock<Hearing> = LazyLock::new(|| Hearing::new(&RuleBook::shipped()));

fn hear(text: &str) -> Vec<Heard> {
    HEARING.hear(text, |_| true)
}

fn first(text: &str) -> String {
    hear(text).first().map_or_else(String::new, |heard| heard.symptom.clone())
}

#[test]
fn the_six_complaints_are_understood_as_customers_put_them() {
    for (text, symptom) in [
        ("there's a grinding noise from the engine", "grinding-noise"),
        ("it growls like a coffee grinder", "grinding-noise"),
        ("the belt squeals when I rev it", "belt-squeal"),
        ("brown water in the bottle", "rusty-coolant"),
        ("it overheats in traffic", "hot-at-idle"),
        ("gets hot when standing still", "hot-at-idle"),
    ] {
        assert_eq!(first(text), symptom, "{text}: {:?}", hear(text));
    }
}

#[test]
fn forms_of_a_word_are_the_same_word() {
    for text in ["squealing belt", "belt squeals", "the belt squealed"] {
        assert_eq!(first(text), "belt-squeal", "{text}");
    }
}

#[test]
fn slips_of_the_finger_are_understood_and_shown() {
    let heard = hear("awful grindng noise");
    assert_eq!(heard[0].symptom, "grinding-noise");
    assert!(heard[0].slips.iter().any(|(typed, _)| typed == "grindng"), "{:?}", heard[0]);
}

#[test]
fn every_match_says_which_words_it_was_made_from() {
    for heard in hear("grinding noise and brown coolant, it boiled over on the hill") {
        assert!(!heard.said.is_empty() && !heard.phrase.is_empty(), "{heard:?}");
    }
}

#[test]
fn several_complaints_in_one_sentence_are_all_heard() {
    let ids: Vec<String> =
        hear("brown water in the bottle, and the belt squeals").into_iter().map(|h| h.symptom).collect();
    assert!(ids.contains(&"rusty-coolant".to_owned()) && ids.contains(&"belt-squeal".to_owned()), "{ids:?}");
}

#[test]
fn what_is_denied_is_heard_as_denied() {
    let heard = hear("no steam from the bonnet");
    let steam = heard.iter().find(|heard| heard.symptom == "steam-from-bonnet").expect("steam is heard");
    assert!(!steam.there);
    assert!(hear("steam from the bonnet").iter().any(|h| h.symptom == "steam-from-bonnet" && h.there));
}

#[test]
fn more_exact_words_go_before_those_they_contain() {
    let heard = hear("overheats in traffic");
    let at = |id: &str| heard.iter().position(|h| h.symptom == id);
    assert_eq!(at("hot-at-idle"), Some(0), "{heard:?}");
    assert!(heard.iter().all(|h| h.symptom != "gauge-red" || !h.sure), "{heard:?}");
}

#[test]
fn words_about_something_else_are_not_heard_as_anything_sure() {
    for text in ["the radio has no sound", "please also change the tyres", "", "???", "¿qué?"] {
        assert!(hear(text).iter().all(|heard| !heard.sure), "{text}: {:?}", hear(text));
    }
}

#[test]
fn codes_are_heard_however_they_are_typed() {
    for text in ["P0128", "p 0128", "code p0128 stored"] {
        assert_eq!(first(text), "code-p0128", "{text}");
    }
}

#[test]
fn every_phrase_of_the_book_is_heard_as_its_own_symptom() {
    let book = RuleBook::shipped();
    let mut lost = Vec::new();
    let mut all = 0;
    for (id, symptom) in &book.symptoms {
        for phrase in &symptom.words {
            all += 1;
            if !hear(phrase).iter().any(|heard| heard.symptom == *id) {
                lost.push(format!("{id}: {phrase}"));
            }
        }
    }
    // A few phrases are words of several symptoms; the list shows eight.
    assert!(lost.len() * 100 <= all, "{} of {all} lost: {lost:#?}", lost.len());
}

#[test]
fn symptoms_the_vehicle_cannot_show_are_not_offered() {
    assert!(
        HEARING
            .hear("grinding noise", |id| id != "grinding-noise")
            .iter()
            .all(|h| h.symptom != "grinding-noise")
    );
}

#[test]
fn a_common_word_alone_says_nothing_sure() {
    let heard = hear("it drips water from the pump");
    assert!(heard.iter().all(|h| h.symptom != "coolant-like-water" || !h.sure), "{heard:?}");
    assert!(heard[0].sure && heard[0].symptom == "weep-hole-seepage", "{heard:?}");
}

/// A word that two signs share is not enough for the one whose place or time was not said.
#[test]
fn a_shared_word_is_not_taken_for_the_other_sign() {
    for (text, is, is_not) in [
        ("overheats on long climbs", "hot-on-hills", "hot-at-idle"),
        ("hot on climbs", "hot-on-hills", "hot-at-idle"),
        ("overheats only on long climbs", "hot-on-hills", "hot-at-idle"),
        ("gets hot on long climb", "hot-on-hills", "hot-at-idle"),
        ("heater goes cold and gurgles since we refilled it", "gurgle-behind-dash", "hot-after-refill"),
        ("pink crust under the water pump", "weep-hole-trail", "puddle-front"),
    ] {
        let heard = hear(text);
        let sure: Vec<&str> = heard.iter().filter(|one| one.sure).map(|one| one.symptom.as_str()).collect();
        assert!(sure.contains(&is) && !sure.contains(&is_not), "{text}: {sure:?}");
    }
}
