//! What may be pressed at each step.

use unicode_width::UnicodeWidthStr;

use super::words::{question_of, said_words};
use crate::questioner::interview::{
    AgeStep, Card, Clash, ComplaintStep, End, FactStep, Reply, Settle, Step, Stop,
};
use crate::questioner::{Question, QuestionKind, Verdict};
use crate::report::standing::question_name;
use crate::report::style::{Style, plain, wrapped};
use crate::rulebook::RuleBook;

/// What a key does.
#[derive(Debug, Clone, PartialEq)]
pub enum Act {
    /// Says this to the interview.
    Say(Reply),
    /// Lets the person type the customer's words.
    TypeComplaint,
    /// Lets the person pick symptoms from the list.
    PickSymptoms,
    /// Lets the person type a reading.
    TypeReading,
    /// Shows why this question is asked.
    Why,
    /// Lists other questions.
    Others,
    /// Lists the answers so far, to change one.
    Changes,
    /// Shows the keys.
    Keys,
}

/// One line of a menu.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// The key.
    pub key: char,
    /// Another key for the same.
    pub also: Option<char>,
    /// What it says.
    pub label: String,
    /// What it does.
    pub act: Act,
    /// True for what stands in the foot line, out of the way of the arrows.
    pub foot: bool,
}

impl Item {
    fn new(key: char, label: impl Into<String>, act: Act) -> Self {
        Self { key, also: None, label: label.into(), act, foot: false }
    }

    fn also(mut self, key: char) -> Self {
        self.also = Some(key);
        self
    }

    fn foot(key: char, label: &str, act: Act) -> Self {
        Self { foot: true, ..Self::new(key, label, act) }
    }

    /// Whether a key is meant for this item.
    pub fn is_hit_by(&self, key: char) -> bool {
        self.key == key || self.also == Some(key)
    }
}

/// How a step is answered.
#[derive(Debug, Clone, PartialEq)]
pub enum Input {
    /// By one key. The number is the line the arrows start on.
    Menu(Vec<Item>, usize),
    /// By ticking lines; the flags are how they stand at first.
    Ticks(Vec<(String, bool)>),
    /// By typing; nothing typed means not known.
    Text(String),
}

/// Keys of the lines that answer, in their order.
const LINES: [char; 14] = ['1', '2', '3', '4', '5', '6', '7', '8', '9', 'A', 'B', 'C', 'D', 'E'];

fn line(number: usize, label: impl Into<String>, act: Act) -> Item {
    Item::new(LINES.get(number).copied().unwrap_or(' '), label, act)
}

/// How a step is answered.
pub fn input(book: &RuleBook, step: &Step) -> Input {
    match step {
        Step::Vehicle => Input::Menu(vehicles(book), 0),
        Step::Fact(fact) => Input::Menu(options(book, fact), 0),
        Step::Age(AgeStep::Distance) => Input::Text("Kilometres (Enter: not known)".to_owned()),
        Step::Age(AgeStep::Built) => Input::Text("Year (Enter: not known)".to_owned()),
        Step::Complaint(complaint) => complaint_menu(complaint),
        Step::Heard(heard) => Input::Ticks(
            heard
                .iter()
                .map(|one| {
                    let name = plain(question_name(book, &one.symptom));
                    let not = if one.there { "" } else { "NOT " };
                    let slips: Vec<String> = one
                        .slips
                        .iter()
                        .map(|(typed, known)| format!("“{}” read as “{known}”", plain(typed)))
                        .collect();
                    let slips =
                        if slips.is_empty() { String::new() } else { format!(", {}", slips.join(", ")) };
                    let same = one.said.to_lowercase() == one.phrase.to_lowercase();
                    let like =
                        if same { String::new() } else { format!(" is like “{}”", plain(&one.phrase)) };
                    let why = format!("“{}”{like}{slips}", plain(&one.said));
                    (format!("{not}{name}: {why}"), one.sure)
                })
                .collect(),
        ),
        Step::Question(card) => Input::Menu(answers(book, card), 0),
        Step::Clash(clash) => Input::Menu(clash_menu(book, clash), 0),
        Step::Alert(_) => Input::Menu(vec![line(0, "Understood", Act::Say(Reply::Understood))], 0),
        Step::NoTool(tools) => Input::Menu(tool_menu(book, tools), 0),
        Step::End(end) => Input::Menu(end_menu(end), 0),
    }
}

