//! How the interview talks to a person: a small trait. The terminal is one implementation, a script of keys in
//! the tests another.

use std::io;

use crate::report::interview::Item;

/// The lines of a screen for a given number of columns.
pub type Draw<'a> = &'a dyn Fn(usize) -> Vec<String>;

/// Why there is no answer and will be none.
#[derive(Debug)]
pub enum Gone {
    /// The person left (Ctrl-C).
    Left,
    /// The terminal is gone.
    Broken(io::Error),
}

/// Someone who can be asked. `None` everywhere means "back out of this" (Esc).
pub trait Asker {
    /// One of a menu: the number of the item. The arrows start on line `on`.
    fn choose(&mut self, draw: Draw<'_>, items: &[Item], on: usize) -> Result<Option<usize>, Gone>;

    /// Some of a few lines, each ticked or not at first: the numbers of those ticked at the end.
    fn tick(&mut self, draw: Draw<'_>, lines: &[(String, bool)]) -> Result<Option<Vec<usize>>, Gone>;

    /// One of a long list that can be searched by typing.
    fn pick(&mut self, title: &str, lines: &[String]) -> Result<Option<usize>, Gone>;

    /// Several of a long list that can be searched by typing.
    fn pick_many(&mut self, title: &str, lines: &[String]) -> Result<Option<Vec<usize>>, Gone>;

    /// A line of text. `wrong` says what was wrong with the last one.
    fn text(&mut self, draw: Draw<'_>, prompt: &str, wrong: Option<&str>) -> Result<Option<String>, Gone>;

    /// Shows lines until a key is pressed.
    fn show(&mut self, draw: Draw<'_>) -> Result<(), Gone>;
}
