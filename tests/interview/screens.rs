//! Every kind of screen at 40, 80 and 120 columns.

use std::fmt::Write;

use unicode_width::UnicodeWidthStr;
use weephole::case::Case;
use weephole::cli::interview::tick_lines;
use weephole::questioner::interview::{Interview, Reply, Settle, Step};
use weephole::report::Plain;
use weephole::report::interview::{
    Frame, Input, body, changes, farewell, input, keys_help, menu_lines, others, why,
};

use super::small::{BOOK, case, open, tell};

const WIDTHS: [usize; 3] = [40, 80, 120];

fn frame() -> Frame {
    Frame { vehicle: Some("the farm pickup".into()), case: Some("2026-03-04-farm-pickup".into()), note: None }
}

/// A whole screen with its menu.
fn screen(step: &Step, frame: &Frame, width: usize) -> Vec<String> {
    let mut lines = body(&BOOK, step, frame, width, &Plain);
    lines.push(String::new());
    match input(&BOOK, step) {
        Input::Menu(items, on) => lines.extend(menu_lines(&items, on, width, &Plain)),
        Input::Ticks(ticks) => {
            let on: Vec<bool> = ticks.iter().map(|(_, on)| *on).collect();
            lines.extend(tick_lines(&ticks, &on, 0, width, Plain));
        }
        Input::Text(prompt) => lines.push(format!("> {prompt}:")),
    }
    lines
}

fn at_all_widths(draw: impl Fn(usize) -> Vec<String>) -> String {
    let mut all = String::new();
    for width in WIDTHS {
        let _ = writeln!(all, "[{width} columns]");
        for line in draw(width) {
            assert!(line.width() < width, "{} of {width} columns: {line}", line.width());
            let _ = writeln!(all, "{}", line.trim_end());
        }
        all.push('\n');
    }
    all
}

fn check(name: &str, step: &Step, frame: &Frame) {
    insta::assert_snapshot!(name, at_all_widths(|width| screen(step, frame, width)));
}

fn at(interview: &mut Interview<'_>, replies: Vec<Reply>) -> Step {
    for reply in replies {
        interview.reply(reply, None).unwrap();
    }
    interview.step()
}

#[test]
fn vehicle() {
    check("vehicle", &open(Case::default()).step(), &Frame::default());
}

#[test]
fn vehicle_facts() {
    let mut interview = open(Case::default());
    check("fact", &at(&mut interview, vec![Reply::Describe]), &Frame::default());
    check("age", &at(&mut interview, vec![Reply::Fact(None)]), &Frame::default());
}

#[test]
fn complaint() {
    check("complaint", &open(case(&[])).step(), &frame());
    let mut interview = open(case(&[]));
    let step =
        at(&mut interview, vec![Reply::Complaint("it squeels and overheats in traffic, no grinding".into())]);
    check("complaint_heard", &step, &frame());
    check("complaint_noted", &at(&mut interview, vec![Reply::Confirmed(vec![0, 1])]), &frame());
    check(
        "complaint_unheard",
        &at(&mut interview, vec![Reply::Complaint("the horn is loud".into())]),
        &frame(),
    );
}

#[test]
fn question_with_the_change_since_before() {
    let mut interview = open(case(&[("grinding", "yes")]));
    tell(&mut interview, "wobble", "yes");
    check("question", &interview.step(), &frame());
}

#[test]
fn check_with_cautions_steps_and_a_reading() {
    let mut interview = open(case(&[("grinding", "yes")]));
    check("check_reading", &at(&mut interview, vec![Reply::Ask("cap-opens".into())]), &frame());
    check("check_hot", &at(&mut interview, vec![Reply::Ask("watch-fan".into())]), &frame());
}

#[test]
fn question_asked_again() {
    let mut interview = open(case(&[("grinding", "yes"), ("squeal", "no")]));
    check("again", &at(&mut interview, vec![Reply::Ask("squeal".into())]), &frame());
}

#[test]
fn alert_and_the_warning_that_stays() {
    let mut interview = open(case(&[("grinding", "yes")]));
    let step = at(&mut interview, vec![Reply::Ask("needle-red".into()), Reply::Answer("yes".into())]);
    check("alert", &step, &frame());
    check("question_do_not_drive", &at(&mut interview, vec![Reply::Understood]), &frame());
}

#[test]
fn clashes() {
    let mut interview = open(case(&[("needle-dead", "yes"), ("grinding", "yes")]));
    tell(&mut interview, "needle-red", "yes");
    check("clash_exclude", &at(&mut interview, vec![Reply::Understood]), &frame());
    let mut interview = open(case(&[("grinding", "yes"), ("wobble", "yes")]));
    tell(&mut interview, "rock-pulley", "normal");
    check("clash_unlikely", &interview.step(), &frame());
}

#[test]
fn missing_tools() {
    let mut interview = open(case(&[("grinding", "yes")]));
    tell(&mut interview, "cap-and-neck", "cannot");
    check("no_tool", &interview.step(), &frame());
}

#[test]
fn ends() {
    let mut interview = open(case(&[("grinding", "yes")]));
    let stopped = at(&mut interview, vec![Reply::Stop]);
    check("end_stopped", &stopped, &frame());
    let Step::End(end) = stopped else { panic!() };
    insta::assert_snapshot!(
        "farewell",
        farewell(&BOOK, &end, Some("2026-03-04-farm-pickup"), 80, &Plain).join("\n")
    );
    let mut interview = open(case(&[("grinding", "yes"), ("wobble", "yes"), ("rock-pulley", "play")]));
    for _ in 0..30 {
        match interview.step() {
            Step::Question(card) => {
                let said = card.weighed.question.plain_answer().to_owned();
                interview.reply(Reply::Answer(said), None).unwrap();
            }
            Step::Clash(_) => interview.reply(Reply::Settle(Settle::Both), None).unwrap(),
            Step::Alert(_) => interview.reply(Reply::Understood, None).unwrap(),
            _ => break,
        }
    }
    check("end_verdict", &interview.step(), &frame());
}

#[test]
fn sheets() {
    let interview = open(case(&[("grinding", "yes"), ("squeal", "dont-know")]));
    let Step::Question(card) = interview.step() else { panic!() };
    insta::assert_snapshot!("why", at_all_widths(|width| why(&BOOK, &card, width, &Plain)));
    insta::assert_snapshot!("others", others(&BOOK, &card.others).join("\n"));
    insta::assert_snapshot!("changes", changes(&BOOK, &card.answers).join("\n"));
    insta::assert_snapshot!("keys", at_all_widths(|width| keys_help(width, &Plain)));
}

#[test]
fn a_note_is_said_once_on_top() {
    let noted = Frame { note: Some("Both were put together.".into()), ..frame() };
    let lines = screen(&open(case(&[("grinding", "yes")])).step(), &noted, 80);
    assert!(lines[2].starts_with("* Both were put together"), "{lines:#?}");
}

#[test]
fn text_from_files_cannot_move_the_cursor() {
    let mut vehicle = BOOK.vehicles["farm-pickup"].clone();
    vehicle.name = Some("van\u{1b}[2J\u{202e}".into());
    let frame = Frame { vehicle: vehicle.name, ..frame() };
    let lines = screen(&open(case(&[])).step(), &frame, 80);
    assert!(lines.iter().all(|line| !line.contains(['\u{1b}', '\u{202e}'])), "{lines:#?}");
}
