//! Laying folders over one another, entry by entry.
//!
//! Within one layer every id stands once. An upper layer may add an id, replace a whole entry by stating it anew,
//! patch links and fields of one (`change`), and take one out (`remove`). Links to what is taken out go with it; each
//! such step is said in [`RuleBook::laid_over`].

use std::collections::BTreeMap;

use super::codes::{DUPLICATE_ID, REMOVES_OWN_ENTRY};
use super::entries::{BookFile, BookHead, Change, Entries, Job, KnownCase, Vehicle};
use super::fault::{Fault, Spot};
use super::nearest::unknown_id;
use super::{Kind, Layer, Place, Route, RuleBook, Source};

/// What was read from one file.
pub(super) enum Content {
    Book {
        file: Box<BookFile>,
        /// Entries that stand in the file but cannot be used; references to them are no further fault.
        broken: Vec<(Kind, String)>,
    },
    Vehicle(Box<Vehicle>),
    Case(Box<KnownCase>),
    Job(Box<Job>),
    /// Nothing readable.
    Nothing,
}

/// Merges files, one `Content` for each of `sources`, into a book. The faults found are those of laying over; what the
/// entries mean is checked later.
pub(super) fn merge(
    layers: Vec<Layer>,
    sources: Vec<Source>,
    contents: Vec<Content>,
) -> (RuleBook, Vec<Fault>) {
    let book = RuleBook {
        head: BookHead { title: String::new(), version: 0, currency: String::new() },
        words: Entries::new(),
        chance_words: Vec::new(),
        cautions: Entries::new(),
        tools: Entries::new(),
        facts: Entries::new(),
        parts: Entries::new(),
        failures: Entries::new(),
        states: Entries::new(),
        history: Entries::new(),
        symptoms: Entries::new(),
        checks: Entries::new(),
        links: Vec::new(),
        vehicles: Entries::new(),
        cases: Entries::new(),
        jobs: Entries::new(),
        silences: Vec::new(),
        laid_over: Vec::new(),
        layers,
        sources,
        places: BTreeMap::new(),
        chances_in: None,
        changed: BTreeMap::new(),
        from: BTreeMap::new(),
        to: BTreeMap::new(),
    };
    let mut merger = Merger { book, faults: Vec::new(), head: None, chances: None };
    let mut contents: Vec<Option<Content>> = contents.into_iter().map(Some).collect();
    for layer in 0..merger.book.layers.len() {
        let numbers: Vec<usize> =
            (0..merger.book.sources.len()).filter(|&n| merger.book.sources[n].layer == layer).collect();
        let mut patches = Vec::new();
        for &number in &numbers {
            match contents[number].take() {
                Some(Content::Book { file, broken }) => {
                    patches.push((number, merger.lay_file(number, *file)));
                    merger.note_broken(number, broken);
                }
                Some(Content::Vehicle(vehicle)) => merger.lay_vehicle(number, *vehicle),
                Some(Content::Case(case)) => merger.lay_case(number, *case),
                Some(Content::Job(job)) => merger.lay_job(number, *job),
                Some(Content::Nothing) | None => {}
            }
        }
        for (number, patch) in &patches {
            merger.remove(*number, &patch.remove);
        }
        for (number, patch) in patches {
            merger.faults.extend(merger.book.change(number, patch.change));
        }
    }
    let Merger { mut book, mut faults, .. } = merger;
    book.drop_outdated_links();
    faults.extend(book.resolve_links());
    (book, faults)
}

/// What a file says about entries of the layers below.
struct Patch {
    remove: Vec<String>,
    change: Entries<Change>,
}

struct Merger {
    book: RuleBook,
    faults: Vec<Fault>,
    /// Where the title was read.
    head: Option<Place>,
    /// Where the words for chances were read.
    chances: Option<Place>,
}

