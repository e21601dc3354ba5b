//! Single YAML documents beside the rule book: cases and shop files, read and written whole.

use std::fs;
use std::io::{self, Read};
use std::path::Path;

use serde::Serialize;
use serde::de::DeserializeOwned;

pub use super::gate::LARGEST_FILE;
use super::gate::{read_gated, text_of};
use super::{Faults, FileKind, Layer, Source, yaml};

/// The bytes of a plain file, and not many more than `most`: a pipe may never end, and a device has no length.
pub fn bytes_of(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    if !fs::metadata(path)?.is_file() {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "it is not a plain file"));
    }
    let mut bytes = Vec::new();
    fs::File::open(path)?.take(most + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Reads one document of a known type. The error says where it stopped and what was expected.
///
/// The text passes the same gate as a rule file: at most 4 MiB, UTF-8, no control characters, aliases, tags or deep
/// nesting, no key twice.
pub fn read<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, String> {
    if bytes.len() as u64 > LARGEST_FILE {
        return Err("it is larger than 4 MiB".to_owned());
    }
    let (text, trouble) = text_of(bytes.to_vec());
    let (reading, list) = read_gated(0, &text, trouble.as_ref());
    if let (Some(reading), true) = (reading, list.is_empty()) {
        return serde_path_to_error::deserialize(&reading.value).map_err(|error| {
            let path = error.path().to_string();
            let inner = error.into_inner();
            if path == "." { inner.to_string() } else { format!("at `{path}`: {inner}") }
        });
    }
    let source = Source {
        layer: 0,
        path: String::new(),
        kind: FileKind::Job,
        text: text.into(),
        json: "",
        trouble: None,
    };
    let layers = vec![Layer { name: String::new(), shipped: false }];
    Err(said(&Faults { list, sources: vec![source], layers }))
}

/// The first fault in one sentence.
fn said(faults: &Faults) -> String {
    let reports = faults.reports();
    let Some(first) = reports.first() else { return String::new() };
    let at = first
        .place
        .as_ref()
        .and_then(|place| Some(format!("line {}, column {}: ", place.line?, place.column?)));
    let help = first.help.first().map(|help| format!("; {help}")).unwrap_or_default();
    format!("{}{}{help}", at.unwrap_or_default(), first.message)
}

/// Writes one document.
pub fn write<T: Serialize>(value: &T) -> Result<String, String> {
    yaml::write(value)
}
