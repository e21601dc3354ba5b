//! The torque table.

use weephole::physics::torque::{Into, TABLE, find};

use super::near;

/// facts.md section 2: torque by size, N·m, SAE J1701 basis (published table).
#[test]
fn rows_of_the_published_table() {
    for (size, grade, into, newton_metres) in [
        ("1/4", "5", Into::Iron, 13.0),
        ("1/4 in", "grade 8", Into::Iron, 18.0),
        ("5/16", "5", Into::Iron, 26.0),
        ("5/16\"", "8", Into::Iron, 37.0),
        ("3/8", "5", Into::Iron, 47.0),
        ("3/8", "8", Into::Iron, 67.0),
        ("M6", "8.8", Into::Iron, 8.0),
        ("m8", "8.8", Into::Iron, 20.0),
        ("M10", "8.8", Into::Iron, 39.0),
        ("M12", "8.8", Into::Iron, 68.0),
        ("M6", "8.8", Into::Aluminium, 9.0),
        ("M8", "8.8", Into::Aluminium, 20.0),
        ("M10", "8.8", Into::Aluminium, 40.0),
    ] {
        let row = find(size, grade, into).unwrap_or_else(|| panic!("{size} {grade}"));
        near(size, row.newton_metres, newton_metres, 0.0);
        let (low, high) = row.band();
        assert!(low < newton_metres && newton_metres < high && high / low <= 1.5 + 1e-12);
    }
    assert_eq!(find("M7", "8.8", Into::Iron), None);
    assert_eq!(find("M12", "8.8", Into::Aluminium), None);
}

/// Within a grade a bigger thread takes more.
#[test]
fn bigger_threads_take_more() {
    for pair in TABLE.windows(2) {
        let same = pair[0].grade == pair[1].grade && pair[0].into == pair[1].into;
        assert!(!same || pair[0].newton_metres < pair[1].newton_metres);
    }
}
