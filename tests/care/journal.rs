//! The user's rule folder: all files or none, never over somebody else's work, with a way back.

use std::fs;
use std::path::Path;

use weephole::care::journal::{Edit, Journal, JournalError, Step};

fn step(edits: Vec<Edit>) -> Step {
    Step { what: "added a test".to_owned(), when: "2026-01-01T00:00:00Z".to_owned(), edits }
}

fn edit(path: &Path, before: Option<&str>, after: Option<&str>) -> Edit {
    Edit { path: path.to_owned(), before: before.map(str::to_owned), after: after.map(str::to_owned) }
}

fn now(path: &Path) -> Option<String> {
    fs::read_to_string(path).ok()
}

#[test]
fn steps_are_undone_last_first() {
    let home = tempfile::tempdir().unwrap();
    let journal = Journal::new(home.path().join("journal"));
    let (own, case) = (home.path().join("rules/own.yaml"), home.path().join("rules/cases/c.yaml"));
    journal.carry_out(&step(vec![edit(&own, None, Some("one")), edit(&case, None, Some("case"))])).unwrap();
    journal.carry_out(&step(vec![edit(&own, Some("one"), Some("two"))])).unwrap();
    assert_eq!(now(&own).as_deref(), Some("two"));
    journal.undo().unwrap();
    assert_eq!(now(&own).as_deref(), Some("one"));
    journal.undo().unwrap();
    assert_eq!((now(&own), now(&case)), (None, None));
    assert!(matches!(journal.undo(), Err(JournalError::NothingToUndo)));
}

#[test]
fn what_somebody_else_wrote_is_never_lost() {
    let home = tempfile::tempdir().unwrap();
    let journal = Journal::new(home.path().join("journal"));
    let own = home.path().join("own.yaml");
    fs::write(&own, "theirs").unwrap();
    let error = journal.carry_out(&step(vec![edit(&own, None, Some("ours"))])).unwrap_err();
    assert!(matches!(error, JournalError::ChangedMeanwhile(_)), "{error}");
    assert_eq!(now(&own).as_deref(), Some("theirs"));

    journal.carry_out(&step(vec![edit(&own, Some("theirs"), Some("ours"))])).unwrap();
    fs::write(&own, "ours, and edited by hand").unwrap();
    let error = journal.undo().unwrap_err();
    assert!(matches!(error, JournalError::EditedSince(_)), "{error}");
    assert_eq!(now(&own).as_deref(), Some("ours, and edited by hand"));
}

#[test]
fn a_write_that_fails_halfway_leaves_everything_as_it_was() {
    let home = tempfile::tempdir().unwrap();
    let journal = Journal::new(home.path().join("journal"));
    let own = home.path().join("own.yaml");
    fs::write(&own, "before").unwrap();
    // A file where a folder is needed: the second write cannot succeed, whoever runs the test.
    fs::write(home.path().join("blocked"), "").unwrap();
    let second = home.path().join("blocked/case.yaml");
    let wanted = step(vec![edit(&own, Some("before"), Some("after")), edit(&second, None, Some("case"))]);
    // The path cannot even be looked at on some systems; either way nothing may change.
    let error = journal.carry_out(&wanted).unwrap_err();
    assert!(error.to_string().contains("nothing was changed"), "{error}");
    assert_eq!(now(&own).as_deref(), Some("before"));
    assert!(matches!(journal.undo(), Err(JournalError::NothingToUndo)), "no note stays behind");
}

#[test]
fn a_step_cut_short_by_a_crash_is_undone_as_far_as_it_got() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("journal");
    let journal = Journal::new(folder.clone());
    let (one, two) = (home.path().join("one.yaml"), home.path().join("two.yaml"));
    fs::write(&one, "1").unwrap();
    fs::write(&two, "2").unwrap();
    journal
        .carry_out(&step(vec![edit(&one, Some("1"), Some("1b")), edit(&two, Some("2"), Some("2b"))]))
        .unwrap();
    // As if the power had gone between the two writes.
    fs::write(&two, "2").unwrap();
    journal.undo().unwrap();
    assert_eq!((now(&one).as_deref(), now(&two).as_deref()), (Some("1"), Some("2")));
}

#[test]
fn two_writers_at_once_never_mix() {
    let home = tempfile::tempdir().unwrap();
    let own = home.path().join("own.yaml");
    let folder = home.path().join("journal");
    fs::write(&own, "0").unwrap();
    let done: usize = std::thread::scope(|scope| {
        let writers: Vec<_> = (0..2)
            .map(|writer| {
                let (own, journal) = (own.clone(), Journal::new(folder.clone()));
                scope.spawn(move || {
                    (0..10)
                        .filter(|round| {
                            let before = fs::read_to_string(&own).unwrap();
                            let after = format!("{before}\n{writer}.{round}");
                            journal.carry_out(&step(vec![edit(&own, Some(&before), Some(&after))])).is_ok()
                        })
                        .count()
                })
            })
            .collect();
        writers.into_iter().map(|writer| writer.join().unwrap()).sum()
    });
    // Every step that was reported done is there, once, and none that was refused.
    assert_eq!(fs::read_to_string(&own).unwrap().lines().count(), done + 1);
    assert!(done >= 10, "at least one of the two gets through each time: {done}");
}
