//! Whole sittings in a pseudo-terminal, as a user has them: keys in, the screen read back.

use std::io::{Read, Write};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use weephole::case::Case;
use weephole::case::store::{self, CaseFile};

use super::small::{case, folder, write_emptying_layer};

/// Longest wait for something to appear: far longer than it takes, so that a busy machine fails nothing.
const PATIENCE: Duration = Duration::from_mins(1);

/// A data folder of its own.
struct Home {
    folder: tempfile::TempDir,
}

impl Home {
    fn new() -> Self {
        let home = Self { folder: tempfile::tempdir().unwrap() };
        write_emptying_layer(&home.folder.path().join("empty"));
        home
    }

    fn path_of(&self, name: &str) -> PathBuf {
        self.folder.path().join("cases").join(format!("{name}.yaml"))
    }

    fn keep(&self, name: &str, case: &Case) {
        CaseFile::new(self.path_of(name)).save(case).unwrap();
    }

    fn case(&self, name: &str) -> Case {
        store::read(&self.path_of(name)).unwrap().0
    }

    /// The only case there is.
    fn only(&self) -> (String, Case) {
        let names = weephole::case::CaseStore::new(self.folder.path().join("cases")).names().unwrap();
        assert_eq!(names.len(), 1, "{names:?}");
        (names[0].clone(), self.case(&names[0]))
    }

    fn sit(&self, columns: u16, rows: u16, arguments: &[&str]) -> Sitting {
        let pair = native_pty_system()
            .openpty(PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 })
            .unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_weephole"));
        command.env_clear();
        command.env("HOME", self.folder.path());
        command.env("WEEPHOLE_HOME", self.folder.path());
        command.env("TERM", "xterm-256color");
        command.env("NO_COLOR", "1");
        command.cwd(self.folder.path());
        command.arg("--rules");
        command.arg(self.folder.path().join("empty"));
        command.arg("--rules");
        command.arg(folder());
        for argument in arguments {
            command.arg(argument);
        }
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().unwrap();
        let (send, received) = channel();
        std::thread::spawn(move || {
            let mut buffer = [0_u8; 4096];
            while let Ok(count) = reader.read(&mut buffer) {
                if count == 0 || send.send(buffer[..count].to_vec()).is_err() {
                    break;
                }
            }
        });
        let writer = pair.master.take_writer().unwrap();
        let parser = vt100::Parser::new(rows, columns, 0);
        Sitting { child, _master: pair.master, writer, received, parser, open: true }
    }
}

struct Sitting {
    child: Box<dyn Child + Send + Sync>,
    _master: Box<dyn MasterPty + Send>,
    writer: Box<dyn Write + Send>,
    received: Receiver<Vec<u8>>,
    parser: vt100::Parser,
    open: bool,
}

impl Sitting {
    fn screen(&self) -> String {
        self.parser.screen().contents()
    }

    /// Waits until the screen holds all of `texts`.
    fn see_all(&mut self, texts: &[&str]) -> String {
        let start = Instant::now();
        loop {
            let screen = self.screen();
            // A line may be broken anywhere between words.
            let flat = screen.split_whitespace().collect::<Vec<_>>().join(" ");
            if texts.iter().all(|text| flat.contains(text)) {
                return screen;
            }
            let left = PATIENCE.saturating_sub(start.elapsed());
            match self.received.recv_timeout(left) {
                Ok(bytes) => self.take(&bytes),
                Err(RecvTimeoutError::Disconnected) if self.open => self.open = false,
                Err(why) => panic!("never saw {texts:?} ({why}) on\n{screen}"),
            }
        }
    }

    fn take(&mut self, bytes: &[u8]) {
        // inquire asks where the cursor is on some terminals; a real one answers.
        if bytes.windows(4).any(|window| window == b"\x1b[6n") {
            let (row, column) = self.parser.screen().cursor_position();
            let _ = write!(self.writer, "\x1b[{};{}R", row + 1, column + 1);
        }
        self.parser.process(bytes);
    }

    fn see(&mut self, text: &str) -> String {
        self.see_all(&[text])
    }

