//! Generated expressions. Each comes with how tight its outermost operator binds, so that brackets
//! stand where they must, and sometimes where they need not.

use super::fields::{Field, field, paths};
use super::figures::{Amount, Measure, decimal, exact, finite, units};
use super::program::{Type, Writer};

/// A variable of the program text.
#[derive(Clone, Debug)]
pub struct Bound {
    pub name: String,
    pub field: Field,
}

/// A list that can be gone through.
pub struct List {
    pub path: String,
    pub element: Field,
}

/// A text and how tight it binds.
pub type Piece = (String, u8);

const LOOSEST: u8 = 0;
const IMPLIES: u8 = 1;
const OR: u8 = 2;
const AND: u8 = 3;
const NOT: u8 = 4;
const COMPARE: u8 = 5;
const RANGE: u8 = 6;
const SUM: u8 = 7;
const PRODUCT: u8 = 8;
const SIGN: u8 = 9;
pub const ATOM: u8 = 10;

/// The figures that limits are made of; the units in which they are written vary.
fn figures(measure: Measure) -> &'static [(&'static str, &'static str)] {
    match measure {
        Measure::Torque => &[("9", "Nm"), ("12.5", "Nm"), ("45", "Nm"), ("33", "lbf·ft"), ("0", "Nm")],
        Measure::Temperature => &[("35", "°C"), ("45", "°C"), ("100", "°F"), ("-40", "°F"), ("-10", "°C")],
        Measure::Difference => &[("5", "K"), ("10", "K"), ("0.5", "K"), ("400", "K")],
        Measure::Volume => &[("5", "L"), ("0.75", "L"), ("4", "US qt"), ("0", "L")],
        Measure::Length => &[("50", "km"), ("10", "mi"), ("0.3", "m"), ("300", "mm")],
        Measure::Duration => &[("2", "s"), ("90", "s"), ("0.5", "h")],
        Measure::Angle => &[("90", "°"), ("0.5", "turns"), ("45", "°")],
        Measure::Pressure => &[("12", "bar"), ("100", "psi"), ("250", "kPa")],
        Measure::Gauge => {
            &[("1.2", "bar gauge"), ("1.4", "bar gauge"), ("20", "psi gauge"), ("0", "bar gauge")]
        }
        Measure::Absolute => &[("1", "bar absolute"), ("2.4", "bar absolute"), ("98", "kPa absolute")],
        Measure::Share => &[("10", "%"), ("2.5", "%")],
        Measure::Number => &[("2", ""), ("0", ""), ("1.5", ""), ("5", ""), ("75", "")],
        Measure::Flow => &[("2", "L/min"), ("0.5", "L/min")],
        Measure::Force => &[("150", "N"), ("20", "lbf")],
        Measure::Area => &[("40", "cm²"), ("900", "cm²")],
    }
}

fn amount_of(figure: &str, unit: &str) -> Amount {
    match units().iter().find(|row| row.spellings.contains(&unit)) {
        Some(unit) => Amount::new(&exact(figure), unit),
        None => Amount::number(exact(figure)),
    }
}

