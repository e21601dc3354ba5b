//! The plan as text, Markdown, HTML and JSON.

use std::sync::LazyLock;

use weephole::plan::Plan;
use weephole::report::{Plain, plan as page};
use weephole::rulebook::RuleBook;
use weephole::units::UnitSystem;

use super::{case, pickup_pump, plan_of};

/// One plan of each kind serves every test here.
static PUMP: LazyLock<Plan> = LazyLock::new(|| {
    let book = RuleBook::shipped();
    plan_of(&book, &pickup_pump(&book), &[]).unwrap().plan
});

static NAMED: LazyLock<Plan> = LazyLock::new(|| {
    let book = RuleBook::shipped();
    plan_of(&book, &case(&book, "library-van", &[]), &["water-pump", "thermostat"]).unwrap().plan
});

fn pump() -> Plan {
    PUMP.clone()
}

fn replace() -> Plan {
    NAMED.clone()
}

#[test]
fn the_pump_plan_in_every_format() {
    let plan = pump();
    insta::assert_snapshot!("pickup_pump_text", page::text(&plan, UnitSystem::Metric, &Plain));
    insta::assert_snapshot!("pickup_pump_markdown", page::markdown(&plan, UnitSystem::Metric));
    insta::assert_snapshot!("pickup_pump_html", page::html(&plan, UnitSystem::Imperial));
    insta::assert_snapshot!("pickup_pump_json", format!("{:#}", rounded(page::json(&plan))));
}

#[test]
fn the_plan_of_named_parts_in_every_format() {
    let plan = replace();
    insta::assert_snapshot!("van_replace_text", page::text(&plan, UnitSystem::Imperial, &Plain));
    insta::assert_snapshot!("van_replace_markdown", page::markdown(&plan, UnitSystem::Metric));
    insta::assert_snapshot!("van_replace_html", page::html(&plan, UnitSystem::Metric));
    insta::assert_snapshot!("van_replace_json", format!("{:#}", rounded(page::json(&plan))));
}

/// Numbers to six figures: the last digits of a sum are nobody's business in a snapshot.
fn rounded(value: serde_json::Value) -> serde_json::Value {
    use serde_json::Value;
    match value {
        Value::Number(n) if n.is_f64() => {
            let x = n.as_f64().unwrap();
            Value::from(format!("{x:.6e}").parse::<f64>().unwrap())
        }
        Value::Array(list) => list.into_iter().map(rounded).collect(),
        Value::Object(map) => map.into_iter().map(|(key, value)| (key, rounded(value))).collect(),
        other => other,
    }
}

/// On every page the cautions of a step stand between its name and its first order.
#[test]
fn cautions_stand_before_the_step() {
    let plan = pump();
    let text = page::text(&plan, UnitSystem::Metric, &Plain);
    let html = page::html(&plan, UnitSystem::Metric);
    let markdown = page::markdown(&plan, UnitSystem::Metric);
    for (page, caution, order) in [
        (&text, "! Never open a hot cap", "[ ] Let the engine stand until"),
        (&markdown, "> **Caution:** Never open a hot cap", "- [ ] Let the engine stand until"),
        (&html, "</strong>Never open a hot cap", "<span>Let the engine stand until"),
    ] {
        let first = page.find(caution).unwrap();
        assert!(first < page.find(order).unwrap());
    }
}

#[test]
fn every_page_ends_by_deferring_to_the_maker() {
    let plan = replace();
    for page in [
        page::text(&plan, UnitSystem::Metric, &Plain),
        page::markdown(&plan, UnitSystem::Metric),
        page::html(&plan, UnitSystem::Metric),
    ] {
        let words: Vec<&str> = page.split_whitespace().collect();
        let tail = words[words.len().saturating_sub(45)..].join(" ");
        assert!(
            tail.contains("defers to the maker's figures, to local codes and to licensed practice"),
            "{tail}"
        );
    }
}

#[test]
fn the_html_page_fetches_nothing_and_can_be_ticked() {
    let page = page::html(&pump(), UnitSystem::Metric);
    for forbidden in ["http://", "https://", "<script", "<link", "src=", "@import", "url(http"] {
        assert!(!page.contains(forbidden), "the page holds `{forbidden}`");
    }
    assert!(page.contains("<svg") && page.contains("aria-label"));
    assert!(page.matches("type=\"checkbox\"").count() > 40);
}

/// Names from files can neither move a cursor nor leave their place in a page.
#[test]
fn names_from_files_are_harmless() {
    let book = RuleBook::shipped();
    let mut case = case(&book, "minibus", &[]);
    case.vehicle.name = Some("<img onerror=x>\u{1b}[2J\u{202e}*bus*".to_owned());
    case.complaint = Some("<b>loud</b> | `tick`".to_owned());
    let plan = plan_of(&book, &case, &["filler-cap"]).unwrap().plan;
    let html = page::html(&plan, UnitSystem::Metric);
    assert!(
        html.contains("&lt;img onerror=x&gt;[2J*bus*") && !html.contains("<img") && !html.contains("<b>loud")
    );
    let markdown = page::markdown(&plan, UnitSystem::Metric);
    assert!(markdown.contains(r"\<img onerror=x\>") && markdown.contains(r"\*bus\*"), "{}", &markdown[..200]);
    let text = page::text(&plan, UnitSystem::Metric, &Plain);
    for page in [html, markdown, text] {
        assert!(!page.contains('\u{1b}') && !page.contains('\u{202e}'));
    }
}

/// Times are bands: low never above high, and the sum of the steps is the sum that is printed.
#[test]
fn times_are_bands_that_add_up() {
    for plan in [pump(), replace()] {
        let lines = plan.work.undo.iter().chain(&plan.work.refit);
        let (mut low, mut high) = (0.0, 0.0);
        for line in lines {
            assert!(line.minutes.0 <= line.minutes.1);
            low += line.minutes.0;
            high += line.minutes.1;
        }
        for loose in &plan.work.loose {
            low += loose.minutes.0;
            high += loose.minutes.1;
        }
        assert!((plan.choice.minutes.0 - low).abs() < 1e-6 && (plan.choice.minutes.1 - high).abs() < 1e-6);
    }
}
