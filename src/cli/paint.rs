//! Colour, decided once and handed to everyone who prints.

use std::io::IsTerminal;

use colored::{ColoredString, Colorize};

use super::ColorArg;

/// Whether to colour one stream, and how. Colour is never the only sign: every painted word also reads
/// right without it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Paint {
    on: bool,
}

impl Paint {
    /// Paint for a stream: the flag goes first, then `NO_COLOR` and `CLICOLOR_FORCE`, then whether it is a
    /// terminal that can show colour.
    pub fn decide(flag: ColorArg, stream: &impl IsTerminal) -> Self {
        let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        let on = match flag {
            ColorArg::Always => true,
            ColorArg::Never => false,
            ColorArg::Auto if set("NO_COLOR") => false,
            ColorArg::Auto if std::env::var("CLICOLOR_FORCE").is_ok_and(|v| v != "0" && !v.is_empty()) => {
                true
            }
            ColorArg::Auto => {
                stream.is_terminal() && std::env::var("TERM").map_or(true, |term| term != "dumb")
            }
        };
        Self { on }
    }

    /// Paint that never colours.
    pub fn plain() -> Self {
        Self { on: false }
    }

    /// Whether it colours.
    pub fn is_on(self) -> bool {
        self.on
    }

    fn apply(self, text: &str, style: impl FnOnce(&str) -> ColoredString) -> String {
        if self.on { style(text).to_string() } else { text.to_owned() }
    }

    /// A heading.
    pub fn heading(self, text: &str) -> String {
        self.apply(text, |text| text.bold())
    }

    /// A caution or a "do not drive".
    pub fn danger(self, text: &str) -> String {
        self.apply(text, |text| text.red().bold())
    }

    /// Something to take notice of.
    pub fn notice(self, text: &str) -> String {
        self.apply(text, |text| text.yellow())
    }

    /// Something good.
    pub fn good(self, text: &str) -> String {
        self.apply(text, |text| text.green())
    }

    /// Something of second importance.
    pub fn faint(self, text: &str) -> String {
        self.apply(text, |text| text.dimmed())
    }

    /// A name: of a part, a file, a command.
    pub fn name(self, text: &str) -> String {
        self.apply(text, |text| text.cyan())
    }
}

impl crate::report::Style for Paint {
    fn heading(&self, text: &str) -> String {
        Self::heading(*self, text)
    }

    fn danger(&self, text: &str) -> String {
        Self::danger(*self, text)
    }

    fn notice(&self, text: &str) -> String {
        Self::notice(*self, text)
    }

    fn faint(&self, text: &str) -> String {
        Self::faint(*self, text)
    }
}
