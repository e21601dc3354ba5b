//! Tightening torque by size and grade, for when the maker's figure cannot be found: a band, never a value.
//!
//! The middle of each band is a published table on the basis of SAE J1701 for dry steel threads; published tables
//! differ by 10 to 40 %, hence 20 % either way. Oil or thread paste on a bolt takes about a quarter off what it
//! needs (common practice, no source).

/// What a bolt goes into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Into {
    /// Steel or cast iron.
    Iron,
    /// Cast aluminium.
    Aluminium,
}

/// A row of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fastener {
    /// Thread size: `M8`, `5/16 in`.
    pub size: &'static str,
    /// Strength grade: `8.8`, `grade 5`.
    pub grade: &'static str,
    /// What it goes into.
    pub into: Into,
    /// The printed torque, N·m.
    pub newton_metres: f64,
}

const fn row(size: &'static str, grade: &'static str, into: Into, newton_metres: f64) -> Fastener {
    Fastener { size, grade, into, newton_metres }
}

/// Every row that was read.
pub const TABLE: [Fastener; 13] = [
    row("1/4 in", "grade 5", Into::Iron, 13.0),
    row("1/4 in", "grade 8", Into::Iron, 18.0),
    row("5/16 in", "grade 5", Into::Iron, 26.0),
    row("5/16 in", "grade 8", Into::Iron, 37.0),
    row("3/8 in", "grade 5", Into::Iron, 47.0),
    row("3/8 in", "grade 8", Into::Iron, 67.0),
    row("M6", "8.8", Into::Iron, 8.0),
    row("M8", "8.8", Into::Iron, 20.0),
    row("M10", "8.8", Into::Iron, 39.0),
    row("M12", "8.8", Into::Iron, 68.0),
    row("M6", "8.8", Into::Aluminium, 9.0),
    row("M8", "8.8", Into::Aluminium, 20.0),
    row("M10", "8.8", Into::Aluminium, 40.0),
];

/// How far published tables are taken to differ from the middle.
pub const SPREAD: f64 = 0.20;

impl Fastener {
    /// Lower and upper end of the band, N·m.
    pub fn band(self) -> (f64, f64) {
        (self.newton_metres * (1.0 - SPREAD), self.newton_metres * (1.0 + SPREAD))
    }
}

/// The row for a size and grade as people write them (`m8`, `5/16`, `8.8`, `5`), or `None`.
pub fn find(size: &str, grade: &str, into: Into) -> Option<Fastener> {
    let key = |text: &str| -> String {
        let text: String =
            text.to_ascii_lowercase().chars().filter(|c| !c.is_whitespace() && *c != '"').collect();
        text.trim_start_matches("grade").trim_end_matches("in").trim_end_matches("inch").to_owned()
    };
    let (size, grade) = (key(size), key(grade));
    TABLE.into_iter().find(|row| key(row.size) == size && key(row.grade) == grade && row.into == into)
}
