//! YAML files to a checked rule book: reading, laying over, positions of faults, edits that keep comments.

pub mod documents;
pub mod entries;

mod book;
mod change;
mod checks;
mod codes;
pub mod edit;
mod fault;
mod gate;
mod layers;
mod link;
mod load;
mod nearest;
mod outline;
mod place;
pub mod plain;
mod quantities;
mod read;
mod references;
mod render;
mod resolve;
mod schema;
mod shape;
mod shipped;
mod statements;
pub mod steps;
mod view;
mod write_yaml;
mod yaml;

pub use book::{Kind, RuleBook};
pub use checks::{BookCheck, Needs, all_codes, known_case_fault};
pub(crate) use fault::code;
pub use fault::{Code, Fault, Faults, Point, Severity, Spot};
pub use gate::LARGEST_FILE;
pub use link::{Effect, Link, Weight};
pub use load::{Below, Inspection, inspect, inspect_text};
pub use nearest::{nearest, nearest_several};
pub use place::{FileKind, Layer, Place, Route, Source};
pub use quantities::{VEHICLE_FIGURES, step, step_kind, unit_named};
pub use references::Reference;
pub use render::{Drawing, FaultReport, PlaceReport};
pub use schema::{SCHEMAS, SchemaFile, schema_of, schema_text};
pub use shape::is_id;
pub use statements::{LinkList, Statement};
pub use view::{EntryView, LinkView, NamedBy, NoSuchEntry, WeightView};
