//! Generated job records: values at, just inside and just outside the limits of a program, in mixed
//! units, with fields, nodes and lists that are missing, empty or of the wrong form.

use std::collections::HashMap;

use fastrand::Rng;

use super::fields::{Field, fields, is_required};
use super::figures::{Measure, Ratio, exact, finite, truncated, units};

/// A record before it is written as YAML.
#[derive(Clone, Debug)]
pub enum Node {
    Empty,
    Scalar(String),
    Map(Vec<(String, Node)>),
    List(Vec<Node>),
}

/// Makes records around the limits of one program.
pub struct Recorder<'r> {
    pub rng: &'r mut Rng,
    pub limits: &'r HashMap<Measure, Vec<Ratio>>,
    /// Percentages of optional fields that are there, and of those that are empty or wrong.
    pub there: u8,
    pub spoilt: u8,
}

/// A whole record, and whether it is free of mistakes of form.
pub fn record(rng: &mut Rng, limits: &HashMap<Measure, Vec<Ratio>>) -> (Node, bool) {
    let there = [95, 80, 60][rng.usize(0..3)];
    let spoilt = [0, 0, 12][rng.usize(0..3)];
    let mut recorder = Recorder { rng, limits, there, spoilt };
    let Node::Map(mut entries) = recorder.fields_of("root", 0) else { unreachable!("a record is a map") };
    entries.insert(0, ("form".to_owned(), Node::Scalar("job/1".to_owned())));
    (Node::Map(entries), spoilt == 0)
}

