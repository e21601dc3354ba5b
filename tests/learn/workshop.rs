//! `rules learn` as a workshop uses it: confirmed cases in a folder, numbers out, nothing written that does not help.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;
use weephole::care::journal::{Journal, Step};
use weephole::case::store::CaseFile;
use weephole::case::{Answer, Case, Finding, Verdict};
use weephole::learn::Parameter;
use weephole::learn::write::{Learnt, edit};
use weephole::rulebook::RuleBook;
use weephole::rulebook::entries::Vehicle;

/// Confirmed cases, and those of them in which the sign was there.
const CASES: usize = 12;
const SIGNS: usize = 11;

/// A failure of the shipped book with a sign it usually shows (the complaint) and one it is said to show less often.
struct Pattern {
    failure: String,
    complaint: String,
    sign: String,
    number: String,
}

fn pattern(book: &RuleBook) -> Pattern {
    let symptoms = |id: &str| -> Vec<(String, f64)> {
        book.links_from(id)
            .filter(|link| {
                book.symptoms.get(link.to.entry()).is_some_and(|symptom| symptom.fits_if.is_empty())
            })
            .map(|link| (link.to.to_string(), link.weight.value))
            .collect()
    };
    book.failures
        .iter()
        .filter(|(_, failure)| failure.fits_if.is_empty() && book.parts[&failure.part].fits_if.is_empty())
        .find_map(|(id, _)| {
            let signs = symptoms(id);
            let (complaint, _) = signs.iter().find(|(_, weight)| *weight >= 0.5)?;
            let (sign, _) =
                signs.iter().find(|(sign, weight)| sign != complaint && (0.1..0.6).contains(weight))?;
            let number = format!("{id} -> {sign}");
            Some(Pattern { failure: id.clone(), complaint: complaint.clone(), sign: sign.clone(), number })
        })
        .unwrap()
}

/// Twelve confirmed cases of the pattern; the sign was there in eleven of them.
fn fill(folder: &Path, pattern: &Pattern) {
    for at in 0..CASES {
        let mut case = Case::open(Vehicle::default(), None);
        case.put(Answer::said(&pattern.complaint, "yes"));
        case.put(Answer::said(&pattern.sign, if at < SIGNS { "yes" } else { "no" }));
        let findings = vec![Finding { failure: pattern.failure.clone(), there: true }];
        case.verdict = Some(Verdict { findings, ..Verdict::default() });
        CaseFile::new(folder.join(format!("visit-{at}.yaml"))).save(&case).unwrap();
    }
}

fn weephole(home: &Path) -> Command {
    let mut command = Command::cargo_bin("weephole").unwrap();
    command.env("WEEPHOLE_HOME", home).env_remove("NO_COLOR").args(["--color", "never"]);
    command
}

fn learn(home: &Path, arguments: &[&str]) -> (Value, String) {
    let mut command = weephole(home);
    command
        .args([
            "rules",
            "learn",
            "--format",
            "json",
            "--dry-run",
            "--strength",
            "5",
            "--base-strength",
            "100000",
        ])
        .args(arguments);
    let output = command.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let said = String::from_utf8(output.stderr).unwrap();
    (serde_json::from_slice(&output.stdout).unwrap(), said)
}

fn proposal<'a>(page: &'a Value, number: &str) -> Option<&'a Value> {
    page["proposals"].as_array().unwrap().iter().find(|proposal| proposal["number"] == number)
}

#[test]
fn from_cases_to_a_proposal_and_to_counts_that_others_can_use() {
    let book = RuleBook::shipped();
    let pattern = pattern(&book);
    let home = tempfile::tempdir().unwrap();
    fill(&home.path().join("cases"), &pattern);
    // A case that nobody confirmed, and one about a failure the book no longer has.
    CaseFile::new(home.path().join("cases/open.yaml")).save(&Case::open(Vehicle::default(), None)).unwrap();
    let mut stale = Case::open(Vehicle::default(), None);
    let findings = vec![Finding { failure: "long-gone".to_owned(), there: true }];
    stale.verdict = Some(Verdict { findings, ..Verdict::default() });
    CaseFile::new(home.path().join("cases/stale.yaml")).save(&stale).unwrap();

    let counts = home.path().join("counts.json");
    let (page, said) = learn(home.path(), &["--counts-out", counts.to_str().unwrap()]);
    assert_eq!(page["cases"], CASES);
    assert_eq!(page["unconfirmed"], 1);
    assert!(said.contains("long-gone"), "{said}");
    assert!(!home.path().join("rules").exists(), "a dry run wrote something");
    let found = proposal(&page, &pattern.number).unwrap();
    let old = book.links_from(&pattern.failure).find(|link| link.to.to_string() == pattern.sign).unwrap();
    let (new, old) = (found["new"].as_f64().unwrap(), old.weight.value);
    // The author's word counts as 5 cases; of the signs a little is credited to the background.
    let most = (5.0 * old + SIGNS as f64) / (5.0 + CASES as f64);
    assert!(new > 0.9 * most && new <= most + 5e-4, "{new} of at most {most}");
    assert!(found["range"][0].as_f64().unwrap() < new && new < found["range"][1].as_f64().unwrap());
    // The sign they came in with is not counted for its own numbers.
    assert!(proposal(&page, &format!("{} -> {}", pattern.failure, pattern.complaint)).is_none());
    assert!(page["after"]["log-score"].as_f64().unwrap() < page["before"]["log-score"].as_f64().unwrap());

    // Another workshop without a single case learns the same from the counts, which name no case.
    let text = fs::read_to_string(&counts).unwrap();
    assert!(!text.contains("visit-"));
    let other = tempfile::tempdir().unwrap();
    let (pooled, _) = learn(other.path(), &["--merge", counts.to_str().unwrap()]);
    assert_eq!(pooled["pooled-cases"], CASES);
    let same = proposal(&pooled, &pattern.number).unwrap();
    assert!((same["new"].as_f64().unwrap() - new).abs() < 2e-3);
    fs::write(&counts, text.replace("\"fired\": 2", "\"fired\": 9992")).unwrap();
    weephole(other.path()).args(["rules", "learn", "--merge"]).arg(&counts).assert().code(2);
}

