//! `weephole trial` and shop files through the program, as far as no interview has to run.

use assert_cmd::Command;

fn weephole(words: &[&str]) -> (i32, String) {
    let home = tempfile::tempdir().unwrap();
    let output = Command::cargo_bin("weephole")
        .unwrap()
        .args(words)
        .env("WEEPHOLE_HOME", home.path())
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    assert!(output.stdout.is_empty(), "{}", String::from_utf8_lossy(&output.stdout));
    (output.status.code().unwrap(), String::from_utf8(output.stderr).unwrap())
}

#[test]
fn a_rate_above_one_is_refused() {
    let (code, said) = weephole(&["trial", "--wrong", "2"]);
    assert_eq!(code, 2);
    assert!(said.contains("a rate is a number from 0 to 1"), "{said}");
}

#[test]
fn a_complaint_the_book_does_not_know_is_refused() {
    let (code, said) = weephole(&["trial", "--runs", "1", "--complaint", "sings"]);
    assert_eq!(code, 2);
    assert!(said.contains("`sings` is no symptom that this vehicle can have"), "{said}");
}

#[test]
fn every_fault_of_a_shop_file_is_named_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.yaml");
    let text = "labour-rate: -5\nslips: {told: 2}\nparts: {water-pomp: [90, 20]}\nlacks: [pressure-testar]\n";
    std::fs::write(&path, text).unwrap();
    let (code, said) = weephole(&["trial", "--runs", "1", "--shop", path.to_str().unwrap()]);
    assert_eq!(code, 2);
    for part in [
        "`labour-rate` is -5",
        "`slips: told` is 2",
        "did you mean `water-pump`?",
        "low price first",
        "did you mean `pressure-tester`?",
    ] {
        assert!(said.contains(part), "{part} is missing in: {said}");
    }
}

#[test]
fn a_shop_file_with_an_unknown_key_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.yaml");
    std::fs::write(&path, "labor-rate: 50\n").unwrap();
    let (code, said) = weephole(&["trial", "--runs", "1", "--shop", path.to_str().unwrap()]);
    assert_eq!(code, 2);
    assert!(said.contains("unknown field `labor-rate`"), "{said}");
}
