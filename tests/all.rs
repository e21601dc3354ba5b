//! Every test of the project, one module a subject.
#![allow(missing_docs, clippy::unwrap_used)]
// The trial tables are printed on request, with --nocapture.
#![allow(clippy::print_stderr)]

mod care;
mod case;
mod cli;
mod explain;
mod inference;
mod interview;
mod learn;
mod physics;
mod plan;
mod questioner;
mod rulebook;
mod support;
