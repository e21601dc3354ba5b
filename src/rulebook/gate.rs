//! The gate every text passes before anything is made of it: size, encoding, steering characters, nesting, aliases,
//! well-formedness, keys that stand twice.

use std::ops::Range;

use super::codes::{
    ALIAS, CANNOT_READ, CONTROL_CHARACTER, DOCUMENTS, DUPLICATE_KEY, NOT_UTF8, OUT_OF_RANGE, SYNTAX, TAG,
    TOO_BIG, TOO_DEEP, WRONG_TYPE,
};
use super::outline::{Forbidden, Outline, forbidden};
use super::plain::is_control;
use super::yaml::{self, Malformed, Note};
use super::{Fault, Point, Spot};

/// No rule file may be larger, in bytes.
pub const LARGEST_FILE: u64 = 4 * 1024 * 1024;

/// What is wrong with a file's bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Trouble {
    Unreadable(String),
    TooBig,
    /// The first byte that is not UTF-8, as a position in the text with such bytes replaced.
    NotUtf8(usize),
}

/// U+FEFF in UTF-8.
const BYTE_ORDER_MARK: &[u8] = "\u{feff}".as_bytes();

pub(super) fn text_of(mut bytes: Vec<u8>) -> (String, Option<Trouble>) {
    // Some editors put a mark in front that is not part of the text.
    if bytes.starts_with(BYTE_ORDER_MARK) {
        bytes.drain(..BYTE_ORDER_MARK.len());
    }
    match String::from_utf8(bytes) {
        Ok(text) => (text, None),
        Err(wrong) => {
            let at = wrong.utf8_error().valid_up_to();
            (String::from_utf8_lossy(wrong.as_bytes()).into_owned(), Some(Trouble::NotUtf8(at)))
        }
    }
}

/// Reads a text that may hold anything. Without a reading there is at least one fault.
pub(super) fn read_gated(
    number: usize,
    text: &str,
    trouble: Option<&Trouble>,
) -> (Option<yaml::Reading>, Vec<Fault>) {
    if let Some(trouble) = trouble {
        return (None, vec![fault_of_bytes(number, trouble)]);
    }
    let mut faults = faults_of_characters(number, text);
    if !faults.is_empty() {
        return (None, faults);
    }
    let gate = faults_of_syntax(number, text);
    if !gate.is_empty() {
        faults.extend(gate);
        return (None, faults);
    }
    match yaml::read(text) {
        Ok(reading) => {
            let outline = if reading.notes.is_empty() { Outline::default() } else { Outline::of(text) };
            faults.extend(reading.notes.iter().map(|note| fault_of_note(number, note, &outline)));
            (Some(reading), faults)
        }
        Err(malformed) => {
            faults.push(syntax_fault(number, text, &malformed));
            (None, faults)
        }
    }
}

fn fault_of_bytes(number: usize, trouble: &Trouble) -> Fault {
    match trouble {
        Trouble::Unreadable(why) => {
            Fault::at(&CANNOT_READ, Spot::file(number), format!("this file cannot be read: {why}"))
        }
        Trouble::TooBig => Fault::at(&TOO_BIG, Spot::file(number), "this file is larger than 4 MiB")
            .help("split it: any section may stand in any file"),
        Trouble::NotUtf8(at) => Fault::at(
            &NOT_UTF8,
            Spot { source: number, point: Point::Span(*at..at + '\u{fffd}'.len_utf8()) },
            "this file is not UTF-8 text",
        )
        .label("the first byte that is not")
        .help("save it as UTF-8 in your editor"),
    }
}

fn faults_of_characters(number: usize, text: &str) -> Vec<Fault> {
    let steers = |&(at, c): &(usize, char)| {
        is_control(c) && !matches!(c, '\n' | '\r' | '\t') && (at > 0 || c != '\u{feff}')
    };
    let found: Vec<(usize, char)> = text.char_indices().filter(steers).collect();
    let Some(&(at, c)) = found.first() else { return Vec::new() };
    let message = match found.len() {
        1 => format!("a character that steers the terminal: U+{:04X}", u32::from(c)),
        n => format!("{n} characters that steer the terminal, the first U+{:04X}", u32::from(c)),
    };
    vec![
        Fault::at(
            &CONTROL_CHARACTER,
            Spot { source: number, point: Point::Span(at..at + c.len_utf8()) },
            message,
        )
        .label("here")
        .help("take it out"),
    ]
}

