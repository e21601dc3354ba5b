//! `cases` as a user runs it, on cases in a folder of their own.

use assert_cmd::Command;
use weephole::case::store::CaseFile;

use super::small::{case, folder, write_emptying_layer};

struct Yard {
    home: tempfile::TempDir,
}

impl Yard {
    fn new() -> Self {
        let yard = Self { home: tempfile::tempdir().unwrap() };
        write_emptying_layer(&yard.home.path().join("empty"));
        let mut first = case(&[("grinding", "yes"), ("squeal", "no"), ("cap-opens", "=95 kPa")]);
        first.complaint = Some("it growls".into());
        yard.keep("first", &first);
        yard.keep("second", &case(&[("grinding", "yes"), ("squeal", "yes")]));
        yard
    }

    fn keep(&self, name: &str, case: &weephole::case::Case) {
        CaseFile::new(self.home.path().join("cases").join(format!("{name}.yaml"))).save(case).unwrap();
    }

    fn run(&self, arguments: &[&str]) -> (i32, String, String) {
        let mut command = Command::new(env!("CARGO_BIN_EXE_weephole"));
        command.env_clear().env("WEEPHOLE_HOME", self.home.path()).env("HOME", self.home.path());
        command
            .arg("--rules")
            .arg(self.home.path().join("empty"))
            .arg("--rules")
            .arg(folder())
            .args(arguments);
        let output = command.output().unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
    }

    fn out(&self, arguments: &[&str]) -> String {
        let (code, out, err) = self.run(arguments);
        assert_eq!(code, 0, "{err}");
        out
    }
}

#[test]
fn list_names_every_case_and_says_which_cannot_be_read() {
    let yard = Yard::new();
    let out = yard.out(&["cases", "list"]);
    insta::assert_snapshot!("cases_list", out);
    assert_eq!(yard.out(&["cases"]), out, "list is what `cases` does alone");
    std::fs::write(yard.home.path().join("cases/broken.yaml"), "answers: 7\n").unwrap();
    let out = yard.out(&["cases", "list"]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.starts_with("broken `") && out.contains("is not a case: at `answers`"), "{out}");
    let json: serde_json::Value =
        serde_json::from_str(&yard.out(&["cases", "list", "--format", "json"])).unwrap();
    let names: Vec<&str> =
        json["cases"].as_array().unwrap().iter().map(|c| c["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["broken", "first", "second"]);
    assert!(json["cases"][0]["error"].is_string() && json["cases"][1]["answers"] == 3);
}

#[test]
fn an_empty_folder_is_said_to_be_empty() {
    let yard = Yard::new();
    std::fs::remove_dir_all(yard.home.path().join("cases")).unwrap();
    let (code, out, err) = yard.run(&["cases", "list"]);
    assert_eq!((code, out.as_str()), (0, ""));
    assert!(err.contains("no cases in"), "{err}");
}

#[test]
fn show_gives_the_answers_in_words_and_the_suspects() {
    let yard = Yard::new();
    insta::assert_snapshot!("cases_show", yard.out(&["cases", "show", "first"]));
    let json: serde_json::Value =
        serde_json::from_str(&yard.out(&["cases", "show", "first", "--format", "json"])).unwrap();
    assert_eq!(json["suspects"][0]["part"], "pump");
    assert_eq!(json["answers"][2]["reading"], "95 kPa");
}

#[test]
fn compare_shows_where_two_cases_differ() {
    let yard = Yard::new();
    insta::assert_snapshot!("cases_compare", yard.out(&["cases", "compare", "first", "second"]));
    let json: serde_json::Value =
        serde_json::from_str(&yard.out(&["cases", "compare", "first", "second", "--format", "json"]))
            .unwrap();
    assert_eq!(json["alike"], 1);
    let asks: Vec<&str> =
        json["different"].as_array().unwrap().iter().map(|d| d["ask"].as_str().unwrap()).collect();
    assert_eq!(asks, ["squeal", "cap-opens"]);
    let belt = json["suspects"].as_array().unwrap().iter().find(|s| s["part"] == "belt").unwrap();
    assert!(belt["b"].as_f64() > belt["a"].as_f64());
}

#[test]
fn copy_leaves_the_first_alone_and_never_writes_over_a_case() {
    let yard = Yard::new();
    let before = std::fs::read(yard.home.path().join("cases/first.yaml")).unwrap();
    yard.out(&["cases", "copy", "first", "third"]);
    assert_eq!(std::fs::read(yard.home.path().join("cases/first.yaml")).unwrap(), before);
    assert_eq!(std::fs::read(yard.home.path().join("cases/third.yaml")).unwrap(), before);
    let (code, _, err) = yard.run(&["cases", "copy", "first", "second"]);
    assert_eq!(code, 2);
    assert!(err.contains("there is a case `second` already"), "{err}");
    let (code, _, err) = yard.run(&["cases", "copy", "first", "../outside"]);
    assert_eq!(code, 2);
    assert!(err.contains("cannot be the name of a case"), "{err}");
}

#[test]
fn the_interview_without_a_terminal_says_what_to_use_instead() {
    let yard = Yard::new();
    for arguments in [&["interview"][..], &[]] {
        let (code, out, err) = yard.run(arguments);
        assert_eq!((code, out.as_str()), (2, ""));
        assert!(err.contains("weephole rank"), "{err}");
    }
}
