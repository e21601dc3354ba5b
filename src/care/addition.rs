//! What is to be added to the user's own rules, and what it would do there before a file is written.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Map, Value};

use super::insert::insert;
use super::journal::{Edit, JournalError, present};
use super::yaml_text::block;
use crate::rulebook::edit::RuleText;
use crate::rulebook::entries::{BookFile, Entries, KnownCase};
use crate::rulebook::{Faults, Route, RuleBook, documents};

/// The file of the user's rule folder that additions go into.
const OWN_FILE: &str = "own.yaml";

/// How a new file of the user's rules starts.
const HEAD: &str = "# Rules of this workshop, laid over the built-in book. Yours to edit: `weephole rules add` only puts whole\n\
     # entries in, and `weephole rules undo` takes the last ones out again.\n";

/// Largest file that `rules add --from` reads, in bytes.
pub const LARGEST: usize = 256 * 1024;

/// Entries for a rule file, and known cases that go with them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Addition {
    /// What is added, in a few words.
    pub what: String,
    /// The entries, as a rule file.
    pub text: String,
    /// Known cases: name and text.
    pub cases: Vec<(String, String)>,
}

impl Addition {
    /// An addition of these entries. `remark` stands above each of them.
    pub fn of_entries(what: String, file: &BookFile, cases: &Entries<KnownCase>, remark: &str) -> Self {
        let mut text = String::new();
        let mut section = |name: &str, value: Value| {
            let Value::Object(entries) = value else { return };
            if entries.is_empty() {
                return;
            }
            text.push_str(&format!("{name}:\n"));
            for (id, entry) in entries {
                text.push_str(&format!("  # {remark}\n"));
                text.push_str(&block(&Map::from_iter([(id, entry)]), 2));
            }
        };
        // These types hold nothing that JSON cannot.
        let value = |result: Result<Value, serde_json::Error>| result.unwrap_or_default();
        section("parts", value(serde_json::to_value(&file.parts)));
        section("failures", value(serde_json::to_value(&file.failures)));
        section("symptoms", value(serde_json::to_value(&file.symptoms)));
        section("checks", value(serde_json::to_value(&file.checks)));
        section("change", value(serde_json::to_value(&file.change)));
        let cases = cases
            .iter()
            .filter_map(|(name, case)| match serde_json::to_value(case) {
                Ok(Value::Object(map)) => Some((name.clone(), format!("# {remark}\n{}", block(&map, 0)))),
                _ => None,
            })
            .collect();
        Self { what, text, cases }
    }

    /// An addition from the text of a rule file. The entries are taken over as they are written, with their comments.
    pub fn from_file(name: &str, bytes: &[u8]) -> Result<Self, String> {
        if bytes.len() > LARGEST {
            return Err(format!("it is {} bytes long; at most {LARGEST} are added at once", bytes.len()));
        }
        let file: BookFile = documents::read(bytes)?;
        let value = serde_json::to_value(&file).map_err(|error| error.to_string())?;
        let mut told = Vec::new();
        // A title is no rule: a file with nothing else adds nothing.
        for (section, entries) in value.as_object().into_iter().flatten().filter(|(name, _)| *name != "book")
        {
            let ids: Vec<String> = match entries {
                Value::Object(map) => map.keys().map(|id| format!("`{id}`")).collect(),
                Value::Array(list) => {
                    list.iter().map(|id| format!("`{}`", id.as_str().unwrap_or("?"))).collect()
                }
                _ => continue,
            };
            if !ids.is_empty() {
                told.push(format!("{section} {}", ids.join(", ")));
            }
        }
        if told.is_empty() {
            return Err("it adds nothing: it has no failures, symptoms, checks or changes".to_owned());
        }
        let text = String::from_utf8_lossy(bytes).into_owned();
        Ok(Self { what: format!("{} from {name}", told.join("; ")), text, cases: Vec::new() })
    }

    /// The edits that put this into the user's rule folder, as its files are now.
    pub fn edits(&self, own: &Path) -> Result<Vec<Edit>, JournalError> {
        let mut edits = Vec::new();
        if !self.text.is_empty() {
            edits.push(self.entry_edit(own)?);
        }
        for (name, text) in &self.cases {
            let path = free(&own.join("cases"), name)?;
            edits.push(Edit { path, before: None, after: Some(text.clone()) });
        }
        Ok(edits)
    }

