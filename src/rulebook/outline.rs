//! The outline of a YAML text: where every key and value stands. Routes become spans here, and only here.

use std::ops::Range;

use yaml_edit::{Mapping, Parse, Scalar, Sequence, SyntaxKind, YamlFile, YamlNode, lex};

use super::Route;

/// How deep maps and lists may stand within one another. The book itself needs six levels.
pub(super) const DEEPEST: usize = 24;

/// One node of a text with the bytes it takes up.
#[derive(Debug, Clone, Default)]
pub(super) struct Outline {
    /// The bytes of the node.
    pub span: Range<usize>,
    /// What stands in it.
    pub inner: Inner,
}

/// What stands in a node.
#[derive(Debug, Clone, Default)]
pub(super) enum Inner {
    /// A text, number or nothing at all.
    #[default]
    Leaf,
    /// Keys with their bytes, and values.
    Map(Vec<(String, Range<usize>, Outline)>),
    /// Items.
    List(Vec<Outline>),
}

/// Something in a text that rule files may not use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Forbidden {
    /// `&name` or `*name`.
    Alias(Range<usize>),
    /// `!tag`.
    Tag(Range<usize>),
    /// A second document, behind `---`.
    Documents(Range<usize>),
    /// Maps and lists deeper than [`DEEPEST`].
    Depth(Range<usize>),
    /// Something the reader that keeps comments cannot follow.
    Syntax(Range<usize>, String),
}

impl Outline {
    /// The outline of a text, as far as it can be followed.
    pub fn of(text: &str) -> Self {
        Self::of_parsed(&YamlFile::parse(text), text)
    }

    fn of_parsed(parse: &Parse<YamlFile>, text: &str) -> Self {
        let Some(document) = parse.tree().document() else {
            return Self { span: 0..text.len(), inner: Inner::Leaf };
        };
        let mut root = if let Some(mapping) = document.as_mapping() {
            of_mapping(&mapping, 0)
        } else if let Some(sequence) = document.as_sequence() {
            of_sequence(&sequence, 0)
        } else {
            Self { span: 0..text.len(), inner: Inner::Leaf }
        };
        root.clamp(text);
        root
    }

    /// Keeps every span inside the text and off the blanks behind a value.
    fn clamp(&mut self, text: &str) {
        self.span = tidy(self.span.clone(), text);
        match &mut self.inner {
            Inner::Leaf => {}
            Inner::Map(entries) => {
                for (_, key, value) in entries {
                    *key = tidy(key.clone(), text);
                    value.clamp(text);
                }
            }
            Inner::List(items) => items.iter_mut().for_each(|item| item.clamp(text)),
        }
    }

    /// The node at the end of a route, with the bytes of its key if it has one. Where the route leads on past what is
    /// there, the last node that is.
    pub fn find(&self, route: &Route) -> (Option<Range<usize>>, &Self) {
        let mut node = self;
        let mut key = None;
        for step in &route.0 {
            let next = match &node.inner {
                Inner::Leaf => None,
                Inner::Map(entries) => entries
                    .iter()
                    .find(|(name, ..)| name == step)
                    .map(|(_, span, value)| (Some(span.clone()), value)),
                Inner::List(items) => {
                    step.parse::<usize>().ok().and_then(|n| items.get(n)).map(|item| (None, item))
                }
            };
            let Some((span, value)) = next else { break };
            key = span;
            node = value;
        }
        (key, node)
    }

    /// The bytes of every key of one name in the map at a route.
    pub fn keys_named(&self, route: &Route, name: &str) -> Vec<Range<usize>> {
        match &self.find(route).1.inner {
            Inner::Map(entries) => {
                entries.iter().filter(|(key, ..)| key == name).map(|(_, span, _)| span.clone()).collect()
            }
            _ => Vec::new(),
        }
    }
}

/// What a text uses that rule files may not, before any other reader sees it: each kind at its first place. A text that
/// is not well-formed may still be given to the second reader for a better message if [`shallow`] says so.
pub(super) fn forbidden(text: &str) -> Vec<Forbidden> {
    let mut found = Vec::new();
    let mut at = 0;
    let (mut alias, mut tag) = (false, false);
    for (kind, token) in lex(text) {
        let span = at..at + token.len();
        at = span.end;
        match kind {
            SyntaxKind::ANCHOR | SyntaxKind::REFERENCE if !alias => {
                alias = true;
                found.push(Forbidden::Alias(span));
            }
            SyntaxKind::TAG if !tag => {
                tag = true;
                found.push(Forbidden::Tag(span));
            }
            _ => {}
        }
    }
    if let Some(span) = too_deep(text) {
        found.push(Forbidden::Depth(span));
        return found;
    }
    let parse = YamlFile::parse(text);
    if let Some(error) = parse.positioned_errors().first() {
        let span = error.range.start as usize..error.range.end as usize;
        found.push(Forbidden::Syntax(tidy(span, text), error.message.clone()));
        return found;
    }
    let tree = parse.tree();
    if let Some(second) = tree.documents().nth(1) {
        let range = second.byte_range();
        found.push(Forbidden::Documents(tidy(range.start as usize..range.end as usize, text)));
    }
    found
}

