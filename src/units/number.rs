//! The number at the start of what people type: signs, grouped digits, decimal points and commas, fractions.

/// A number that was read, and the form it was written in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Number {
    pub value: f64,
    pub form: Form,
}

/// How a number was written, where that changes its meaning.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Form {
    /// `12`, `1.1`, `1,1`.
    Plain,
    /// `1,200`: the comma may be a thousands mark (so the value is read) or a decimal comma (the second reading).
    UnclearComma(f64),
    /// `1/2` alone, with its two numbers.
    Fraction(f64, f64),
    /// `1:2`.
    Parts(f64, f64),
}

/// Reads the number at the start of `text`, which has no leading blanks, and returns it with what follows.
/// `None` when there is no number or it is malformed.
///
/// A comma may be a thousands mark when exactly three digits follow it and one to three digits, the first not 0,
/// stand before it; otherwise it is a decimal comma. When commas and points both appear, the last is decimal.
pub(super) fn read(text: &str) -> Option<(Number, &str)> {
    let (sign, text) = read_sign(text);
    let (whole, form, rest) = if let Some((value, rest)) = vulgar(text) {
        return Some((Number { value: sign * value, form: Form::Plain }, rest));
    } else {
        read_decimal(text)?
    };
    let mut number = Number { value: whole, form };
    let mut rest = rest;
    if form == Form::Plain && whole.fract() == 0.0 {
        if let Some((divisor, after)) = tail(rest, &['/', '\u{2044}']) {
            number = Number { value: whole / divisor?, form: Form::Fraction(whole, divisor?) };
            rest = after;
        } else if let Some((second, after)) = tail(rest, &[':']) {
            let second = second?;
            number = Number { value: whole / (whole + second), form: Form::Parts(whole, second) };
            rest = after;
        } else if let Some((part, after)) = mixed_part(rest) {
            number.value += part?;
            rest = after;
        }
    }
    number.value *= sign;
    Some((number, rest))
}

fn read_sign(text: &str) -> (f64, &str) {
    for (mark, sign) in
        [("-", -1.0), ("\u{2212}", -1.0), ("\u{2013}", -1.0), ("minus", -1.0), ("+", 1.0), ("plus", 1.0)]
    {
        if let Some(rest) = text.strip_prefix(mark) {
            return (sign, rest.trim_start());
        }
    }
    (1.0, text)
}

/// `½` and its like.
fn vulgar(text: &str) -> Option<(f64, &str)> {
    let first = text.chars().next()?;
    let value = match first {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        _ => return None,
    };
    Some((value, &text[first.len_utf8()..]))
}

/// `/2` or `:2` behind a whole number. The inner `None` marks a malformed or zero second number.
fn tail<'t>(rest: &'t str, marks: &[char]) -> Option<(Option<f64>, &'t str)> {
    let after = rest.trim_start().strip_prefix(marks)?.trim_start();
    let end = after.find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len());
    if end == 0 {
        return None;
    }
    let broken =
        after[end..].starts_with(['.', ',']) && after[end + 1..].starts_with(|c: char| c.is_ascii_digit());
    let value = after[..end].parse::<f64>().ok().filter(|v| *v > 0.0 && !broken);
    Some((value, &after[end..]))
}

/// ` 1/2`, `-1/2` or ` ½` behind a whole number.
fn mixed_part(rest: &str) -> Option<(Option<f64>, &str)> {
    if let Some(found) = vulgar(rest.trim_start()) {
        return Some((Some(found.0), found.1));
    }
    let inner = rest.strip_prefix('-').unwrap_or_else(|| rest.trim_start());
    if inner.len() == rest.len() {
        return None;
    }
    let end = inner.find(|c: char| !c.is_ascii_digit())?;
    let top = inner[..end].parse::<f64>().ok()?;
    let (bottom, after) = tail(&inner[end..], &['/', '\u{2044}'])?;
    Some((bottom.map(|bottom| top / bottom), after))
}

