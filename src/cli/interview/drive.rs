//! Drives an interview: each step to the person, each reply to the interview, each state to the disk.

use jiff::Timestamp;

use super::asker::{Asker, Gone};
use super::keeper::{Keeper, Kept};
use crate::cli::CliError;
use crate::questioner::interview::{Card, End, Interview, InterviewError, Reply, Step};
use crate::report::interview::{self as screen, Act, Frame, Input, Item};
use crate::report::{Style, plain};
use crate::rulebook::RuleBook;

/// How an interview ended.
#[derive(Debug)]
pub enum Ended {
    /// At its end, or because the person stopped.
    Done(Box<End>),
    /// The person left at once.
    Left,
}

/// One interview at work.
pub struct Drive<'a, 'b, A, S> {
    /// The rule book.
    pub book: &'b RuleBook,
    /// The interview.
    pub interview: Interview<'b>,
    /// Whom to ask.
    pub asker: &'a mut A,
    /// Where the case is kept.
    pub keeper: Keeper,
    /// How words are marked.
    pub style: S,
    /// Reads the clock.
    pub clock: &'a dyn Fn() -> Timestamp,
    /// Something to say on the next screen.
    pub note: Option<String>,
}

/// What came of one turn.
enum Turn {
    Reply(Reply),
    /// Shown something; the step stands.
    Again,
    Finish,
}

impl<A: Asker, S: Style> Drive<'_, '_, A, S> {
    /// Runs to the end.
    pub fn run(&mut self) -> Result<Ended, CliError> {
        loop {
            let step = self.interview.step();
            let turn = match self.turn(&step) {
                Ok(turn) => turn,
                Err(Gone::Left) => return Ok(Ended::Left),
                Err(Gone::Broken(error)) => {
                    return Err(CliError::misuse(format!("cannot use the terminal: {error}")));
                }
            };
            match (turn, step) {
                (Turn::Again, _) => {}
                (Turn::Finish, Step::End(end)) => return Ok(Ended::Done(end)),
                (Turn::Finish, _) => return Ok(Ended::Left),
                (Turn::Reply(reply), _) => {
                    if let Some(ended) = self.take(reply)? {
                        return Ok(ended);
                    }
                }
            }
        }
    }

    /// Keeps the answer, then hands it to the interview: however long that works, the answer is safe.
    fn take(&mut self, reply: Reply) -> Result<Option<Ended>, CliError> {
        let now = (self.clock)();
        let when = now.strftime("%Y-%m-%dT%H:%M:%SZ").to_string();
        let early = match self.interview.will_be(&reply, Some(&when)) {
            Some(case) => Some(self.keeper.keep(&case, now).map_err(CliError::misuse)?),
            None => None,
        };
        match self.interview.reply(reply, Some(&when)) {
            Ok(()) => {}
            Err(error @ (InterviewError::Said(_) | InterviewError::Typed(_) | InterviewError::Unfit)) => {
                self.note = Some(error.to_string());
                return Ok(None);
            }
            Err(error) => return Err(CliError::misuse(error)),
        }
        if let Some(Kept::Clash { said }) = early
            && let Some(ended) = self.put_together(&said)?
        {
            return Ok(Some(ended));
        }
        self.keep()
    }

    /// Keeps the case; if somebody else wrote to it too, asks what to do.
    pub fn keep(&mut self) -> Result<Option<Ended>, CliError> {
        loop {
            let kept = self.keeper.keep(self.interview.case(), (self.clock)()).map_err(CliError::misuse)?;
            let Kept::Clash { said } = kept else { return Ok(None) };
            if let Some(ended) = self.put_together(&said)? {
                return Ok(Some(ended));
            }
        }
    }

    /// Asks what to do about a case that somebody else wrote to, and does it.
    fn put_together(&mut self, said: &str) -> Result<Option<Ended>, CliError> {
        match self.ask_clash(said) {
            Ok(Some(0)) => {
                let ours = self.interview.case().clone();
                let (both, differed) = self.keeper.put_together(&ours).map_err(CliError::misuse)?;
                self.note = Some(together(self.book, &differed));
                self.interview.replace_case(both).map_err(CliError::misuse)?;
                Ok(None)
            }
            Ok(Some(1)) => {
                let theirs = self.keeper.take_theirs().map_err(CliError::misuse)?;
                self.interview.replace_case(theirs).map_err(CliError::misuse)?;
                Ok(None)
            }
            Ok(_) | Err(Gone::Left) => Ok(Some(Ended::Left)),
            Err(Gone::Broken(error)) => Err(CliError::misuse(error)),
        }
    }

    fn ask_clash(&mut self, said: &str) -> Result<Option<usize>, Gone> {
        let style = &self.style;
        let draw = |width: usize| {
            let mut lines = screen::Lines::new(width, style);
            lines.text("Two at one case", Style::notice);
            lines.rule();
            lines.say(said);
            lines.finish()
        };
        let item = |key: char, label: &str| Item {
            key,
            also: None,
            label: label.to_owned(),
            act: Act::Say(Reply::Understood),
            foot: false,
        };
        let items = [
            item('1', "put both together and go on"),
            item('2', "go on with theirs"),
            item('3', "leave, and look at both"),
        ];
        self.asker.choose(&draw, &items, 0)
    }

