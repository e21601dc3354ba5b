//! The terminal: menus by single keys and arrows, drawn in one go; prompts and long lists by inquire.

use std::fmt::Write as _;
use std::io::{self, Write};
use std::time::Duration;

use crossterm::event::{self, Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use crossterm::terminal::{self, disable_raw_mode, enable_raw_mode};
use inquire::ui::{Attributes, Color, RenderConfig, StyleSheet, Styled};
use inquire::{InquireError, MultiSelect, Select, Text};

use super::asker::{Asker, Draw, Gone};
use crate::cli::Paint;
use crate::report::interview::{Item, menu_lines};

/// What a terminal is taken to be if it does not say.
const SIZE: (usize, usize) = (80, 24);

/// A person at a terminal. Draws on standard error, as inquire does; results go to standard output at the end.
pub struct Terminal {
    paint: Paint,
    render: RenderConfig<'static>,
}

/// Raw keys while it lives; the terminal is put back however it ends.
struct Raw;

impl Raw {
    fn on() -> Result<Self, Gone> {
        enable_raw_mode().map_err(Gone::Broken)?;
        Ok(Self)
    }
}

impl Drop for Raw {
    fn drop(&mut self) {
        let _ = disable_raw_mode();
        let _ = io::stderr().write_all(b"\x1b[?25h");
    }
}

/// A key, as far as the interview cares.
enum Key {
    Char(char),
    Enter,
    Up,
    Down,
    PageUp,
    Escape,
    Resize,
}

impl Terminal {
    /// Takes over the terminal; what stood on it is scrolled away, not lost.
    pub fn open(paint: Paint) -> Self {
        let (_, rows) = size();
        let _ = io::stderr().write_all("\r\n".repeat(rows).as_bytes());
        Self { paint, render: render_config(paint) }
    }

    /// Draws a whole screen in one write: lines are overwritten in place, so nothing flickers.
    fn draw(lines: &[String], hide: bool) -> Result<(), Gone> {
        let mut text = String::from("\x1b[?2026h\x1b[?25l\x1b[H");
        for (number, line) in lines.iter().enumerate() {
            if number > 0 {
                text.push_str("\r\n");
            }
            let _ = write!(text, "{line}\x1b[K");
        }
        text.push_str("\x1b[J");
        text.push_str(if hide { "\x1b[?2026l" } else { "\r\n\x1b[?25h\x1b[?2026l" });
        let mut out = io::stderr().lock();
        out.write_all(text.as_bytes()).and_then(|()| out.flush()).map_err(Gone::Broken)
    }

    /// Shows the body page by page until what is left fits above `foot` lines; true if a page was turned back
    /// out of by Esc.
    fn page(&self, body: &[String], foot: usize, rows: usize) -> Result<(bool, usize), Gone> {
        let mut from = 0;
        let step = rows.saturating_sub(2).max(3);
        while body.len() - from + foot > rows && body.len() - from > 3 {
            // The last page keeps as much of the body as fits above the menu.
            let least = body.len().saturating_sub(rows.saturating_sub(foot).max(3));
            let to = (from + step).min(least.max(from + 1));
            let mut lines = body[from..to].to_vec();
            lines.push(String::new());
            lines.push(self.paint.notice("-- more: any key --"));
            Self::draw(&lines, true)?;
            match key()? {
                Key::Escape => return Ok((true, from)),
                Key::Up | Key::PageUp => from = from.saturating_sub(step),
                Key::Resize => return Ok((false, 0)),
                _ => from = to,
            }
        }
        Ok((false, from))
    }
}

impl Asker for Terminal {
    fn choose(&mut self, draw: Draw<'_>, items: &[Item], on: usize) -> Result<Option<usize>, Gone> {
        let _raw = Raw::on()?;
        forget_keys()?;
        let lines: Vec<usize> = (0..items.len()).filter(|&number| !items[number].foot).collect();
        let mut on = on.min(lines.len().saturating_sub(1));
        let mut from = None;
        loop {
            let (width, rows) = size();
            let body = draw(width);
            let menu = menu_lines(items, on, width, &self.paint);
            let at = match from {
                Some(at) => at,
                None => match self.page(&body, menu.len() + 1, rows)? {
                    (true, _) => return Ok(None),
                    (false, at) => *from.insert(at),
                },
            };
            let mut screen = body[at.min(body.len())..].to_vec();
            screen.push(String::new());
            screen.extend(menu);
            Self::draw(&screen, true)?;
            match key()? {
                Key::Up => on = on.checked_sub(1).unwrap_or(lines.len().saturating_sub(1)),
                Key::Down => on = (on + 1) % lines.len().max(1),
                Key::Enter => return Ok(lines.get(on).copied()),
                Key::Escape => return Ok(None),
                Key::PageUp | Key::Resize => from = None,
                Key::Char(c) => {
                    if let Some(number) = items.iter().position(|item| item.is_hit_by(c)) {
                        return Ok(Some(number));
                    }
                    // Capitals serve as well, as long as no item has one of its own.
                    let small = c.to_ascii_lowercase();
                    if let Some(number) = items.iter().position(|item| item.is_hit_by(small)) {
                        return Ok(Some(number));
                    }
                    let large = c.to_ascii_uppercase();
                    if let Some(number) = items.iter().position(|item| item.is_hit_by(large)) {
                        return Ok(Some(number));
                    }
                }
            }
        }
    }

    fn tick(&mut self, draw: Draw<'_>, lines: &[(String, bool)]) -> Result<Option<Vec<usize>>, Gone> {
        let _raw = Raw::on()?;
        forget_keys()?;
        let mut ticked: Vec<bool> = lines.iter().map(|(_, on)| *on).collect();
        let mut on = 0;
        loop {
            let (width, _) = size();
            let mut screen = draw(width);
            screen.push(String::new());
            screen.extend(tick_lines(lines, &ticked, on, width, self.paint));
            Self::draw(&screen, true)?;
            match key()? {
                Key::Up => on = on.checked_sub(1).unwrap_or(lines.len().saturating_sub(1)),
                Key::Down => on = (on + 1) % lines.len().max(1),
                Key::Enter => return Ok(Some((0..lines.len()).filter(|&number| ticked[number]).collect())),
                Key::Escape => return Ok(None),
                Key::Char(' ') => ticked[on] = !ticked[on],
                Key::Char('b') => return Ok(None),
                Key::Char(c) => {
                    let number = c.to_digit(10).and_then(|digit| (digit as usize).checked_sub(1));
                    if let Some(number) = number.filter(|&number| number < ticked.len()) {
                        ticked[number] = !ticked[number];
                        on = number;
                    }
                }
                Key::PageUp | Key::Resize => {}
            }
        }
    }

    fn pick(&mut self, title: &str, lines: &[String]) -> Result<Option<usize>, Gone> {
        if lines.is_empty() {
            return Ok(None);
        }
        Self::draw(&[], false)?;
        let select = Select::new(title, shortened(lines))
            .with_page_size(page_size())
            .with_help_message("type, arrows, Enter; Esc: back")
            .with_render_config(self.render);
        answer(select.raw_prompt()).map(|picked| picked.map(|option| option.index))
    }

    fn pick_many(&mut self, title: &str, lines: &[String]) -> Result<Option<Vec<usize>>, Gone> {
        Self::draw(&[], false)?;
        let select = MultiSelect::new(title, shortened(lines))
            .with_page_size(page_size())
            .with_help_message("type, Space ticks, Enter")
            .with_render_config(self.render);
        answer(select.raw_prompt())
            .map(|picked| picked.map(|options| options.into_iter().map(|option| option.index).collect()))
    }

    fn text(&mut self, draw: Draw<'_>, prompt: &str, wrong: Option<&str>) -> Result<Option<String>, Gone> {
        let (width, _) = size();
        let mut screen = draw(width);
        if let Some(wrong) = wrong {
            let mut lines = crate::report::interview::Lines::new(width, &self.paint);
            lines.marked("*", wrong, crate::report::Style::notice);
            screen.push(String::new());
            screen.extend(lines.finish());
        }
        screen.push(String::new());
        Self::draw(&screen, false)?;
        answer(Text::new(&format!("{prompt}:")).with_render_config(self.render).prompt())
    }

    fn show(&mut self, draw: Draw<'_>) -> Result<(), Gone> {
        let _raw = Raw::on()?;
        loop {
            let (width, rows) = size();
            let body = draw(width);
            let (left, at) = self.page(&body, 2, rows)?;
            if left {
                return Ok(());
            }
            let mut screen = body[at..].to_vec();
            screen.push(String::new());
            screen.push(self.paint.faint("any key: back to the question"));
            Self::draw(&screen, true)?;
            if !matches!(key()?, Key::Resize) {
                return Ok(());
            }
        }
    }
}

/// Lines that can be ticked; the tick is a sign, not a colour.
pub fn tick_lines(
    lines: &[(String, bool)],
    ticked: &[bool],
    on: usize,
    width: usize,
    style: impl crate::report::Style,
) -> Vec<String> {
    let width = width.saturating_sub(1).clamp(20, crate::report::interview::WIDEST);
    let mut drawn = Vec::new();
    for (number, (label, _)) in lines.iter().enumerate() {
        let sign = if number == on { ">" } else { " " };
        let tick = if ticked.get(number) == Some(&true) { "[x]" } else { "[ ]" };
        let lead = format!("{sign} {} {tick} ", number + 1);
        for (part, text) in crate::report::wrapped(label, width, lead.len()).lines().enumerate() {
            let text = if part == 0 { format!("{lead}{text}") } else { text.to_owned() };
            drawn.push(if number == on { style.heading(&text) } else { text });
        }
    }
    drawn.push(String::new());
    for line in crate::report::wrapped("1 2 3 or Space: tick · Enter: take these · b: back", width, 0).lines()
    {
        drawn.push(style.faint(line));
    }
    drawn
}

fn size() -> (usize, usize) {
    match terminal::size() {
        Ok((columns, rows)) if columns > 0 && rows > 0 => (usize::from(columns), usize::from(rows)),
        _ => SIZE,
    }
}

fn page_size() -> usize {
    size().1.saturating_sub(5).clamp(4, 18)
}

/// Options cut to one line each: inquire draws longer ones over several.
fn shortened(lines: &[String]) -> Vec<String> {
    let width = size().0.saturating_sub(8).max(16);
    lines.iter().map(|line| crate::report::interview::cut(line, width)).collect()
}

/// Forgets keys pressed before the screen they would answer was there: an impatient second press must not answer a
/// question that nobody has read. Ctrl-C is never forgotten.
fn forget_keys() -> Result<(), Gone> {
    while event::poll(Duration::ZERO).map_err(Gone::Broken)? {
        if let Event::Key(KeyEvent { code: KeyCode::Char('c'), modifiers, .. }) =
            event::read().map_err(Gone::Broken)?
            && modifiers.contains(KeyModifiers::CONTROL)
        {
            return Err(Gone::Left);
        }
    }
    Ok(())
}

/// The next key that means something.
fn key() -> Result<Key, Gone> {
    loop {
        match event::read().map_err(Gone::Broken)? {
            Event::Resize(..) => return Ok(Key::Resize),
            Event::Key(KeyEvent {
                code,
                modifiers,
                kind: KeyEventKind::Press | KeyEventKind::Repeat,
                ..
            }) => match (code, modifiers.contains(KeyModifiers::CONTROL)) {
                (KeyCode::Char('c'), true) => return Err(Gone::Left),
                (KeyCode::Char('d' | 'g'), true) | (KeyCode::Esc, _) => return Ok(Key::Escape),
                (KeyCode::Char('p'), true) | (KeyCode::Up | KeyCode::BackTab, _) => return Ok(Key::Up),
                (KeyCode::Char('n'), true) | (KeyCode::Down | KeyCode::Tab, _) => return Ok(Key::Down),
                (KeyCode::PageUp, _) => return Ok(Key::PageUp),
                (KeyCode::Enter, _) => return Ok(Key::Enter),
                (KeyCode::Char(c), false) => return Ok(Key::Char(c)),
                _ => {}
            },
            _ => {}
        }
    }
}

/// What inquire got out of the person.
fn answer<T>(result: Result<T, InquireError>) -> Result<Option<T>, Gone> {
    match result {
        Ok(value) => Ok(Some(value)),
        Err(InquireError::OperationCanceled) => Ok(None),
        Err(InquireError::OperationInterrupted) => Err(Gone::Left),
        Err(InquireError::IO(error)) => Err(Gone::Broken(error)),
        Err(error) => Err(Gone::Broken(io::Error::other(error.to_string()))),
    }
}

/// How inquire draws: our own signs, and colour only if it is wanted.
fn render_config(paint: Paint) -> RenderConfig<'static> {
    let plain = RenderConfig::empty()
        .with_prompt_prefix(Styled::new(">"))
        .with_answered_prompt_prefix(Styled::new(">"))
        .with_highlighted_option_prefix(Styled::new(">"))
        .with_selected_checkbox(Styled::new("[x]"))
        .with_unselected_checkbox(Styled::new("[ ]"))
        .with_scroll_up_prefix(Styled::new("^"))
        .with_scroll_down_prefix(Styled::new("v"));
    if !paint.is_on() {
        return plain;
    }
    plain
        .with_prompt_prefix(Styled::new(">").with_fg(Color::LightCyan))
        .with_highlighted_option_prefix(Styled::new(">").with_fg(Color::LightCyan))
        .with_selected_option(Some(StyleSheet::new().with_attr(Attributes::BOLD)))
        .with_help_message(StyleSheet::new().with_fg(Color::DarkGrey))
}
