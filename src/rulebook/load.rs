//! From folders to a book: reading, laying over, meaning.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::checks::{Needs, REGISTRY};
use super::codes::{CANNOT_READ, DUPLICATE_ID};
use super::documents::bytes_of;
use super::gate::{LARGEST_FILE, Trouble, text_of};
use super::layers::merge;
use super::read::content_of;
use super::{Code, Fault, Faults, FileKind, Layer, RuleBook, Severity, Source, shipped};

/// How deep folders may stand within one another below a rule folder.
const DEEPEST_FOLDER: usize = 8;

/// What lies under the folders that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Below {
    /// The shipped book.
    Shipped,
    /// Nothing: the first folder is a whole book of its own.
    Nothing,
}

/// A book as far as it could be read, with everything that is wrong with it.
#[derive(Debug)]
pub struct Inspection {
    /// The book, without what could not be used.
    pub book: RuleBook,
    /// What is wrong, in the order of files and lines.
    pub faults: Faults,
    /// Kinds of fault that were not looked for, because what was found would only lead to them.
    pub put_off: Vec<&'static Code>,
}

impl RuleBook {
    /// The book compiled into the program. Its soundness is proved by the project's tests, so nothing is checked here.
    pub fn shipped() -> Self {
        let (layer, sources) = shipped_layer();
        let contents =
            sources.iter().enumerate().map(|(number, source)| content_of(number, source).content).collect();
        merge(vec![layer], sources, contents).0
    }

    /// The shipped book with folders of rules laid over it, the last on top.
    ///
    /// Fails with everything found wrong in one go if any of it makes the book unusable; warnings do not.
    pub fn load(folders: &[PathBuf]) -> Result<Self, Faults> {
        if folders.is_empty() {
            return Ok(Self::shipped());
        }
        let Inspection { book, faults, .. } = inspect_down_to(folders, Below::Shipped, Severity::Error);
        if faults.any_errors() { Err(faults) } else { Ok(book) }
    }
}

/// Reads a book and finds everything that is wrong with it.
pub fn inspect(folders: &[PathBuf], below: Below) -> Inspection {
    inspect_down_to(folders, below, Severity::Note)
}

fn inspect_down_to(folders: &[PathBuf], below: Below, least: Severity) -> Inspection {
    let mut list = Vec::new();
    let (mut layers, mut sources) = (Vec::new(), Vec::new());
    if below == Below::Shipped {
        let (layer, files) = shipped_layer();
        layers.push(layer);
        sources.extend(files);
    }
    for folder in folders {
        list.extend(add_layer(folder, &mut layers, &mut sources));
    }
    // Of what is laid over, a file that cannot be read hides every id it holds.
    let mut complete = list.is_empty();
    let mut contents = Vec::new();
    for (number, source) in sources.iter().enumerate() {
        let read = content_of(number, source);
        complete &= read.readable;
        contents.push(read.content);
        list.extend(read.faults);
    }
    let (book, faults) = merge(layers, sources, contents);
    // Two entries of one id hide each other's kind.
    complete &= !faults.iter().any(|fault| fault.code.name == DUPLICATE_ID.name);
    list.extend(faults);
    let mut put_off = Vec::new();
    for check in REGISTRY.iter().filter(|check| check.code().severity >= least) {
        let can_run = match check.needs() {
            Needs::Entries => true,
            Needs::EveryFile => complete,
            Needs::SoundBook => list.iter().all(|fault| fault.code.severity < Severity::Error),
        };
        if can_run {
            list.extend(check.run(&book));
        } else {
            put_off.push(check.code());
        }
    }
    let faults = Faults::sorted(list, &book);
    Inspection { book, faults, put_off }
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
            trouble: None,
        })
        .collect();
    (Layer { name: "rules".to_owned(), shipped: true }, sources)
}

/// Reads the files of a folder, or one file, as a layer; what is wrong with their bytes is kept for later.
fn add_layer(folder: &Path, layers: &mut Vec<Layer>, sources: &mut Vec<Source>) -> Vec<Fault> {
    let number = layers.len();
    let mut faults = Vec::new();
    let mut paths = Vec::new();
    let mut root = folder.to_path_buf();
    if folder.is_file() {
        paths.push(folder.file_name().unwrap_or_default().to_string_lossy().into_owned());
        root = folder.parent().unwrap_or(Path::new("")).to_path_buf();
    } else if let Err(why) = gather(folder, "", 0, &mut paths) {
        faults.push(
            Fault::of_book(
                &CANNOT_READ,
                format!("cannot read the folder `{}`: {}", folder.display(), told(&why)),
            )
            .help("name a folder that holds rule files (`*.yaml`)"),
        );
    }
    paths.sort();
    for path in paths {
        let (text, trouble) = read_text(&root.join(&path));
        let kind = FileKind::of(&path);
        sources.push(Source { layer: number, path, kind, text: text.into(), json: "", trouble });
    }
    let name = root.display().to_string();
    layers.push(Layer { name: if name.is_empty() { ".".to_owned() } else { name }, shipped: false });
    faults
}

/// Collects the rule files below a folder, as paths with `/` between folders. Hidden files are left alone.
fn gather(folder: &Path, below: &str, depth: usize, paths: &mut Vec<String>) -> io::Result<()> {
    for entry in fs::read_dir(folder.join(below))? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.starts_with('.') {
            continue;
        }
        let path = if below.is_empty() { name } else { format!("{below}/{name}") };
        if entry.file_type()?.is_dir() {
            if depth < DEEPEST_FOLDER {
                gather(folder, &path, depth + 1, paths)?;
            }
        } else if Path::new(&path).extension().is_some_and(|e| e == "yaml" || e == "yml") {
            paths.push(path);
        }
    }
    Ok(())
}

fn read_text(path: &Path) -> (String, Option<Trouble>) {
    match bytes_of(path, LARGEST_FILE) {
        Err(why) => (String::new(), Some(Trouble::Unreadable(told(&why)))),
        Ok(bytes) if bytes.len() as u64 > LARGEST_FILE => (String::new(), Some(Trouble::TooBig)),
        Ok(bytes) => text_of(bytes),
    }
}

/// What the system says, without its error number.
fn told(why: &io::Error) -> String {
    let text = why.to_string();
    text.split(" (os error").next().unwrap_or_default().to_lowercase()
}

/// Every fault of one text read as a rule file of a folder laid over nothing: for tests of the reader itself.
pub fn inspect_text(path: &str, bytes: &[u8]) -> Inspection {
    let (text, trouble) = if bytes.len() as u64 > LARGEST_FILE {
        (String::new(), Some(Trouble::TooBig))
    } else {
        text_of(bytes.to_vec())
    };
    let kind = FileKind::of(path);
    let source = Source { layer: 0, path: path.to_owned(), kind, text: text.into(), json: "", trouble };
    let read = content_of(0, &source);
    let layers = vec![Layer { name: ".".to_owned(), shipped: false }];
    let (book, mut list) = merge(layers, vec![source], vec![read.content]);
    list.extend(read.faults);
    if read.readable {
        list.extend(
            REGISTRY
                .iter()
                .filter(|check| check.needs() == Needs::Entries)
                .flat_map(|check| check.run(&book)),
        );
    }
    let faults = Faults::sorted(list, &book);
    Inspection { book, faults, put_off: Vec::new() }
}
