//! The folder of cases. Every save is whole or not at all: a temporary file in the same folder, flushed to
//! the disk, then renamed over the old one. A pulled plug loses nothing that was answered.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::file::{Case, FORMAT};
use crate::rulebook::documents;

/// Largest case file that is read, in bytes.
const LARGEST: u64 = 1024 * 1024;

/// Why a case could not be read or kept.
#[derive(Debug, Error)]
pub enum StoreError {
    /// The file system said no.
    #[error("cannot {doing} `{}`: {source}", path.display())]
    Io {
        /// What was tried.
        doing: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// It is not a case.
    #[error("`{}` is not a case: {why}", path.display())]
    NotACase {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// Somebody else wrote to it meanwhile; nothing was overwritten.
    #[error(
        "`{}` was changed by somebody else since it was read; your answers were kept in `{}`. Look at both, then go on with one of them",
        path.display(),
        kept.display()
    )]
    ChangedMeanwhile {
        /// The case file.
        path: PathBuf,
        /// Where our own answers were kept instead.
        kept: PathBuf,
    },
    /// The name cannot be a file in the case folder.
    #[error("`{0}` cannot be the name of a case; use letters, digits and dashes, at most 80")]
    BadName(String),
}

/// One case file that is being worked on.
#[derive(Debug, Clone)]
pub struct CaseFile {
    path: PathBuf,
    /// The bytes last read or written, to notice another writer; `None` while the file is new.
    seen: Option<Vec<u8>>,
}

/// The folder of cases.
#[derive(Debug, Clone)]
pub struct CaseStore {
    folder: PathBuf,
}

impl CaseStore {
    /// A store in `folder`; the folder is made when the first case is written.
    pub fn new(folder: PathBuf) -> Self {
        Self { folder }
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The file of a case by its name. A name never leads out of the folder.
    pub fn path_of(&self, name: &str) -> Result<PathBuf, StoreError> {
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
        let stem = name.strip_suffix(".yaml").unwrap_or(name);
        if stem.is_empty() || stem.len() > 80 || !stem.chars().all(plain) {
            return Err(StoreError::BadName(name.chars().take(80).collect()));
        }
        Ok(self.folder.join(format!("{stem}.yaml")))
    }

    /// A name that no case has yet, made from `stem`: `stem`, `stem-2`, `stem-3`.
    pub fn free_name(&self, stem: &str) -> String {
        (1..100_000)
            .map(|n| if n == 1 { stem.to_owned() } else { format!("{stem}-{n}") })
            .find(|name| !self.folder.join(format!("{name}.yaml")).exists())
            .unwrap_or_else(|| stem.to_owned())
    }

    /// Names of all cases, in order.
    pub fn names(&self) -> Result<Vec<String>, StoreError> {
        let entries = match fs::read_dir(&self.folder) {
            Ok(entries) => entries,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(source) => {
                return Err(StoreError::Io { doing: "list", path: self.folder.clone(), source });
            }
        };
        let mut names: Vec<String> = entries
            .filter_map(Result::ok)
            .map(|entry| entry.path())
            .filter(|path| path.extension().is_some_and(|ext| ext == "yaml"))
            .filter_map(|path| path.file_stem()?.to_str().map(str::to_owned))
            .filter(|name| !name.contains('.'))
            .collect();
        names.sort();
        Ok(names)
    }

    /// Finds a case: a path to a file, or the name of one in the folder.
    pub fn find(&self, name_or_path: &str) -> Result<PathBuf, StoreError> {
        let path = PathBuf::from(name_or_path);
        if path.exists() || name_or_path.contains(['/', '\\']) {
            return Ok(path);
        }
        self.path_of(name_or_path)
    }
}

/// Reads a case file.
pub fn read(path: &Path) -> Result<(Case, CaseFile), StoreError> {
    let io = |source| StoreError::Io { doing: "read", path: path.to_owned(), source };
    let length = fs::metadata(path).map_err(io)?.len();
    let not_a_case = |why: String| StoreError::NotACase { path: path.to_owned(), why };
    if length > LARGEST {
        return Err(not_a_case(format!("it is {length} bytes long; a case has at most {LARGEST}")));
    }
    let bytes = documents::bytes_of(path, LARGEST).map_err(io)?;
    let case: Case = documents::read(&bytes).map_err(not_a_case)?;
    if case.format > FORMAT {
        return Err(not_a_case(format!(
            "it is of format {}, and this program knows formats up to {FORMAT}; use a newer one",
            case.format
        )));
    }
    Ok((case, CaseFile { path: path.to_owned(), seen: Some(bytes) }))
}

impl CaseFile {
    /// A case file that does not exist yet.
    pub fn new(path: PathBuf) -> Self {
        Self { path, seen: None }
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether somebody else wrote to it since we last read or wrote it.
    pub fn changed_meanwhile(&self) -> bool {
        match (fs::read(&self.path), &self.seen) {
            (Ok(now), Some(seen)) => &now != seen,
            (Ok(_), None) => true,
            (Err(_), _) => false,
        }
    }

    /// A file beside the case that does not exist yet: what was kept before stays.
    fn free_kept(&self) -> PathBuf {
        let named = |n: u32| match n {
            1 => self.path.with_extension("kept.yaml"),
            n => self.path.with_extension(format!("kept-{n}.yaml")),
        };
        (1..100_000).map(named).find(|path| !path.exists()).unwrap_or_else(|| named(1))
    }

    /// Keeps the case: whole or not at all. If somebody else wrote to the file since, nothing is
    /// overwritten; our own answers go to a file beside it, which the error names.
    pub fn save(&mut self, case: &Case) -> Result<(), StoreError> {
        let text =
            documents::write(case).map_err(|why| StoreError::NotACase { path: self.path.clone(), why })?;
        let folder = self.path.parent().filter(|folder| !folder.as_os_str().is_empty());
        let folder = folder.unwrap_or(Path::new("."));
        let io = |doing, path: &Path| {
            let path = path.to_owned();
            move |source| StoreError::Io { doing, path, source }
        };
        fs::create_dir_all(folder).map_err(io("make the folder", folder))?;
        // Held over compare and rename, so that two terminals cannot both find the file unchanged.
        let lock_path = folder.join(".lock");
        let lock = fs::File::create(&lock_path).map_err(io("write", &lock_path))?;
        lock.lock().map_err(io("lock", &lock_path))?;
        if self.changed_meanwhile() {
            let kept = self.free_kept();
            write_whole(folder, &kept, text.as_bytes()).map_err(io("write", &kept))?;
            return Err(StoreError::ChangedMeanwhile { path: self.path.clone(), kept });
        }
        write_whole(folder, &self.path, text.as_bytes()).map_err(io("write", &self.path))?;
        self.seen = Some(text.into_bytes());
        Ok(())
    }
}

/// Writes a file whole or not at all: temporary file in the same folder, flush to disk, rename, flush the
/// folder so that the rename itself is on the disk.
pub fn write_whole(folder: &Path, path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut temporary = tempfile::Builder::new().prefix(".writing-").tempfile_in(folder)?;
    temporary.write_all(bytes)?;
    temporary.as_file().sync_all()?;
    temporary.persist(path).map_err(|error| error.error)?;
    #[cfg(unix)]
    fs::File::open(folder)?.sync_all()?;
    Ok(())
}
