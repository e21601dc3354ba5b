//! From files to a book.

use std::fs;
use std::path::{Path, PathBuf};

use super::codes::{CANNOT_READ, SYNTAX};
use super::entries::{BookFile, Job, KnownCase, Vehicle};
use super::layers::{Content, merge};
use super::{Fault, Faults, FileKind, Layer, RuleBook, Source, Spot, shipped};

impl RuleBook {
    /// The book compiled into the program. Its soundness is proved by the project's tests, so nothing is checked here.
    pub fn shipped() -> Self {
        let (layer, sources) = shipped_layer();
        let contents = sources.iter().map(from_json).collect();
        merge(vec![layer], sources, contents).0
    }

    /// The shipped book with folders of rules laid over it, the last on top. Fails with every fault found in one go.
    pub fn load(folders: &[PathBuf]) -> Result<Self, Faults> {
        if folders.is_empty() {
            return Ok(Self::shipped());
        }
        let (layer, mut sources) = shipped_layer();
        let mut contents: Vec<Content> = sources.iter().map(from_json).collect();
        let mut layers = vec![layer];
        let mut list = Vec::new();
        for folder in folders {
            let mut paths = Vec::new();
            if let Err(why) = gather(folder, "", &mut paths) {
                list.push(Fault::of_book(
                    &CANNOT_READ,
                    format!("cannot read the folder `{}`: {why}", folder.display()),
                ));
            }
            paths.sort();
            for path in paths {
                let number = sources.len();
                match fs::read_to_string(folder.join(&path)) {
                    Ok(text) => {
                        let kind = FileKind::of(&path);
                        sources.push(Source { layer: layers.len(), path, kind, text: text.into(), json: "" });
                        match from_yaml(&sources[number]) {
                            Ok(content) => contents.push(content),
                            Err(why) => {
                                contents.push(Content::Nothing);
                                list.push(Fault::at(&SYNTAX, Spot::file(number), why));
                            }
                        }
                    }
                    Err(why) => {
                        list.push(Fault::of_book(&CANNOT_READ, format!("cannot read `{path}`: {why}")))
                    }
                }
            }
            layers.push(Layer { name: folder.display().to_string(), shipped: false });
        }
        let (book, more) = merge(layers, sources, contents);
        list.extend(more);
        let faults = Faults { list, sources: book.sources.clone(), layers: book.layers.clone() };
        if faults.any_errors() { Err(faults) } else { Ok(book) }
    }
}

/// Collects the rule files below a folder, as paths with `/` between folders.
fn gather(folder: &Path, below: &str, paths: &mut Vec<String>) -> std::io::Result<()> {
    for entry in fs::read_dir(folder.join(below))? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        let path = if below.is_empty() { name } else { format!("{below}/{name}") };
        if entry.file_type()?.is_dir() {
            gather(folder, &path, paths)?;
        } else if Path::new(&path).extension().is_some_and(|e| e == "yaml" || e == "yml") {
            paths.push(path);
        }
    }
    Ok(())
}

fn from_yaml(source: &Source) -> Result<Content, String> {
    let text = source.text.as_ref();
    let said = |e: serde_yaml::Error| e.to_string();
    Ok(match source.kind {
        FileKind::Book => Content::Book(Box::new(serde_yaml::from_str(text).map_err(said)?)),
        FileKind::Vehicle => Content::Vehicle(Box::new(serde_yaml::from_str(text).map_err(said)?)),
        FileKind::Case => Content::Case(Box::new(serde_yaml::from_str(text).map_err(said)?)),
        FileKind::Job => Content::Job(Box::new(serde_yaml::from_str(text).map_err(said)?)),
    })
}

/// The shipped book as a layer and its files.
fn shipped_layer() -> (Layer, Vec<Source>) {
    let sources = shipped::FILES
        .iter()
        .map(|file| Source {
            layer: 0,
            path: file.path.to_owned(),
            kind: FileKind::of(file.path),
            text: file.yaml.into(),
            json: file.json,
        })
        .collect();
    (Layer { name: "rules".to_owned(), shipped: true }, sources)
}

/// What a compiled-in file holds; nothing if it is not as it should be, which the tests would have found.
fn from_json(source: &Source) -> Content {
    let json = source.json;
    match source.kind {
        FileKind::Book => serde_json::from_str::<BookFile>(json)
            .map_or(Content::Nothing, |file| Content::Book(Box::new(file))),
        FileKind::Vehicle => serde_json::from_str::<Vehicle>(json)
            .map_or(Content::Nothing, |file| Content::Vehicle(Box::new(file))),
        FileKind::Case => serde_json::from_str::<KnownCase>(json)
            .map_or(Content::Nothing, |file| Content::Case(Box::new(file))),
        FileKind::Job => {
            serde_json::from_str::<Job>(json).map_or(Content::Nothing, |file| Content::Job(Box::new(file)))
        }
    }
}
