//! Single YAML documents beside the rule book: cases and shop files, read and written whole.

use serde::Serialize;
use serde::de::DeserializeOwned;

/// Reads one document of a known type. The error says where it stopped and what was expected.
pub fn read<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, String> {
    let text = std::str::from_utf8(bytes)
        .map_err(|error| format!("byte {} is not UTF-8; save it as UTF-8 text", error.valid_up_to() + 1))?;
    let reader = serde_yaml::Deserializer::from_str(text);
    serde_path_to_error::deserialize(reader).map_err(|error| {
        let path = error.path().to_string();
        let inner = error.into_inner();
        if path == "." { inner.to_string() } else { format!("at `{path}`: {inner}") }
    })
}

/// Writes one document.
pub fn write<T: Serialize>(value: &T) -> Result<String, String> {
    serde_yaml::to_string(value).map_err(|error| error.to_string())
}