#[test]
fn learnt_numbers_go_into_the_own_rules_and_out_again() {
    let book = RuleBook::shipped();
    let pattern = pattern(&book);
    let home = tempfile::tempdir().unwrap();
    let own = home.path().join("rules");
    let check = book.checks.keys().next().unwrap();
    let outcome = book.checks[check].outcomes.keys().next().unwrap();
    let symptom = pattern.sign.clone();
    let learnt = [
        (Parameter::Weight(pattern.failure.clone(), pattern.sign.clone()), 0.713),
        (Parameter::Base(pattern.failure.clone()), 0.012_345),
        (Parameter::Background(symptom.clone()), 0.017),
        (Parameter::Background(format!("{check}/{outcome}")), 0.023),
    ]
    .map(|(parameter, chance)| Learnt { parameter, chance });
    let journal = Journal::new(home.path().join("journal"));
    let write = |learnt: &[Learnt]| {
        let edits = vec![edit(&book, &own, learnt, "learnt from 12 confirmed cases").unwrap()];
        journal.carry_out(&Step { what: String::new(), when: String::new(), edits }).unwrap();
    };
    write(&learnt);
    let after = RuleBook::load(std::slice::from_ref(&own)).unwrap();
    let weight = after.links_from(&pattern.failure).find(|link| link.to.to_string() == pattern.sign).unwrap();
    assert_eq!(weight.weight.value.to_string(), "0.713");
    assert_eq!(weight.weight.source.as_deref(), Some("learnt from 12 confirmed cases"));
    assert_eq!(after.failures[&pattern.failure].base.to_string(), "12.345");
    assert_eq!(after.weight(&after.symptoms[&symptom].background).value.to_string(), "0.017");
    assert_eq!(after.weight(&after.checks[check].outcomes[outcome].background).value.to_string(), "0.023");
    // A second time: one number changes, a remark the user put in stays, and both steps can be taken back.
    let file = own.join("learnt.yaml");
    let remarked =
        fs::read_to_string(&file).unwrap().replace("    base: 12.345", "    base: 12.345  # ours are old");
    assert!(remarked.contains("# ours are old"));
    fs::write(&file, &remarked).unwrap();
    write(&[Learnt { parameter: Parameter::Base(pattern.failure.clone()), chance: 0.02 }]);
    assert_eq!(fs::read_to_string(&file).unwrap(), remarked.replace("12.345", "20.0"));
    journal.undo().unwrap();
    assert_eq!(fs::read_to_string(&file).unwrap(), remarked);
    assert!(journal.undo().is_err(), "an edit by hand was overwritten");
}

/// All the way, with the known cases of the book replayed before anything is written.
#[test]
#[ignore = "replays every known case twice: minutes without optimisation"]
fn accepted_numbers_are_written_if_no_known_case_breaks() {
    let book = RuleBook::shipped();
    let pattern = pattern(&book);
    let home = tempfile::tempdir().unwrap();
    fill(&home.path().join("cases"), &pattern);
    let run = |arguments: &[&str]| weephole(home.path()).args(arguments).output().unwrap();
    // So strong a prior that twelve cases move little.
    let done = run(&["rules", "learn", "--all", "--base-strength", "100000", "--strength", "100"]);
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert_eq!(done.status.code(), Some(0), "{said}");
    let file = home.path().join("rules/learnt.yaml");
    assert!(fs::read_to_string(&file).unwrap().contains("learnt from 12 confirmed cases"));
    assert_eq!(run(&["rules", "undo"]).status.code(), Some(0));
    assert!(!file.exists());
}

#[test]
fn without_confirmed_cases_it_says_how_to_confirm_one() {
    let home = tempfile::tempdir().unwrap();
    let output = weephole(home.path()).args(["rules", "learn"]).output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("weephole confirm CASE"), "{said}");
    assert!(String::from_utf8(output.stdout).unwrap().contains("Nothing to propose"));
}
