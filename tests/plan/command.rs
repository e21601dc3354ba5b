//! The command itself: what it prints, writes and refuses.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use weephole::rulebook::{RuleBook, documents};

use super::pickup_pump;

fn weephole(home: &Path) -> Command {
    let mut command = Command::cargo_bin("weephole").unwrap();
    command.env_clear().env("WEEPHOLE_HOME", home).env("NO_COLOR", "1");
    command
}

fn keep_pickup(home: &Path) {
    fs::create_dir_all(home.join("cases")).unwrap();
    let case = documents::write(&pickup_pump(&RuleBook::shipped())).unwrap();
    fs::write(home.join("cases/pickup-pump.yaml"), case).unwrap();
}

fn cases(home: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(home.join("cases"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| !name.starts_with('.'))
        .collect();
    names.sort();
    names
}

#[test]
fn a_plan_writes_nothing_until_the_work_is_done() {
    let home = tempfile::tempdir().unwrap();
    keep_pickup(home.path());
    let plan = weephole(home.path()).args(["plan", "pickup-pump", "--day", "2026-05-04"]).assert().success();
    let text = String::from_utf8(plan.get_output().stdout.clone()).unwrap();
    assert!(text.contains("Plan for the old pickup") && text.contains("Water pump: Renew"), "{text}");
    assert_eq!(cases(home.path()), ["pickup-pump.yaml"]);

    let before = fs::read(home.path().join("cases/pickup-pump.yaml")).unwrap();
    let done = weephole(home.path())
        .args(["plan", "pickup-pump", "--day", "2026-05-04", "--done"])
        .assert()
        .success();
    let said = String::from_utf8(done.get_output().stderr.clone()).unwrap();
    assert!(said.contains("weephole interview --case pickup-pump-after-repair"), "{said}");
    assert_eq!(cases(home.path()), ["pickup-pump-after-repair.yaml", "pickup-pump.yaml"]);
    assert_eq!(
        fs::read(home.path().join("cases/pickup-pump.yaml")).unwrap(),
        before,
        "the diagnosis stays as it was"
    );
    let after = fs::read_to_string(home.path().join("cases/pickup-pump-after-repair.yaml")).unwrap();
    assert!(after.contains("failure: pump-bearing-worn") && !after.contains("grinding-noise"), "{after}");
}

#[test]
fn a_plan_without_a_case_names_its_parts() {
    let home = tempfile::tempdir().unwrap();
    let page = home.path().join("plan.html");
    weephole(home.path())
        .args([
            "plan",
            "--vehicle",
            "minibus",
            "--replace",
            "drive-belt,belt-tensioner",
            "--format",
            "html",
            "--out",
        ])
        .arg(&page)
        .assert()
        .success()
        .stdout("");
    let page = fs::read_to_string(page).unwrap();
    assert!(page.starts_with("<!DOCTYPE html>") && page.contains("Belt tensioner"));

    let json = weephole(home.path())
        .args(["plan", "--vehicle", "minibus", "--replace", "drive-belt", "--format", "json"])
        .assert()
        .success();
    let plan: serde_json::Value = serde_json::from_slice(&json.get_output().stdout).unwrap();
    assert_eq!(plan["choice"]["repairs"][0]["id"], "drive-belt");
    assert_eq!(plan["layout"]["id"], "pump-behind-fan");
}

#[test]
fn wrong_use_says_what_to_do() {
    let home = tempfile::tempdir().unwrap();
    for (arguments, said) in [
        (&["plan"][..], "<CASE>"),
        (&["plan", "--vehicle", "minibus"], "--replace"),
        (&["plan", "no-such-case"], "no-such-case"),
        (&["plan", "--vehicle", "minibus", "--replace", "water-pumb"], "did you mean `water-pump`?"),
        (&["plan", "--vehicle", "minibus", "--replace", "water-pump", "--horizon", "90"], "from 0 to 30"),
        (
            &["plan", "--vehicle", "minibus", "--replace", "water-pump", "--out", "no/such/folder/x"],
            "there is no folder `no/such/folder`",
        ),
    ] {
        let failed = weephole(home.path()).args(arguments).assert().code(2).stdout("");
        let message = String::from_utf8(failed.get_output().stderr.clone()).unwrap();
        assert!(message.contains(said), "{arguments:?}: {message}");
    }
    assert!(!home.path().join("cases").exists(), "nothing was written");
}
