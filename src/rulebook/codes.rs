//! Kinds of fault found while a book is read and laid over. Those of its meaning stand beside their checks.

use super::Code;
use super::fault::code;

/// Kinds of fault found while files are read and laid over one another, in the order in which they are explained.
pub(super) static READING: [&Code; 22] = [
    &CANNOT_READ,
    &TOO_BIG,
    &NOT_UTF8,
    &CONTROL_CHARACTER,
    &SYNTAX,
    &TOO_DEEP,
    &ALIAS,
    &TAG,
    &DOCUMENTS,
    &DUPLICATE_KEY,
    &UNKNOWN_KEY,
    &MISSING_KEY,
    &WRONG_TYPE,
    &NOT_A_CHOICE,
    &OUT_OF_RANGE,
    &EMPTY,
    &BAD_ID,
    &DUPLICATE_ID,
    &DUPLICATE_LINK,
    &UNKNOWN_ID,
    &REMOVES_OWN_ENTRY,
    &CHANGE_DOES_NOT_FIT,
];

code! {
    /// An id, or a section that may stand only once, is stated twice in one folder.
    ///
    /// Parts, failures, states, history facts, symptoms and checks share one namespace, because links, answers and
    /// reports name them by id alone.
    ///
    /// Give one of the two another id, or keep only one. A folder laid over the book may state an id again: that
    /// replaces the whole entry, if it is of the same kind.
    pub static DUPLICATE_ID = Error "duplicate-id", "an id stated twice";
}

code! {
    /// `remove` names an entry that the same folder states.
    ///
    /// An entry stated anew already replaces the one of the book below: it need not be taken out first.
    pub static REMOVES_OWN_ENTRY = Error "removes-own-entry", "an entry both stated and taken out";
}

code! {
    /// `change` names a field that entries of this kind do not have.
    ///
    /// Failures have `base`, `raised-by`, `leads-to` and `shows`; history facts the same but `raised-by`; states
    /// `background` and all three lists of links; symptoms `background` and `words`; checks `minutes` and `outcomes`;
    /// parts `price`.
    pub static CHANGE_DOES_NOT_FIT = Error "change-does-not-fit", "a change that does not fit its entry";
}

code! {
    /// An id is named that the book does not have.
    ///
    /// Mostly a slip of the pen: the message names the nearest known id. A reference to something you mean to write
    /// later must wait until it is written.
    pub static UNKNOWN_ID = Error "unknown-id", "a reference to an id the book does not have";
}

code! {
    /// A file or folder of rules cannot be read from the disk.
    ///
    /// Check its name and who may read it.
    pub static CANNOT_READ = Error "cannot-read", "a file that cannot be read";
}

code! {
    /// A file is not well-formed YAML.
    ///
    /// The pointer shows where reading stopped; the mistake is there or shortly before. Mostly it is a line indented
    /// differently from its neighbours, a missing colon or space after a colon, or a text with `: ` or ` #` in it that needs
    /// quotation marks.
    ///
    /// Before:
    ///
    /// ```yaml
    /// name: pump: bearing worn
    /// ```
    ///
    /// After:
    ///
    /// ```yaml
    /// name: "pump: bearing worn"
    /// ```
    pub static SYNTAX = Error "syntax", "a file that is not well-formed YAML";
}

code! {
    /// A file holds bytes that are not UTF-8 text.
    ///
    /// The pointer shows the first of them. Save the file again as UTF-8 in your editor.
    pub static NOT_UTF8 = Error "not-utf8", "a file that is not UTF-8 text";
}

code! {
    /// A file is larger than 4 MiB.
    ///
    /// The whole shipped book is a quarter of that. Split the file: any section may stand in any file.
    pub static TOO_BIG = Error "too-big", "a file over the size limit";
}

code! {
    /// Maps and lists stand within one another more than 24 levels deep.
    ///
    /// The book needs six levels. Mostly a bracket is not closed, or a line is indented by mistake.
    pub static TOO_DEEP = Error "too-deep", "maps and lists nested too deeply";
}

code! {
    /// A file holds a character that is not read but steers: a control character, or a mark that turns the direction of
    /// writing.
    ///
    /// Such a character could move the cursor of a terminal or make a line look like another. Take it out; a tab
    /// inside a text may stay.
    pub static CONTROL_CHARACTER = Error "control-character", "a character that steers the terminal";
}

