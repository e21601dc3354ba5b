//! The rule book that is compiled into the program.

/// One file of the shipped book.
pub(super) struct ShippedFile {
    /// Its path below `rules/`, with `/` between folders.
    pub path: &'static str,
    /// Its text, as written.
    pub yaml: &'static str,
    /// The same content as JSON, made when the program was built; empty if the text is not YAML.
    pub json: &'static str,
}

/// Every file of the shipped book, sorted by path.
pub(super) const FILES: &[ShippedFile] = include!(concat!(env!("OUT_DIR"), "/shipped.rs"));
