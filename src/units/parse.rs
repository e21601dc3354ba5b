//! From what people type to a checked quantity.

use super::number::{self, Form, Number};
use super::{Kind, Quantity, Typed, Unit, UnitError};

/// Longer texts are refused unread: no quantity needs more.
const LONGEST_TEXT: usize = 200;

/// Reads `text` as a quantity of `kind`. A bare number takes `default_unit`; with `None` it is refused unless
/// the kind has no unit (pH, specific gravity, count).
///
/// Reads decimal points and commas, thousands marks, fractions (`1 1/2 in`), mixes (`50/50`), sums (`5 ft 6 in`)
/// and rates (`2 psi in 5 min`). Gallons, quarts, pints and fluid ounces must say `(US)` or `(imp)`.
///
/// Errors name what was found, and what to type instead.
///
/// ```
/// use weephole::units::{Kind, Unit, UnitSystem, parse_quantity};
/// let cap = parse_quantity("16psi", Kind::Pressure, None).unwrap();
/// assert_eq!(cap.display(UnitSystem::Metric), "110 kPa");
/// let warm = parse_quantity("1,5 bar", Kind::Temperature, Some(Unit::CELSIUS)).unwrap_err();
/// assert!(warm.to_string().contains("is a gauge pressure, where a temperature is wanted"));
/// ```
pub fn parse_quantity(
    text: &str,
    kind: Kind,
    default_unit: impl Into<Option<Unit>>,
) -> Result<Quantity, UnitError> {
    let default_unit = default_unit.into().filter(|unit| unit.kind() == kind);
    let whole = Whole { text, kind, default_unit };
    let body = strip_lead(text.trim(), kind);
    if body.is_empty() {
        return Err(UnitError::Empty { kind });
    }
    if text.len() > LONGEST_TEXT {
        return Err(whole.not_a_number());
    }
    if let Some((top, bottom)) = kind.rate_of()
        && let Some(quantity) = whole.rate(body, top, bottom)?
    {
        return Ok(quantity);
    }
    whole.single(body)
}

/// Words that people put before a figure and that change nothing.
fn strip_lead(mut text: &str, kind: Kind) -> &str {
    let kind_mark: &[&str] = match kind {
        Kind::Ph => &["ph"],
        Kind::SpecificGravity => &["sg", "s.g."],
        _ => &[],
    };
    loop {
        let before = text;
        for word in ["about", "approximately", "approx.", "approx", "roughly", "circa", "ca.", "~", "≈", "="]
            .iter()
            .chain(kind_mark)
        {
            if let Some(head) = text.get(..word.len())
                && head.eq_ignore_ascii_case(word)
            {
                text = text[word.len()..].trim_start_matches([' ', ':', '=', '\u{a0}']);
            }
        }
        if text.len() == before.len() {
            return text;
        }
    }
}

/// The text as a whole, kept for messages while its pieces are read.
struct Whole<'t> {
    text: &'t str,
    kind: Kind,
    default_unit: Option<Unit>,
}