code! {
    /// A file uses an anchor (`&name`), an alias (`*name`) or a merge (`<<`).
    ///
    /// A few lines of aliases can stand for more text than a machine can hold, and an entry that depends on another
    /// place in the file cannot be changed alone. Write the content out. In a text, put it in quotation marks.
    pub static ALIAS = Error "alias", "an anchor or alias";
}

code! {
    /// A file uses a YAML tag (`!name`).
    ///
    /// The kind of every value is fixed by its key. In a text, put it in quotation marks.
    pub static TAG = Error "tag", "a YAML tag";
}

code! {
    /// A file holds several YAML documents, divided by `---`.
    ///
    /// Only the first would be read. Put the others into files of their own, or take the line out.
    pub static DOCUMENTS = Error "documents", "several documents in one file";
}

code! {
    /// A key stands twice in the same map.
    ///
    /// Only one of the two could hold, and a reader would not see which. Keep one.
    pub static DUPLICATE_KEY = Error "duplicate-key", "a key that stands twice";
}

code! {
    /// A key is not one that may stand here.
    ///
    /// Mostly a slip of the pen, or a line indented too far or not far enough, so that it belongs to another entry. Inside
    /// `{...}` a comma ends a text: a text with a comma in it needs quotation marks there.
    ///
    /// Before:
    ///
    /// ```yaml
    /// "none": {name: no gearbox, or one without a cooler, share: 0.06}
    /// ```
    ///
    /// After:
    ///
    /// ```yaml
    /// "none": {name: "no gearbox, or one without a cooler", share: 0.06}
    /// ```
    pub static UNKNOWN_KEY = Error "unknown-key", "a key that is not known";
}

code! {
    /// A key that every entry of this kind must have is missing.
    ///
    /// The message says which, and what it is for. `weephole rules schema` prints what every entry may and must hold.
    pub static MISSING_KEY = Error "missing-key", "a key that is missing";
}

code! {
    /// A value is of another type than its key asks for: a number where a text belongs, one value where a list belongs.
    ///
    /// `yes`, `no` and bare words are texts; `true`, `false` and figures are not, unless they stand in quotation marks.
    pub static WRONG_TYPE = Error "wrong-type", "a value of the wrong type";
}

code! {
    /// A word is not one of those this key may have.
    ///
    /// The message lists the words that may stand here.
    pub static NOT_A_CHOICE = Error "not-a-choice", "a word that is not one of the choices";
}

code! {
    /// A number lies outside what its key allows, or is not a number at all (`.nan`, `.inf`).
    ///
    /// Weights, backgrounds and shares are chances from 0 to 1: three in four is 0.75, not 75. A base counts vehicles
    /// out of 1,000.
    pub static OUT_OF_RANGE = Error "out-of-range", "a number outside its range";
}

code! {
    /// A text, list or section is empty.
    ///
    /// Write what belongs there, or take the key out if it may be left out.
    pub static EMPTY = Error "empty", "an empty text, list or section";
}

code! {
    /// An id holds other characters than small letters, digits and hyphens.
    ///
    /// Ids are typed at the command line and name files, so they are kept plain: `pump-bearing-worn`.
    pub static BAD_ID = Error "bad-id", "an id that cannot be one";
}

code! {
    /// A known case does not come out as the trade expects.
    ///
    /// Known cases stand under `cases`: answers whose right suspect is known. A change to the book that makes one of them come
    /// out otherwise is mostly a mistake in the change; the message says what the ranking says instead.
    ///
    /// Look at the weights you changed. If the case itself is wrong, say why in its `reason`, or take it out with
    /// `remove: [cases/NAME]` in the folder laid over the book.
    pub static KNOWN_CASE = Error "known-case", "a known case that comes out wrong";
}

code! {
    /// The same link is stated twice: once under its cause (`leads-to`, `shows`) and once under its effect
    /// (`raised-by`).
    ///
    /// Two weights for one link contradict each other, and two equal ones will the next time one is changed.
    ///
    /// State a link once. A failure's own signs and the states it brings on stand under the failure; what history and
    /// states do to a failure stands in the failure's `raised-by`.
    ///
    /// In a folder laid over the book a link may be stated anew: the upper layer wins.
    pub static DUPLICATE_LINK = Error "duplicate-link", "a link stated twice";
}
