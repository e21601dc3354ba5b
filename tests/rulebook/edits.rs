//! Edits of shipped files: what was meant is there, and every line that was not meant is as it was, byte for byte.

use std::sync::OnceLock;

use proptest::prelude::*;
use serde_json::{Value, json};
use weephole::rulebook::edit::{EditError, RuleText};
use weephole::rulebook::entries::WeightSpec;
use weephole::rulebook::{FileKind, LinkList, Route, RuleBook};

/// Every shipped rule file's text, read once.
fn shipped() -> &'static [String] {
    static TEXTS: OnceLock<Vec<String>> = OnceLock::new();
    TEXTS.get_or_init(|| {
        let book = RuleBook::shipped();
        let files = book.sources.iter().filter(|source| source.kind == FileKind::Book);
        files.map(|source| source.text.to_string()).collect()
    })
}

/// The routes of every text, number and truth value below a value.
fn leaves(value: &Value, route: &Route, found: &mut Vec<Route>) {
    match value {
        Value::Object(map) => map.iter().for_each(|(key, value)| leaves(value, &route.then(key), found)),
        Value::Array(items) => {
            for (number, item) in items.iter().enumerate() {
                leaves(item, &route.then(number.to_string()), found);
            }
        }
        _ => found.push(route.clone()),
    }
}

/// How many lines differ between two texts once what they share at both ends is left out: (in the old, in the new).
fn changed_lines(old: &str, new: &str) -> (usize, usize) {
    let (old, new): (Vec<&str>, Vec<&str>) =
        (old.split_inclusive('\n').collect(), new.split_inclusive('\n').collect());
    let front = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
    let rest = old.len().min(new.len()) - front;
    let back = old.iter().rev().zip(new.iter().rev()).take(rest).take_while(|(a, b)| a == b).count();
    (old.len() - front - back, new.len() - front - back)
}

/// Comments of a text, as far as a line begins with one.
fn comments(text: &str) -> Vec<&str> {
    text.lines().filter(|line| line.trim_start().starts_with('#')).collect()
}

