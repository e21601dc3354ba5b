//! `--out F`: a file written whole or not at all.

use std::path::Path;

use super::CliError;
use crate::case::store::write_whole;

/// Refuses a target that cannot be written, before any work is done for it.
pub fn check(path: &Path) -> Result<(), CliError> {
    let shown = path.display();
    if path.is_dir() {
        return Err(CliError::Misuse(format!("`{shown}` is a folder; name a file")));
    }
    if path.file_name().is_none() {
        return Err(CliError::Misuse(format!("`{shown}` is not the name of a file")));
    }
    if path.exists() && !path.is_file() {
        return Err(CliError::Misuse(format!("`{shown}` is not a plain file; name another")));
    }
    let folder = folder_of(path);
    if !folder.is_dir() {
        return Err(CliError::Misuse(format!("there is no folder `{}`; make it first", folder.display())));
    }
    Ok(())
}

/// Writes `bytes` to `path`, over an older file of that name; refuses what [`check`] refuses.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), CliError> {
    check(path)?;
    write_whole(folder_of(path), path, bytes)
        .map_err(|error| CliError::Misuse(format!("cannot write `{}`: {error}", path.display())))
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}