impl Recorder<'_> {
    fn chance(&mut self, percent: u8) -> bool {
        self.rng.u8(0..100) < percent
    }

    fn pick<T: Clone>(&mut self, from: &[T]) -> T {
        from[self.rng.usize(0..from.len())].clone()
    }

    fn fields_of(&mut self, record: &str, depth: usize) -> Node {
        let mut entries = Vec::new();
        for (name, field) in fields(record) {
            let wanted = is_required(record, name);
            // Records at the top are there more often, else nothing below them ever is.
            let there = if depth == 0 { self.there.max(85) } else { self.there };
            if wanted || self.chance(there) {
                let node = if !wanted && self.chance(self.spoilt) {
                    self.spoilt_node(*field)
                } else {
                    self.node(*field, depth + 1)
                };
                entries.push(((*name).to_owned(), node));
            }
        }
        self.rng.shuffle(&mut entries);
        Node::Map(entries)
    }

    fn spoilt_node(&mut self, field: Field) -> Node {
        match field {
            // The pressure of the other zero.
            Field::Amount(Measure::Gauge) if self.chance(60) => {
                Node::Scalar(self.written(Measure::Gauge, &[Measure::Absolute]))
            }
            Field::Amount(Measure::Absolute) if self.chance(60) => {
                Node::Scalar(self.written(Measure::Absolute, &[Measure::Gauge]))
            }
            _ if self.chance(50) => Node::Empty,
            Field::Amount(_) => Node::Scalar(self.pick(&["5", "7 mol", "much"]).to_owned()),
            Field::Truth => Node::Scalar("perhaps".to_owned()),
            Field::Word(_) => Node::Scalar("unheard of".to_owned()),
            Field::Count | Field::Number => Node::Scalar("many".to_owned()),
            Field::Moment => Node::Scalar("yesterday".to_owned()),
            Field::List(_) | Field::Texts(_) | Field::Record(_) => Node::Scalar("none".to_owned()),
            Field::Text(_) => Node::Empty,
        }
    }

    /// A node of the right form.
    pub fn node(&mut self, field: Field, depth: usize) -> Node {
        match field {
            Field::Record(record) => self.fields_of(record, depth),
            Field::List(record) => {
                let number = [0, 1, 2, 2, 3, 3][self.rng.usize(0..6)];
                if record == "fastening" && self.chance(30) {
                    return self.in_order(depth);
                }
                Node::List((0..number).map(|_| self.fields_of(record, depth)).collect())
            }
            Field::Texts(samples) => {
                let number = self.rng.usize(0..3);
                Node::List((0..number).map(|_| Node::Scalar(self.scalar(Field::Text(samples)))).collect())
            }
            _ => Node::Scalar(self.scalar(field)),
        }
    }

    /// Fastenings of which each has a place in the order, or all but one.
    fn in_order(&mut self, depth: usize) -> Node {
        let number = [1, 3, 4, 5, 6, 8, 9][self.rng.usize(0..7)];
        let mut places: Vec<usize> = (1..=number).collect();
        if self.chance(70) {
            self.rng.shuffle(&mut places);
        }
        let spoilt = self.chance(10);
        let fastenings = places.into_iter().map(|place| {
            let Node::Map(mut entries) = self.fields_of("fastening", depth) else {
                unreachable!("a fastening is a map")
            };
            entries.retain(|(name, _)| name != "order" && (number < 4 || name != "stages"));
            if !spoilt || place > 1 {
                entries.push(("order".to_owned(), Node::Scalar(place.to_string())));
            }
            Node::Map(entries)
        });
        Node::List(fastenings.collect())
    }

    /// A scalar of the right form.
    pub fn scalar(&mut self, field: Field) -> String {
        match field {
            Field::Amount(measure) => {
                let text = self.amount(measure);
                quoted(self.rng, &text)
            }
            Field::Text(samples) => {
                let text = self.pick(samples);
                quoted(self.rng, text)
            }
            Field::Word(words) => {
                let word = self.pick(words);
                quoted(self.rng, word)
            }
            Field::Truth => self.pick(&["yes", "no", "true", "false"]).to_owned(),
            Field::Count => self.rng.u8(1..7).to_string(),
            Field::Number => self.pick(&["75", "1.5", "2", "5", "0.25"]).to_owned(),
            Field::Moment => {
                let day = self.rng.u8(1..4);
                let hour = self.rng.u8(0..24);
                let zone = self.pick(&["Z", "+01:00", "-05:30", ""]);
                format!("\"2026-03-{day:02}T{hour:02}:30:00{zone}\"")
            }
            Field::Record(_) | Field::List(_) | Field::Texts(_) => panic!("{field:?} is no scalar"),
        }
    }

    /// A number with a unit, at a limit or very near one, now and then anywhere.
    fn amount(&mut self, measure: Measure) -> String {
        match measure {
            Measure::Temperature => self.written(measure, &[measure, Measure::Difference]),
            _ if measure.has_bare_units() => self.written(measure, &[measure, Measure::Pressure]),
            _ => self.written(measure, &[measure]),
        }
    }

    /// The same in a unit of one of these.
    fn written(&mut self, measure: Measure, by: &[Measure]) -> String {
        let limits = self.limits.get(&measure).filter(|_| self.rng.u8(0..10) < 9);
        let base = match limits {
            Some(limits) => limits[self.rng.usize(0..limits.len())].clone(),
            None => self.anywhere(measure),
        };
        let rows: Vec<_> = units().iter().filter(|row| by.contains(&row.measure)).collect();
        let row = self.pick(&rows);
        let figure = (&base - &row.zero) / &row.size;
        let mut text = finite(&figure, 8).unwrap_or_else(|| truncated(&figure, 6));
        match self.rng.u8(0..6) {
            0 => text = truncated(&(exact(&text) + exact("0.000001")), 6),
            1 => text = truncated(&(exact(&text) - exact("0.000001")), 6),
            2 => text = truncated(&(exact(&text) + exact("0.1")), 6),
            _ => {}
        }
        // Below zero there are only temperatures in a record.
        if measure != Measure::Temperature {
            text = text.trim_start_matches('-').to_owned();
        }
        let spelling = self.pick(row.spellings);
        let gap = self.pick(&[" ", " ", "", "  "]);
        format!("{text}{gap}{spelling}")
    }

    fn anywhere(&mut self, measure: Measure) -> Ratio {
        let rows: Vec<_> = units().iter().filter(|row| row.measure == measure).collect();
        let row = self.pick(&rows);
        exact(&self.rng.u8(0..100).to_string()) * &row.size + &row.zero
    }
}

/// The text as it is, or between quotes.
fn quoted(rng: &mut Rng, text: &str) -> String {
    match rng.u8(0..4) {
        0 => format!("\"{text}\""),
        1 => format!("'{text}'"),
        _ => text.to_owned(),
    }
}

/// Puts a value where one is missing in a record of this form; nothing when nothing is missing.
pub fn filled(node: &Node, record: &str, recorder: &mut Recorder<'_>) -> Option<Node> {
    let mut gaps = 0;
    visit(&mut node.clone(), record, &mut |_, _| gaps += 1);
    if gaps == 0 {
        return None;
    }
    let (chosen, mut number) = (recorder.rng.usize(0..gaps), 0);
    let mut whole = node.clone();
    visit(&mut whole, record, &mut |slot, field| {
        if number == chosen {
            *slot = Node::Scalar(recorder.scalar(field));
        }
        number += 1;
    });
    Some(whole)
}