impl Whole<'_> {
    fn not_a_number(&self) -> UnitError {
        UnitError::NotANumber { text: Typed::new(self.text), kind: self.kind }
    }

    fn single(&self, body: &str) -> Result<Quantity, UnitError> {
        let (number, rest) = number::read(body).ok_or_else(|| self.not_a_number())?;
        let (number, rest) = (self.as_ratio(number), rest.trim());
        if starts_another_figure(rest) && find_unit(self.kind, rest).is_none() {
            return Err(UnitError::MoreThanOne { text: Typed::new(self.text), kind: self.kind });
        }
        match self.find(rest) {
            Found::Unit(unit) => self.build(number, unit),
            Found::Scaled(factor, unit) => {
                self.build(Number { value: number.value * factor, ..number }, unit)
            }
            Found::Nothing => self.bare(number),
            Found::Unknown => self.sum(number, rest).unwrap_or_else(|| Err(self.unknown(body, rest))),
        }
    }

    /// `50/50`, `1:1` and `1/2` as shares.
    fn as_ratio(&self, number: Number) -> Number {
        match number.form {
            Form::Fraction(a, b) if self.kind == Kind::Ratio && (a + b - 100.0).abs() < 1e-9 => {
                Number { value: a / 100.0, form: Form::Parts(a, b) }
            }
            _ => number,
        }
    }

    fn find(&self, rest: &str) -> Found {
        if rest.is_empty() || (self.kind.is_thermal() && is_bare_degree(rest)) {
            return Found::Nothing;
        }
        if let Some(unit) = find_unit(self.kind, rest) {
            return Found::Unit(unit);
        }
        // `140k` and `140k km`: thousands, where a k means nothing else.
        if self.kind == Kind::Distance
            && let Some(inner) = rest.strip_prefix(['k', 'K'])
        {
            let inner = inner.trim();
            let unit = if inner.is_empty() { self.default_unit } else { find_unit(self.kind, inner) };
            if let Some(unit) = unit {
                return Found::Scaled(1000.0, unit);
            }
        }
        Found::Unknown
    }

    fn bare(&self, number: Number) -> Result<Quantity, UnitError> {
        if self.kind == Kind::Ratio && !matches!(number.form, Form::Plain | Form::UnclearComma(_)) {
            return self.build(number, Unit::FRACTION);
        }
        let unitless = self.kind.base_unit().symbol().is_empty() && self.kind != Kind::Ratio;
        let unit = match self.default_unit {
            Some(unit) => unit,
            None if unitless => self.kind.base_unit(),
            None => return Err(UnitError::NoUnit { text: Typed::new(self.text), kind: self.kind }),
        };
        if unit == Unit::PERCENT && number.value > 0.0 && number.value <= 1.0 {
            let percent = Unit::PERCENT.number(number.value * 100.0);
            return Err(UnitError::FractionOrPercent { text: Typed::new(self.text), percent });
        }
        self.build(number, unit)
    }

    fn build(&self, number: Number, unit: Unit) -> Result<Quantity, UnitError> {
        if matches!(number.form, Form::Parts(..)) && unit != Unit::FRACTION {
            return Err(UnitError::MoreThanOne { text: Typed::new(self.text), kind: self.kind });
        }
        let Form::UnclearComma(small) = number.form else { return Quantity::new(number.value, unit) };
        let sign = if number.value < 0.0 { -1.0 } else { 1.0 };
        let large = Quantity::new(number.value, unit);
        if self.kind.counts_thousands() || unit == Unit::OHM {
            return large;
        }
        // Only one of the readings can be meant: `1,065` as a specific gravity. Otherwise the comma must go.
        match (large, Quantity::new(sign * small, unit)) {
            (Err(_), Ok(small)) => Ok(small),
            (Ok(large), Err(_)) => Ok(large),
            (Err(error), Err(_)) => Err(error),
            (Ok(_), Ok(_)) => Err(UnitError::UnclearComma {
                text: Typed::new(self.text),
                large: plain(number.value, unit),
                small: plain(sign * small, unit),
            }),
        }
    }

    /// `5 ft 6 in`, `1 h 30 min`: a unit, then a further figure of the same kind. `None` when it is no sum.
    fn sum(&self, first: Number, rest: &str) -> Option<Result<Quantity, UnitError>> {
        if !matches!(self.kind, Kind::Length | Kind::Time | Kind::Age | Kind::Altitude | Kind::Volume) {
            return None;
        }
        let mut total = 0.0;
        let (mut number, mut rest) = (first, rest);
        // Three parts are the most anyone types (hours, minutes, seconds).
        for _ in 0..3 {
            let at = rest.find(|c: char| c.is_ascii_digit()).unwrap_or(rest.len());
            let unit = find_unit(self.kind, rest[..at].trim())?;
            total += unit.to_base(number.value);
            if at == rest.len() {
                return Some(Quantity::new(total, self.kind.base_unit()));
            }
            (number, rest) = number::read(&rest[at..])?;
            rest = rest.trim();
        }
        None
    }

    fn unknown(&self, body: &str, rest: &str) -> UnitError {
        let text = Typed::new(self.text);
        if let Some(measure) = whose_measure(self.kind, rest) {
            let number = Typed::new(body[..body.len() - rest.len()].trim());
            return UnitError::WhoseGallon { text, number, measure };
        }
        let found = Kind::ALL.into_iter().find(|kind| *kind != self.kind && find_unit(*kind, rest).is_some());
        match found {
            Some(found) => UnitError::WrongKind { text, found, kind: self.kind },
            None => UnitError::UnknownUnit { unit: Typed::new(rest), kind: self.kind },
        }
    }

    /// `2 psi in 5 min`, `10 kPa/min`, `1 L per 800 km`. `Ok(None)` when the text has no such shape.
    fn rate(&self, body: &str, top: Kind, bottom: Kind) -> Result<Option<Quantity>, UnitError> {
        let Some((left, right)) = split_rate(body) else { return Ok(None) };
        let left = parse_quantity(left, top, None)?;
        let right = match number::read(right) {
            Some(_) => parse_quantity(right, bottom, None)?,
            None => match find_unit(bottom, right) {
                Some(unit) => Quantity::new(1.0, unit)?,
                None => return Err(UnitError::UnknownUnit { unit: Typed::new(right), kind: self.kind }),
            },
        };
        if right.base() <= 0.0 {
            return Err(self.not_a_number());
        }
        let per = if self.kind == Kind::LossRate { 1000.0 } else { 1.0 };
        Quantity::new(left.base() / right.base() * per, self.kind.base_unit()).map(Some)
    }
}

enum Found {
    Unit(Unit),
    Scaled(f64, Unit),
    Nothing,
    Unknown,
}

