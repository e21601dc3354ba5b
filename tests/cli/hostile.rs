//! Files that are none, and texts that would steer the terminal.

use std::fs;
use std::os::unix::net::UnixListener;
use std::path::Path;

use assert_cmd::Command;

fn weephole(home: &Path) -> Command {
    let mut command = Command::cargo_bin("weephole").unwrap();
    command
        .env_clear()
        .env("WEEPHOLE_HOME", home)
        .env("NO_COLOR", "1")
        .timeout(std::time::Duration::from_mins(1));
    command
}

fn case_file(folder: &Path, answers: &str) -> String {
    let path = folder.join("case.yaml");
    fs::write(&path, format!("title: t\nanswers:\n{answers}")).unwrap();
    path.to_str().unwrap().to_owned()
}

const GRINDS: &str = "  - {ask: grinding-noise, answer: \"yes\"}\n";

/// A socket stands for whatever is no plain file: a device, a pipe.
#[test]
fn what_is_no_plain_file_is_neither_read_nor_replaced() {
    let home = tempfile::tempdir().unwrap();
    let socket = home.path().join("s.yaml");
    let _open = UnixListener::bind(&socket).unwrap();
    let socket = socket.to_str().unwrap();
    let case = case_file(home.path(), GRINDS);
    for words in [
        vec!["plan", &case, "--out", socket],
        vec!["explain", &case, "--out", socket],
        vec!["rules", "export", "--format", "svg", "--out", socket],
        vec!["rank", socket],
        vec!["--shop", socket, "rank", &case],
        vec!["plan", "--vehicle", socket, "--replace", "water-pump"],
    ] {
        let run = weephole(home.path()).args(&words).assert().code(2);
        let said = String::from_utf8(run.get_output().stderr.clone()).unwrap();
        assert!(said.contains("not a plain file"), "{words:?}: {said}");
        assert!(!Path::new(socket).is_file(), "{words:?}");
    }
    let run =
        weephole(home.path()).args(["rules", "check", home.path().to_str().unwrap()]).assert().failure();
    let said = String::from_utf8(run.get_output().stdout.clone()).unwrap();
    let said = said + &String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert!(said.contains("not a plain file"), "{said}");
}

#[test]
fn nothing_from_a_file_steers_the_terminal() {
    let home = tempfile::tempdir().unwrap();
    let escape = "  - {ask: \"\\e[31mnope\", answer: \"yes\"}\n";
    let case = case_file(home.path(), &format!("{GRINDS}{escape}"));
    let rules = home.path().join("rules");
    fs::create_dir(&rules).unwrap();
    fs::write(rules.join("book.yaml"), "book: {title: t, version: 1, currency: \"E\\e[31m\"}\n").unwrap();
    for words in [vec!["plan", &case], vec!["rank", &case], vec!["explain", &case]] {
        let run =
            weephole(home.path()).args(["--rules", rules.to_str().unwrap()]).args(&words).output().unwrap();
        let said = [run.stdout, run.stderr].concat();
        assert!(said.len() > 100, "{words:?}");
        assert!(!said.contains(&0x1b), "{words:?}: {}", String::from_utf8_lossy(&said).escape_debug());
    }
    let shop = home.path().join("prices.yaml");
    fs::write(&shop, "currency: \"E\\e[31m\"\n").unwrap();
    let run = weephole(home.path()).args(["--shop", shop.to_str().unwrap(), "rank", &case]).assert().code(2);
    let said = String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert!(said.contains("currency: a control character"), "{said}");
}

#[test]
fn a_line_that_is_too_long_is_answered_and_the_rest_goes_on() {
    let home = tempfile::tempdir().unwrap();
    let long = format!("{{\"title\":\"{}\"}}", "x".repeat(2_500_000));
    let run = weephole(home.path())
        .args(["rank", "-"])
        .write_stdin(format!("{{\"title\":\"a\"}}\n{long}\n{{\"title\":\"c\"}}\n"))
        .assert()
        .code(2);
    let out = String::from_utf8(run.get_output().stdout.clone()).unwrap();
    let lines: Vec<serde_json::Value> = out.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(lines.len(), 3, "{out}");
    assert_eq!(lines[1]["line"], 2);
    assert!(lines[1]["error"].as_str().unwrap().contains("longer than"), "{}", lines[1]);
    assert_eq!(lines[2]["case"], "c");
}