/// Calls `change` for every scalar that is absent or empty, records that are absent included.
fn visit(node: &mut Node, record: &str, change: &mut dyn FnMut(&mut Node, Field)) {
    let Node::Map(entries) = node else { return };
    for (name, field) in fields(record) {
        let at = entries.iter().position(|(own, _)| own == name);
        match field {
            Field::Record(inner) => match at {
                Some(at) => {
                    if matches!(entries[at].1, Node::Empty) {
                        entries[at].1 = Node::Map(Vec::new());
                    }
                    visit(&mut entries[at].1, inner, change);
                }
                None => {
                    let mut made = Node::Map(Vec::new());
                    visit(&mut made, inner, change);
                    if matches!(&made, Node::Map(entries) if !entries.is_empty()) {
                        entries.push(((*name).to_owned(), made));
                    }
                }
            },
            Field::List(inner) => {
                if let Some(Node::List(items)) = at.map(|at| &mut entries[at].1) {
                    items.iter_mut().for_each(|item| visit(item, inner, change));
                }
            }
            Field::Texts(_) => {}
            _ => match at {
                Some(at) if matches!(entries[at].1, Node::Empty) => change(&mut entries[at].1, *field),
                Some(_) => {}
                None => {
                    let mut made = Node::Empty;
                    change(&mut made, *field);
                    if !matches!(made, Node::Empty) {
                        entries.push(((*name).to_owned(), made));
                    }
                }
            },
        }
    }
}

/// Every record that lacks one entry or one element of this one.
pub fn smaller(node: &Node) -> Vec<Node> {
    let mut found = Vec::new();
    match node {
        Node::Map(entries) => {
            for at in 0..entries.len() {
                let mut fewer = entries.clone();
                fewer.remove(at);
                found.push(Node::Map(fewer));
            }
            for (at, (_, inner)) in entries.iter().enumerate() {
                for less in smaller(inner) {
                    let mut entries = entries.clone();
                    entries[at].1 = less;
                    found.push(Node::Map(entries));
                }
            }
        }
        Node::List(items) => {
            for at in 0..items.len() {
                let mut fewer = items.clone();
                fewer.remove(at);
                found.push(Node::List(fewer));
            }
            for (at, inner) in items.iter().enumerate() {
                for less in smaller(inner) {
                    let mut items = items.clone();
                    items[at] = less;
                    found.push(Node::List(items));
                }
            }
        }
        Node::Empty | Node::Scalar(_) => {}
    }
    found
}

/// The record as YAML, in block layout with some parts in flow layout.
pub fn yaml(node: &Node) -> String {
    let mut out = String::new();
    block(node, 0, &mut out);
    out
}

fn block(node: &Node, indent: usize, out: &mut String) {
    let Node::Map(entries) = node else { unreachable!("a record is a map") };
    for (name, inner) in entries {
        out.push_str(&format!("{:indent$}{name}:", ""));
        beside(inner, indent, out);
    }
}

/// What stands behind a key, from the colon to the end of its lines.
fn beside(node: &Node, indent: usize, out: &mut String) {
    match node {
        Node::Empty => out.push('\n'),
        Node::Scalar(text) => out.push_str(&format!(" {text}\n")),
        Node::Map(entries) if entries.is_empty() => out.push_str(" {}\n"),
        // Whether a small record stands in one line follows from its text, so that it stays the same.
        Node::Map(entries) if entries.len() % 3 == 2 && in_one_line(node) => {
            out.push_str(&format!(" {}\n", flow(node)));
        }
        Node::Map(_) => {
            out.push('\n');
            block(node, indent + 2, out);
        }
        Node::List(items) if items.is_empty() => out.push_str(" []  # none\n"),
        Node::List(items) => {
            out.push('\n');
            for item in items {
                let indent = indent + 2;
                match item {
                    Node::Map(entries) if entries.is_empty() => {
                        out.push_str(&format!("{:indent$}- {{}}\n", ""))
                    }
                    Node::Map(_) if in_one_line(item) && items.len() == 2 => {
                        out.push_str(&format!("{:indent$}- {}\n", "", flow(item)));
                    }
                    Node::Map(_) => {
                        let mut lines = String::new();
                        block(item, indent + 2, &mut lines);
                        out.push_str(&format!("{:indent$}- {}", "", &lines[indent + 2..]));
                    }
                    Node::Scalar(text) => out.push_str(&format!("{:indent$}- {text}\n", "")),
                    Node::Empty | Node::List(_) => unreachable!("lists hold records and texts"),
                }
            }
        }
    }
}

fn in_one_line(node: &Node) -> bool {
    match node {
        Node::Empty => false,
        Node::Scalar(_) => true,
        Node::Map(entries) => entries.iter().all(|(_, inner)| in_one_line(inner)),
        Node::List(items) => items.iter().all(in_one_line),
    }
}

fn flow(node: &Node) -> String {
    match node {
        Node::Empty => String::new(),
        Node::Scalar(text) => text.clone(),
        Node::Map(entries) => {
            let inner: Vec<String> =
                entries.iter().map(|(name, inner)| format!("{name}: {}", flow(inner))).collect();
            format!("{{ {} }}", inner.join(", "))
        }
        Node::List(items) => format!("[{}]", items.iter().map(flow).collect::<Vec<_>>().join(", ")),
    }
}
