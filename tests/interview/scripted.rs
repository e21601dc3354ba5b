//! The whole interview without a terminal: keys from a script, screens into a list.

use std::collections::VecDeque;

use jiff::Timestamp;
use weephole::case::store;
use weephole::case::{Case, CaseStore, Shop};
use weephole::cli::interview::{Asker, Draw, Drive, Ended, Gone, Keeper};
use weephole::questioner::Strategy;
use weephole::questioner::interview::Interview;
use weephole::report::Plain;
use weephole::report::interview::{Item, menu_lines};

use super::small::{BOOK, case};

/// One thing the script does.
#[derive(Debug, Clone)]
pub enum Do {
    /// Presses a key of a menu.
    Press(char),
    /// Takes the ticks as they stand, or these.
    Tick(Option<Vec<usize>>),
    /// Types a line.
    Type(&'static str),
    /// Picks the line that holds this text.
    Pick(&'static str),
    /// Backs out.
    Escape,
    /// Presses any key after reading.
    Read,
    /// Does something beside the interview, as another terminal would.
    Meanwhile(fn(&std::path::Path)),
}

/// A person who follows a script and writes down every screen.
pub struct Script {
    todo: VecDeque<Do>,
    /// Every screen that was shown.
    pub screens: Vec<String>,
    folder: std::path::PathBuf,
}

impl Script {
    fn next(&mut self, screen: String) -> Result<Do, Gone> {
        self.screens.push(screen);
        loop {
            match self.todo.pop_front() {
                Some(Do::Meanwhile(act)) => act(&self.folder),
                Some(step) => return Ok(step),
                None => return Err(Gone::Left),
            }
        }
    }
}

impl Asker for Script {
    fn choose(&mut self, draw: Draw<'_>, items: &[Item], on: usize) -> Result<Option<usize>, Gone> {
        let mut screen = draw(80);
        screen.push(String::new());
        screen.extend(menu_lines(items, on, 80, &Plain));
        let screen = screen.join("\n");
        match self.next(screen.clone())? {
            Do::Press(key) => {
                let hit = items.iter().position(|item| item.is_hit_by(key));
                Ok(Some(hit.unwrap_or_else(|| panic!("no `{key}` on\n{screen}"))))
            }
            Do::Escape => Ok(None),
            other => panic!("{other:?} on\n{screen}"),
        }
    }

    fn tick(&mut self, draw: Draw<'_>, lines: &[(String, bool)]) -> Result<Option<Vec<usize>>, Gone> {
        let shown: Vec<&str> = lines.iter().map(|(label, _)| label.as_str()).collect();
        match self.next(format!("{}\n{}", draw(80).join("\n"), shown.join("\n")))? {
            Do::Tick(Some(list)) => Ok(Some(list)),
            Do::Tick(None) => Ok(Some((0..lines.len()).filter(|&number| lines[number].1).collect())),
            Do::Escape => Ok(None),
            other => panic!("{other:?} on ticks"),
        }
    }

    fn pick(&mut self, title: &str, lines: &[String]) -> Result<Option<usize>, Gone> {
        match self.next(format!("{title}\n{}", lines.join("\n")))? {
            Do::Pick(text) => Ok(lines.iter().position(|line| line.contains(text))),
            Do::Escape => Ok(None),
            other => panic!("{other:?} on a list"),
        }
    }

    fn pick_many(&mut self, title: &str, lines: &[String]) -> Result<Option<Vec<usize>>, Gone> {
        self.pick(title, lines).map(|picked| picked.map(|number| vec![number]))
    }

    fn text(&mut self, draw: Draw<'_>, prompt: &str, wrong: Option<&str>) -> Result<Option<String>, Gone> {
        match self.next(format!("{}\n{}\n{prompt}", draw(80).join("\n"), wrong.unwrap_or_default()))? {
            Do::Type(text) => Ok(Some(text.to_owned())),
            Do::Escape => Ok(None),
            other => panic!("{other:?} on a prompt"),
        }
    }

    fn show(&mut self, draw: Draw<'_>) -> Result<(), Gone> {
        match self.next(draw(80).join("\n"))? {
            Do::Read => Ok(()),
            other => panic!("{other:?} on a sheet"),
        }
    }
}

struct Sitting {
    ended: Ended,
    screens: Vec<String>,
    store: CaseStore,
    name: Option<String>,
    _folder: tempfile::TempDir,
}

impl Sitting {
    fn case(&self) -> Case {
        store::read(&self.store.path_of(self.name.as_deref().unwrap()).unwrap()).unwrap().0
    }

    fn last(&self) -> &str {
        self.screens.last().unwrap()
    }
}

fn noon() -> Timestamp {
    "2026-03-04T12:00:00Z".parse().unwrap()
}

fn sit(case: Case, todo: Vec<Do>) -> Sitting {
    let folder = tempfile::tempdir().unwrap();
    let store = CaseStore::new(folder.path().to_owned());
    let mut script = Script { todo: todo.into(), screens: Vec::new(), folder: folder.path().to_owned() };
    let interview = Interview::open(&BOOK, Shop::default(), case, Strategy::Bits).unwrap();
    let mut drive = Drive {
        book: &BOOK,
        interview,
        asker: &mut script,
        keeper: Keeper::new(store.clone()),
        style: Plain,
        clock: &noon,
        note: None,
    };
    let ended = match drive.keep().unwrap() {
        Some(ended) => ended,
        None => drive.run().unwrap(),
    };
    let name = drive.keeper.name().map(str::to_owned);
    Sitting { ended, screens: script.screens, store, name, _folder: folder }
}

use Do::{Escape, Meanwhile, Pick, Press, Read, Tick, Type};

#[test]
fn from_the_vehicle_to_the_end_with_one_key_a_question() {
    let sitting = sit(
        Case::open(weephole::rulebook::entries::Vehicle::default(), None),
        vec![
            Press('1'),
            Press('t'),
            Type("a grinding noise"),
            Tick(None),
            Press('g'),
            Press('s'),
            Press('1'),
        ],
    );
    assert!(matches!(sitting.ended, Ended::Done(_)));
    assert_eq!(sitting.name.as_deref(), Some("2026-03-04-farm-pickup"));
    let case = sitting.case();
    assert_eq!(case.complaint.as_deref(), Some("a grinding noise"));
    assert_eq!(case.answer_to("grinding").unwrap().when.as_deref(), Some("2026-03-04T12:00:00Z"));
}

#[test]
fn leaving_at_any_moment_keeps_every_answer() {
    let sitting = sit(case(&[("grinding", "yes")]), vec![Press('d'), Press('d')]);
    assert!(matches!(sitting.ended, Ended::Left));
    assert_eq!(sitting.case().answers.len(), 3);
}

#[test]
fn leaving_before_anything_was_said_keeps_nothing() {
    let sitting = sit(Case::default(), vec![Escape, Escape]);
    assert_eq!(sitting.name, None);
    assert!(sitting.last().contains("Nothing has been answered yet"), "{}", sitting.last());
}

#[test]
fn why_and_keys_come_back_to_the_same_question() {
    let sitting = sit(case(&[("grinding", "yes")]), vec![Press('w'), Read, Press('?'), Read]);
    assert!(sitting.screens[1].starts_with("Why: "), "{}", sitting.screens[1]);
    assert_eq!(sitting.screens[0], sitting.screens[2]);
    assert_eq!(sitting.screens[0], sitting.screens[4]);
}

#[test]
fn another_question_can_be_picked_from_the_list() {
    let sitting = sit(case(&[("grinding", "yes")]), vec![Press('o'), Pick("look at the level"), Press('d')]);
    assert!(sitting.screens[2].contains("Check: look at the level"), "{}", sitting.screens[2]);
    assert!(sitting.case().answer_to("look-level").is_some());
}

#[test]
fn a_reading_that_makes_no_sense_is_asked_for_again() {
    let sitting = sit(
        case(&[("grinding", "yes")]),
        vec![Press('o'), Pick("opening pressure"), Press('r'), Type("lots"), Type("9000"), Type("95 kPa")],
    );
    assert!(sitting.screens[4].contains("lots"), "{}", sitting.screens[4]);
    assert!(sitting.screens[5].contains("lies between"), "{}", sitting.screens[5]);
    assert_eq!(sitting.case().answer_to("cap-opens").unwrap().reading.as_deref(), Some("95 kPa"));
}

#[test]
fn an_earlier_answer_is_changed_from_the_list() {
    let sitting = sit(
        case(&[("grinding", "yes"), ("squeal", "no")]),
        vec![Press('c'), Pick("belt squeal"), Press('y')],
    );
    assert!(sitting.screens[2].contains("Answered before: no"), "{}", sitting.screens[2]);
    assert_eq!(sitting.case().answer_to("squeal").unwrap().answer.as_deref(), Some("yes"));
}

#[test]
fn a_caution_stands_before_the_first_step_of_its_check() {
    let sitting = sit(case(&[("grinding", "yes")]), vec![Press('o'), Pick("rock the pulley")]);
    let screen = sitting.last();
    let at = |text: &str| screen.find(text).unwrap_or_else(|| panic!("`{text}` is not on\n{screen}"));
    assert!(at("take the key out") < at("1. Take hold"));
    assert!(at("1. Take hold") < at("Rock the pulley by hand"));
}

fn write_as_another(folder: &std::path::Path) {
    let path = std::fs::read_dir(folder).unwrap().filter_map(Result::ok).map(|entry| entry.path());
    let path = path.into_iter().find(|path| path.extension().is_some_and(|ext| ext == "yaml")).unwrap();
    let (mut case, mut file) = store::read(&path).unwrap();
    case.put(weephole::case::Answer {
        when: Some("2026-03-04T11:00:00Z".into()),
        ..super::small::answer("weeping", "yes")
    });
    file.save(&case).unwrap();
}

#[test]
fn two_terminals_on_one_case_are_noticed_and_put_together() {
    let sitting = sit(
        case(&[("grinding", "yes")]),
        vec![Press('o'), Pick("look at the level"), Meanwhile(write_as_another), Press('d'), Press('1')],
    );
    assert!(sitting.screens[3].contains("Two at one case"), "{}", sitting.screens[3]);
    let case = sitting.case();
    assert!(case.answer_to("weeping").is_some(), "theirs is there");
    assert_eq!(case.answers.len(), 3, "and so is ours");
    assert!(sitting.last().contains("put together"), "{}", sitting.last());
}

#[test]
fn leaving_a_case_that_somebody_else_changed_loses_neither() {
    let sitting =
        sit(case(&[("grinding", "yes")]), vec![Meanwhile(write_as_another), Press('d'), Press('3')]);
    assert!(matches!(sitting.ended, Ended::Left));
    assert!(sitting.case().answer_to("weeping").is_some());
    let folder = sitting.store.folder();
    let (kept, _) = store::read(&folder.join("2026-03-04-farm-pickup.kept.yaml")).unwrap();
    assert_eq!(kept.answers.len(), 2);
    assert_eq!(sitting.store.names().unwrap(), ["2026-03-04-farm-pickup"], "what was kept beside is no case");
}

#[test]
fn a_second_case_of_the_day_gets_a_name_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let store = CaseStore::new(folder.path().to_owned());
    for name in ["2026-03-04-farm-pickup", "2026-03-04-farm-pickup-2"] {
        let mut keeper = Keeper::new(store.clone());
        keeper.keep(&case(&[("grinding", "yes")]), noon()).unwrap();
        assert_eq!(keeper.name(), Some(name));
    }
}
