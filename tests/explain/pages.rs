//! The pages as a reader sees them, on a small book whose weights stand still.

use std::path::{Path, PathBuf};

use weephole::case::store;
use weephole::case::{Answer, Case, Shop, dangers};
use weephole::explain::{Explanation, Options, explain};
use weephole::graph::{self, CauseGraph};
use weephole::inference::Engine;
use weephole::report::Plain;
use weephole::report::explain::{About, customer, json, workshop};
use weephole::report::page::{Page, html, markdown, text};
use weephole::report::readability::{MOST_FOR_CUSTOMERS, grade};
use weephole::rulebook::{Below, RuleBook, inspect};

pub const CASES: [&str; 3] = ["weep-hole", "hot-at-idle", "chaff"];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/explain")
}

pub fn small_book() -> RuleBook {
    let found = inspect(&[folder().join("book")], Below::Nothing);
    assert!(!found.faults.any_errors(), "{:?}", found.faults);
    found.book
}

/// A case of the tests, without history that the small book does not have.
pub fn case(book: &RuleBook, name: &str) -> Case {
    let (mut case, _) = store::read(&folder().join(format!("cases/{name}.yaml"))).unwrap();
    case.vehicle.history.retain(|fact, _| book.history.contains_key(fact));
    case
}

pub fn shop() -> Shop {
    Shop {
        name: Some("Thornby Weir workshop".to_owned()),
        contact: Some("behind the mill, ask for the key".to_owned()),
        ..Shop::default()
    }
}

pub struct Told {
    pub book: RuleBook,
    pub graph: CauseGraph,
    pub case: Case,
    pub shop: Shop,
    pub explanation: Explanation,
}

impl Told {
    pub fn of(book: RuleBook, case: Case, shop: Shop) -> Self {
        let graph = graph::build(&book, &case.vehicle, case.day()).unwrap();
        let options = Options { redraws: 60, ..Options::default() };
        let explanation = explain(&book, &graph, &Engine::default(), &case, &options).unwrap();
        Self { book, graph, case, shop, explanation }
    }

    pub fn named(name: &str) -> Self {
        let book = small_book();
        let case = case(&book, name);
        Self::of(book, case, shop())
    }

    pub fn about(&self) -> About<'_> {
        About {
            book: &self.book,
            graph: &self.graph,
            case: &self.case,
            shop: &self.shop,
            explanation: &self.explanation,
        }
    }

    pub fn pages(&self) -> [(&'static str, Page); 2] {
        [("customer", customer::page(&self.about())), ("workshop", workshop::page(&self.about()))]
    }
}

#[test]
fn every_page_in_every_format() {
    for name in CASES {
        let told = Told::named(name);
        for (reader, page) in told.pages() {
            insta::assert_snapshot!(format!("{name}-{reader}-text"), text::render(&page, &Plain));
            insta::assert_snapshot!(format!("{name}-{reader}-markdown"), markdown::render(&page));
            insta::assert_snapshot!(format!("{name}-{reader}-html"), html::render(&page));
        }
        let value = json::explanation(&told.about(), name);
        insta::assert_snapshot!(format!("{name}-json"), format!("{:#}", rounded(value)));
    }
}

/// Numbers to six places, so that a last digit does not turn a snapshot.
fn rounded(value: serde_json::Value) -> serde_json::Value {
    use serde_json::Value;
    match value {
        Value::Number(number) if number.is_f64() => {
            let figure = number.as_f64().unwrap_or(0.0);
            serde_json::json!((figure * 1e6).round() / 1e6 + 0.0)
        }
        Value::Array(items) => Value::Array(items.into_iter().map(rounded).collect()),
        Value::Object(entries) => {
            Value::Object(entries.into_iter().map(|(key, value)| (key, rounded(value))).collect())
        }
        other => other,
    }
}

#[test]
fn weights_in_order_and_order_free_both_sum_to_the_log_odds() {
    for name in CASES {
        let told = Told::named(name);
        let pulls = &told.explanation.pulls;
        for (target, of_target) in pulls.pulls.iter().enumerate() {
            let whole = pulls.end[target] - pulls.start[target];
            let in_order: f64 = of_target.iter().map(|pull| pull.in_order).sum();
            let fair: f64 = of_target.iter().map(|pull| pull.fair).sum();
            assert!((in_order - whole).abs() < 1e-9, "{name}: {in_order} instead of {whole}");
            assert!((fair - whole).abs() < 1e-9, "{name}: {fair} instead of {whole}");
        }
    }
}

#[test]
fn the_story_runs_from_the_root_through_the_suspect_to_the_sign() {
    let told = Told::named("weep-hole");
    let story = told.explanation.why[0].story.as_ref().unwrap();
    let keys: Vec<&str> = story.steps.iter().map(|step| told.graph.key(step.node)).collect();
    assert_eq!(keys.first(), Some(&"plain-water"));
    assert!(keys.contains(&"pump-seal-leaking"), "{keys:?}");
    assert!(
        told.graph.get(story.steps.last().unwrap().node).key.contains("seepage")
            || keys.last() == Some(&"level-drops-slowly"),
        "{keys:?}"
    );
}

