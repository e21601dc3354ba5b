//! The shipped book: sound, the same in every form, described by its schemas.

use std::path::Path;

use serde_json::Value;
use weephole::rulebook::{
    Below, FileKind, RuleBook, SCHEMAS, documents, entries, inspect, inspect_text, schema_of, schema_text,
};

fn top() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The sources of the shipped book with the text on disk, which is what the program was built from.
fn texts() -> Vec<(String, FileKind, String)> {
    let book = RuleBook::shipped();
    book.sources.iter().map(|source| (source.path.clone(), source.kind, source.text.to_string())).collect()
}

#[test]
fn the_rules_folder_passes_the_full_gate_from_its_sources() {
    let inspection = inspect(&[top().join("rules")], Below::Nothing);
    assert!(inspection.faults.list.is_empty(), "{}", inspection.faults);
}

#[test]
fn every_check_passes_on_the_book_as_compiled_in() {
    let inspection = inspect(&[], Below::Shipped);
    assert!(inspection.faults.list.is_empty(), "{}", inspection.faults);
}

/// What start-up reads (JSON made by the build) is what the files say (YAML through the gate).
#[test]
fn the_compiled_book_equals_its_sources() {
    let compiled = RuleBook::shipped();
    let read = inspect(&[top().join("rules")], Below::Nothing).book;
    let seen = |book: &RuleBook| {
        serde_json::json!({
            "head": book.head, "words": book.words, "chance-words": book.chance_words, "cautions": book.cautions,
            "tools": book.tools, "facts": book.facts, "parts": book.parts, "failures": book.failures,
            "states": book.states, "history": book.history, "symptoms": book.symptoms, "checks": book.checks,
            "vehicles": book.vehicles, "cases": book.cases, "jobs": book.jobs,
        })
    };
    assert_eq!(seen(&compiled), seen(&read));
    let links = |book: &RuleBook| -> Vec<String> {
        book.links.iter().map(|link| format!("{} {} {:?}", link.from, link.to, link.weight)).collect()
    };
    assert_eq!(links(&compiled), links(&read));
    for (path, _, text) in texts() {
        assert_eq!(text, std::fs::read_to_string(top().join("rules").join(&path)).unwrap(), "{path}");
    }
}

#[test]
fn every_shipped_file_is_valid_under_its_kept_schema() {
    for schema in SCHEMAS {
        let kept = std::fs::read_to_string(top().join(schema.path)).unwrap();
        assert!(
            kept == schema_text(schema.kind),
            "`{}` is not what the types say: run `weephole rules schema {} > {}`",
            schema.path,
            schema.name,
            schema.path
        );
        let validator = jsonschema::validator_for(&serde_json::from_str(&kept).unwrap()).unwrap();
        for (path, kind, text) in texts() {
            if kind == schema.kind {
                let value: Value = documents::read(text.as_bytes()).unwrap();
                let errors: Vec<String> =
                    validator.iter_errors(&value).map(|e| format!("{}: {e}", e.instance_path())).collect();
                assert!(errors.is_empty(), "{path}: {errors:?}");
            }
        }
    }
}

/// The schema is not so loose that it takes anything.
#[test]
fn the_schema_refuses_what_the_reader_refuses() {
    let validator = jsonschema::validator_for(&schema_of(FileKind::Book)).unwrap();
    for wrong in [
        serde_json::json!({"parst": {}}),
        serde_json::json!({"parts": {"pump": {"name": "pump"}}}),
        serde_json::json!({"parts": {"pump": {"name": 5, "customer": "x", "price": [1, 2]}}}),
        serde_json::json!({"states": {"low": {"name": "x", "customer": "x", "background": 1.5}}}),
        serde_json::json!({"tools": {"torch": {"name": "torch", "minutes": -1}}}),
    ] {
        assert!(!validator.is_valid(&wrong), "{wrong}");
    }
}

/// Editors complete and check files that say which schema is theirs.
#[test]
fn every_shipped_file_says_which_schema_is_its_own() {
    for (path, kind, text) in texts() {
        let schema = SCHEMAS.into_iter().find(|schema| schema.kind == kind).unwrap();
        let up = "../".repeat(path.matches('/').count() + 1);
        let wanted = format!("# yaml-language-server: $schema={up}{}", schema.path);
        assert_eq!(text.lines().next(), Some(wanted.as_str()), "rules/{path}");
    }
}

#[test]
fn rules_show_tells_where_every_link_is_written() {
    let book = RuleBook::shipped();
    let texts: std::collections::BTreeMap<String, String> =
        texts().into_iter().map(|(path, _, text)| (format!("rules/{path}"), text)).collect();
    for id in ["pump-bearing-worn", "coolant-rusty", "plain-water", "grinding-noise", "rock-pump-pulley"] {
        let view = book.view(id).unwrap();
        for link in view.causes.iter().chain(&view.effects) {
            let line = texts[&link.written.file].lines().nth(link.written.line.unwrap() - 1).unwrap();
            let end = link.id.as_str();
            assert!(line.contains(end) || line.contains(id), "{line:?} does not state {id} and {end}");
        }
    }
}

#[test]
fn an_unknown_id_is_answered_with_the_nearest() {
    let missing = RuleBook::shipped().view("pump-bering-worn").unwrap_err();
    assert_eq!(missing.nearest[0], "pump-bearing-worn");
}

#[test]
fn weights_are_written_back_as_they_were_read() {
    for text in [
        "usually",
        "0.7",
        "{\"is\":\"usually\",\"source\":\"a book\"}",
        "{\"is\":0.25,\"source\":\"counted\"}",
    ] {
        let spec: entries::WeightSpec =
            serde_json::from_str(text).or_else(|_| serde_json::from_str(&format!("\"{text}\""))).unwrap();
        let again: entries::WeightSpec =
            serde_json::from_value(serde_json::to_value(&spec).unwrap()).unwrap();
        assert_eq!(spec, again);
    }
}

/// The page for authors: every kind of fault stands in its table, and its examples are sound.
#[test]
fn the_page_on_the_format_is_true() {
    let page = std::fs::read_to_string(top().join("docs/rule-format.md")).unwrap();
    for code in weephole::rulebook::all_codes() {
        let row = format!("| `{}` | {} |", code.name, code.title);
        assert!(page.contains(&row), "docs/rule-format.md lacks the row {row}");
    }
    let blocks: Vec<&str> =
        page.split("```yaml\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
    let whole = |block: &&str| ["parts:", "title:", "change:"].iter().any(|start| block.starts_with(start));
    let whole: Vec<&str> = blocks.iter().copied().filter(whole).collect();
    assert_eq!(whole.len(), 3);
    for block in whole {
        let path = if block.starts_with("title:") { "cases/example.yaml" } else { "example.yaml" };
        let inspection = inspect_text(path, block.as_bytes());
        let unsound: Vec<_> =
            inspection.faults.list.iter().filter(|fault| fault.code.name != "unknown-id").collect();
        assert!(unsound.is_empty(), "{block}\n{}", inspection.faults);
    }
    for (word, range) in &RuleBook::shipped().words {
        assert!(
            page.contains(&format!("| {word} | {}", range.is)),
            "docs/rule-format.md has another figure for {word}"
        );
    }
}
