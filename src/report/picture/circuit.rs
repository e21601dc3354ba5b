//! The cooling circuit, seen from the side with the front of the vehicle on the left, and the suspects on it.
//!
//! It is a sketch of how the coolant goes round, not of any one engine. Parts name a `place` on it; what the vehicle
//! does not have is not drawn, and a fan looks like the kind of fan it is.

use std::collections::BTreeSet;

use maud::{Markup, html};

use super::shortened;
use crate::graph::{CauseGraph, NodeKind};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Vehicle;

/// Every place a part can name, with the point where its mark sits.
pub const PLACES: [(&str, f64, f64); 16] = [
    ("belt", 246.0, 266.0),
    ("bottle", 182.0, 46.0),
    ("bypass", 277.0, 158.0),
    ("cap", 72.0, 88.0),
    ("coolant", 352.0, 290.0),
    ("engine", 412.0, 218.0),
    ("fan", 176.0, 166.0),
    ("gauge", 452.0, 48.0),
    ("heater", 556.0, 188.0),
    ("heater-hoses", 500.0, 150.0),
    ("lower-hose", 186.0, 336.0),
    ("pump", 284.0, 214.0),
    ("radiator", 100.0, 214.0),
    ("sensor", 398.0, 104.0),
    ("thermostat", 322.0, 106.0),
    ("upper-hose", 218.0, 102.0),
];

/// One suspect on the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Where it sits: one of [`PLACES`].
    pub place: String,
    /// What it is called.
    pub name: String,
    /// Its chance in words and figures.
    pub chance_words: String,
    /// Its chance.
    pub chance: f64,
}

/// The circuit of one vehicle.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Circuit {
    /// Places at which this vehicle has any part.
    pub places: BTreeSet<String>,
    /// What is known of the fan, the pump's drive and the reservoir: the book's fact options.
    pub fan: Option<String>,
    /// Whether there is a second fan.
    pub second_fan: bool,
    /// What drives the pump.
    pub drive: Option<String>,
    /// Where the coolant goes as it swells.
    pub reservoir: Option<String>,
    /// The suspects, likeliest first.
    pub marks: Vec<Mark>,
}

impl Circuit {
    /// The circuit of a vehicle, without marks.
    pub fn of(book: &RuleBook, graph: &CauseGraph, vehicle: &Vehicle) -> Self {
        let places = graph
            .of_kind(NodeKind::Part)
            .into_iter()
            .filter_map(|node| book.parts.get(graph.key(node))?.place.clone())
            .collect();
        let fact = |name: &str| vehicle.facts.get(name).cloned();
        Self {
            places,
            fan: fact("fan"),
            second_fan: fact("second-fan").as_deref() == Some("yes"),
            drive: fact("pump-drive"),
            reservoir: fact("reservoir"),
            marks: Vec::new(),
        }
    }

    /// Adds the mark of a part, if it has a place on the picture; the part's number is its place in the list.
    pub fn mark(&mut self, book: &RuleBook, part: &str, name: &str, chance_words: &str, chance: f64) {
        let place = book.parts.get(part).and_then(|part| part.place.clone());
        if let Some(place) = place.filter(|place| PLACES.iter().any(|(known, _, _)| known == place)) {
            let (name, chance_words) = (name.to_owned(), chance_words.to_owned());
            self.marks.push(Mark { place, name, chance_words, chance });
        }
    }

    /// The marks in words.
    pub fn in_words(&self) -> Vec<String> {
        self.marks
            .iter()
            .enumerate()
            .map(|(at, mark)| format!("{} {}: {}", at + 1, mark.name, mark.chance_words))
            .collect()
    }

    fn has(&self, place: &str) -> bool {
        self.places.contains(place)
    }

