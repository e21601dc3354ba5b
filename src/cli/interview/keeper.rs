//! Keeps the case on the disk while the interview runs.

use jiff::Timestamp;

use crate::case::merge::merged;
use crate::case::store::{self, CaseFile};
use crate::case::{Case, CaseStore, StoreError};

/// Longest part of a vehicle's name that goes into the name of its case.
const LONGEST: usize = 30;

/// The file of one interview.
pub struct Keeper {
    store: CaseStore,
    file: Option<CaseFile>,
    name: Option<String>,
    /// What is on the disk, as far as this interview knows.
    kept: Option<Case>,
}

/// What saving found.
#[derive(Debug)]
pub enum Kept {
    /// The case is on the disk.
    Safe,
    /// Somebody else wrote to it meanwhile; ours is in a file beside it.
    Clash {
        /// The sentence that says so, with both files.
        said: String,
    },
}

impl Keeper {
    /// A keeper for a case that has no file yet; it gets one with the first thing that is said.
    pub fn new(store: CaseStore) -> Self {
        Self { store, file: None, name: None, kept: None }
    }

    /// A keeper for a case that was read from a file.
    pub fn resumed(store: CaseStore, name: &str, case: &Case, file: CaseFile) -> Self {
        Self { store, file: Some(file), name: Some(name.to_owned()), kept: Some(case.clone()) }
    }

    /// The name by which other commands find the case; `None` while nothing is kept.
    pub fn name(&self) -> Option<&str> {
        self.name.as_deref()
    }

    /// Keeps the case if anything in it changed.
    pub fn keep(&mut self, case: &Case, now: Timestamp) -> Result<Kept, StoreError> {
        let untouched = match &self.kept {
            Some(kept) => kept == case,
            None => *case == (Case { opened: case.opened.clone(), format: case.format, ..Case::default() }),
        };
        if untouched {
            return Ok(Kept::Safe);
        }
        let Some(file) = &mut self.file else { return self.keep_new(case, now) };
        match file.save(case) {
            Ok(()) => {
                self.kept = Some(case.clone());
                Ok(Kept::Safe)
            }
            Err(error @ StoreError::ChangedMeanwhile { .. }) => Ok(Kept::Clash { said: error.to_string() }),
            Err(error) => Err(error),
        }
    }

    fn keep_new(&mut self, case: &Case, now: Timestamp) -> Result<Kept, StoreError> {
        loop {
            let name = self.store.free_name(&stem(case, now));
            let mut file = CaseFile::new(self.store.path_of(&name)?);
            match file.save(case) {
                Ok(()) => {
                    self.file = Some(file);
                    self.name = Some(name);
                    self.kept = Some(case.clone());
                    return Ok(Kept::Safe);
                }
                // Another terminal took the name a moment ago. Nothing of ours was ever in that file.
                Err(StoreError::ChangedMeanwhile { kept, .. }) => {
                    let _ = std::fs::remove_file(kept);
                }
                Err(error) => return Err(error),
            }
        }
    }

    /// Takes what is on the disk as read, and gives both states put together, with the questions that were
    /// answered differently.
    pub fn put_together(&mut self, ours: &Case) -> Result<(Case, Vec<String>), StoreError> {
        let theirs = self.take_theirs()?;
        Ok(merged(ours, &theirs))
    }

    /// Takes what is on the disk as read.
    pub fn take_theirs(&mut self) -> Result<Case, StoreError> {
        let Some(file) = &self.file else { return Ok(Case::default()) };
        let (theirs, file) = store::read(file.path())?;
        self.file = Some(file);
        self.kept = Some(theirs.clone());
        Ok(theirs)
    }
}

/// What a case is called: the day and the vehicle.
fn stem(case: &Case, now: Timestamp) -> String {
    let day = now.strftime("%Y-%m-%d").to_string();
    let vehicle = case.vehicle.name.as_deref().unwrap_or("vehicle").to_lowercase();
    let words: Vec<&str> = vehicle
        .split(|c: char| !c.is_ascii_alphanumeric())
        .filter(|word| !word.is_empty() && *word != "the")
        .collect();
    let mut name = words.join("-");
    name.truncate(LONGEST);
    format!("{day}-{}", name.trim_matches('-'))
}
