//! Who answers the questions of a dialogue: a person at a terminal, or a script.

/// The person does not want to go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stopped;

/// Answers the questions of a dialogue. The terminal is one implementation; tests use a script.
pub trait Asker {
    /// Shows a text.
    fn say(&mut self, text: &str);

    /// Asks for a line of text. `usual` is what an empty line means; without it a line is needed.
    fn text(&mut self, question: &str, help: &str, usual: &str) -> Result<String, Stopped>;

    /// Asks for one of the options, by its place in the list.
    fn choose(
        &mut self,
        question: &str,
        help: &str,
        options: &[String],
        usual: usize,
    ) -> Result<usize, Stopped>;

    /// Asks for any number of the options, by their places in the list, in order. `ticked` are chosen unless undone.
    fn choose_some(
        &mut self,
        question: &str,
        help: &str,
        options: &[String],
        ticked: &[usize],
    ) -> Result<Vec<usize>, Stopped>;

    /// Asks yes or no.
    fn agree(&mut self, question: &str, help: &str, usual: bool) -> Result<bool, Stopped>;
}
