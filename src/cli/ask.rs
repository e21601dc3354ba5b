//! The dialogue's questions at a terminal.

use inquire::ui::RenderConfig;
use inquire::validator::{StringValidator, Validation};
use inquire::{Confirm, InquireError, MultiSelect, Select, Text};

use super::Context;
use crate::care::asker::{Asker, Stopped};
use crate::report::plain;

/// Lines of a list shown at once.
const PAGE: usize = 12;

/// A person at a terminal.
pub struct TerminalAsker<'a> {
    context: &'a Context,
}

impl<'a> TerminalAsker<'a> {
    /// Asks at the terminal of `context`, which must be interactive.
    pub fn new(context: &'a Context) -> Self {
        Self { context }
    }

    fn look(&self) -> RenderConfig<'static> {
        if self.context.paint_err.is_on() { RenderConfig::default_colored() } else { RenderConfig::empty() }
    }
}

/// Esc, Ctrl-C and a terminal that went away all mean the same here: nothing was written yet.
fn stopped<T>(result: Result<T, InquireError>) -> Result<T, Stopped> {
    result.map_err(|_| Stopped)
}

fn cleaned(options: &[String]) -> Vec<String> {
    options.iter().map(|option| plain(option)).collect()
}

/// A line with something on it.
#[derive(Clone)]
struct NotEmpty;

impl StringValidator for NotEmpty {
    fn validate(&self, text: &str) -> Result<Validation, inquire::CustomUserError> {
        Ok(if text.trim().is_empty() {
            Validation::Invalid("a few words are needed here".into())
        } else {
            Validation::Valid
        })
    }
}

impl Asker for TerminalAsker<'_> {
    fn say(&mut self, text: &str) {
        for line in text.lines() {
            self.context.say(&plain(line));
        }
    }

    fn text(&mut self, question: &str, help: &str, usual: &str) -> Result<String, Stopped> {
        let question = plain(question);
        let mut prompt = Text::new(&question).with_render_config(self.look());
        if !help.is_empty() {
            prompt = prompt.with_help_message(help);
        }
        prompt = if usual.is_empty() { prompt.with_validator(NotEmpty) } else { prompt.with_default(usual) };
        stopped(prompt.prompt()).map(|text| plain(text.trim()))
    }

    fn choose(
        &mut self,
        question: &str,
        help: &str,
        options: &[String],
        usual: usize,
    ) -> Result<usize, Stopped> {
        let question = plain(question);
        let mut prompt = Select::new(&question, cleaned(options))
            .with_starting_cursor(usual.min(options.len().saturating_sub(1)))
            .with_page_size(PAGE)
            .with_render_config(self.look());
        if !help.is_empty() {
            prompt = prompt.with_help_message(help);
        }
        stopped(prompt.raw_prompt()).map(|chosen| chosen.index)
    }

    fn choose_some(
        &mut self,
        question: &str,
        help: &str,
        options: &[String],
        ticked: &[usize],
    ) -> Result<Vec<usize>, Stopped> {
        if options.is_empty() {
            return Ok(Vec::new());
        }
        let question = plain(question);
        let mut prompt = MultiSelect::new(&question, cleaned(options))
            .with_default(ticked)
            .with_page_size(PAGE)
            .with_keep_filter(false)
            .with_render_config(self.look());
        if !help.is_empty() {
            prompt = prompt.with_help_message(help);
        }
        stopped(prompt.raw_prompt()).map(|chosen| chosen.into_iter().map(|option| option.index).collect())
    }

    fn agree(&mut self, question: &str, help: &str, usual: bool) -> Result<bool, Stopped> {
        let question = plain(question);
        let mut prompt = Confirm::new(&question).with_default(usual).with_render_config(self.look());
        if !help.is_empty() {
            prompt = prompt.with_help_message(help);
        }
        stopped(prompt.prompt())
    }
}