fn faults_of_syntax(number: usize, text: &str) -> Vec<Fault> {
    let at = |span: Range<usize>| Spot { source: number, point: Point::Span(span) };
    forbidden(text)
        .into_iter()
        .map(|thing| match thing {
            Forbidden::Alias(span) => Fault::at(&ALIAS, at(span), "an anchor or alias")
                .label("not allowed in rule files")
                .help("write the content out; if it belongs to a text, put the text in quotation marks"),
            Forbidden::Tag(span) => Fault::at(&TAG, at(span), "a YAML tag")
                .label("not allowed in rule files")
                .help("leave it out; if it belongs to a text, put the text in quotation marks"),
            Forbidden::Documents(span) => Fault::at(&DOCUMENTS, at(span), "a second document in one file")
                .label("begins here")
                .help("put it into a file of its own"),
            Forbidden::Depth(span) => Fault::at(
                &TOO_DEEP,
                at(span),
                "maps and lists nested more than 24 levels deep",
            )
            .label("the 25th level begins here")
            .help("close brackets that are open by mistake, or put texts with brackets in quotation marks"),
            Forbidden::Syntax(span, message) => {
                // The second reader mostly knows better where it went wrong; depth was checked before.
                let malformed = yaml::read(text).err().unwrap_or(Malformed { message, span, began: None });
                syntax_fault(number, text, &malformed)
            }
        })
        .collect()
}

fn syntax_fault(number: usize, text: &str, malformed: &Malformed) -> Fault {
    let message = malformed.message.as_str();
    let line_has_tab =
        text[..malformed.span.start.min(text.len())].rsplit('\n').next().is_some_and(|l| l.contains('\t'))
            || text[malformed.span.start.min(text.len())..].starts_with('\t');
    let (said, help) = if message.contains("mapping values are not allowed") {
        ("a second `: ` on one line", "put the text in quotation marks if the colon belongs to it")
    } else if line_has_tab {
        ("a tab where the line is indented", "indent with spaces")
    } else if message.contains("cannot start any token") {
        ("a text that begins with a character YAML keeps for itself", "put the text in quotation marks")
    } else if message.contains("expected ',' or") {
        (
            "a list or map in brackets that is not closed, or lacks a comma",
            "close the bracket, or add the comma",
        )
    } else if message.contains("did not find expected node content") {
        (
            "something is missing, or a bracket is not closed",
            "look at what was begun here, and close or finish it",
        )
    } else if message.contains("quoted scalar") || message.contains("Unterminated") {
        ("a quotation mark that is not closed", "close it on the same line")
    } else if message.contains("did not find expected key") || message.contains("did not find expected '-'") {
        (
            "a line that does not belong where it stands",
            "indent it like its neighbours; look at the line above for an unfinished text or bracket",
        )
    } else if message.contains("block sequence entries are not allowed") {
        ("a list that begins behind its key", "begin the list on a line of its own")
    } else {
        ("this file is not well-formed YAML", "")
    };
    let spot = |span: Range<usize>| Spot { source: number, point: Point::Span(span) };
    let mut fault = Fault::at(&SYNTAX, spot(malformed.span.clone()), said).label("reading stopped here");
    if let Some(opened) = malformed.began.clone() {
        fault = fault.also(spot(opened), "begun here");
    }
    if help.is_empty() { fault.help(format!("the reader says: {message}")) } else { fault.help(help) }
}

fn fault_of_note(number: usize, note: &Note, outline: &Outline) -> Fault {
    let spot = |point: Point| Spot { source: number, point };
    match note {
        Note::Twice(route, key) => {
            let spans = outline.keys_named(route, key);
            let again =
                spans.get(1).map_or_else(|| Point::Key(route.then(key)), |span| Point::Span(span.clone()));
            let fault = Fault::at(&DUPLICATE_KEY, spot(again), format!("the key `{key}` stands twice"))
                .label("again here")
                .help("keep one of the two");
            match spans.first().filter(|_| spans.len() > 1) {
                Some(first) => fault.also(spot(Point::Span(first.clone())), "first here"),
                None => fault,
            }
        }
        Note::KeyNotText(route, key) => Fault::at(
            &WRONG_TYPE,
            spot(Point::Key(route.then(key))),
            format!("the key `{key}` is not a text"),
        )
        .label("expected a text")
        .help(format!("put it in quotation marks: `\"{key}\"`")),
        Note::NotFinite(route) => Fault::at(
            &OUT_OF_RANGE,
            spot(Point::Value(route.clone())),
            "this is not a number that can be reckoned with",
        )
        .label("expected a finite number"),
    }
}