    /// The entries go into the usual file; where they do not fit in, into a new one beside it.
    fn entry_edit(&self, own: &Path) -> Result<Edit, JournalError> {
        let path = own.join(OWN_FILE);
        let before = present(&path)?;
        let after = match &before {
            None => Some(format!("{HEAD}\n{}", self.text)),
            Some(text) => insert(text, &self.text).or_else(|| graft(text, &self.text)),
        };
        if let Some(after) = after {
            return Ok(Edit { path, before, after: Some(after) });
        }
        let path = free(own, "own")?;
        Ok(Edit { path, before: None, after: Some(format!("{HEAD}\n{}", self.text)) })
    }
}

/// Puts into entries that stand in `text` already what `addition` says about them beyond that: a further sign under
/// `change`. `None` if anything stands there already.
fn graft(text: &str, addition: &str) -> Option<String> {
    let mut file = RuleText::new(text).ok()?;
    let more = RuleText::new(addition).ok()?;
    for (section, entries) in more.value().as_object()? {
        for (id, entry) in entries.as_object()? {
            let place = Route::of(&[section, id]);
            if file.get(&place).is_none() {
                file.add(&Route::of(&[section]), id, entry).ok()?;
            } else if section == "change" {
                graft_change(&mut file, &place, entry.as_object()?)?;
            } else {
                return None;
            }
        }
    }
    Some(file.text().to_owned())
}

fn graft_change(file: &mut RuleText, place: &Route, change: &Map<String, Value>) -> Option<()> {
    for (key, value) in change {
        let inner = place.then(key);
        match (file.get(&inner), value) {
            (None, value) => file.add(place, key, value).ok()?,
            (Some(there), value) if there == value => {}
            (Some(Value::Object(_)), Value::Object(links)) => {
                for (other, weight) in links {
                    file.add(&inner, other, weight).ok()?;
                }
            }
            // Why it was changed is said for the first time only: the entry's remark tells the rest.
            (Some(Value::String(_)), Value::String(_)) if key == "source" => {}
            _ => return None,
        }
    }
    Some(())
}

/// A file name in `folder` that is not taken: `stem.yaml`, `stem-2.yaml`, ...
fn free(folder: &Path, stem: &str) -> Result<PathBuf, JournalError> {
    for number in 1..10_000 {
        let name = if number == 1 { format!("{stem}.yaml") } else { format!("{stem}-{number}.yaml") };
        let path = folder.join(name);
        if present(&path)?.is_none() {
            return Ok(path);
        }
    }
    Ok(folder.join(format!("{stem}.yaml")))
}

/// The book as it would be with the edits made: the user's folder is copied aside, edited there, and loaded in its
/// place. Nothing of the folder itself is touched. Faults name the real folder.
pub fn stage(
    layers: &[PathBuf],
    own: &Path,
    edits: &[Edit],
) -> Result<Result<RuleBook, Faults>, std::io::Error> {
    let aside = tempfile::tempdir()?;
    if own.is_dir() {
        copy_rules(own, aside.path())?;
    }
    for edit in edits {
        let Ok(below) = edit.path.strip_prefix(own) else { continue };
        let path = aside.path().join(below);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)?;
        }
        match &edit.after {
            Some(text) => fs::write(&path, text)?,
            None => fs::remove_file(&path)?,
        }
    }
    let mut staged: Vec<PathBuf> = layers.to_vec();
    match staged.iter_mut().find(|layer| layer.as_path() == own) {
        Some(layer) => aside.path().clone_into(layer),
        None => staged.insert(0, aside.path().to_owned()),
    }
    let (real, temporary) = (own.display().to_string(), aside.path().display().to_string());
    let name_back = |name: &mut String| *name = name.replace(&temporary, &real);
    Ok(match RuleBook::load(&staged) {
        Ok(mut book) => {
            book.layers.iter_mut().for_each(|layer| name_back(&mut layer.name));
            book.laid_over.iter_mut().for_each(name_back);
            Ok(book)
        }
        Err(mut faults) => {
            faults.layers.iter_mut().for_each(|layer| name_back(&mut layer.name));
            faults.list.iter_mut().for_each(|fault| name_back(&mut fault.message));
            Err(faults)
        }
    })
}

fn copy_rules(from: &Path, to: &Path) -> std::io::Result<()> {
    for entry in fs::read_dir(from)? {
        let entry = entry?;
        let path = entry.path();
        if entry.file_type()?.is_dir() {
            let below = to.join(entry.file_name());
            fs::create_dir_all(&below)?;
            copy_rules(&path, &below)?;
        } else if path.extension().is_some_and(|ext| ext == "yaml" || ext == "yml") {
            fs::copy(&path, to.join(entry.file_name()))?;
        }
    }
    Ok(())
}