impl Merger {
    fn lay_file(&mut self, source: usize, file: BookFile) -> Patch {
        if let Some(head) = file.book
            && let Some(()) = self.once(source, "book", |m| &mut m.head)
        {
            self.book.head = head;
        }
        if !file.chance_words.is_empty()
            && let Some(()) = self.once(source, "chance-words", |m| &mut m.chances)
        {
            self.book.chance_words = file.chance_words;
            self.book.chances_in = Some(source);
        }
        self.lay(source, Kind::Word, file.words, |b| &mut b.words);
        self.lay(source, Kind::Caution, file.cautions, |b| &mut b.cautions);
        self.lay(source, Kind::Tool, file.tools, |b| &mut b.tools);
        self.lay(source, Kind::Fact, file.facts, |b| &mut b.facts);
        self.lay(source, Kind::Part, file.parts, |b| &mut b.parts);
        self.lay(source, Kind::Failure, file.failures, |b| &mut b.failures);
        self.lay(source, Kind::State, file.states, |b| &mut b.states);
        self.lay(source, Kind::History, file.history, |b| &mut b.history);
        self.lay(source, Kind::Symptom, file.symptoms, |b| &mut b.symptoms);
        self.lay(source, Kind::Check, file.checks, |b| &mut b.checks);
        for (number, silence) in file.silence.into_iter().enumerate() {
            let place = Place { source, route: Route::of(&["silence", &number.to_string()]) };
            self.book.silences.push((silence, place));
        }
        Patch { remove: file.remove, change: file.change }
    }

    fn note_broken(&mut self, source: usize, broken: Vec<(Kind, String)>) {
        for (kind, id) in broken {
            let place = Place { source, route: Route::of(&[kind.section(), &id]) };
            self.book.places.entry((kind, id)).or_insert(place);
        }
    }

    fn lay_vehicle(&mut self, source: usize, vehicle: Vehicle) {
        let id = self.book.sources[source].stem().to_owned();
        self.lay(source, Kind::Vehicle, Entries::from_iter([(id, vehicle)]), |b| &mut b.vehicles);
    }

    fn lay_case(&mut self, source: usize, case: KnownCase) {
        let id = self.book.sources[source].stem().to_owned();
        self.lay(source, Kind::Case, Entries::from_iter([(id, case)]), |b| &mut b.cases);
    }

    fn lay_job(&mut self, source: usize, job: Job) {
        let id = self.book.sources[source].stem().to_owned();
        self.lay(source, Kind::Job, Entries::from_iter([(id, job)]), |b| &mut b.jobs);
    }

    /// Notes that a section that may stand once a layer stands here; `None`, with a fault, if it stood before.
    fn once(
        &mut self,
        source: usize,
        section: &str,
        seen: fn(&mut Self) -> &mut Option<Place>,
    ) -> Option<()> {
        let place = Place { source, route: Route::of(&[section]) };
        if let Some(first) = seen(self).replace(place.clone()) {
            if self.book.layer_of(&first) == self.book.layer_of(&place) {
                self.faults.push(
                    Fault::at(
                        &DUPLICATE_ID,
                        Spot::key(&place),
                        format!("`{section}` stands twice in this book"),
                    )
                    .label("again here")
                    .also(Spot::key(&first), "first here")
                    .help(format!("keep one `{section}` in the whole folder")),
                );
                return None;
            }
            self.book.laid_over.push(format!("{} replaces `{section}`", self.book.name_of_source(source)));
        }
        Some(())
    }