fn anything() -> impl Strategy<Value = Value> {
    prop_oneof![
        "[ -~]{1,40}".prop_map(Value::from),
        "[a-zäöü°é,:#'\"{}\\[\\]&*! -]{1,30}".prop_map(Value::from),
        (0.0..1.0_f64).prop_map(|n| json!((n * 1000.0).round() / 1000.0)),
        any::<i32>().prop_map(Value::from),
        Just(json!("yes")),
        Just(json!("12")),
        Just(json!(true)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_value_set_anywhere_changes_only_its_own_lines(
        file in any::<prop::sample::Index>(), leaf in any::<prop::sample::Index>(), value in anything()
    ) {
        let files = shipped();
        let text = file.get(files);
        let mut edited = RuleText::new(text.as_str()).unwrap();
        let mut routes = Vec::new();
        leaves(edited.value(), &Route::default(), &mut routes);
        let route = leaf.get(&routes);
        edited.set(route, &value).unwrap();
        let got = edited.get(route).unwrap();
        prop_assert!(got == &value || got.as_f64() == value.as_f64() && got.is_number());
        let (old, new) = changed_lines(text, edited.text());
        prop_assert!(new <= 1, "{old} lines became {new}");
        // A text folded over several lines becomes one; nothing else may go.
        prop_assert!(old <= 1 || text.contains(">-") || old < 12);
        prop_assert_eq!(comments(text), comments(edited.text()));
    }

    #[test]
    fn a_link_set_and_taken_out_leaves_the_rest_alone(
        file in any::<prop::sample::Index>(), entry in any::<prop::sample::Index>(),
        list in prop_oneof![Just(LinkList::RaisedBy), Just(LinkList::LeadsTo), Just(LinkList::Shows)],
        number in 0.001..0.999_f64, with_source in any::<bool>()
    ) {
        let files: Vec<String> = shipped().iter().filter(|text| text.contains("\nfailures:\n")).cloned().collect();
        let text = file.get(&files);
        let mut edited = RuleText::new(text.as_str()).unwrap();
        let ids: Vec<String> = edited.value()["failures"].as_object().unwrap().keys().cloned().collect();
        let id = entry.get(&ids);
        let route = Route::of(&["failures", id]);
        let mut weight = WeightSpec::number((number * 1000.0).round() / 1000.0);
        weight.source = with_source.then(|| "counted: 12 of 20, here".to_owned());
        edited.set_link(&route, list, "a-new-sign", &weight).unwrap();
        let (old, new) = changed_lines(text, edited.text());
        prop_assert!(old <= 1 && new <= 2, "{old} lines became {new}");
        prop_assert_eq!(comments(text), comments(edited.text()));
        // Stated again: only the weight changes, and its source stays unless another comes.
        edited.set_link(&route, list, "a-new-sign", &WeightSpec::word("seldom")).unwrap();
        let there = edited.get(&route.then(list.key()).then("a-new-sign")).unwrap();
        prop_assert_eq!(there.get("is").unwrap_or(there), &json!("seldom"));
        prop_assert_eq!(there.get("source").is_some(), with_source);
        edited.remove_link(&route, list, "a-new-sign").unwrap();
        prop_assert_eq!(edited.text(), text);
    }

    #[test]
    fn an_entry_added_and_taken_out_leaves_the_rest_alone(
        file in any::<prop::sample::Index>(), name in "[ -~]{1,60}", base in 0.0..100.0_f64
    ) {
        let files = shipped();
        let text = file.get(files);
        let mut edited = RuleText::new(text.as_str()).unwrap();
        let entry = json!({
            "part": "water-pump", "name": name, "base": base,
            "shows": {"grinding-noise": "usually", "rock-pump-pulley/play": {"is": 0.8, "source": name}},
            "repair": {"do": "Renew it.", "minutes": [60, 90], "with": ["pump-gasket"]},
        });
        edited.add(&Route::of(&["failures"]), "a-new-failure", &entry).unwrap();
        let (old, _) = changed_lines(text, edited.text());
        prop_assert_eq!(old, 0);
        prop_assert!(edited.add(&Route::of(&["failures"]), "a-new-failure", &entry).is_err());
        edited.remove(&Route::of(&["failures", "a-new-failure"])).unwrap();
        prop_assert_eq!(edited.text().trim_end(), text.trim_end());
    }

    #[test]
    fn anything_taken_out_takes_only_its_own_lines(
        file in any::<prop::sample::Index>(), leaf in any::<prop::sample::Index>()
    ) {
        let files = shipped();
        let text = file.get(files);
        let mut edited = RuleText::new(text.as_str()).unwrap();
        let mut routes = Vec::new();
        leaves(edited.value(), &Route::default(), &mut routes);
        let route = leaf.get(&routes);
        let before = edited.clone();
        match edited.remove(route) {
            Ok(()) => {
                prop_assert!(edited.value() != before.value());
                let (_, new) = changed_lines(text, edited.text());
                prop_assert!(new <= 1, "{new} new lines");
                prop_assert_eq!(comments(text).len(), comments(edited.text()).len());
            }
            // What shares its line with a dash has to be changed by hand; then nothing may have changed.
            Err(why) => {
                prop_assert!(matches!(why, EditError::NotAlone(_)), "{why}");
                prop_assert_eq!(&edited, &before);
            }
        }
    }
}

#[test]
fn comments_order_and_quotation_marks_stay() {
    let text = "# head\nfailures:\n  # above\n  pump-worn:   # beside\n    name: 'it''s worn'  # name\n    base: 4\n    shows: {noise: half, \"play\": 0.5}\n\n# foot\n";
    let mut edited = RuleText::new(text).unwrap();
    let entry = Route::of(&["failures", "pump-worn"]);
    edited.set(&entry.then("name"), &json!("it's gone: worn")).unwrap();
    edited.set(&entry.then("base"), &json!(4.5)).unwrap();
    edited.set_link(&entry, LinkList::Shows, "play", &WeightSpec::word("mostly")).unwrap();
    edited.set_link(&entry, LinkList::Shows, "check/outcome", &WeightSpec::number(0.25)).unwrap();
    edited.set_link(&entry, LinkList::RaisedBy, "rust", &WeightSpec::word("seldom")).unwrap();
    assert_eq!(
        edited.text(),
        "# head\nfailures:\n  # above\n  pump-worn:   # beside\n    name: 'it''s gone: worn'  # name\n    base: 4.5\n    shows: {noise: half, \"play\": mostly, check/outcome: 0.25}\n    raised-by: {rust: seldom}\n\n# foot\n"
    );
}

#[test]
fn an_empty_file_takes_an_entry() {
    for text in ["", "# only a comment\n", "# no line end"] {
        let mut edited = RuleText::new(text).unwrap();
        edited.add(&Route::of(&["change", "pump-worn"]), "base", &json!(4.5)).unwrap();
        assert!(edited.text().starts_with(text));
        assert_eq!(edited.value(), &json!({"change": {"pump-worn": {"base": 4.5}}}));
    }
}

#[test]
fn an_unsound_file_is_not_edited() {
    assert!(matches!(RuleText::new("a: b: c\n"), Err(EditError::Unsound(_))));
    assert!(matches!(RuleText::new("a: 1\na: 2\n"), Err(EditError::Unsound(_))));
    let mut edited = RuleText::new("a: {b: 1}\n").unwrap();
    assert!(matches!(edited.set(&Route::of(&["a", "c"]), &json!(1)), Err(EditError::Nowhere(_))));
    assert_eq!(edited.text(), "a: {b: 1}\n");
}
