//! `weephole explain` as a user runs it.

use std::path::Path;

use assert_cmd::Command;

fn weephole(home: &Path) -> Command {
    let mut command = Command::cargo_bin("weephole").unwrap();
    command.env_clear().env("WEEPHOLE_HOME", home).current_dir(env!("CARGO_MANIFEST_DIR"));
    command
}

const CASE: &str = "tests/explain/cases/weep-hole.yaml";

#[test]
fn a_page_is_written_whole_to_a_file() {
    let home = tempfile::tempdir().unwrap();
    let (out, case) = (home.path().join("page.html"), home.path().join("case.yaml"));
    std::fs::write(&case, "format: 1\nanswers:\n- {ask: weep-hole-seepage, answer: 'yes'}\n").unwrap();
    let arguments = ["--for", "customer", "--format", "html", "--redraws", "5"];
    let ran = weephole(home.path())
        .arg("explain")
        .arg(&case)
        .args(arguments)
        .arg("--out")
        .arg(&out)
        .assert()
        .success();
    assert!(ran.get_output().stdout.is_empty(), "data goes to the file, not to standard output");
    let page = std::fs::read_to_string(&out).unwrap();
    assert!(page.starts_with("<!DOCTYPE html>") && page.trim_end().ends_with("</html>"));
    assert!(page.contains("pump"));
    let left: Vec<_> = std::fs::read_dir(home.path()).unwrap().collect();
    assert_eq!(left.len(), 2, "nothing temporary is left");
}

#[test]
fn a_folder_or_a_missing_folder_is_refused_before_any_work() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("folder.html");
    std::fs::create_dir(&folder).unwrap();
    let refused = weephole(home.path()).args(["explain", CASE, "--out"]).arg(&folder).assert().code(2);
    let message = String::from_utf8_lossy(&refused.get_output().stderr).into_owned();
    assert!(message.contains("is a folder; name a file"), "{message}");
    let nowhere = home.path().join("not/there.html");
    let refused = weephole(home.path()).args(["explain", CASE, "--out"]).arg(&nowhere).assert().code(2);
    let message = String::from_utf8_lossy(&refused.get_output().stderr).into_owned();
    assert!(message.contains("make it first"), "{message}");
    assert!(folder.is_dir());
}

#[test]
fn an_unknown_case_is_named() {
    let home = tempfile::tempdir().unwrap();
    let refused = weephole(home.path()).args(["explain", "no-such-case"]).assert().code(2);
    let message = String::from_utf8_lossy(&refused.get_output().stderr).into_owned();
    assert!(message.contains("no-such-case"), "{message}");
}
