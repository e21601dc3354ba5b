//! `rules add`: from a dialogue or a file to entries in the user's own rules, and back.

use std::collections::VecDeque;
use std::fs;
use std::path::{Path, PathBuf};

use weephole::care::addition::{Addition, stage};
use weephole::care::alike::{Sketch, alike};
use weephole::care::asker::{Asker, Stopped};
use weephole::care::dialogue::{self, FromCase};
use weephole::care::fit::fit_of;
use weephole::care::start::CaseStart;
use weephole::case::{Answer, Case};
use weephole::graph;
use weephole::rulebook::{Kind, RuleBook};

use super::{text, weephole};

/// A new part, its failure, and the check that shows it, as a file a mechanic would write.
const EGR_COOLER: &str = include_str!("egr-cooler.yaml");

/// Answers from a list, each for the question that contains its first text; keeps the conversation.
struct Script {
    answers: VecDeque<(&'static str, Reply)>,
    talk: String,
}

#[allow(dead_code)]
enum Reply {
    /// The usual answer.
    Usual,
    Text(&'static str),
    /// Options, by a text each contains.
    Pick(Vec<&'static str>),
    Agree(bool),
    Leave,
}

use Reply::{Agree, Leave, Pick, Text, Usual};

impl Script {
    fn new(answers: Vec<(&'static str, Reply)>) -> Self {
        Self { answers: answers.into(), talk: String::new() }
    }

    fn next(&mut self, question: &str) -> Reply {
        let (wanted, reply) =
            self.answers.pop_front().unwrap_or_else(|| panic!("no answer left for: {question}"));
        assert!(question.contains(wanted), "expected a question with `{wanted}`, was asked: {question}");
        reply
    }

    fn note(&mut self, question: &str, answer: &str) {
        self.talk.push_str(&format!("? {question}\n    {answer}\n"));
    }
}

fn place(options: &[String], wanted: &str) -> usize {
    options
        .iter()
        .position(|option| option.contains(wanted))
        .unwrap_or_else(|| panic!("no option with `{wanted}` among {options:?}"))
}

impl Asker for Script {
    fn say(&mut self, text: &str) {
        self.talk.push_str(text);
        self.talk.push('\n');
    }

    fn text(&mut self, question: &str, _: &str, usual: &str) -> Result<String, Stopped> {
        let answer = match self.next(question) {
            Text(text) => text.to_owned(),
            Usual => usual.to_owned(),
            Leave => return Err(Stopped),
            _ => panic!("`{question}` wants a text"),
        };
        assert!(!answer.is_empty(), "`{question}` has no usual answer");
        self.note(question, &answer);
        Ok(answer)
    }

    fn choose(
        &mut self,
        question: &str,
        _: &str,
        options: &[String],
        usual: usize,
    ) -> Result<usize, Stopped> {
        let at = match self.next(question) {
            Pick(wanted) => place(options, wanted[0]),
            Usual => usual,
            Leave => return Err(Stopped),
            _ => panic!("`{question}` wants a choice"),
        };
        self.note(question, &options[at]);
        Ok(at)
    }

    fn choose_some(
        &mut self,
        question: &str,
        _: &str,
        options: &[String],
        ticked: &[usize],
    ) -> Result<Vec<usize>, Stopped> {
        let chosen = match self.next(question) {
            Pick(wanted) => wanted.into_iter().map(|wanted| place(options, wanted)).collect(),
            Usual => ticked.to_vec(),
            Leave => return Err(Stopped),
            _ => panic!("`{question}` wants choices"),
        };
        let names: Vec<&str> = chosen.iter().map(|&at: &usize| options[at].as_str()).collect();
        self.note(question, &if names.is_empty() { "none".to_owned() } else { names.join("; ") });
        Ok(chosen)
    }

    fn agree(&mut self, question: &str, _: &str, usual: bool) -> Result<bool, Stopped> {
        let answer = match self.next(question) {
            Agree(answer) => answer,
            Usual => usual,
            Leave => return Err(Stopped),
            _ => panic!("`{question}` wants yes or no"),
        };
        self.note(question, if answer { "yes" } else { "no" });
        Ok(answer)
    }
}

/// The library van: white exhaust and coolant lost, the gasket proved good.
fn van() -> Case {
    let said = [
        ("white-exhaust", "yes"),
        ("level-drops-no-puddle", "yes"),
        ("sweet-smell-outside", "yes"),
        ("combustion-gas-test", "normal"),
        ("cylinder-leak-down", "normal"),
        ("pressure-test", "normal"),
        ("pressure-test-look", "normal"),
    ];
    let mut case = Case {
        title: Some("Library van loses coolant, white exhaust, gasket good".to_owned()),
        answers: said.iter().map(|(ask, answer)| Answer::said(ask, answer)).collect(),
        ..Case::default()
    };
    case.vehicle.facts.insert("fuel".to_owned(), "diesel".to_owned());
    case
}

/// How the pattern of the van is taught: every question and its answer.
fn lesson() -> Vec<(&'static str, Reply)> {
    vec![
        ("Which part?", Pick(vec!["another part"])),
        ("What does the trade call the part?", Text("exhaust gas cooler")),
        ("What is it, for someone", Text("the small cooler that cools exhaust gas with coolant")),
        ("What does it cost?", Text("90-320")),
        ("A short id", Usual),
        ("What fails", Text("exhaust gas cooler leaking inside")),
        ("What does it do to the cooling system?", Pick(vec!["coolant lost inside the engine"])),
        ("How surely does it bring on", Pick(vec!["mostly"])),
        ("Which signs does it show by itself?", Pick(vec!["white exhaust"])),
        ("How surely does it show: white exhaust", Pick(vec!["usually"])),
        ("anything the book lacks?", Pick(vec!["a check"])),
        ("What is the check called?", Text("look into the gas valve")),
        ("What question does its result answer?", Text("With the gas valve off, is it wet behind?")),
        ("What does it tell the customer?", Text("We looked for coolant where exhaust gas goes in.")),
        ("What must the engine be like?", Pick(vec!["cold"])),
        ("How many minutes does it take?", Text("25")),
        ("Which tools?", Pick(vec!["spanners", "torch"])),
        ("Which cautions come first?", Pick(vec!["take the key out"])),
        ("First step", Text("Engine cold. Take the gas valve off its cooler.")),
        ("Next step", Text("Look and feel for wet soot.")),
        ("Next step", Usual),
        ("What does a good result look like?", Text("dry soot")),
        ("What does this failure make of it?", Text("wet with coolant")),
        ("How often does it come out so", Usual),
        ("How do you know?", Usual),
        ("A short id", Text("gas-valve-look")),
        ("How surely does it show: look into the gas valve", Pick(vec!["always"])),
        ("anything the book lacks?", Usual),
        ("By its signs, the book may already have it", Pick(vec!["none of these"])),
        ("Which signs does it never show?", Pick(vec!["the fluid turns"])),
        ("What brings it on?", Pick(vec!["overheated badly before"])),
        ("How surely is it brought on by", Pick(vec!["rarely"])),
        ("What does it mean", Text("Coolant leaks into the exhaust and leaves as white steam.")),
        ("What happens if it waits?", Text("The engine runs low on coolant and gets too hot.")),
        ("How soon", Pick(vec!["within days"])),
        ("Of 1,000 vehicles", Text("4")),
        ("What mends it?", Text("Replace the exhaust gas cooler and its gaskets.")),
        ("How many minutes does that take?", Text("90-180")),
        ("Does the repair cost what the part costs?", Usual),
        ("How do you know?", Usual),
        ("A short id", Text("gas-cooler-leaking")),
        ("Keep this case as a known case?", Usual),
        ("Why was it this", Text("The cooler was wet inside; a new one ended the loss.")),
    ]
}

/// The book without its known cases: they are replayed elsewhere.
fn plain_book() -> RuleBook {
    let mut book = RuleBook::shipped();
    book.cases.clear();
    book
}

fn taught() -> (Addition, String) {
    let book = plain_book();
    let case = van();
    let graph = graph::build(&book, &case.vehicle, None).unwrap();
    let mut start = CaseStart::of(&book, &graph, "van-white-smoke", &case);
    let fit = fit_of(&book, &graph, "van-white-smoke", &case).unwrap();
    assert!(fit.is_poor(), "the case to learn from fits poorly: {fit:?}");
    start.conflict = fit.conflict;
    start.unexplained = fit.unexplained.into_iter().map(|sign| sign.finding).collect();
    let mut script = Script::new(lesson());
    let from = FromCase { start: &start, case: &case };
    let addition = dialogue::ask(&book, &mut script, Some(from), "2026-03-02").unwrap().unwrap();
    assert!(script.answers.is_empty(), "{} answers were not asked for", script.answers.len());
    (addition, script.talk)
}

#[test]
fn a_lesson_becomes_entries_the_book_loads() {
    let (addition, _) = taught();
    let home = tempfile::tempdir().unwrap();
    let own = home.path().join("rules");
    let edits = addition.edits(&own).unwrap();
    let book = stage(&[], &own, &edits).unwrap().unwrap_or_else(|faults| panic!("{:?}", faults.reports()));
    assert!(!own.exists(), "nothing is written by trying");
    let failure = &book.failures["gas-cooler-leaking"];
    assert_eq!(failure.part, "exhaust-gas-cooler");
    assert_eq!(book.kind_of("exhaust-gas-cooler"), Some(Kind::Part));
    assert!((book.weight(&failure.shows["gas-valve-look/wet-with-coolant"]).value - 0.97).abs() < 1e-12);
    assert!((failure.repair.minutes.1 - 180.0).abs() < 1e-12);
    // What it never shows stands written, and is no link.
    assert_eq!(failure.shows["combustion-gas-test/gas-found"].word.as_deref(), Some("never"));
    assert!(
        !book
            .links_from("gas-cooler-leaking")
            .any(|link| link.to.to_string() == "combustion-gas-test/gas-found")
    );
    let known = &book.cases["van-white-smoke"];
    assert_eq!(known.expect.first.as_deref(), Some("gas-cooler-leaking"));
    assert_eq!(known.answers.len(), 7);
}

#[test]
fn the_conversation_in_the_guide_is_the_one_that_is_held() {
    let (addition, talk) = taught();
    let guide = include_str!("../../docs/rule-care.md");
    for part in [talk.trim_end(), addition.text.trim_end()] {
        assert!(guide.contains(part), "docs/rule-care.md lacks:\n{part}");
    }
}

#[test]
fn leaving_a_dialogue_adds_nothing() {
    let book = plain_book();
    let mut script = Script::new(vec![("Which part?", Pick(vec!["filler cap"])), ("What fails", Leave)]);
    assert_eq!(dialogue::ask(&book, &mut script, None, "2026-03-02"), Err(Stopped));
}

#[test]
fn a_failure_the_book_has_is_offered_and_gains_the_sign_instead() {
    let book = plain_book();
    let mut script = Script::new(vec![
        ("Which part?", Pick(vec!["filler cap"])),
        ("What fails", Text("weak spring of the cap")),
        ("The book may already have it", Pick(vec!["cap spring weak"])),
        ("Which signs did it show", Pick(vec!["hiss after stopping"])),
        ("How surely does it show: hiss", Pick(vec!["sometimes"])),
        ("How do you know?", Usual),
    ]);
    let addition = dialogue::ask(&book, &mut script, None, "2026-03-02").unwrap().unwrap();
    assert_eq!(
        addition.text,
        "change:\n  # added 2026-03-02\n  cap-spring-weak:\n    shows:\n      hiss-after-stop: sometimes\n    source: judgement of this workshop\n"
    );
}

#[test]
fn failures_that_share_name_or_signs_are_alike() {
    let book = plain_book();
    let by_name =
        Sketch { part: "water-pump".into(), name: "bearings of the pump worn out".into(), links: vec![] };
    assert_eq!(alike(&book, &by_name)[0].failure, "pump-bearing-worn");
    let links = book.links_from("pump-bearing-worn").map(|l| (l.to.to_string(), l.weight.value)).collect();
    let by_signs = Sketch { part: "fan".into(), name: "quite another thing".into(), links };
    let near = alike(&book, &by_signs);
    assert_eq!(near[0].failure, "pump-bearing-worn");
    assert!((near[0].signs - 1.0).abs() < 1e-12 && !near[0].shared.is_empty());
    let neither = Sketch { part: "fan".into(), name: "zebra".into(), links: vec![] };
    assert!(alike(&book, &neither).is_empty());
}

#[test]
fn a_second_sign_joins_the_change_that_stands_there() {
    let home = tempfile::tempdir().unwrap();
    let own = home.path().join("own.yaml");
    let mine = "change:\n  cap-spring-weak:   # ours\n    shows:\n      hiss-after-stop: sometimes   # often heard\n    source: ours\n";
    fs::write(&own, mine).unwrap();
    let more = "change:\n  cap-spring-weak:\n    shows:\n      boiling-over: half\n    source: theirs\n";
    let edits = Addition::from_file("more.yaml", more.as_bytes()).unwrap().edits(home.path()).unwrap();
    assert_eq!(edits.len(), 1);
    assert_eq!(edits[0].path, own);
    let after = edits[0].after.clone().unwrap();
    assert_eq!(after, mine.replace("# often heard\n", "# often heard\n      boiling-over: half\n"));
    // The same sign again cannot join: it goes into a file of its own, for the book to judge.
    let again = more.replace("boiling-over: half", "hiss-after-stop: half");
    let edits = Addition::from_file("more.yaml", again.as_bytes()).unwrap().edits(home.path()).unwrap();
    assert_eq!(edits[0].path, home.path().join("own-2.yaml"));
}

/// A folder that takes every known case out, so that a run of the program replays none.
fn without_cases(home: &Path) -> PathBuf {
    let folder = home.join("no-cases");
    fs::create_dir_all(&folder).unwrap();
    let names: Vec<String> =
        RuleBook::shipped().cases.keys().map(|name| format!("  - cases/{name}\n")).collect();
    fs::write(folder.join("remove.yaml"), format!("remove:\n{}", names.concat())).unwrap();
    folder
}

#[test]
fn a_file_is_added_and_undone_with_every_other_line_kept() {
    let home = tempfile::tempdir().unwrap();
    let none = without_cases(home.path());
    let own = home.path().join("rules/own.yaml");
    fs::create_dir_all(own.parent().unwrap()).unwrap();
    let mine = "# my rules\nchange:\n    cap-spring-weak:   {base: 30}   # more of them here\n";
    fs::write(&own, mine).unwrap();
    let file = home.path().join("egr.yaml");
    fs::write(&file, EGR_COOLER).unwrap();
    let add = |extra: &[&str]| {
        weephole(home.path())
            .args(["rules", "add", "--from"])
            .arg(&file)
            .args(extra)
            .arg("--rules")
            .arg(&none)
            .assert()
    };
    let dry = add(&["--dry-run"]).success();
    assert!(text(&dry.get_output().stdout).contains("egr-cooler-leaking"));
    assert_eq!(fs::read_to_string(&own).unwrap(), mine, "a dry run writes nothing");

    add(&[]).success();
    let now = fs::read_to_string(&own).unwrap();
    assert!(now.starts_with(mine), "every line that was there stays:\n{now}");
    assert!(now.contains("# wet soot is the proof"), "comments of the file come along:\n{now}");

    // The same again is a fault, and nothing changes.
    let again = add(&[]).code(1);
    assert!(text(&again.get_output().stderr).contains("egr-cooler-leaking"));
    assert_eq!(fs::read_to_string(&own).unwrap(), now);
    assert!(!home.path().join("rules/own-2.yaml").exists());

    weephole(home.path()).args(["rules", "undo"]).assert().success();
    assert_eq!(fs::read_to_string(&own).unwrap(), mine);
    weephole(home.path()).args(["rules", "undo"]).assert().code(2);
}

#[test]
fn a_file_with_faults_is_refused_with_its_place_and_nothing_is_written() {
    let home = tempfile::tempdir().unwrap();
    let none = without_cases(home.path());
    let file = home.path().join("bad.yaml");
    fs::write(&file, EGR_COOLER.replace("leak-inside: mostly", "leak-insode: mostly")).unwrap();
    let run = weephole(home.path())
        .args(["rules", "add", "--from"])
        .arg(&file)
        .arg("--rules")
        .arg(&none)
        .assert()
        .code(1);
    let said = text(&run.get_output().stderr);
    assert!(said.contains("leak-insode") && said.contains("did you mean `leak-inside`?"), "{said}");
    assert!(!home.path().join("rules").exists() && !home.path().join("rules-journal").exists());
    for (bytes, why) in [
        (&b"failures: [unclosed"[..], "line 1"),
        (b"\xff\xfe", "UTF-8"),
        (b"book: {title: x, version: 1, currency: EUR}\n", "adds nothing"),
        (b"fehlures: {}\n", "fehlures"),
    ] {
        fs::write(&file, bytes).unwrap();
        let run = weephole(home.path()).args(["rules", "add", "--from"]).arg(&file).assert().code(2);
        let said = text(&run.get_output().stderr);
        assert!(said.contains(why), "{why}: {said}");
    }
}

#[test]
fn without_a_terminal_the_dialogue_says_what_to_use() {
    let home = tempfile::tempdir().unwrap();
    let run = weephole(home.path()).args(["rules", "add"]).assert().code(2).stdout("");
    assert!(text(&run.get_output().stderr).contains("`rules add --from FILE`"));
}

/// A full disk: every write of more than nothing fails, whoever runs the test.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told_and_leaves_the_rules_as_they_were() {
    let home = tempfile::tempdir().unwrap();
    let none = without_cases(home.path());
    let own = home.path().join("rules/own.yaml");
    fs::create_dir_all(own.parent().unwrap()).unwrap();
    fs::write(&own, "# mine\n").unwrap();
    let file = home.path().join("egr.yaml");
    fs::write(&file, EGR_COOLER).unwrap();
    let edits =
        Addition::from_file("egr.yaml", EGR_COOLER.as_bytes()).unwrap().edits(own.parent().unwrap()).unwrap();
    let step =
        weephole::care::journal::Step { what: "added".into(), when: "2026-03-02T00:00:00Z".into(), edits };
    // The journal's folder is a device that takes no bytes: its note cannot be written.
    let journal = weephole::care::journal::Journal::new(PathBuf::from("/dev/full"));
    let error = journal.carry_out(&step).unwrap_err().to_string();
    assert!(error.contains("nothing was changed"), "{error}");
    assert_eq!(fs::read_to_string(&own).unwrap(), "# mine\n");
    // And the program itself, where no file may grow.
    let program = assert_cmd::cargo::cargo_bin("weephole");
    let run = std::process::Command::new("sh")
        .args(["-c", "trap '' XFSZ; ulimit -f 0; exec \"$0\" rules add --from \"$1\" --rules \"$2\""])
        .args([program.as_path(), &file, &none])
        .env_clear()
        .env("WEEPHOLE_HOME", home.path())
        .output()
        .unwrap();
    assert_eq!(run.status.code(), Some(2), "{}", text(&run.stderr));
    assert!(text(&run.stderr).contains("File too large"), "{}", text(&run.stderr));
    assert_eq!(fs::read_to_string(&own).unwrap(), "# mine\n");
}