    fn fan_words(&self) -> &'static str {
        match self.fan.as_deref() {
            Some("viscous") => "viscous fan",
            Some("electric") => "electric fan",
            Some("fixed") => "fixed fan",
            _ => "fan",
        }
    }

    /// How strongly a place is shaded: the chance of the likeliest suspect there.
    fn shade(&self, place: &str) -> Option<f64> {
        let there = self.marks.iter().filter(|mark| mark.place == place).map(|mark| mark.chance);
        there.reduce(f64::max)
    }

    /// The drawing with its legend.
    pub fn draw(&self, id: &str) -> Markup {
        let (title, desc) = (format!("{id}-title"), format!("{id}-desc"));
        html! {
            svg.circuit role="img" viewBox="0 0 600 376" aria-labelledby=(format!("{title} {desc}")) {
                title id=(title) { "The cooling circuit of this vehicle" }
                desc id=(desc) {
                    "Sketch from the side, front on the left. "
                    @if self.marks.is_empty() { "No suspect is marked." } @else {
                        "Marked: "
                        @for (at, mark) in self.marks.iter().enumerate() {
                            (at + 1) " " (shortened(&mark.name, 40)) ", " (shortened(&mark.chance_words, 40)) "; "
                        }
                    }
                }
                (self.hoses())
                (self.front())
                (self.engine())
                (self.cab())
                (self.labels())
                (self.numbers())
            }
            @if !self.marks.is_empty() {
                ol.legend {
                    @for mark in &self.marks { li { (shortened(&mark.name, 80)) ": " (shortened(&mark.chance_words, 40)) } }
                }
            }
        }
    }

    fn hoses(&self) -> Markup {
        html! {
            @for (place, class, path) in [
                ("upper-hose", "hose hot", "M312 104 C 270 84, 190 100, 128 122"),
                ("lower-hose", "hose", "M128 306 C 200 352, 272 352, 282 238"),
                ("bypass", "hose thin", "M304 116 C 284 128, 280 160, 282 190"),
                ("heater-hoses", "hose thin hot", "M470 158 L530 158"),
                ("heater-hoses", "hose thin", "M530 204 L470 204"),
            ] {
                @if self.has(place) || matches!(place, "upper-hose" | "lower-hose") {
                    path class=(class) d=(path) {}
                    @if let Some(chance) = self.shade(place) { path class=(format!("{class} lit")) d=(path) style=(opacity(chance)) {} }
                }
            }
            @for path in ["M206 100 l-12 2 l9 8", "M226 345 l12 -3 l-9 -8"] { path.flow d=(path) {} }
        }
    }

    fn front(&self) -> Markup {
        let spins = matches!(self.fan.as_deref(), Some("viscous" | "fixed"));
        html! {
            rect.body x="72" y="112" width="56" height="204" rx="4" {}
            @for at in 1..7 { line.fin x1=(72 + 8 * at) x2=(72 + 8 * at) y1="130" y2="298" {} }
            line.edge x1="72" x2="128" y1="128" y2="128" {}
            line.edge x1="72" x2="128" y1="300" y2="300" {}
            (self.lit("radiator", "M76 112 h48 q4 0 4 4 v196 q0 4 -4 4 h-48 q-4 0 -4 -4 v-196 q0 -4 4 -4 z"))
            @if self.has("fan") {
                path.shroud d="M130 128 L166 146 M130 300 L166 282" {}
                @if spins { line.shaft x1="176" x2="262" y1="214" y2="214" {} }
                ellipse.body cx="176" cy="180" rx="8" ry="34" {}
                ellipse.body cx="176" cy="248" rx="8" ry="34" {}
                @match self.fan.as_deref() {
                    Some("viscous") => { rect.body x="170" y="198" width="20" height="32" rx="4" {} line.edge x1="180" x2="180" y1="198" y2="230" {} }
                    Some("electric") => { rect.body x="172" y="200" width="34" height="28" rx="6" {} path.wire d="M206 214 q 10 -2 10 -18 v-24" {} }
                    _ => { circle.body cx="176" cy="214" r="9" {} }
                }
                @if self.second_fan { ellipse.body cx="60" cy="214" rx="6" ry="44" {} circle.body cx="60" cy="214" r="7" {} }
                (self.lit("fan", "M176 146 a8 34 0 0 1 0 68 a8 34 0 0 1 0 68 a8 34 0 0 1 0 -68 a8 34 0 0 1 0 -68 z"))
            }
            @match self.reservoir.as_deref() {
                Some("pressurised") => {
                    path.pipe d="M112 112 C 112 70, 130 56, 152 52" {}
                    (self.bottle())
                    rect.body x="168" y="14" width="28" height="12" rx="3" {}
                    (self.lit("cap", "M168 14 h28 v12 h-28 z"))
                }
                Some("none") => {
                    rect.body x="88" y="98" width="26" height="14" rx="3" {}
                    path.pipe d="M88 106 H52 V344" {}
                    (self.lit("cap", "M88 98 h26 v14 h-26 z"))
                }
                _ => {
                    @if self.has("bottle") { path.pipe d="M114 106 C 136 100, 130 56, 152 56" {} (self.bottle()) }
                    rect.body x="88" y="98" width="26" height="14" rx="3" {}
                    (self.lit("cap", "M88 98 h26 v14 h-26 z"))
                }
            }
        }
    }

    fn bottle(&self) -> Markup {
        let path = "M152 30 q0 -4 4 -4 h52 q4 0 4 4 v34 q0 4 -4 4 h-52 q-4 0 -4 -4 z";
        html! {
            path.body d=(path) {}
            path.fin d="M156 50 h52" {}
            (self.lit("bottle", path))
        }
    }

    fn engine(&self) -> Markup {
        let block = "M308 120 h154 q8 0 8 8 v192 q0 8 -8 8 h-154 q-8 0 -8 -8 v-192 q0 -8 8 -8 z";
        let belt_turns_pump = matches!(self.drive.as_deref(), Some("belt") | None);
        html! {
            path.body d=(block) {}
            line.edge x1="300" x2="470" y1="172" y2="172" {}
            @for at in 0..3 { path.fin d=(format!("M{} 172 v70 h34 v-70", 322 + 48 * at)) {} }
            (self.lit("engine", block))
            path.body d="M304 120 v-14 q0 -10 10 -10 h18 q10 0 10 10 v14 z" {}
            (self.lit("thermostat", "M304 120 v-14 q0 -10 10 -10 h18 q10 0 10 10 v14 z"))
            @if self.has("coolant") {
                path.drop d="M352 268 q16 20 0 34 q-16 -14 0 -34 z" {}
                (self.lit("coolant", "M352 264 q20 24 0 42 q-20 -18 0 -42 z"))
            }
            @if self.has("belt") {
                line.shaft x1="252" x2="300" y1="300" y2="300" {}
                rect.body x="238" y="282" width="14" height="36" rx="3" {}
                @if belt_turns_pump {
                    line.shaft x1="252" x2="262" y1="214" y2="214" {}
                    rect.body x="238" y="194" width="14" height="40" rx="3" {}
                    path.belt d="M242 198 V314 M248 198 V314" {}
                    (self.lit("belt", "M238 194 h14 v124 h-14 z"))
                } @else {
                    rect.body x="238" y="140" width="14" height="26" rx="3" {}
                    path.belt d="M242 144 V314 M248 144 V314" {}
                    (self.lit("belt", "M238 140 h14 v178 h-14 z"))
                }
            }
            circle.body cx="282" cy="214" r="25" {}
            path.fin d="M282 214 q12 -8 10 -20 M282 214 q-8 -12 -20 -10 M282 214 q-12 8 -10 20 M282 214 q8 12 20 10" {}
            @if self.drive.as_deref() == Some("electric") { path.wire d="M282 239 q0 18 -18 18" {} }
            (self.lit("pump", "M257 214 a25 25 0 1 1 50 0 a25 25 0 1 1 -50 0 z"))
        }
    }

    fn cab(&self) -> Markup {
        html! {
            @if self.has("heater") {
                rect.body x="530" y="146" width="54" height="70" rx="6" {}
                path.fin d="M538 158 h38 v12 h-38 v12 h38 v12 h-38 v10 h38" {}
                (self.lit("heater", "M536 146 h42 q6 0 6 6 v58 q0 6 -6 6 h-42 q-6 0 -6 -6 v-58 q0 -6 6 -6 z"))
            }
            @if self.has("sensor") {
                @if self.has("gauge") { path.wire d="M398 96 C 398 60, 410 50, 426 48" {} }
                path.body d="M390 120 v-14 h4 v-10 h8 v10 h4 v14 z" {}
                (self.lit("sensor", "M388 120 v-16 h4 v-10 h12 v10 h4 v16 z"))
            }
            @if self.has("gauge") {
                circle.body cx="452" cy="48" r="26" {}
                path.edge d="M434 58 a20 20 0 0 1 36 0 M452 54 L464 36" {}
                (self.lit("gauge", "M426 48 a26 26 0 1 1 52 0 a26 26 0 1 1 -52 0 z"))
            }
        }
    }

    fn labels(&self) -> Markup {
        let mut words =
            vec![(100.0, 346.0, "radiator"), (412.0, 152.0, "engine"), (326.0, 86.0, "thermostat")];
        if self.has("fan") {
            words.push((178.0, 286.0, self.fan_words()));
        }
        if self.has("heater") {
            words.push((556.0, 238.0, "heater"));
        }
        if self.has("gauge") {
            words.push((452.0, 94.0, "gauge"));
        }
        if self.has("bottle") {
            words.push((240.0, 44.0, "bottle"));
        }
        html! {
            @for (x, y, word) in words { text.label x=(x) y=(y) text-anchor="middle" { (word) } }
            text.label x="8" y="20" { "← front" }
        }
    }

    fn numbers(&self) -> Markup {
        html! {
            @for (at, mark) in self.marks.iter().enumerate() {
                @let beside = self.marks[..at].iter().filter(|other| other.place == mark.place).count();
                @if let Some((_, x, y)) = self.place_of(mark) {
                    @let y = y + 34.0 * beside as f64;
                    g.number {
                        circle cx=(x) cy=(y) r="15" {}
                        text x=(x) y=(y + 6.5) text-anchor="middle" { (at + 1) }
                    }
                }
            }
        }
    }

    fn place_of(&self, mark: &Mark) -> Option<(&'static str, f64, f64)> {
        // On a pressurised bottle the cap sits on the bottle.
        if mark.place == "cap" && self.reservoir.as_deref() == Some("pressurised") {
            return Some(("cap", 220.0, 18.0));
        }
        PLACES.iter().copied().find(|(place, _, _)| *place == mark.place)
    }

    fn lit(&self, place: &str, path: &str) -> Markup {
        html! { @if let Some(chance) = self.shade(place) { path.lit d=(path) style=(opacity(chance)) {} } }
    }
}

/// Shade of a suspect: even a faint one shows.
fn opacity(chance: f64) -> String {
    format!("opacity:{:.2}", 0.15 + 0.6 * chance.clamp(0.0, 1.0))
}