    fn lay<T>(
        &mut self,
        source: usize,
        kind: Kind,
        entries: Entries<T>,
        of: fn(&mut RuleBook) -> &mut Entries<T>,
    ) {
        for (id, entry) in entries {
            let route = match kind {
                Kind::Vehicle | Kind::Case | Kind::Job => Route::default(),
                _ => Route::of(&[kind.section(), &id]),
            };
            let place = Place { source, route };
            if let Some((prior, first)) = self.holder(kind, &id) {
                let same_layer = self.book.layer_of(&first) == self.book.layer_of(&place);
                if same_layer || prior != kind {
                    self.faults.push(already_taken(&id, kind, prior, &place, &first, same_layer));
                    continue;
                }
                self.book
                    .laid_over
                    .push(format!("{} replaces the {kind} `{id}`", self.book.name_of_source(source)));
                self.book.changed.retain(|(of, owner, ..), _| !(*of == kind && *owner == id));
            } else if self.book.layer_of(&place) > 0 {
                self.book
                    .laid_over
                    .push(format!("{} adds the {kind} `{id}`", self.book.name_of_source(source)));
            }
            self.book.places.insert((kind, id.clone()), place);
            of(&mut self.book).insert(id, entry);
        }
    }

    /// The entry that already has this id, as far as ids of this kind clash.
    fn holder(&self, kind: Kind, id: &str) -> Option<(Kind, Place)> {
        let candidates: Vec<Kind> = if kind.shares_ids() {
            Kind::ALL.into_iter().filter(|k| k.shares_ids()).collect()
        } else {
            vec![kind]
        };
        candidates.into_iter().find_map(|kind| Some((kind, self.book.place_of(kind, id)?.clone())))
    }

    fn remove(&mut self, source: usize, ids: &[String]) {
        for (number, named) in ids.iter().enumerate() {
            let place = Place { source, route: Route::of(&["remove", &number.to_string()]) };
            let (kind, id) = match named.split_once('/') {
                Some(("vehicles", id)) => (self.book.has(Kind::Vehicle, id).then_some(Kind::Vehicle), id),
                Some(("cases", id)) => (self.book.has(Kind::Case, id).then_some(Kind::Case), id),
                Some(("jobs", id)) => (self.book.has(Kind::Job, id).then_some(Kind::Job), id),
                _ => (self.book.kind_of(named), named.as_str()),
            };
            let Some(kind) = kind else {
                self.faults.push(unknown_id(&self.book, Spot::value(&place), "entry", named, &Kind::ALL));
                continue;
            };
            let entry = self.book.place_of(kind, id).cloned();
            if let Some(entry) = entry.filter(|e| self.book.layer_of(e) == self.book.layer_of(&place)) {
                self.faults.push(
                    Fault::at(
                        &REMOVES_OWN_ENTRY,
                        Spot::value(&place),
                        format!("`{named}` is taken out by the folder that states it"),
                    )
                    .label("taken out here")
                    .also(Spot::key(&entry), "stated here")
                    .help("drop one of the two: an entry stated anew already replaces the one below"),
                );
                continue;
            }
            self.book.take_out(kind, id);
            // A vehicle, case or tool may bear the id of a failure: links are between entries that share ids.
            let links = if kind.shares_ids() { self.book.drop_links(id) } else { 0 };
            let with = match links {
                0 => String::new(),
                1 => ", and the one link to it".to_owned(),
                n => format!(", and the {n} links to it"),
            };
            self.book
                .laid_over
                .push(format!("{} takes out the {kind} `{id}`{with}", self.book.name_of_source(source)));
        }
    }
}

fn already_taken(id: &str, kind: Kind, prior: Kind, place: &Place, first: &Place, same_layer: bool) -> Fault {
    let message = if prior == kind {
        format!("the {kind} `{id}` is stated twice")
    } else {
        format!("`{id}` is already the id of a {prior}")
    };
    let help = if same_layer || prior == kind {
        "give one of them another id, or keep only one"
    } else {
        "give it another id: only an entry of the same kind can replace one of the book below"
    };
    let spot =
        |place: &Place| if place.route.0.is_empty() { Spot::file(place.source) } else { Spot::key(place) };
    Fault::at(&DUPLICATE_ID, spot(place), message)
        .label("stated again here")
        .also(spot(first), "first stated here")
        .help(help)
}