impl Writer<'_> {
    // ------------------------------------------------------------ layout

    /// White space between two words: mostly one blank.
    pub fn gap(&mut self) -> String {
        match self.rng.u8(0..20) {
            0 => "\n      ".to_owned(),
            1 => "  ".to_owned(),
            2 => " # said \"so\" and (so\n      ".to_owned(),
            3 => "\u{a0}".to_owned(),
            _ => " ".to_owned(),
        }
    }

    fn at(&mut self, piece: Piece, tightness: u8) -> String {
        let (text, own) = piece;
        if own < tightness || self.chance(8) { format!("({text})") } else { text }
    }

    fn joined(&mut self, a: String, signs: &[&str], b: String) -> String {
        let (before, behind) = (self.gap(), self.gap());
        format!("{a}{before}{}{behind}{b}", self.pick(signs))
    }

    // ------------------------------------------------------------ what is in reach

    /// The paths in reach to fields of which `wanted` is true; those of variables come first in weight.
    pub fn reach(&mut self, wanted: impl Fn(Field) -> bool) -> Option<String> {
        let mut near = Vec::new();
        for bound in &self.bound {
            match bound.field {
                Field::Record(record) => {
                    near.extend(paths(record, &wanted).iter().map(|path| format!("{}.{path}", bound.name)));
                }
                // A group is gone through, and nothing else.
                Field::List(_) => {}
                field if wanted(field) => near.push(bound.name.clone()),
                _ => {}
            }
        }
        let far = paths("root", &wanted);
        let from = if !near.is_empty() && self.chance(75) { near } else { far };
        (!from.is_empty()).then(|| self.pick(&from))
    }

    /// A list in reach; `inner` prefers one of the innermost variable.
    pub fn list(&mut self, inner: bool) -> List {
        let is_list = |field| matches!(field, Field::List(_) | Field::Texts(_));
        if let (true, Some(Bound { name, field: Field::Record(record) })) =
            (inner, self.bound.last().cloned())
        {
            let own = paths(record, &is_list);
            if !own.is_empty() {
                let path = self.pick(&own);
                let element = element(walk(record, &path));
                return List { path: format!("{name}.{path}"), element };
            }
        }
        let mut own: Vec<(String, Field)> = Vec::new();
        for bound in &self.bound {
            if let Field::List(record) = bound.field {
                own.push((bound.name.clone(), Field::List(record)));
            }
            if let Field::Record(record) = bound.field {
                let lists = paths(record, &is_list);
                own.extend(lists.into_iter().map(|path| {
                    let found = walk(record, &path);
                    (format!("{}.{path}", bound.name), found)
                }));
            }
        }
        let root = paths("root", &is_list).into_iter().map(|path| {
            let found = walk("root", &path);
            (path, found)
        });
        let root: Vec<(String, Field)> = root.collect();
        let from = if !own.is_empty() && self.chance(40) { own } else { root };
        if self.several && self.chance(40) {
            // A group of fields that comes to be recorded is an entry more.
            self.monotone = false;
            return List { path: "uses".to_owned(), element: Field::Record("use") };
        }
        let (path, found) = self.pick(&from);
        List { path, element: element(found) }
    }

    /// Puts the variable of a list in reach and gives its name.
    pub fn bind(&mut self, list: &List) -> String {
        let name = self.name("x");
        self.bound.push(Bound { name: name.clone(), field: list.element });
        name
    }

    fn called(&mut self, wanted: Type) -> Option<String> {
        let mut fitting: Vec<String> = Vec::new();
        for named in self.named.iter().filter(|named| named.of == wanted) {
            let own = |bound: &&Bound| named.entry.map(Field::Record) == Some(bound.field);
            match named.entry {
                None => fitting.push(named.name.clone()),
                Some(_) => fitting.extend(
                    self.bound.iter().filter(own).map(|bound| format!("{} of {}", named.name, bound.name)),
                ),
            }
        }
        (!fitting.is_empty()).then(|| self.pick(&fitting))
    }

    // ------------------------------------------------------------ amounts

    /// A number with a unit in which it is a short decimal.
    pub fn literal(&mut self, measure: Measure) -> String {
        let (figure, unit) = self.pick(figures(measure));
        let amount = amount_of(figure, unit);
        self.limits.entry(measure).or_default().push(amount.base.clone());
        self.spelled(measure, &amount, figure, unit)
    }

    fn spelled(&mut self, measure: Measure, amount: &Amount, figure: &str, unit: &str) -> String {
        if unit.is_empty() {
            return figure.to_owned();
        }
        let mut spellings = vec![(figure.to_owned(), unit)];
        for row in units().iter().filter(|row| row.measure == measure) {
            if let Some(figure) = finite(&((&amount.base - &row.zero) / &row.size), 6) {
                spellings.extend(row.spellings.iter().map(|spelling| (figure.clone(), *spelling)));
            }
        }
        let (figure, unit) = self.pick(&spellings);
        let gap = self.pick(&[" ", " ", " ", "", "  ", "\u{a0}"]);
        let figure = if self.chance(50) { figure.replace('-', "−") } else { figure };
        format!("{figure}{gap}{unit}")
    }

    /// A literal, now and then with a bare unit, where something beside it says what that is.
    pub fn either_literal(&mut self, measure: Measure) -> String {
        if !measure.has_bare_units() || self.chance(50) {
            return self.literal(measure);
        }
        let (figure, unit) = self.pick(figures(measure));
        let amount = amount_of(figure, unit);
        self.limits.entry(measure).or_default().push(amount.base.clone());
        let bare = unit.split(' ').next().expect("a unit");
        self.spelled(Measure::Pressure, &amount, figure, bare)
    }

    /// A range whose units are all bare, for a pressure that says what they are.
    pub fn bare_range(&mut self, measure: Measure) -> Option<String> {
        if !measure.has_bare_units() {
            return None;
        }
        let (low, high) = self.pick(&[("0.9", "1.1"), ("1.2", "1.4"), ("1.4", "2.4"), ("1", "1")]);
        for end in [low, high] {
            self.limits.entry(measure).or_default().push(amount_of(end, "bar").base);
        }
        let words = self.pick(&["at least", "at most", "above", "below"]);
        Some(match self.rng.u8(0..5) {
            0 => format!("{low} .. {high} bar"),
            1 => format!("{low} bar .. {high} bar"),
            2 => format!("{low} bar ± 0.1 bar"),
            3 => format!("{high} bar ± 10 %"),
            _ => format!("{words} {low} bar"),
        })
    }

    /// An expression of this measure.
    pub fn amount(&mut self, measure: Measure, depth: usize) -> Piece {
        for _ in 0..6 {
            let found = match self.rng.u8(0..10) {
                0..4 => self.reach(|field| holds(field, measure)).map(|path| (path, ATOM)),
                4 | 5 => self.called(Type::Amount(measure)).map(|name| (name, ATOM)),
                6.. if depth > 0 => self.calculated(measure, depth - 1),
                _ => None,
            };
            if let Some(found) = found {
                return found;
            }
        }
        let literal = self.literal(measure);
        let sign = literal.starts_with(['-', '−']);
        (literal, if sign { SIGN } else { ATOM })
    }

    fn calculated(&mut self, measure: Measure, depth: usize) -> Option<Piece> {
        use Measure::{
            Absolute, Area, Difference, Duration, Flow, Force, Gauge, Length, Number, Pressure, Share,
            Temperature, Torque, Volume,
        };
        match (measure, self.rng.u8(0..10)) {
            (Temperature, 0..5) => Some(self.sum(Temperature, &["+", "-", "−"], Difference, depth)),
            (Temperature, 5..8) => self.aggregate(Temperature, depth),
            (Temperature, _) => self.either(Temperature, depth),
            (Absolute, 0..3) => Some(self.sum(Absolute, &["+", "-", "−"], Pressure, depth)),
            (Absolute, 3..6) => Some(self.sum(Gauge, &["+"], Absolute, depth)),
            (Absolute, 6) => Some(self.sum(Absolute, &["-", "−"], Gauge, depth)),
            (Absolute, 7) => self.aggregate(Absolute, depth),
            (Absolute, _) => self.either(Absolute, depth),
            (Gauge, 9) => Some(self.sum(Gauge, &["+", "-", "−"], Pressure, depth)),
            (Pressure, 0..3) => {
                let of = self.pick(&[Gauge, Gauge, Absolute]);
                Some(self.sum(of, &["-", "−"], of, depth))
            }
            (Difference, _) => Some(self.sum(Temperature, &["-", "−"], Temperature, depth)),
            (Number, 0..2) => Some(self.count(depth)),
            (Number, 2) => {
                let path = self.reach(|field| matches!(field, Field::Text(_)))?;
                Some((format!("characters_in({path})"), ATOM))
            }
            (Number, 3) => {
                let of = self.pick(&[Torque, Volume, Duration, Length]);
                Some(self.product(of, &["/", "÷"], of, depth))
            }
            (Torque, 0) => Some(self.product(Force, &["*", "×"], Length, depth)),
            (Duration, _) => {
                let is_time = |field| field == Field::Moment;
                let (a, b) = (self.reach(is_time)?, self.reach(is_time)?);
                Some((self.joined(a, &["-", "−"], b), SUM))
            }
            (Flow, _) => Some(self.product(Volume, &["/", "÷"], Duration, depth)),
            (Force, _) => Some(self.product(Torque, &["/", "÷"], Length, depth)),
            (Area, _) => Some(self.product(Length, &["*", "×"], Length, depth)),
            (Share, _) => None,
            (_, 0..3) => self.aggregate(measure, depth),
            (_, 3) => self.either(measure, depth),
            (_, 4) => Some((format!("size_of({})", self.amount(measure, depth).0), ATOM)),
            (_, 5) => {
                let function = self.pick(&["lower_limit", "upper_limit"]);
                let range = self.called(Type::Range(measure))?;
                Some((format!("{function}({range})"), ATOM))
            }
            (_, 6) => Some(self.product(measure, &["/", "÷", "*", "×"], Number, depth)),
            (_, 7) => Some(self.product(Number, &["*", "×"], measure, depth)),
            (_, 8) => {
                let inner = self.amount(measure, depth);
                Some((format!("-{}", self.at(inner, ATOM)), SIGN))
            }
            _ => Some(self.sum(measure, &["+", "-", "−"], measure, depth)),
        }
    }

    fn sum(&mut self, left: Measure, signs: &[&str], right: Measure, depth: usize) -> Piece {
        let (left, right) = (self.amount(left, depth), self.amount(right, depth));
        let (left, right) = (self.at(left, SUM), self.at(right, PRODUCT));
        // A sign directly behind a sign is refused.
        let right = if right.starts_with(['-', '−']) { format!("({right})") } else { right };
        (self.joined(left, signs, right), SUM)
    }

    fn product(&mut self, left: Measure, signs: &[&str], right: Measure, depth: usize) -> Piece {
        let left = self.amount(left, depth);
        let measure = right;
        let mut right = self.amount(measure, depth);
        // A division by a zero that is plain to see is refused beforehand.
        while signs.contains(&"/") && decimal(&right.0).is_some_and(|(figure, _)| figure == exact("0")) {
            right = self.amount(measure, depth);
        }
        let (left, right) = (self.at(left, PRODUCT), self.at(right, SIGN));
        (self.joined(left, signs, right), PRODUCT)
    }

    fn either(&mut self, measure: Measure, depth: usize) -> Option<Piece> {
        let function = self.pick(&["lesser", "greater"]);
        let (a, b) = (self.amount(measure, depth).0, self.amount(measure, depth).0);
        Some((format!("{function}({a}, {b})"), ATOM))
    }

    fn count(&mut self, depth: usize) -> Piece {
        let list = self.list(false);
        if self.chance(25) {
            return (format!("count of {}", list.path), LOOSEST);
        }
        let before = self.bound.len();
        let name = self.bind(&list);
        let condition = self.condition(depth.min(1));
        self.bound.truncate(before);
        (format!("count of {name} in {}{condition}", list.path), LOOSEST)
    }

    fn aggregate(&mut self, measure: Measure, depth: usize) -> Option<Piece> {
        let list = self.list(false);
        let before = self.bound.len();
        let name = self.bind(&list);
        let own = match list.element {
            Field::Record(record) => paths(record, &|field| holds(field, measure)),
            _ => Vec::new(),
        };
        let value = if own.is_empty() || self.chance(15) {
            self.amount(measure, depth.min(1)).0
        } else {
            format!("{name}.{}", self.pick(&own))
        };
        let condition = if self.chance(60) { self.condition(1) } else { String::new() };
        self.bound.truncate(before);
        // A sum of points on a scale means nothing.
        let words: &[&str] = if measure == Measure::Temperature || measure.has_bare_units() {
            &["least of", "greatest of"]
        } else {
            &["sum of", "sum of", "least of", "greatest of"]
        };
        let words = self.pick(words);
        Some((format!("{words} {value} over {name} in {}{condition}", list.path), LOOSEST))
    }

    fn condition(&mut self, depth: usize) -> String {
        let gap = self.gap();
        format!("{gap}where {}", self.truth(depth).0)
    }

    // ------------------------------------------------------------ ranges

    /// `a .. b` of two figures in their order.
    pub fn two_ends(&mut self, measure: Measure) -> String {
        let ends = [self.pick(figures(measure)), self.pick(figures(measure))];
        let mut ends: Vec<(Amount, (&str, &str))> =
            ends.into_iter().map(|(figure, unit)| (amount_of(figure, unit), (figure, unit))).collect();
        ends.sort_by(|a, b| a.0.base.cmp(&b.0.base));
        let mut texts = Vec::new();
        for (amount, (figure, unit)) in ends {
            self.limits.entry(measure).or_default().push(amount.base.clone());
            texts.push(self.spelled(measure, &amount, figure, unit));
        }
        texts.join(" .. ")
    }

    /// A range without anything to work out.
    pub fn fixed_range(&mut self, measure: Measure) -> String {
        if self.chance(40) {
            return self.two_ends(measure);
        }
        if self.chance(50) {
            return self.one_sided(measure, 0);
        }
        self.tolerance(measure)
    }

    fn one_sided(&mut self, measure: Measure, depth: usize) -> String {
        let limit = self.amount(measure, depth);
        let limit = if depth == 0 { self.literal(measure) } else { self.at(limit, SUM) };
        format!("{} {limit}", self.pick(&["at least", "at most", "above", "below"]))
    }

    /// A nominal value with a tolerance, in one of its forms.
    fn tolerance(&mut self, measure: Measure) -> String {
        let sign = self.pick(&["±", "+/-", "±"]);
        let (nominal, unit, part, small) = match measure {
            Measure::Torque => ("45", "Nm", "3", "0.5"),
            Measure::Temperature => ("40", "°C", "5", "2"),
            Measure::Volume => ("5.5", "L", "0.5", "0.25"),
            Measure::Length => ("50", "km", "5", "2"),
            Measure::Duration => ("90", "s", "10", "5"),
            Measure::Angle => ("90", "°", "5", "2"),
            Measure::Pressure => ("12", "bar", "2", "0.5"),
            Measure::Gauge => ("1.3", "bar gauge", "0.2", "0.1"),
            Measure::Absolute => ("1", "bar absolute", "0.2", "0.1"),
            _ => ("5", "", "2", "1"),
        };
        let difference = match measure {
            Measure::Temperature => "K",
            _ if measure.has_bare_units() => "bar",
            _ => unit,
        };
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        let difference = if difference.is_empty() { String::new() } else { format!(" {difference}") };
        // One unit may do for both numbers, where it says what the first one is.
        let lends = measure != Measure::Temperature && !measure.has_bare_units();
        let own = if lends && self.chance(30) { String::new() } else { unit.clone() };
        let tenth = exact(nominal) / exact("10");
        let (text, up, down) = match self.rng.u8(0..4) {
            0 if measure != Measure::Temperature => {
                (format!("{nominal}{unit} {sign} 10 %"), tenth.clone(), tenth)
            }
            1 => (format!("{nominal}{own} +{part}/-{small}{difference}"), exact(part), exact(small)),
            2 => (format!("{nominal}{unit} +{part}{difference}/-0{difference}"), exact(part), exact("0")),
            _ => (format!("{nominal}{own} {sign} {part}{difference}"), exact(part), exact(part)),
        };
        let ends = [exact(nominal) + up, exact(nominal) - down];
        for end in ends {
            let base = match units().iter().find(|row| row.spellings.contains(&unit.trim())) {
                Some(unit) => Amount::new(&end, unit).base,
                None => end,
            };
            self.limits.entry(measure).or_default().push(base);
        }
        text
    }

    /// A range of this measure.
    pub fn range(&mut self, measure: Measure, depth: usize) -> Piece {
        if self.chance(30)
            && let Some(name) = self.called(Type::Range(measure))
        {
            return (name, ATOM);
        }
        let plain = matches!(measure, Measure::Flow | Measure::Force | Measure::Area | Measure::Difference);
        let text = match self.rng.u8(0..10) {
            0..2 => self.two_ends(measure),
            2..4 if depth > 0 => {
                // A path at one end, so that nobody can tell beforehand whether the ends are in order. One
                // that comes later may put them out of order.
                self.monotone = false;
                let named = if self.chance(40) { self.called(Type::Amount(measure)) } else { None };
                match named.or_else(|| self.reach(|field| holds(field, measure))) {
                    Some(near) => {
                        let far = self.either_literal(measure);
                        if self.chance(50) { format!("{near} .. {far}") } else { format!("{far} .. {near}") }
                    }
                    None => self.two_ends(measure),
                }
            }
            4 | 5 if depth > 0 && self.chance(50) => {
                self.monotone = false;
                let part = difference(measure);
                let nominal = self.literal(measure);
                let side = |writer: &mut Self| {
                    // A side is a figure, a name or a path.
                    let named = writer.called(Type::Amount(part)).filter(|named| !named.contains(' '));
                    let path = writer.reach(|field| holds(field, part));
                    let wanted = if writer.chance(50) { named.or(path) } else { path };
                    wanted.unwrap_or_else(|| writer.literal(part))
                };
                let (plus, minus) = (side(self), side(self));
                format!("{nominal} +{plus}/-{minus}")
            }
            4 if depth > 0 => {
                let nominal = self.amount(measure, depth);
                let nominal = self.at(nominal, SUM);
                let part = difference(measure);
                match self.reach(|field| holds(field, part)) {
                    Some(path) => format!("{nominal} ± {path}"),
                    None if part == Measure::Difference => format!("{nominal} ± 5 K"),
                    None => self.one_sided(measure, depth),
                }
            }
            5 if depth > 0 && measure != Measure::Temperature && measure != Measure::Number => {
                let nominal = self.amount(measure, depth);
                format!("{} ± 10 %", self.at(nominal, SUM))
            }
            6..8 => self.one_sided(measure, depth),
            _ if plain => self.one_sided(measure, depth),
            _ => self.tolerance(measure),
        };
        (text, RANGE)
    }

    // ------------------------------------------------------------ truth

    /// Something that holds or does not.
    pub fn truth(&mut self, depth: usize) -> Piece {
        if depth > 0 && self.chance(60) {
            return match self.rng.u8(0..8) {
                0 | 1 => self.logic(AND, "and", depth - 1),
                2 | 3 => self.logic(OR, "or", depth - 1),
                4 => self.logic(IMPLIES, "implies", depth - 1),
                5 => {
                    let inner = self.truth(depth - 1);
                    let gap = self.gap();
                    (format!("not{gap}{}", self.at(inner, NOT)), NOT)
                }
                _ => self.quantified(depth - 1),
            };
        }
        for _ in 0..6 {
            if let Some(found) = self.simple(depth) {
                return found;
            }
        }
        ("unit.kind is \"engine\"".to_owned(), COMPARE)
    }

    fn logic(&mut self, tightness: u8, word: &str, depth: usize) -> Piece {
        let (left, right) = (self.truth(depth), self.truth(depth));
        // `implies` groups to the right, the others to the left.
        let (l, r) =
            if tightness == IMPLIES { (tightness + 1, tightness) } else { (tightness, tightness + 1) };
        let (left, right) = (self.at(left, l), self.at(right, r));
        (self.joined(left, &[word], right), tightness)
    }

    fn quantified(&mut self, depth: usize) -> Piece {
        let list = self.list(false);
        let word = self.pick(&["every", "some", "no"]);
        let before = self.bound.len();
        let name = self.bind(&list);
        let condition = if self.chance(50) { self.condition(depth.min(1)) } else { String::new() };
        let (body, tightness) = self.truth(depth);
        // A last part without the variable must stand in brackets with the rest.
        let body = if (IMPLIES..=AND).contains(&tightness) { format!("({body})") } else { body };
        self.bound.truncate(before);
        let gap = self.gap();
        (format!("{word} {name} in {}{condition}:{gap}{body}", list.path), LOOSEST)
    }

    fn simple(&mut self, depth: usize) -> Option<Piece> {
        match self.rng.u8(0..20) {
            0..5 => {
                let measure = self.measure();
                let value = self.amount(measure, depth.min(2));
                let bare = self.chance(40);
                let range = match self.bare_range(measure).filter(|_| bare) {
                    Some(range) => (range, RANGE),
                    None => self.range(measure, depth.min(1)),
                };
                let (value, range) = (self.at(value, SUM), self.at(range, RANGE));
                Some((self.joined(value, &["within"], range), COMPARE))
            }
            5..10 => {
                let measure = self.measure();
                let (a, b) = (self.amount(measure, depth.min(2)), self.amount(measure, depth.min(1)));
                let (a, mut b) = (self.at(a, SUM), self.at(b, SUM));
                if measure.has_bare_units() && self.chance(40) {
                    b = self.either_literal(measure);
                }
                let words = ["is", "is not", "above", "below", "at least", "at most"];
                Some((self.joined(a, &words, b), COMPARE))
            }
            10..12 => self.words(),
            12..14 => self.one_of(),
            14 => {
                self.monotone = false;
                let limits: Vec<String> = self
                    .named
                    .iter()
                    .filter(|named| named.entry.is_none())
                    .map(|named| named.name.clone())
                    .collect();
                let limits: Vec<String> =
                    limits.into_iter().filter(|name| name.starts_with("limit")).collect();
                if !limits.is_empty() && self.chance(40) {
                    return Some((format!("recorded {}", self.pick(&limits)), ATOM));
                }
                let path = self.reach(|_| true)?;
                Some((format!("recorded {path}"), ATOM))
            }
            15 | 16 => {
                let path = self.reach(|field| field == Field::Truth)?;
                match self.rng.u8(0..3) {
                    0 => Some((path, ATOM)),
                    1 => Some((format!("{path} is {}", self.pick(&["yes", "no"])), COMPARE)),
                    _ => Some((format!("{path} is not {}", self.pick(&["yes", "no"])), COMPARE)),
                }
            }
            17 if self.chance(50) && self.bound.len() < 5 => Some(self.entries()),
            17 => {
                let is_time = |field| field == Field::Moment;
                let (a, b) = (self.reach(is_time)?, self.reach(is_time)?);
                if self.chance(25) {
                    let day = self.pick(&["2026-03-01", "2026-03-02", "2026-03-03"]).to_owned();
                    return Some((self.joined(a, &["before", "after"], day), COMPARE));
                }
                if self.chance(50) {
                    let (lag, most) =
                        (self.amount(Measure::Duration, depth.min(1)), self.literal(Measure::Duration));
                    let lag = self.at(lag, SUM);
                    let lag = if self.chance(70) { lag } else { self.joined(lag, &[".."], most) };
                    let soon = self.joined(a, &["within"], lag);
                    return Some((self.joined(soon, &["after", "before"], b), COMPARE));
                }
                Some((self.joined(a, &["before", "after", "is", "is not"], b), COMPARE))
            }
            18 if self.chance(60) => {
                let count = self.count(1);
                let count = self.at(count, SUM);
                let limit = self.rng.u8(0..4);
                let words = ["at least", "at most", "above", "below", "is", "is not"];
                let word = self.pick(&words);
                Some(match self.rng.u8(0..4) {
                    0 => (format!("{count} within {limit} .. {}", limit + 1), COMPARE),
                    1 => (format!("{count} + {limit} {word} {}", limit + 2), COMPARE),
                    _ => (format!("{count} {word} {limit}"), COMPARE),
                })
            }
            18 => self.called(Type::Truth).map(|name| (name, ATOM)),
            19 if self.chance(60) => Some(self.order()),
            _ => Some((self.pick(&["yes", "no"]).to_owned(), ATOM)),
        }
    }

    /// What is told of which entries of a list come before which.
    fn entries(&mut self) -> Piece {
        // A time more takes the order away from the list.
        self.monotone = false;
        let list = self.pick(&["steps", "readings", "fluid.fills"]);
        let (x, y) = (self.name("x"), self.name("y"));
        let words = ["every", "some", "no"];
        let (one, other) = (self.pick(&words), self.pick(&words));
        let order = self.joined(x.clone(), &["before", "after"], y.clone());
        (format!("{one} {x} in {list}: {other} {y} in {list}: {order}"), LOOSEST)
    }

    /// What is told of the order in which all, or some, were tightened.
    fn order(&mut self) -> Piece {
        let function = self.pick(&["is_criss_cross", "is_criss_cross", "goes_round"]);
        let name = self.name("x");
        self.bound.push(Bound { name: name.clone(), field: Field::Record("fastening") });
        let condition = if self.chance(25) { self.condition(0) } else { String::new() };
        self.bound.pop();
        (format!("{function}(all of {name}.order over {name} in fastenings{condition})"), ATOM)
    }

    fn measure(&mut self) -> Measure {
        match self.rng.u8(0..12) {
            0 => Measure::Difference,
            1 => self.pick(&[Measure::Flow, Measure::Force, Measure::Area]),
            _ => {
                let bound = self.bound.clone();
                let mut near = Vec::new();
                for measure in super::program::MEASURES {
                    let own = bound.iter().any(|bound| match bound.field {
                        Field::Record(record) => !paths(record, &|field| holds(field, measure)).is_empty(),
                        _ => false,
                    });
                    if own {
                        near.push(measure);
                    }
                }
                if near.is_empty() { self.pick(&super::program::MEASURES) } else { self.pick(&near) }
            }
        }
    }

    fn words(&mut self) -> Option<Piece> {
        let path = self.reach(|field| matches!(field, Field::Text(_) | Field::Word(_)))?;
        let list = matches!(self.field_at(&path), Field::Text(_)) && self.chance(40);
        let option = match self.called(Type::Words).filter(|_| list) {
            Some(list) => list,
            None => self.option(&path)?,
        };
        Some((self.joined(path, &["is", "is not"], option), COMPARE))
    }

    fn one_of(&mut self) -> Option<Piece> {
        let words = self.pick(&["is one of", "is not one of"]);
        let number = self.rng.usize(1..4);
        if self.chance(30) {
            let measure = self.measure();
            let value = self.amount(measure, 1);
            let value = self.at(value, SUM);
            let bare = measure.has_bare_units() && self.chance(40);
            let option = |writer: &mut Self| match bare {
                true => writer.either_literal(measure),
                false => writer.amount(measure, 0).0,
            };
            let options: Vec<String> = (0..number).map(|_| option(self)).collect();
            return Some((format!("{value} {words} ({})", options.join(", ")), COMPARE));
        }
        let path = self.reach(|field| matches!(field, Field::Text(_) | Field::Word(_) | Field::Moment))?;
        let options: Option<Vec<String>> = (0..number).map(|_| self.option(&path)).collect();
        Some((format!("{path} {words} ({})", options?.join(", ")), COMPARE))
    }

    /// Something to compare the text at a path with.
    fn option(&mut self, path: &str) -> Option<String> {
        let found = self.field_at(path);
        match found {
            Field::Text(samples) => match self.rng.u8(0..6) {
                0 => self.called(Type::Text).or_else(|| Some("\"other\"".to_owned())),
                1 => self.reach(|field| matches!(field, Field::Text(_))),
                _ => Some(format!("\"{}\"", self.pick(samples))),
            },
            Field::Word(words) => Some(format!("\"{}\"", self.pick(words))),
            Field::Moment => self.reach(|field| field == Field::Moment),
            _ => None,
        }
    }

    fn field_at(&self, path: &str) -> Field {
        let (head, rest) = path.split_once('.').unwrap_or((path, ""));
        match self.bound.iter().find(|bound| bound.name == head) {
            Some(Bound { field: Field::Record(record), .. }) => walk(record, rest),
            Some(bound) => bound.field,
            None => walk("root", path),
        }
    }
}

/// What lies between two of a measure.
fn difference(measure: Measure) -> Measure {
    match measure {
        Measure::Temperature => Measure::Difference,
        _ if measure.has_bare_units() => Measure::Pressure,
        _ => measure,
    }
}

fn holds(field: Field, measure: Measure) -> bool {
    match field {
        Field::Amount(own) => own == measure,
        Field::Count | Field::Number => measure == Measure::Number,
        _ => false,
    }
}

pub fn walk(record: &str, path: &str) -> Field {
    path.split('.')
        .fold(None, |at, name| match at {
            None => field(record, name),
            Some(Field::Record(inner)) => field(inner, name),
            Some(_) => None,
        })
        .expect("a path of the table of fields")
}

fn element(list: Field) -> Field {
    match list {
        Field::List(record) => Field::Record(record),
        Field::Texts(samples) => Field::Text(samples),
        other => panic!("{other:?} is no list"),
    }
}
