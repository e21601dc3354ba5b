//! The case folder: whole or not at all, nobody overwritten, names that stay inside.

use std::fs;

use weephole::case::store::{self, CaseFile};
use weephole::case::{Answer, Case, CaseStore, StoreError};
use weephole::rulebook::entries::Vehicle;

fn case_with(answers: &[(&str, &str)]) -> Case {
    let mut case = Case::open(Vehicle::default(), None);
    for (ask, answer) in answers {
        case.put(Answer::said(ask, answer));
    }
    case
}

#[test]
fn a_case_comes_back_as_it_was_kept() {
    let folder = tempfile::tempdir().unwrap();
    let store = CaseStore::new(folder.path().to_owned());
    let path = store.path_of("minibus").unwrap();
    let case = case_with(&[("grinding-noise", "yes"), ("belt-squeal", "no")]);
    CaseFile::new(path.clone()).save(&case).unwrap();
    assert_eq!(store::read(&path).unwrap().0, case);
    assert_eq!(store.names().unwrap(), ["minibus"]);
}

#[test]
fn a_second_writer_is_noticed_and_nothing_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("van.yaml");
    CaseFile::new(path.clone()).save(&case_with(&[("hot-at-idle", "yes")])).unwrap();
    let (mut ours, mut our_file) = store::read(&path).unwrap();
    let (mut theirs, mut their_file) = store::read(&path).unwrap();
    theirs.put(Answer::said("hot-at-speed", "no"));
    their_file.save(&theirs).unwrap();
    ours.put(Answer::said("belt-squeal", "yes"));
    let Err(StoreError::ChangedMeanwhile { kept, .. }) = our_file.save(&ours) else {
        panic!("the other writer was not noticed");
    };
    assert_eq!(store::read(&path).unwrap().0, theirs);
    assert_eq!(store::read(&kept).unwrap().0, ours);
}

#[test]
fn a_name_never_leads_out_of_the_folder() {
    let store = CaseStore::new("cases".into());
    for name in ["../etc", "a/b", "..", "", "a\u{0}b", "C:\\x", &"x".repeat(81)] {
        assert!(matches!(store.path_of(name), Err(StoreError::BadName(_))), "{name:?}");
    }
}

#[test]
fn what_is_no_case_is_refused_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("odd.yaml");
    for (text, wanted) in [
        ("answers: 3\n", "answers"),
        ("answer: []\n", "unknown field `answer`"),
        ("format: 99\n", "format 99"),
        ("\u{0}", "steers the terminal"),
    ] {
        fs::write(&path, text).unwrap();
        let error = store::read(&path).unwrap_err().to_string();
        assert!(error.contains(wanted), "{text:?}: {error}");
    }
    fs::write(&path, [0xff, 0xfe, 0x00]).unwrap();
    assert!(store::read(&path).unwrap_err().to_string().contains("UTF-8"));
}

#[test]
fn an_interrupted_write_leaves_the_old_case_whole() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pickup.yaml");
    let case = case_with(&[("low-coolant", "yes")]);
    CaseFile::new(path.clone()).save(&case).unwrap();
    // What a kill leaves behind: the temporary file, never renamed.
    fs::write(folder.path().join(".writing-abc"), "format: 1\nansw").unwrap();
    assert_eq!(store::read(&path).unwrap().0, case);
    assert_eq!(CaseStore::new(folder.path().to_owned()).names().unwrap(), ["pickup"]);
}
