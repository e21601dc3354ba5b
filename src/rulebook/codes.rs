//! Kinds of fault found while a book is read and laid over. Those of its meaning stand beside their checks.

use super::fault::code;

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
    pub static SYNTAX = Error "syntax", "a file that is not well-formed YAML";
}