fn vehicles(book: &RuleBook) -> Vec<Item> {
    let mut items: Vec<Item> = book
        .vehicles
        .iter()
        .take(LINES.len() - 2)
        .enumerate()
        .map(|(number, (id, vehicle))| {
            let name = plain(vehicle.name.as_deref().unwrap_or(id));
            line(number, name, Act::Say(Reply::Vehicle(Box::new(vehicle.clone()))))
        })
        .collect();
    items.push(line(items.len(), "another one: ask me a few things", Act::Say(Reply::Describe)));
    items.push(line(items.len(), "nothing is known about it", Act::Say(Reply::SkipVehicle)).also('d'));
    items.push(Item::foot('s', "stop", Act::Say(Reply::Stop)));
    items
}

fn options(book: &RuleBook, step: &FactStep) -> Vec<Item> {
    let known = book.facts.get(&step.fact);
    let mut items: Vec<Item> = known
        .into_iter()
        .flat_map(|fact| &fact.options)
        .enumerate()
        .map(|(number, (id, option))| {
            let now = if step.now.as_ref() == Some(id) { " (as noted)" } else { "" };
            let item = line(
                number,
                format!("{}{now}", plain(&option.name)),
                Act::Say(Reply::Fact(Some(id.clone()))),
            );
            match id.as_str() {
                "yes" => item.also('y'),
                "no" => item.also('n'),
                _ => item,
            }
        })
        .collect();
    items.push(line(items.len(), "don't know", Act::Say(Reply::Fact(None))).also('d'));
    items.push(Item::foot('e', "enough about it", Act::Say(Reply::EnoughFacts)));
    items.push(Item::foot('b', "back", Act::Say(Reply::Back)));
    items.push(Item::foot('s', "stop", Act::Say(Reply::Stop)));
    items
}

fn complaint_menu(complaint: &ComplaintStep) -> Input {
    let nothing = complaint.noted.is_empty();
    let all = if nothing { "nothing to note, go on" } else { "that is all, go on" };
    let more = if nothing { "" } else { " something more" };
    let items = vec![
        line(
            0,
            format!("type{more} what the customer says").replace("more what", "more"),
            Act::TypeComplaint,
        )
        .also('t'),
        line(1, format!("pick{more} from the list"), Act::PickSymptoms).also('l'),
        line(2, all, Act::Say(Reply::ThatIsAll)).also('g'),
        Item::foot('b', "back", Act::Say(Reply::Back)),
        Item::foot('s', "stop", Act::Say(Reply::Stop)),
    ];
    Input::Menu(items, if nothing { 0 } else { 2 })
}

fn answers(book: &RuleBook, card: &Card) -> Vec<Item> {
    let question = &card.weighed.question;
    let say = |word: &str| Act::Say(Reply::Answer(word.to_owned()));
    let mut items = Vec::new();
    if question.kind == QuestionKind::Check {
        if let Some(check) = book.checks.get(&question.ask) {
            if let Some(reading) = &check.reading {
                let label = format!("type the reading, in {}", plain(&reading.unit));
                items.push(line(0, label, Act::TypeReading).also('r'));
            }
            items.push(line(items.len(), format!("good: {}", plain(&check.normal)), say("normal")));
            for (id, outcome) in &check.outcomes {
                if question.answers.iter().any(|(answer, _)| answer == id) {
                    items.push(line(items.len(), plain(&outcome.say), say(id)));
                }
            }
        }
    } else {
        items.push(line(0, "yes", say("yes")).also('y'));
        items.push(line(1, "no", say("no")).also('n'));
    }
    items.push(line(items.len(), "don't know", say("dont-know")).also('d'));
    let cannot = cannot_words(book, question);
    items.push(line(items.len(), cannot, say("cannot")).also('x'));
    if let Some(said) = &card.said {
        items.push(Item::foot('k', &format!("keep “{}”", said_words(book, said)), Act::Say(Reply::Keep)));
        items.push(Item::foot('f', "forget that answer", Act::Say(Reply::Forget)));
    }
    items.push(Item::foot('w', "why this?", Act::Why));
    items.push(Item::foot('o', "other questions", Act::Others));
    items.push(Item::foot('b', "back", Act::Say(Reply::Back)));
    if !card.answers.is_empty() {
        items.push(Item::foot('c', "change an answer", Act::Changes));
    }
    items.push(Item::foot('s', "stop", Act::Say(Reply::Stop)));
    items.push(Item::foot('?', "keys", Act::Keys));
    items
}

/// "Can't do that here"; where that can only mean a missing tool, it says so.
fn cannot_words(book: &RuleBook, question: &Question) -> String {
    let Some(check) = book.checks.get(&question.ask) else { return "can't tell here".to_owned() };
    let special = |tool: &&String| book.tools.get(tool.as_str()).is_some_and(|known| !known.common);
    match check.tools.iter().filter(special).collect::<Vec<_>>().as_slice() {
        [tool] => format!("can't do that here: no {}", plain(book.name_of(tool))),
        _ => "can't do that here".to_owned(),
    }
}

