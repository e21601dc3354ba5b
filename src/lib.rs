//! Weephole works out which part of an engine's cooling system has failed, what made it fail, what to
//! check next and what to do about it. A rule book of YAML files becomes a weighted cause graph; the
//! answers of an interview become evidence; every chance printed is exact unless it says otherwise.
//!
//! Layers, lowest first; each may use only those above it in this list.

pub mod units;

pub mod physics;

pub mod rulebook;

pub mod graph;

pub mod inference;

pub mod case;

pub mod questioner;

pub mod explain;

pub mod care;

pub mod plan;

pub mod learn;

pub mod trial;

pub mod report;

pub mod cli;