    /// One step to the person.
    fn turn(&mut self, step: &Step) -> Result<Turn, Gone> {
        let frame = Frame { note: self.note.take(), ..self.frame() };
        let (book, style) = (self.book, &self.style);
        let draw = |width: usize| screen::body(book, step, &frame, width, style);
        match screen::input(book, step) {
            Input::Menu(items, on) => {
                let chosen = self.asker.choose(&draw, &items, on)?;
                match (chosen.map(|number| items[number].act.clone()), step) {
                    (Some(Act::Say(Reply::Stop)) | None, Step::End(_)) => Ok(Turn::Finish),
                    (None, Step::Alert(_)) => Ok(Turn::Reply(Reply::Understood)),
                    (None, _) => Ok(Turn::Reply(Reply::Stop)),
                    (Some(act), _) => self.act(step, act),
                }
            }
            Input::Ticks(lines) => {
                let ticked = self.asker.tick(&draw, &lines)?;
                Ok(Turn::Reply(ticked.map_or(Reply::Back, Reply::Confirmed)))
            }
            Input::Text(prompt) => {
                let typed = self.asker.text(&draw, &prompt, None)?;
                let known = |text: String| Some(text).filter(|text| !text.trim().is_empty());
                Ok(Turn::Reply(typed.map_or(Reply::Back, |text| Reply::Age(known(text)))))
            }
        }
    }

    /// What stands above the screens of this case.
    fn frame(&self) -> Frame {
        let vehicle = self.interview.case().vehicle.name.clone();
        Frame { vehicle, case: self.keeper.name().map(str::to_owned), note: None }
    }

    fn act(&mut self, step: &Step, act: Act) -> Result<Turn, Gone> {
        let frame = self.frame();
        let (book, style) = (self.book, &self.style);
        let draw = |width: usize| screen::body(book, step, &frame, width, style);
        match (act, step) {
            (Act::Say(reply), _) => return Ok(Turn::Reply(reply)),
            (Act::TypeComplaint, _) => {
                let typed = self.asker.text(&draw, "In the customer's words", None)?;
                if let Some(text) = typed.filter(|text| !text.trim().is_empty()) {
                    return Ok(Turn::Reply(Reply::Complaint(text)));
                }
            }
            (Act::PickSymptoms, Step::Complaint(complaint)) => {
                let lines: Vec<String> = complaint.open.iter().map(|id| plain(book.name_of(id))).collect();
                if let Some(picked) = self.asker.pick_many("What is there?", &lines)? {
                    let ids = picked.into_iter().map(|number| complaint.open[number].clone()).collect();
                    return Ok(Turn::Reply(Reply::Symptoms(ids)));
                }
            }
            (Act::TypeReading, Step::Question(card)) => return self.reading(card),
            (Act::Why, Step::Question(card)) => {
                self.asker.show(&|width| screen::why(book, card, width, style))?;
            }
            (Act::Others, Step::Question(card)) => {
                if let Some(number) = self.asker.pick("Ask which?", &screen::others(book, &card.others))? {
                    return Ok(Turn::Reply(Reply::Ask(card.others[number].weighed.question.ask.clone())));
                }
            }
            (Act::Changes, Step::Question(_) | Step::End(_)) => {
                let answers = match step {
                    Step::Question(card) => &card.answers,
                    Step::End(end) => &end.answers,
                    _ => return Ok(Turn::Again),
                };
                if let Some(number) = self.asker.pick("Change which?", &screen::changes(book, answers))? {
                    return Ok(Turn::Reply(Reply::Ask(answers[number].ask.clone())));
                }
            }
            (Act::Keys, _) => self.asker.show(&|width| screen::keys_help(width, style))?,
            _ => {}
        }
        Ok(Turn::Again)
    }

    /// Asks for a reading until it can be understood, or the person backs out.
    fn reading(&mut self, card: &Card) -> Result<Turn, Gone> {
        let ask = &card.weighed.question.ask;
        let Some(reading) = self.book.checks.get(ask).and_then(|check| check.reading.as_ref()) else {
            return Ok(Turn::Again);
        };
        let style = &self.style;
        let draw = |width: usize| {
            let mut lines = screen::Lines::new(width, style);
            lines.text(&reading.ask, Style::heading);
            lines.text(
                &format!(
                    "In {}, or with another unit. From {} to {}.",
                    plain(&reading.unit),
                    plain(&reading.least),
                    plain(&reading.most)
                ),
                Style::faint,
            );
            lines.finish()
        };
        let mut wrong: Option<String> = None;
        loop {
            let typed = self.asker.text(&draw, "Reading", wrong.as_deref())?;
            let Some(text) = typed.filter(|text| !text.trim().is_empty()) else { return Ok(Turn::Again) };
            match crate::case::reading::parse(reading, &text) {
                Ok(_) => return Ok(Turn::Reply(Reply::Reading(text))),
                Err(why) => wrong = Some(plain(&why)),
            }
        }
    }
}

fn together(book: &RuleBook, differed: &[String]) -> String {
    if differed.is_empty() {
        return "Both were put together. Nothing was answered differently.".to_owned();
    }
    let names: Vec<String> = differed.iter().map(|ask| plain(book.name_of(ask))).collect();
    format!("Both were put together. Answered differently, the later answer counts: {}.", names.join("; "))
}