    fn press(&mut self, keys: &str) {
        self.writer.write_all(keys.as_bytes()).unwrap();
        self.writer.flush().unwrap();
    }

    /// Waits for the end of the program and of its output.
    fn end(mut self) -> (u32, String) {
        let start = Instant::now();
        loop {
            match self.received.recv_timeout(PATIENCE.saturating_sub(start.elapsed())) {
                Ok(bytes) => self.take(&bytes),
                Err(RecvTimeoutError::Disconnected) => break,
                Err(RecvTimeoutError::Timeout) => panic!("it did not end; screen:\n{}", self.screen()),
            }
        }
        let status = self.child.wait().unwrap();
        (status.exit_code(), self.screen())
    }

    /// Pulls the plug.
    fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

#[test]
fn a_whole_interview_from_the_first_question_to_what_next() {
    let home = Home::new();
    let mut sitting = home.sit(80, 30, &[]);
    sitting.see("Which vehicle is it?");
    sitting.press("1");
    sitting.see("What brought it in?");
    sitting.press("t");
    let typing = sitting.see_all(&["In the customer's words:"]);
    assert!(!typing.contains("vehicle not named"), "{typing}");
    sitting.press("awful grindng noise\r");
    sitting.see_all(&["[x] ", "grinding noise", "“grindng” read as “grinding”"]);
    sitting.press("\r");
    sitting.see("that is all");
    sitting.press("g");
    // Answer whatever comes: the pulley has play, all else is normal.
    for _ in 0..25 {
        let screen = sitting.see_all(&["> 1"]);
        if screen.contains("finish") {
            break;
        }
        let before = home.only().1.answers.len();
        let key = if screen.contains("Rock the pulley") {
            "2"
        } else if screen.contains("type the reading") {
            "d"
        } else if screen.contains("good:") {
            "1"
        } else if screen.contains("it is right") {
            "k"
        } else {
            "n"
        };
        sitting.press(key);
        let answered = if before == 1 { "1 answer".to_owned() } else { format!("{before} answers") };
        wait_until_gone(&mut sitting, &answered);
    }
    sitting.see_all(&["test pump", "finish"]);
    sitting.press("1");
    let (code, screen) = sitting.end();
    let (name, case) = home.only();
    assert_eq!(code, 0);
    assert!(screen.contains(&format!("weephole explain {name}")), "{screen}");
    assert!(screen.contains("licensed practice"), "{screen}");
    assert_eq!(case.answer_to("rock-pulley").unwrap().answer.as_deref(), Some("play"));
    assert_eq!(case.complaint.as_deref(), Some("awful grindng noise"));
}

/// Waits until a text is no longer on the screen.
fn wait_until_gone(sitting: &mut Sitting, text: &str) {
    let start = Instant::now();
    while sitting.screen().contains(text) {
        match sitting.received.recv_timeout(PATIENCE.saturating_sub(start.elapsed())) {
            Ok(bytes) => sitting.take(&bytes),
            Err(why) => panic!("`{text}` never went away ({why}):\n{}", sitting.screen()),
        }
    }
}

#[test]
fn a_killed_interview_goes_on_where_it_stopped() {
    let home = Home::new();
    home.keep("job", &case(&[("grinding", "yes")]));
    let mut sitting = home.sit(80, 30, &["interview", "--case", "job"]);
    sitting.see("1 answer");
    sitting.press("d");
    sitting.see("2 answers");
    sitting.press("d");
    let before = sitting.see("3 answers");
    sitting.kill();
    assert_eq!(home.case("job").answers.len(), 3);
    let mut sitting = home.sit(80, 30, &["interview", "--case", "job"]);
    let after = sitting.see("3 answers");
    let question = |screen: &str| {
        screen.lines().filter(|line| line.contains('?')).map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(question(&after), question(&before));
    sitting.kill();
}

#[test]
fn back_asks_the_last_question_again_with_its_answer() {
    let home = Home::new();
    home.keep("job", &case(&[("grinding", "yes"), ("squeal", "no")]));
    let mut sitting = home.sit(80, 30, &["interview", "--case", "job"]);
    sitting.see("2 answers");
    sitting.press("b");
    sitting.see_all(&["Does a belt squeal?", "Answered before: no"]);
    sitting.press("y");
    wait_until_gone(&mut sitting, "Answered before");
    sitting.see("2 answers");
    assert_eq!(home.case("job").answer_to("squeal").unwrap().answer.as_deref(), Some("yes"));
    sitting.kill();
}

#[test]
fn an_answer_is_changed_from_the_list() {
    let home = Home::new();
    home.keep("job", &case(&[("grinding", "yes"), ("squeal", "no")]));
    let mut sitting = home.sit(80, 30, &["interview", "--case", "job"]);
    sitting.see("change an answer");
    sitting.press("c");
    sitting.see_all(&["Change which?", "belt squeal: no"]);
    sitting.press("squeal\r");
    sitting.see("Answered before: no");
    sitting.press("f");
    sitting.see("1 answer");
    assert!(home.case("job").answer_to("squeal").is_none());
    sitting.kill();
}

#[test]
fn keys_pressed_before_a_question_is_there_do_not_answer_it() {
    let home = Home::new();
    home.keep("job", &case(&[("grinding", "yes")]));
    let mut sitting = home.sit(80, 30, &["interview", "--case", "job"]);
    sitting.see("1 answer");
    // One answer, and more of the same in one go, as from a key that sticks.
    sitting.press("dddddddd");
    sitting.see("2 answers");
    sitting.press("s");
    sitting.see("This is where it stands");
    sitting.kill();
    assert_eq!(home.case("job").answers.len(), 2);
}

#[test]
fn dont_know_is_kept_and_moves_nothing() {
    let home = Home::new();
    home.keep("job", &case(&[("grinding", "yes")]));
    let mut sitting = home.sit(80, 30, &["interview", "--case", "job"]);
    sitting.see("1 answer");
    sitting.press("d");
    let screen = sitting.see("2 answers");
    assert!(!screen.lines().any(|line| line.contains(" +") || line.contains(" -")), "{screen}");
    assert_eq!(home.case("job").answers[1].answer.as_deref(), Some("dont-know"));
    sitting.kill();
}

#[test]
fn a_contradiction_is_questioned() {
    let home = Home::new();
    home.keep("job", &case(&[("needle-dead", "yes")]));
    let mut sitting = home.sit(80, 30, &["interview", "--case", "job"]);
    sitting.see("go on asking");
    sitting.press("g");
    sitting.see("other questions");
    sitting.press("o");
    sitting.see("Ask which?");
    sitting.press("needle in the red\r");
    sitting.see("Has the needle been in the red?");
    sitting.press("y");
    sitting.see_all(&["DO NOT DRIVE", "switch off"]);
    sitting.press("\r");
    sitting.see("These answers do not go together");
    sitting.press("1");
    wait_until_gone(&mut sitting, "do not go together");
    sitting.see_all(&["DO NOT DRIVE: needle in the red", "2 answers"]);
    let case = home.case("job");
    assert_eq!(case.answer_to("needle-dead").unwrap().answer.as_deref(), Some("no"));
    assert_eq!(case.answer_to("needle-red").unwrap().answer.as_deref(), Some("yes"));
    sitting.kill();
}

#[test]
fn stop_shows_where_it_stands_and_finishes() {
    let home = Home::new();
    home.keep("job", &case(&[("grinding", "yes")]));
    let mut sitting = home.sit(80, 30, &["interview", "--case", "job"]);
    sitting.see("1 answer");
    sitting.press("s");
    sitting.see_all(&["This is where it stands", "test pump"]);
    sitting.press("1");
    let (code, screen) = sitting.end();
    assert_eq!(code, 0);
    assert!(screen.contains("weephole plan job"), "{screen}");
}

#[test]
fn ctrl_c_leaves_at_once_and_keeps_every_answer() {
    let home = Home::new();
    let mut sitting =
        home.sit(80, 30, &["interview", "--vehicle", "farm-pickup", "--complaint", "it growls"]);
    sitting.see("Is this what the customer means?");
    sitting.press("\r");
    sitting.see("that is all");
    sitting.press("g");
    sitting.see("1 answer");
    sitting.press("d");
    sitting.see("2 answers");
    sitting.press("\x03");
    let (code, screen) = sitting.end();
    let (name, case) = home.only();
    assert_eq!(code, 0);
    assert!(screen.contains(&format!("weephole interview --case {name}")), "{screen}");
    assert_eq!(case.answers.len(), 2);
}

#[test]
fn ctrl_c_in_the_middle_of_typing_keeps_what_was_answered_before() {
    let home = Home::new();
    home.keep("job", &case(&[("grinding", "yes")]));
    let mut sitting = home.sit(80, 30, &["interview", "--case", "job"]);
    sitting.see("other questions");
    sitting.press("o");
    sitting.see("Ask which?");
    sitting.press("bel\x03");
    let (code, _) = sitting.end();
    assert_eq!(code, 0);
    assert_eq!(home.case("job"), case(&[("grinding", "yes")]));
}

#[test]
fn two_terminals_on_one_case_lose_nothing() {
    let home = Home::new();
    home.keep("job", &case(&[("grinding", "yes")]));
    let mut first = home.sit(80, 30, &["interview", "--case", "job"]);
    let mut second = home.sit(80, 30, &["interview", "--case", "job"]);
    first.see("1 answer");
    second.see("1 answer");
    first.press("d");
    first.see("2 answers");
    let of_first = home.case("job");
    second.press("o");
    second.see("Ask which?");
    second.press("coolant at the weep\r");
    second.see("from the small hole");
    second.press("y");
    second.see("Two at one case");
    second.press("1");
    second.see("Both were put together");
    let both = home.case("job");
    assert!(of_first.answers.iter().all(|answer| both.answer_to(&answer.ask).is_some()));
    assert_eq!(both.answer_to("weeping").unwrap().answer.as_deref(), Some("yes"));
    first.kill();
    second.kill();
}

#[test]
fn a_narrow_low_terminal_pages_long_checks_cautions_first() {
    let home = Home::new();
    home.keep("job", &case(&[("grinding", "yes")]));
    let mut sitting = home.sit(40, 16, &["interview", "--case", "job"]);
    sitting.turn_pages();
    sitting.press("o");
    sitting.see("Ask which?");
    sitting.press("opening\r");
    let first = sitting.see_all(&["Check: opening pressure", "-- more"]);
    assert!(!first.contains("> 1"), "no answer can be given before the cautions were seen:\n{first}");
    let last = sitting.turn_pages();
    assert!(last.contains("it opens too soon"), "{last}");
    sitting.kill();
}

impl Sitting {
    /// Takes in what comes until the screen holds one of these and nothing has come for a moment.
    fn see_any(&mut self, texts: &[&str]) -> String {
        let start = Instant::now();
        loop {
            match self.received.recv_timeout(Duration::from_millis(300)) {
                Ok(bytes) => self.take(&bytes),
                Err(_) if texts.iter().any(|text| self.screen().contains(text)) => return self.screen(),
                Err(_) => assert!(start.elapsed() < PATIENCE, "never saw {texts:?} on\n{}", self.screen()),
            }
        }
    }

    /// Turns pages until the menu is there.
    fn turn_pages(&mut self) -> String {
        for _ in 0..8 {
            let screen = self.see_any(&["> 1", "-- more"]);
            if screen.contains("> 1") {
                return screen;
            }
            self.press(" ");
        }
        panic!("no menu after eight pages:\n{}", self.screen());
    }
}

/// Sent home as sound, and back again: the case keeps that, and more is asked.
#[test]
fn it_came_back_with_nothing_done() {
    let home = Home::new();
    home.keep("job", &case(&[("squeal", "yes"), ("press-belt", "normal")]));
    let mut sitting = home.sit(80, 30, &["interview", "--case", "job"]);
    sitting.see_all(&["nothing wrong", "came back with the same complaint"]);
    sitting.press("r");
    wait_until_gone(&mut sitting, "This looks like nothing wrong");
    let kept = home.case("job");
    assert_eq!(kept.returned.len(), 1);
    assert!(kept.returned[0].when.is_some());
    sitting.kill();
}