/// Where brackets, dashes or indents first stand deeper than [`DEEPEST`], counted without building anything.
pub(super) fn too_deep(text: &str) -> Option<Range<usize>> {
    let mut brackets = 0_usize;
    let mut at = 0;
    // Columns at which open blocks began.
    let mut blocks: Vec<usize> = Vec::new();
    let mut column = 0;
    let mut fresh_line = true;
    for (kind, token) in lex(text) {
        let span = at..at + token.len();
        at = span.end;
        match kind {
            SyntaxKind::NEWLINE => {
                column = 0;
                fresh_line = true;
                continue;
            }
            SyntaxKind::INDENT | SyntaxKind::WHITESPACE | SyntaxKind::COMMENT => {}
            SyntaxKind::LEFT_BRACE | SyntaxKind::LEFT_BRACKET => brackets += 1,
            SyntaxKind::RIGHT_BRACE | SyntaxKind::RIGHT_BRACKET => brackets = brackets.saturating_sub(1),
            _ if brackets == 0 && fresh_line => {
                while blocks.last().is_some_and(|&open| open >= column) {
                    blocks.pop();
                }
                blocks.push(column);
                // What follows a dash on its line begins a block of its own.
                fresh_line = matches!(kind, SyntaxKind::DASH | SyntaxKind::QUESTION);
            }
            _ => {}
        }
        if brackets + blocks.len() > DEEPEST {
            return Some(span);
        }
        column += token.chars().count();
    }
    None
}

fn of_node(node: &YamlNode, depth: usize) -> Outline {
    let range = node.byte_range();
    let span = range.start as usize..range.end as usize;
    if depth < 2 * DEEPEST {
        if let Some(mapping) = node.as_mapping() {
            return of_mapping(mapping, depth);
        }
        if let Some(sequence) = node.as_sequence() {
            return of_sequence(sequence, depth);
        }
    }
    Outline { span, inner: Inner::Leaf }
}

fn of_mapping(mapping: &Mapping, depth: usize) -> Outline {
    let range = mapping.byte_range();
    let entries = mapping
        .entries()
        .filter_map(|entry| {
            let key = entry.key_node()?;
            let bytes = key.byte_range();
            let name = key.as_scalar().map(Scalar::as_string).unwrap_or_default();
            let span = bytes.start as usize..bytes.end as usize;
            let value = entry.value_node().map_or_else(
                || Outline { span: span.end..span.end, inner: Inner::Leaf },
                |value| of_node(&value, depth + 1),
            );
            Some((name, span, value))
        })
        .collect();
    Outline { span: range.start as usize..range.end as usize, inner: Inner::Map(entries) }
}

fn of_sequence(sequence: &Sequence, depth: usize) -> Outline {
    let range = sequence.byte_range();
    let items = sequence.values().map(|value| of_node(&value, depth + 1)).collect();
    Outline { span: range.start as usize..range.end as usize, inner: Inner::List(items) }
}

/// A span inside the text, on character boundaries, without blanks at its end.
pub(super) fn tidy(span: Range<usize>, text: &str) -> Range<usize> {
    let mut start = span.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = span.end.clamp(start, text.len());
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    let kept = text[start..end].trim_end().len();
    start..start + kept
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str =
        "failures:\n  pump:\n    shows: {noise: half, play: 0.5}\n    steps:\n      - one\n      - \"two\"\n";

    #[test]
    fn routes_lead_to_keys_and_values() {
        let outline = Outline::of(TEXT);
        let (key, value) = outline.find(&Route::of(&["failures", "pump", "shows", "play"]));
        assert_eq!(&TEXT[key.unwrap_or_default()], "play");
        assert_eq!(&TEXT[value.span.clone()], "0.5");
        let (_, value) = outline.find(&Route::of(&["failures", "pump", "steps", "1"]));
        assert_eq!(&TEXT[value.span.clone()], "\"two\"");
    }

    #[test]
    fn a_route_too_long_ends_at_the_last_node() {
        let outline = Outline::of(TEXT);
        let (key, _) = outline.find(&Route::of(&["failures", "pump", "raised-by", "rust"]));
        assert_eq!(&TEXT[key.unwrap_or_default()], "pump");
    }

    #[test]
    fn aliases_tags_and_depth_are_seen_wherever_they_stand() {
        assert!(matches!(forbidden("a: &x 1\n")[..], [Forbidden::Alias(_)]));
        assert!(matches!(forbidden("a: 1\nb: *x\n")[..], [Forbidden::Alias(_)]));
        assert!(matches!(forbidden("a: !!str 1\n")[..], [Forbidden::Tag(_)]));
        assert!(forbidden("a: R&D *not ! a tag\nb: \"*x &y !z\"\nc: |\n  *x &y !z\n").is_empty());
        assert!(matches!(forbidden(&"[".repeat(5000))[..], [Forbidden::Depth(_)]));
        assert!(matches!(forbidden(&"- ".repeat(5000))[..], [Forbidden::Depth(_)]));
        let blocks: Vec<String> = (0..100).map(|n| format!("{}a:\n", " ".repeat(n))).collect();
        let blocks = blocks.concat();
        assert!(matches!(forbidden(&blocks)[..], [Forbidden::Depth(_)]));
    }
}