impl Kind {
    /// For rates, the kinds above and below the stroke.
    fn rate_of(self) -> Option<(Kind, Kind)> {
        match self {
            Kind::LossRate => Some((Kind::Volume, Kind::Distance)),
            Kind::PressureRate => Some((Kind::Pressure, Kind::Time)),
            Kind::FlowRate => Some((Kind::Volume, Kind::Time)),
            _ => None,
        }
    }

    /// Kinds of which thousands are everyday numbers: there a comma before three digits is a thousands mark, when
    /// reading and when writing.
    pub(super) fn counts_thousands(self) -> bool {
        matches!(
            self,
            Kind::Distance | Kind::Altitude | Kind::Speed | Kind::Time | Kind::Concentration | Kind::Count
        )
    }

    fn is_thermal(self) -> bool {
        matches!(self, Kind::Temperature | Kind::TemperatureDifference)
    }
}

/// A number as it was typed, without marks, with its unit.
fn plain(value: f64, unit: Unit) -> String {
    if unit.symbol().is_empty() { value.to_string() } else { format!("{value} {}", unit.symbol()) }
}

/// Splits at the last stroke or the first ` per ` or ` in `. A stroke between two digits belongs to a fraction.
fn split_rate(body: &str) -> Option<(&str, &str)> {
    let lower = body.to_ascii_lowercase();
    for word in [" per ", " in ", " over "] {
        if let Some(at) = lower.find(word) {
            return Some((body[..at].trim(), body[at + word.len()..].trim()));
        }
    }
    let at = body.rfind('/')?;
    let before_digit = body[..at].trim_end().ends_with(|c: char| c.is_ascii_digit());
    (!before_digit).then(|| (body[..at].trim(), body[at + 1..].trim()))
}

fn starts_another_figure(rest: &str) -> bool {
    let inner = ["-", "\u{2013}", "to ", "..", "±", "+/-", "+-", ";", "and ", "or ", "/", ":", ","]
        .iter()
        .find_map(|mark| rest.strip_prefix(mark))
        .unwrap_or(rest);
    inner.trim_start_matches(['.', ' ', '-']).starts_with(|c: char| c.is_ascii_digit())
}

fn is_bare_degree(rest: &str) -> bool {
    matches!(squeeze(rest).to_ascii_lowercase().as_str(), "" | "deg" | "degs" | "degree" | "degrees")
}

/// The volume measure that differs between the two sides of the ocean, if `rest` is one without saying which.
fn whose_measure(kind: Kind, rest: &str) -> Option<&'static str> {
    if !matches!(kind, Kind::Volume | Kind::FlowRate) {
        return None;
    }
    match squeeze(rest).to_ascii_lowercase().as_str() {
        "gal" | "gals" | "gallon" | "gallons" => Some("gal"),
        "qt" | "qts" | "quart" | "quarts" => Some("qt"),
        "pt" | "pts" | "pint" | "pints" => Some("pt"),
        "floz" | "fluidounce" | "fluidounces" | "oz" => Some("fl oz"),
        _ => None,
    }
}

/// The unit of `kind` that `name` spells. Case is kept where it tells units apart (`Mohm`, `mohm`); otherwise
/// it does not matter.
pub(super) fn find_unit(kind: Kind, name: &str) -> Option<Unit> {
    let mut key = squeeze(name);
    if key.is_empty() {
        return None;
    }
    if kind.is_thermal() {
        let lower = key.to_ascii_lowercase();
        for word in ["degrees", "degree", "degs"] {
            if let Some(rest) = lower.strip_prefix(word) {
                rest.clone_into(&mut key);
                break;
            }
        }
    }
    let of_kind = || Unit::ALL.iter().copied().filter(move |unit| unit.kind() == kind);
    if let Some(unit) =
        of_kind().find(|unit| unit.0.names.contains(&key.as_str()) || squeeze(unit.symbol()) == key)
    {
        return Some(unit);
    }
    let matches = |unit: &Unit| unit.0.names.iter().any(|name| name.eq_ignore_ascii_case(&key));
    let mut found = of_kind().filter(matches);
    let unit = found.next()?;
    found.next().is_none().then_some(unit)
}

/// The form in which unit names are compared: no blanks, points, brackets, hyphens or degree signs; Greek
/// letters, superscripts and typographic quotes in their plain form.
fn squeeze(name: &str) -> String {
    let mut key = String::with_capacity(name.len());
    for c in name.chars() {
        match c {
            ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '.' | '(' | ')' | '-' | '·' | '⋅' | '*' | '^'
            | '_' | '°' | 'º' | '×' | '\u{2212}' => {}
            'Ω' | '\u{2126}' => key.push_str("ohm"),
            'µ' | 'μ' => key.push('u'),
            '²' => key.push('2'),
            '³' => key.push('3'),
            '″' | '”' | '“' => key.push('"'),
            '′' | '’' => key.push('\''),
            '％' => key.push('%'),
            other => key.push(other),
        }
    }
    key
}
