//! Text that means harm, in every file a page is written from.

use weephole::report::page::{html, markdown, text};
use weephole::report::{Plain, explain::json};
use weephole::rulebook::entries::Severe;

use super::pages::{Told, case, shop, small_book};

/// Markup, terminal commands, marks that turn the direction of writing, and a line without end.
fn hostile() -> String {
    format!(
        "<script>alert(1)</script><img src=x onerror=alert(2)>\u{1b}[2J\u{1b}]0;owned\u{7}\u{202e}txet\u{202c}\u{2066}x\u{2069}\
         \u{0}`*_[x](javascript:alert(3))|--- ${{7*7}} &amp; \"quoted' </style></svg></title>{}",
        "a".repeat(10_000)
    )
}

fn told() -> Told {
    let mut book = small_book();
    let mut case = case(&book, "weep-hole");
    let mut shop = shop();
    let bad = hostile();
    case.title = Some(bad.clone());
    case.complaint = Some(bad.clone());
    case.vehicle.name = Some(bad.clone());
    case.vehicle.note = Some(bad.clone());
    for answer in &mut case.answers {
        answer.note = Some(bad.clone());
    }
    shop.name = Some(bad.clone());
    shop.contact = Some(bad.clone());
    shop.currency = Some(bad.clone());
    for part in book.parts.values_mut() {
        (part.name, part.customer) = (bad.clone(), bad.clone());
    }
    for failure in book.failures.values_mut() {
        (failure.name, failure.customer, failure.if_left) = (bad.clone(), bad.clone(), bad.clone());
        failure.repair.action.clone_from(&bad);
    }
    for symptom in book.symptoms.values_mut() {
        let severe = Severe { say: bad.clone(), ..Severe::default() };
        (symptom.name, symptom.customer, symptom.severe) = (bad.clone(), bad.clone(), Some(severe));
    }
    for history in book.history.values_mut() {
        (history.name, history.customer, history.remedy) = (bad.clone(), bad.clone(), Some(bad.clone()));
    }
    for state in book.states.values_mut() {
        (state.name, state.customer) = (bad.clone(), bad.clone());
    }
    for check in book.checks.values_mut() {
        (check.name, check.customer, check.normal) = (bad.clone(), bad.clone(), bad.clone());
    }
    for caution in book.cautions.values_mut() {
        caution.text.clone_from(&bad);
    }
    for word in &mut book.chance_words {
        word.say.clone_from(&bad);
    }
    Told::of(book, case, shop)
}

fn steers(text: &str) -> Option<char> {
    text.chars().find(|&c| {
        (c.is_control() && c != '\n')
            || matches!(c, '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    })
}

#[test]
fn html_holds_no_markup_from_files() {
    for (reader, page) in told().pages() {
        let html = html::render(&page);
        assert_eq!(steers(&html), None, "{reader}");
        for harm in ["<script", "<img", "</svg>&", "javascript:alert(3)\"", "onerror=alert(2)>", "\u{1b}"] {
            assert!(!html.contains(harm), "{reader}: {harm}");
        }
        assert_eq!(html.matches("<style>").count(), 1, "{reader}");
        assert_eq!(html.matches("<title>").count(), 1, "{reader}");
        assert_eq!(html.matches("<svg").count(), html.matches("</svg>").count(), "{reader}");
        assert!(html.len() < 2_000_000, "{reader}: {} bytes", html.len());
    }
}

#[test]
fn text_cannot_steer_a_terminal_and_keeps_its_width() {
    for (reader, page) in told().pages() {
        let text = text::render(&page, &Plain);
        assert_eq!(steers(&text), None, "{reader}");
        let longest = text.lines().map(|line| line.chars().count()).max().unwrap();
        assert!(longest <= 400, "{reader}: a line of {longest}");
    }
}

#[test]
fn markdown_holds_no_markup_from_files() {
    for (reader, page) in told().pages() {
        let markdown = markdown::render(&page);
        assert_eq!(steers(&markdown), None, "{reader}");
        for harm in ["<script", "<img", "[x](javascript"] {
            assert!(!markdown.contains(harm), "{reader}: {harm}");
        }
    }
}

#[test]
fn json_stays_json() {
    let told = told();
    let text = format!("{:#}", json::explanation(&told.about(), "hostile"));
    assert!(serde_json::from_str::<serde_json::Value>(&text).is_ok());
    assert!(!text.contains('\u{1b}'), "an escape goes out escaped");
}