fn clash_menu(book: &RuleBook, clash: &Clash) -> Vec<Item> {
    let settle = |settle: Settle| Act::Say(Reply::Settle(settle));
    match clash {
        Clash::Exclude { new, old } => vec![
            line(0, format!("only this: {}", plain(question_name(book, new))), settle(Settle::New)),
            line(1, format!("only this: {}", plain(question_name(book, old))), settle(Settle::Old)),
            line(2, "both are there all the same", settle(Settle::Both)),
            line(3, "nobody knows", settle(Settle::Neither)).also('d'),
        ],
        Clash::Unlikely { chance, against, .. } => {
            let mut items = Vec::new();
            if *chance > 0.0 {
                items.push(line(0, "it is right, keep it", settle(Settle::Both)).also('k'));
            }
            items.push(line(items.len(), "a slip: answer it again", settle(Settle::Old)));
            if let Some(against) = against {
                let name = plain(question_name(book, against));
                items.push(line(items.len(), format!("look again at: {name}"), settle(Settle::New)));
            }
            items.push(line(items.len(), "not certain: leave it out", settle(Settle::Neither)).also('d'));
            items
        }
    }
}

fn tool_menu(book: &RuleBook, tools: &[String]) -> Vec<Item> {
    let missing = |tools: Vec<String>| Act::Say(Reply::Missing(tools));
    let mut items: Vec<Item> = tools
        .iter()
        .take(LINES.len() - 2)
        .enumerate()
        .map(|(number, tool)| {
            line(number, format!("not here: {}", plain(book.name_of(tool))), missing(vec![tool.clone()]))
        })
        .collect();
    if tools.len() > 1 {
        items.push(line(items.len(), "none of them is here", missing(tools.to_vec())));
    }
    items.push(line(items.len(), "no tool is missing, it is something else", missing(Vec::new())).also('n'));
    items
}

fn end_menu(end: &End) -> Vec<Item> {
    let mut items = vec![line(0, "finish", Act::Say(Reply::Stop)).also('q')];
    if end.more {
        items.push(line(1, "go on asking", Act::Say(Reply::GoOn)).also('g'));
    }
    if matches!(end.stop, Stop::Verdict(Verdict::NothingWrong { .. })) {
        let label = "it went home like this and came back with the same complaint";
        items.push(line(items.len(), label, Act::Say(Reply::CameBack)).also('r'));
    }
    if !end.answers.is_empty() {
        items.push(line(items.len(), "change an answer", Act::Changes).also('c'));
    }
    items.push(Item::foot('b', "back", Act::Say(Reply::Back)));
    items
}

/// A menu as lines, with the sign `>` before the line the arrows are on.
pub fn menu_lines(items: &[Item], on: usize, width: usize, style: &impl Style) -> Vec<String> {
    let width = width.saturating_sub(1).clamp(20, super::WIDEST);
    let mut lines = Vec::new();
    for (number, item) in items.iter().filter(|item| !item.foot).enumerate() {
        let sign = if number == on { ">" } else { " " };
        let lead = format!("{sign} {}  ", item.key);
        let body = wrapped(&item.label, width, lead.width());
        for (part, text) in body.lines().enumerate() {
            let text = if part == 0 { format!("{lead}{text}") } else { text.to_owned() };
            lines.push(if number == on { style.heading(&text) } else { text });
        }
    }
    let foot: Vec<String> = items
        .iter()
        .filter(|item| item.foot)
        .map(|item| format!("{}\u{a0}{}", item.key, item.label.replace(' ', "\u{a0}")))
        .collect();
    if !foot.is_empty() {
        lines.push(String::new());
        // Held together by no-break spaces until the lines are broken.
        let broken = broken_between(&foot, width);
        lines.extend(broken.into_iter().map(|line| style.faint(&line.replace('\u{a0}', " "))));
    }
    lines
}

/// Pieces on as few lines as they need, three spaces apart, never broken inside.
fn broken_between(pieces: &[String], width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for piece in pieces {
        match lines.last_mut() {
            Some(line) if line.width() + 3 + piece.width() <= width => {
                line.push_str("   ");
                line.push_str(piece);
            }
            _ => lines.push(piece.clone()),
        }
    }
    lines
}

/// The question as one line, for prompts.
pub fn question_line(book: &RuleBook, ask: &str) -> String {
    plain(question_of(book, ask))
}
