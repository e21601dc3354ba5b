//! What every command needs: where things are, how to print, and the rule book when it is asked for.

use std::io::{self, BufWriter, IsTerminal, Write};
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::{CliError, Exit, Paint, Shared};
use crate::care::journal::Journal;
use crate::case::replay::{answers_of, vehicle_of};
use crate::case::store::{self, CaseFile};
use crate::case::{Case, CaseStore, Ignored, Shop};
use crate::graph::{self, CauseGraph};
use crate::report::plain;
use crate::rulebook::documents::{self, LARGEST_FILE};
use crate::rulebook::entries::Vehicle;
use crate::rulebook::{Drawing, Faults, RuleBook};
use crate::units::UnitSystem;

/// Name of the variable that moves weephole's data folder.
const HOME_VARIABLE: &str = "WEEPHOLE_HOME";

/// What every command needs.
pub struct Context {
    shared: Shared,
    out: BufWriter<io::Stdout>,
    /// Colour on standard output.
    pub paint: Paint,
    /// Colour on standard error.
    pub paint_err: Paint,
}

/// A case read for a command, with the name it was asked by.
pub struct CaseInput {
    /// The case.
    pub case: Case,
    /// Its file.
    pub file: CaseFile,
    /// The name to print.
    pub name: String,
}

impl Context {
    /// Decides colour once and notes the options.
    pub fn new(shared: Shared) -> Self {
        let paint = Paint::decide(shared.color, &io::stdout());
        let paint_err = Paint::decide(shared.color, &io::stderr());
        // Our own decision holds: `colored` looks at standard output only.
        colored::control::set_override(paint.is_on() || paint_err.is_on());
        Self { shared, out: BufWriter::new(io::stdout()), paint, paint_err }
    }

    /// Where data goes.
    pub fn out(&mut self) -> &mut dyn Write {
        &mut self.out
    }

    /// A message for the person at the terminal; never data.
    pub fn say(&self, message: &str) {
        let _ = writeln!(io::stderr().lock(), "{message}");
    }

    /// Says which answers were not used, and why.
    pub fn say_ignored(&self, ignored: &[Ignored]) {
        for Ignored { ask, why } in ignored {
            self.say(&self.paint_err.notice(&format!("not used: {}: {}", plain(ask), plain(why))));
        }
    }

    /// Units to print.
    pub fn units(&self) -> UnitSystem {
        self.shared.units.into()
    }

    /// The options every command takes.
    pub fn shared(&self) -> &Shared {
        &self.shared
    }

    /// Weephole's data folder: `WEEPHOLE_HOME`, or the platform's place for a user's data.
    pub fn home(&self) -> PathBuf {
        let set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
        set(HOME_VARIABLE)
            .or_else(|| set("XDG_DATA_HOME").map(|data| data.join("weephole")))
            .or_else(|| set("APPDATA").map(|data| data.join("weephole")))
            .or_else(|| set("HOME").map(|home| home.join(".local/share/weephole")))
            .unwrap_or_else(|| PathBuf::from(".weephole"))
    }

    /// The folder of cases.
    pub fn cases(&self) -> CaseStore {
        CaseStore::new(self.shared.cases.clone().unwrap_or_else(|| self.home().join("cases")))
    }

    /// The user's own rule folder; it may not exist yet.
    pub fn own_rules(&self) -> PathBuf {
        self.home().join("rules")
    }

    /// The journal of changes to the user's own rules.
    pub fn journal(&self) -> Journal {
        Journal::new(self.home().join("rules-journal"))
    }

    /// The layers laid over the built-in book, lowest first: the user's own folder, then `--rules`.
    pub fn layers(&self) -> Vec<PathBuf> {
        let own = self.own_rules();
        own.is_dir().then_some(own).into_iter().chain(self.shared.rules.iter().cloned()).collect()
    }

    /// The rule book with its layers; says on standard error what they changed.
    pub fn book(&self) -> Result<RuleBook, CliError> {
        let layers = self.layers();
        if layers.is_empty() {
            return Ok(RuleBook::shipped());
        }
        let book = self.load(&layers)?;
        for change in &book.laid_over {
            self.say(&self.paint_err.faint(change));
        }
        Ok(book)
    }

    /// How faults are drawn on standard error.
    pub fn drawing_err(&self) -> Drawing {
        Drawing { colour: self.paint_err.is_on(), width: width_of_terminal() }
    }

    /// The built-in book with these folders laid over it; faults come rendered.
    pub fn load(&self, layers: &[PathBuf]) -> Result<RuleBook, CliError> {
        RuleBook::load(layers).map_err(|faults| CliError::Rendered(self.render(&faults)))
    }

