//! A small whole book of its own, for tests that change one thing in it.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use tempfile::TempDir;

/// The files of the small book: path below its folder, and text.
pub const FILES: [(&str, &str); 5] = [
    (
        "book.yaml",
        "book: {title: A bench book, version: 1, currency: EUR}
words:
  usually: {is: 0.75, from: 0.65, to: 0.82}
  seldom: {is: 0.15, from: 0.09, to: 0.2}
  never: {is: 0, from: 0, to: 0}
chance-words:
  - {at-least: 0.5, say: likely}
  - {at-least: 0, say: hardly}
facts:
  fan:
    ask: What pulls the air?
    options:
      electric: {name: an electric fan, share: 0.7}
      viscous: {name: a viscous fan, share: 0.3}
tools:
  torch: {name: torch}
cautions:
  hot-cap: {text: Do not open a hot cap.}
",
    ),
    (
        "parts/pump.yaml",
        "parts:
  pump: {name: water pump, customer: It pushes coolant round., price: [40, 120]}
failures:
  bearing-worn:
    part: pump
    name: pump bearing worn
    customer: The bearing is worn.
    if-left: The seal goes next.
    base: 26
    source: judgement
    raised-by:
      plain-water: seldom
    leads-to:
      low: seldom
    shows:
      grinding: usually
      rock-pulley/play: usually
    urgency: soon
    repair:
      do: Renew the pump.
      minutes: [60, 120]
",
    ),
    (
        "rest.yaml",
        "history:
  plain-water: {name: run on water, ask: Was it run on water?, customer: It ran on water., base: 60}
states:
  low:
    name: coolant low
    customer: There is too little coolant.
    background: 0.01
    shows: {cold-heater: usually}
symptoms:
  grinding:
    name: grinding noise
    ask: Does it grind?
    notice: A rough noise from the front.
    words: [grinding]
    customer: It grinds.
    background: 0.02
  cold-heater:
    name: cold heater
    ask: Is the heater cold?
    notice: Cold air with a hot engine.
    words: [cold heater]
    customer: The heater is cold.
    background: 0.02
checks:
  rock-pulley:
    name: rock the pulley
    ask: Does it move?
    customer: We felt for play.
    engine: cold
    minutes: 3
    tools: [torch]
    steps: [Rock it.]
    normal: firm
    outcomes:
      play: {say: it moves, background: 0.01}
    source: common practice, no source
  cap-test:
    name: test the cap
    ask: At what pressure does it open?
    customer: We tested the cap.
    engine: cold
    minutes: 5
    cautions: [hot-cap]
    steps: [Pump it up.]
    normal: at its mark
    outcomes:
      early: {say: too early, background: 0.01, below: {of: cap-rating, less: 7 kPa, otherwise: 90 kPa}}
    reading: {ask: What did it open at?, unit: kPa, error: 3 kPa, least: 0 kPa, most: 200 kPa}
    source: common practice, no source
",
    ),
    (
        "cap.yaml",
        "parts:
  cap: {name: radiator cap, customer: It holds pressure., price: [8, 25]}
failures:
  spring-weak:
    part: cap
    name: cap spring weak
    customer: The cap opens too early.
    if-left: It boils over.
    base: 40
    source: judgement
    leads-to: {low: seldom}
    shows: {cap-test/early: usually}
    urgency: plan
    repair: {do: Renew the cap., minutes: [2, 5]}
",
    ),
    (
        "cases/grinds.yaml",
        "title: It grinds
facts: {fan: electric}
answers:
  - {ask: grinding, answer: yes}
  - {ask: rock-pulley, answer: play}
expect: {first: pump}
reason: Only a worn bearing does both.
",
    ),
];

/// A folder with the small book in `book`, each file passed through `change` first, and more files beside.
pub fn folder(change: impl Fn(&str, &str) -> String, more: &[(&str, &str)]) -> TempDir {
    let top = TempDir::new().unwrap();
    for (path, text) in FILES {
        write(top.path(), &format!("book/{path}"), change(path, text).as_bytes());
    }
    for (path, text) in more {
        write(top.path(), path, text.as_bytes());
    }
    top
}

/// Writes a file and the folders it stands in.
pub fn write(top: &Path, path: &str, bytes: &[u8]) {
    let path = top.join(path);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, bytes).unwrap();
}

/// The program in a folder, with nothing of the machine's own settings.
pub fn weephole(top: &Path) -> Command {
    let mut command = Command::cargo_bin("weephole").unwrap();
    command.current_dir(top).env_clear().env("WEEPHOLE_HOME", top.join("home"));
    command
}

/// Standard output, standard error and the exit status of a run, one under the other.
pub fn told(command: &mut Command) -> String {
    let output = command.output().unwrap();
    format!(
        "status {}\n{}{}",
        output.status.code().map_or("none".to_owned(), |code| code.to_string()),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

/// Compares with the kept text of this name under `snapshots`.
pub fn shown(name: &str, told: &str) {
    insta::with_settings!({
        snapshot_path => "snapshots",
        prepend_module_to_snapshot => false,
        omit_expression => true,
    }, {
        insta::assert_snapshot!(name, told);
    });
}