#[test]
fn putting_the_cause_right_lowers_the_chance_of_a_comeback() {
    let told = Told::named("weep-hole");
    let root = told.explanation.root.as_ref().unwrap();
    assert_eq!(root.part, "water-pump");
    let alone = root.alone.unwrap();
    assert!(alone.either >= alone.stays.max(alone.again) && alone.again > 0.05, "{alone:?}");
    let water = root.measures.iter().find(|measure| measure.id == "plain-water").unwrap();
    assert!(water.left < alone.either - 0.02, "{} is not below {}", water.left, alone.either);
}

#[test]
fn the_same_seed_gives_the_same_page() {
    let (first, second) = (Told::named("chaff"), Told::named("chaff"));
    assert_eq!(first.explanation.firmness, second.explanation.firmness);
    let [(_, one), _] = first.pages();
    let [(_, other), _] = second.pages();
    assert_eq!(html::render(&one), html::render(&other));
}

#[test]
fn a_vehicle_without_a_viscous_fan_gets_no_picture_of_one() {
    for (fan, words, not) in [
        ("viscous", "viscous fan", "electric fan"),
        ("electric", "electric fan", "viscous fan"),
        ("fixed", "fixed fan", "viscous fan"),
    ] {
        let book = small_book();
        let mut case = case(&book, "weep-hole");
        case.vehicle.facts.insert("fan".to_owned(), fan.to_owned());
        let page = html::render(&Told::of(book, case, shop()).pages()[1].1);
        assert!(page.contains(words), "{fan}: no {words}");
        assert!(!page.contains(not), "{fan}: a {not} is drawn");
    }
}

#[test]
fn a_pump_about_to_let_go_is_not_to_be_driven() {
    let book = small_book();
    let mut case = case(&book, "weep-hole");
    case.put(Answer::said("rock-pump-pulley", "play"));
    case.put(Answer::said("grinding-noise", "yes"));
    let told = Told::of(book, case, shop());
    for (reader, page) in told.pages() {
        let text = text::render(&page, &Plain);
        let danger = text.find("Do not ").unwrap();
        assert!(
            danger < text.find("\n\nWhat you told us").or_else(|| text.find("\n\nSuspects")).unwrap(),
            "{reader}"
        );
        assert!(text.contains("The pump may be about to let go"), "{reader}");
    }
}

/// The pages forbid driving by the rule of the interview: a severe state that shows and is more likely there than not.
#[test]
fn what_forbids_driving_in_the_interview_forbids_it_on_paper() {
    let book = RuleBook::shipped();
    let mut case = Case::open(book.vehicles["pickup"].clone(), None);
    case.put(Answer::said("power-loss", "yes"));
    case.put(Answer::said("boiling-over", "no"));
    case.put(Answer::said("steam-from-bonnet", "no"));
    let told = Told::of(book, case, shop());
    let standing = &told.explanation.standing;
    let hot = standing.states.iter().find(|state| state.id == "overheating").unwrap();
    assert!((0.5..0.8).contains(&hot.chance), "{}", hot.chance);
    let spoken = dangers(&told.book, &told.case, Some(standing));
    assert!(spoken.iter().any(|danger| danger.id == "overheating"), "{spoken:?}");
    for (reader, page) in told.pages() {
        let text = text::render(&page, &Plain);
        assert!(text.contains("runs too hot warps its head"), "{reader}: {text}");
    }
}

#[test]
fn every_page_ends_with_the_deferral_and_has_the_cautions_before_the_advice() {
    for name in CASES {
        for (reader, page) in Told::named(name).pages() {
            let text = text::render(&page, &Plain).replace('\n', " ").replace("  ", " ");
            assert!(text.contains("Never open a hot cap."), "{name} {reader}");
            assert!(text.trim_end().ends_with("come before anything said here."), "{name} {reader}");
            if reader == "customer" {
                assert!(text.find("Never open").unwrap() < text.find("What we advise").unwrap(), "{name}");
            }
        }
    }
}

#[test]
fn the_customers_page_reads_at_grade_eight_or_lower() {
    for name in CASES {
        let told = Told::named(name);
        let text = markdown::render(&told.pages()[0].1);
        let prose: Vec<&str> = text.lines().filter(|line| !line.starts_with(['|', '#'])).collect();
        let found = grade(&prose.join("\n\n"));
        assert!(found <= MOST_FOR_CUSTOMERS, "{name}: grade {found:.1}\n{text}");
    }
}

#[test]
fn a_case_without_answers_can_be_explained() {
    let book = small_book();
    let case = Case { answers: Vec::new(), complaint: None, ..case(&book, "chaff") };
    let told = Told::of(book, case, Shop::default());
    for (_, page) in told.pages() {
        assert!(!text::render(&page, &Plain).is_empty());
    }
    let text = text::render(&told.pages()[0].1, &Plain);
    assert!(text.contains("We have not tested anything yet."), "{text}");
}
