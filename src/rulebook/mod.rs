//! YAML files to a checked rule book: reading, laying over, positions of faults, edits that keep comments.

pub mod documents;
pub mod entries;

mod book;
mod change;
mod codes;
mod fault;
mod layers;
mod link;
mod load;
mod nearest;
mod place;
mod resolve;
mod shipped;
mod statements;

pub use book::{Kind, RuleBook};
pub use fault::{Code, Fault, Faults, Point, Severity, Spot};
pub use link::{Effect, Link, Weight};
pub use nearest::nearest;
pub use place::{FileKind, Layer, Place, Route, Source};
pub use statements::{LinkList, Statement};
