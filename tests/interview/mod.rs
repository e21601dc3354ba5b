//! Tests of the interview: the state machine by script, its screens at several widths, whole sittings in a
//! pseudo-terminal, and the cases they leave behind.

mod cases;
mod hearing;
mod machine;
mod orders;
mod screens;
mod scripted;
mod small;
mod terminal;
