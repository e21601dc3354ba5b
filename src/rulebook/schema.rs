//! JSON Schemas of the rule files, made from the types that read them.

use schemars::generate::SchemaSettings;
use serde_json::Value;

use super::FileKind;
use super::entries::{BookFile, Job, KnownCase, Vehicle};

/// A schema with the place where it is kept, and the files it is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SchemaFile {
    /// The name by which `rules schema` prints it.
    pub name: &'static str,
    /// Where it is kept, below the top of the project.
    pub path: &'static str,
    /// Which files it is for.
    pub kind: FileKind,
}

/// Every schema.
pub const SCHEMAS: [SchemaFile; 4] = [
    SchemaFile { name: "rule-book", path: "docs/rule-book.schema.json", kind: FileKind::Book },
    SchemaFile { name: "vehicle", path: "docs/vehicle.schema.json", kind: FileKind::Vehicle },
    SchemaFile { name: "known-case", path: "docs/known-case.schema.json", kind: FileKind::Case },
    SchemaFile { name: "job", path: "docs/job.schema.json", kind: FileKind::Job },
];

/// The schema of one kind of file.
pub fn schema_of(kind: FileKind) -> Value {
    let generator = SchemaSettings::draft2020_12().into_generator();
    let schema = match kind {
        FileKind::Book => generator.into_root_schema_for::<BookFile>(),
        FileKind::Vehicle => generator.into_root_schema_for::<Vehicle>(),
        FileKind::Case => generator.into_root_schema_for::<KnownCase>(),
        FileKind::Job => generator.into_root_schema_for::<Job>(),
    };
    schema.to_value()
}

/// The schema of one kind of file as it is printed and kept: two blanks a level, a line end at the end.
pub fn schema_text(kind: FileKind) -> String {
    format!("{:#}\n", schema_of(kind))
}
