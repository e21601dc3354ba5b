//! A small book for the interview's tests: the shipped book emptied by one layer, and a few parts laid over it
//! by another. The layers are the same folders for the library and for the program.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use weephole::case::{Answer, Case, Shop};
use weephole::questioner::Strategy;
use weephole::questioner::interview::{Interview, Reply, Step};
use weephole::rulebook::{Kind, RuleBook};

/// The folder with the small book.
pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/interview/book")
}

/// Writes the layer that empties the shipped book into `at`.
pub fn write_emptying_layer(at: &Path) {
    let book = RuleBook::shipped();
    let mut ids: Vec<String> =
        Kind::GRAPH.into_iter().flat_map(|kind| book.ids(kind)).map(str::to_owned).collect();
    for kind in [Kind::Vehicle, Kind::Case, Kind::Job] {
        ids.extend(book.ids(kind).into_iter().map(|id| format!("{}/{id}", kind.section())));
    }
    let lines: Vec<String> = ids.into_iter().map(|id| format!("  - {id}\n")).collect();
    fs::create_dir_all(at).unwrap();
    fs::write(at.join("empty.yaml"), format!("remove:\n{}", lines.concat())).unwrap();
}

/// The small book.
pub static BOOK: LazyLock<RuleBook> = LazyLock::new(|| {
    let empty = tempfile::tempdir().unwrap();
    write_emptying_layer(empty.path());
    RuleBook::load(&[empty.path().to_owned(), folder()]).unwrap()
});

/// A case of the farm pickup with these answers: `("grinding", "yes")`, or a reading with a leading `=`.
pub fn case(answers: &[(&str, &str)]) -> Case {
    let mut case = Case::open(BOOK.vehicles["farm-pickup"].clone(), None);
    for (ask, said) in answers {
        case.put(answer(ask, said));
    }
    case
}

/// An answer; a reading has a leading `=`.
pub fn answer(ask: &str, said: &str) -> Answer {
    said.strip_prefix('=').map_or_else(|| Answer::said(ask, said), |reading| Answer::read(ask, reading))
}

/// An interview on the small book.
pub fn open(case: Case) -> Interview<'static> {
    Interview::open(&BOOK, Shop::default(), case, Strategy::Bits).unwrap()
}

/// The question an interview puts, by id. Interrupts and ends are none.
pub fn asked(interview: &Interview<'_>) -> Option<String> {
    match interview.step() {
        Step::Question(card) => Some(card.weighed.question.ask.clone()),
        _ => None,
    }
}

/// Asks a question by hand and answers it.
pub fn tell(interview: &mut Interview<'_>, ask: &str, said: &str) {
    while matches!(interview.step(), Step::Alert(_)) {
        interview.reply(Reply::Understood, None).unwrap();
    }
    interview.reply(Reply::Ask(ask.to_owned()), None).unwrap();
    let reply = match said.strip_prefix('=') {
        Some(reading) => Reply::Reading(reading.to_owned()),
        None => Reply::Answer(said.to_owned()),
    };
    interview.reply(reply, None).unwrap();
}