    /// Faults of a rule book as they are shown.
    pub fn render(&self, faults: &Faults) -> String {
        format!("{}{}", faults.draw(self.drawing_err()), faults.counts())
    }

    /// The cause graph of a case's vehicle on the day the case was opened, with the shop's share of slips.
    pub fn graph(&self, book: &RuleBook, shop: &Shop, case: &Case) -> Result<CauseGraph, CliError> {
        graph::asked(book, &case.vehicle, case.day(), shop.slips).map_err(CliError::misuse)
    }

    /// A case by name or path.
    pub fn case(&self, name: &str) -> Result<CaseInput, CliError> {
        let path = self.cases().find(name).map_err(CliError::misuse)?;
        if !path.exists() {
            let path = path.display();
            return Err(CliError::Misuse(format!(
                "there is no case `{name}`: no file `{path}`; `weephole cases` lists those there are"
            )));
        }
        let (case, file) = store::read(&path).map_err(CliError::misuse)?;
        Ok(CaseInput { case, file, name: name.to_owned() })
    }

    /// A case to read from: one of the case folder, a file, or a known case of the rule book by its name.
    pub fn any_case(&self, book: &RuleBook, name: &str) -> Result<CaseInput, CliError> {
        let stem = Path::new(name).file_stem().and_then(|stem| stem.to_str()).unwrap_or(name);
        let known = book.cases.get(stem);
        let kept = self.case(name);
        match (known, &kept) {
            (Some(known), Err(_)) => {
                let case = Case {
                    title: Some(known.title.clone()),
                    vehicle: vehicle_of(book, known),
                    answers: answers_of(known),
                    ..Case::default()
                };
                Ok(CaseInput { case, file: CaseFile::new(PathBuf::from(name)), name: stem.to_owned() })
            }
            _ => kept,
        }
    }

    /// A vehicle: a file, or the name of one in the rule book.
    pub fn vehicle(&self, book: &RuleBook, name: &str) -> Result<Vehicle, CliError> {
        if let Some(vehicle) = book.vehicles.get(name) {
            return Ok(vehicle.clone());
        }
        let path = PathBuf::from(name);
        if !path.exists() {
            let known: Vec<String> = book.vehicles.keys().map(|id| format!("`{id}`")).collect();
            return Err(CliError::Misuse(format!(
                "there is no vehicle file `{name}`, and the book knows no vehicle of that name; it knows {}",
                known.join(", ")
            )));
        }
        let bytes = documents::bytes_of(&path, LARGEST_FILE)
            .map_err(|why| CliError::Misuse(format!("cannot read `{name}`: {why}")))?;
        documents::read(&bytes).map_err(|why| CliError::Misuse(format!("`{name}`: {why}")))
    }

    /// The shop: the file named, or `shop.yaml` in the data folder, or an ordinary one if there is none.
    pub fn shop(&self, book: &RuleBook) -> Result<Shop, CliError> {
        let named = self.shared.shop.clone();
        let path = named.clone().unwrap_or_else(|| self.home().join("shop.yaml"));
        if named.is_none() && !path.exists() {
            return Ok(Shop::default());
        }
        Shop::read(&path, book).map_err(CliError::misuse)
    }

    /// The time now. Only the command line reads the clock.
    pub fn now(&self) -> Timestamp {
        Timestamp::now()
    }

    /// Whether a person sits at both ends.
    pub fn is_interactive(&self) -> bool {
        io::stdin().is_terminal() && io::stdout().is_terminal() && io::stderr().is_terminal()
    }

    /// Flushes what was printed and says how the program ends. A reader that closed the pipe had enough.
    pub fn finish(mut self, result: Result<Exit, CliError>) -> Exit {
        let flushed = self.out.flush().map_err(CliError::from);
        match result.and_then(|exit| flushed.map(|()| exit)) {
            Ok(exit) => exit,
            Err(CliError::Output(error)) if error.kind() == io::ErrorKind::BrokenPipe => Exit::Done,
            Err(CliError::Rendered(text)) => {
                self.say(text.trim_end());
                Exit::Misuse
            }
            Err(error) => {
                self.say(&format!("{} {error}", self.paint_err.danger("weephole:")));
                Exit::Misuse
            }
        }
    }
}

/// Columns of the terminal messages go to; 100 where there is none.
fn width_of_terminal() -> usize {
    terminal_size::terminal_size_of(io::stderr()).map_or(100, |(width, _)| usize::from(width.0))
}
