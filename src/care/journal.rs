//! Changes to the user's own rule folder: all files or none, never over somebody else's work, and with a way back.
//!
//! Every step is noted in a journal beside the folder before a file is touched; undoing a step puts the files back
//! as they were, unless somebody changed them since. The journal is also what a crash leaves behind: whatever was
//! written by then is undone by the same means.

use std::fs;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::case::store::write_whole;

/// Steps kept; the oldest goes when there are more.
const KEPT: usize = 50;

/// Why the rule folder could not be changed. Nothing was, unless the message says otherwise.
#[derive(Debug, Error)]
pub enum JournalError {
    /// The file system said no.
    #[error("cannot {doing} `{}`: {source}; nothing was changed", path.display())]
    Io {
        /// What was tried.
        doing: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A write failed and so did putting the others back.
    #[error("cannot write `{}`: {source}; some files were written: `weephole rules undo` puts them back", path.display())]
    HalfDone {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// Somebody else changed a file meanwhile.
    #[error("`{}` was changed by somebody else meanwhile; nothing was written. Look at it, then try again", .0.display())]
    ChangedMeanwhile(PathBuf),
    /// A file was edited after the step that is to be undone.
    #[error(
        "`{}` was edited since; undoing would lose that. Nothing was changed: take out by hand what you do not want",
        .0.display()
    )]
    EditedSince(PathBuf),
    /// The journal is empty.
    #[error("there is nothing to undo")]
    NothingToUndo,
    /// A step in the journal cannot be read.
    #[error("the note `{}` cannot be read: {why}; delete it if you do not need it", path.display())]
    BadNote {
        /// The note.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },
}

/// One file before and after.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Edit {
    /// The file.
    pub path: PathBuf,
    /// Its text before; `None` if there was no file.
    pub before: Option<String>,
    /// Its text after; `None` if it goes.
    pub after: Option<String>,
}

/// Edits that belong together.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Step {
    /// What was done, in a sentence.
    pub what: String,
    /// When (RFC 3339).
    pub when: String,
    /// The files.
    pub edits: Vec<Edit>,
}

/// The journal of one user's rule folder.
#[derive(Debug, Clone)]
pub struct Journal {
    folder: PathBuf,
}

impl Journal {
    /// The journal kept in `folder`; the folder is made with the first step.
    pub fn new(folder: PathBuf) -> Self {
        Self { folder }
    }

    /// Carries out a step: all files or none.
    pub fn carry_out(&self, step: &Step) -> Result<(), JournalError> {
        make(&self.folder)?;
        let _lock = self.lock()?;
        for edit in &step.edits {
            if present(&edit.path)? != edit.before {
                return Err(JournalError::ChangedMeanwhile(edit.path.clone()));
            }
        }
        let notes = self.notes()?;
        let number = notes.last().map_or(1, |(number, _)| number + 1);
        let note = self.folder.join(format!("{number:06}.json"));
        let text = serde_json::to_string_pretty(step)
            .map_err(|error| JournalError::BadNote { path: note.clone(), why: error.to_string() })?;
        write_whole(&self.folder, &note, text.as_bytes()).map_err(io("write", &note))?;
        for (at, edit) in step.edits.iter().enumerate() {
            if let Err((path, source)) = put(&edit.path, edit.after.as_deref()) {
                let back =
                    step.edits[..at].iter().try_for_each(|done| put(&done.path, done.before.as_deref()));
                if back.is_err() {
                    return Err(JournalError::HalfDone { path, source });
                }
                let _ = fs::remove_file(&note);
                return Err(JournalError::Io { doing: "write", path, source });
            }
        }
        if notes.len() >= KEPT {
            // A journal one step too long does no harm.
            let _ = fs::remove_file(&notes[0].1);
        }
        Ok(())
    }

    /// The step that [`undo`](Self::undo) would undo.
    pub fn last(&self) -> Result<Step, JournalError> {
        let notes = self.notes()?;
        let (_, path) = notes.last().ok_or(JournalError::NothingToUndo)?;
        read_note(path)
    }

    /// Undoes the last step and says what it was. Files that somebody edited since are never overwritten.
    pub fn undo(&self) -> Result<Step, JournalError> {
        if !self.folder.is_dir() {
            return Err(JournalError::NothingToUndo);
        }
        let _lock = self.lock()?;
        let notes = self.notes()?;
        let (_, path) = notes.last().ok_or(JournalError::NothingToUndo)?;
        let step = read_note(path)?;
        for edit in &step.edits {
            let now = present(&edit.path)?;
            // A step that was cut short has files that are still as they were.
            if now != edit.after && now != edit.before {
                return Err(JournalError::EditedSince(edit.path.clone()));
            }
        }
        for edit in &step.edits {
            put(&edit.path, edit.before.as_deref())
                .map_err(|(path, source)| JournalError::HalfDone { path, source })?;
        }
        fs::remove_file(path).map_err(io("delete", path))?;
        Ok(step)
    }

    fn lock(&self) -> Result<fs::File, JournalError> {
        let path = self.folder.join(".lock");
        let lock = fs::File::create(&path).map_err(io("write", &path))?;
        lock.lock().map_err(io("lock", &path))?;
        Ok(lock)
    }

    /// The notes, oldest first.
    fn notes(&self) -> Result<Vec<(u32, PathBuf)>, JournalError> {
        let entries = match fs::read_dir(&self.folder) {
            Ok(entries) => entries,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(error) => return Err(io("list", &self.folder)(error)),
        };
        let mut notes: Vec<(u32, PathBuf)> = entries
            .filter_map(Result::ok)
            .map(|entry| entry.path())
            .filter(|path| path.extension().is_some_and(|ext| ext == "json"))
            .filter_map(|path| Some((path.file_stem()?.to_str()?.parse().ok()?, path)))
            .collect();
        notes.sort();
        Ok(notes)
    }
}

fn io<'a>(doing: &'static str, path: &'a Path) -> impl FnOnce(std::io::Error) -> JournalError + use<'a> {
    move |source| JournalError::Io { doing, path: path.to_owned(), source }
}

fn read_note(path: &Path) -> Result<Step, JournalError> {
    let text = fs::read_to_string(path).map_err(io("read", path))?;
    serde_json::from_str(&text)
        .map_err(|error| JournalError::BadNote { path: path.to_owned(), why: error.to_string() })
}

/// The text of a file; `None` if there is no file.
pub fn present(path: &Path) -> Result<Option<String>, JournalError> {
    match fs::read_to_string(path) {
        Ok(text) => Ok(Some(text)),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(io("read", path)(error)),
    }
}

fn make(folder: &Path) -> Result<(), JournalError> {
    fs::create_dir_all(folder).map_err(io("make the folder", folder))
}

/// Writes a file whole, or takes it away.
fn put(path: &Path, text: Option<&str>) -> Result<(), (PathBuf, std::io::Error)> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let done = match text {
        Some(text) => fs::create_dir_all(folder).and_then(|()| write_whole(folder, path, text.as_bytes())),
        None => match fs::remove_file(path) {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
            other => other,
        },
    };
    done.map_err(|error| (path.to_owned(), error))
}