/// Digits with their marks, and an exponent.
fn read_decimal(text: &str) -> Option<(f64, Form, &str)> {
    let (body, rest) = split_digits(text);
    if !body.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let (mut plain, form) = canonical(body)?;
    let mut rest = rest;
    if let Some(length) = exponent_length(rest) {
        plain.push_str(&rest[..length]);
        rest = &rest[length..];
    }
    Some((plain.parse().ok()?, form, rest))
}

/// The longest run of digits, points, commas, and blanks or apostrophes that group three digits.
fn split_digits(text: &str) -> (&str, &str) {
    let chars: Vec<(usize, char)> = text.char_indices().collect();
    let digit_at = |i: usize| chars.get(i).is_some_and(|(_, c)| c.is_ascii_digit());
    let mut i = 0;
    while let Some(&(_, c)) = chars.get(i) {
        let goes_on = match c {
            '0'..='9' => true,
            // `5.` is a number, `5. ` too; a mark must touch a digit on one side at least.
            '.' | ',' => digit_at(i + 1) || (i > 0 && digit_at(i - 1)),
            ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '\'' | '’' => {
                let group = (1..=3).all(|k| digit_at(i + k)) && !digit_at(i + 4);
                let fraction = chars[(i + 4).min(chars.len())..].iter().map(|(_, c)| *c).find(|c| *c != ' ')
                    == Some('/')
                    && chars[(i + 4).min(chars.len())..]
                        .iter()
                        .map(|(_, c)| *c)
                        .filter(|c| *c != ' ')
                        .nth(1)
                        .is_some_and(|c| c.is_ascii_digit());
                i > 0 && digit_at(i - 1) && group && !fraction
            }
            _ => false,
        };
        if !goes_on {
            break;
        }
        i += 1;
    }
    text.split_at(chars.get(i).map_or(text.len(), |(at, _)| *at))
}

/// Turns grouped digits into what `f64` parses.
fn canonical(body: &str) -> Option<(String, Form)> {
    let blanks = body.contains(|c: char| !c.is_ascii_digit() && c != '.' && c != ',');
    let compact: String = body.chars().filter(|c| c.is_ascii_digit() || *c == '.' || *c == ',').collect();
    let (points, commas) = (compact.matches('.').count(), compact.matches(',').count());
    let grouped = |mark: char, part: &str| {
        let mut groups = part.split(mark);
        let first = groups.next().unwrap_or_default();
        (1..=3).contains(&first.len()) && groups.all(|g| g.len() == 3)
    };
    let decimal = |whole: &str, part: &str| format!("{whole}.{part}");
    match (points, commas) {
        (0 | 1, 0) => Some((compact, Form::Plain)),
        (0, 1) => {
            let (whole, part) = compact.split_once(',')?;
            let thousands =
                !blanks && part.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0');
            if thousands {
                let small = decimal(whole, part).parse().ok()?;
                Some((format!("{whole}{part}"), Form::UnclearComma(small)))
            } else {
                Some((decimal(whole, part), Form::Plain))
            }
        }
        _ if blanks => None,
        (_, 0) => grouped('.', &compact).then(|| (compact.replace('.', ""), Form::Plain)),
        (0, _) => grouped(',', &compact).then(|| (compact.replace(',', ""), Form::Plain)),
        _ => {
            let last = compact.rfind(['.', ','])?;
            let (whole, part) = (&compact[..last], &compact[last + 1..]);
            let mark = if compact[last..].starts_with('.') { ',' } else { '.' };
            let other = if mark == ',' { '.' } else { ',' };
            (!whole.contains(other) && grouped(mark, whole))
                .then(|| (decimal(&whole.replace(mark, ""), part), Form::Plain))
        }
    }
}

/// `e3`, `E-3`: only when digits follow at once.
fn exponent_length(rest: &str) -> Option<usize> {
    let after = rest.strip_prefix(['e', 'E'])?;
    let digits = after.strip_prefix(['+', '-']).unwrap_or(after);
    let count = digits.bytes().take_while(u8::is_ascii_digit).count();
    (count > 0).then(|| rest.len() - digits.len() + count)
}
