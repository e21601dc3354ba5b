//! The exact engine against published tables, frozen answers and exhaustive enumeration.

mod enumeration;
mod exhaustive;
mod published;
mod shipped;
