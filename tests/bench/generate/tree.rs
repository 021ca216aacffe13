//! A record as a tree, edits of it by path, and its text in the many ways people write YAML.

use fastrand::Rng;

/// A piece of a record.
#[derive(Clone, Debug)]
pub enum Node {
    /// A group of fields.
    Map(Vec<(String, Node)>),
    /// A list.
    List(Vec<Node>),
    /// A text or a quantity, in quotes now and then.
    Text(String),
    /// A number or a yes or no, never in quotes, so that readers that guess kinds see one.
    Plain(String),
    /// A text of several lines, written as a block.
    Lines(Vec<String>),
}

impl Node {
    /// The text of a single value.
    fn text(&self) -> Option<&str> {
        match self {
            Node::Text(text) | Node::Plain(text) => Some(text),
            _ => None,
        }
    }

    /// Whether it can stand on one line.
    fn is_flat(&self) -> bool {
        match self {
            Node::Map(fields) => fields.iter().all(|(_, value)| value.text().is_some()),
            Node::List(items) => items.iter().all(|item| item.text().is_some()),
            _ => true,
        }
    }

    /// What a step of a path leads to: the field of a name, or the first item of a list that is this
    /// text or has it as one of its values.
    fn step(&mut self, step: &str) -> Option<&mut Node> {
        match self {
            Node::Map(fields) => fields.iter_mut().find(|(key, _)| key == step).map(|(_, value)| value),
            Node::List(items) => items.iter_mut().find(|item| item.answers_to(step)),
            _ => None,
        }
    }

    fn answers_to(&self, step: &str) -> bool {
        match self {
            Node::Map(fields) => fields.iter().any(|(_, value)| value.text() == Some(step)),
            other => other.text() == Some(step),
        }
    }
}

/// A change of a record. Paths are steps with `/` between them, as in `fastenings/drain plug/torque`.
#[derive(Clone, Copy, Debug)]
pub enum Edit {
    /// A field gets this text.
    Set(&'static str, &'static str),
    /// A field gets this number, or yes or no.
    Plain(&'static str, &'static str),
    /// A field gets this list of texts.
    List(&'static str, &'static [&'static str]),
    /// A field or an item is left out.
    Remove(&'static str),
    /// A field gets another name.
    Rename(&'static str, &'static str),
}

/// Carries an edit out; a path that leads nowhere is a mistake in the table of faults.
pub fn edit(root: &mut Node, edit: Edit) {
    let (Edit::Set(path, _)
    | Edit::Plain(path, _)
    | Edit::List(path, _)
    | Edit::Remove(path)
    | Edit::Rename(path, _)) = edit;
    let (outer, last) = path.rsplit_once('/').unwrap_or(("", path));
    let mut outer = outer.split('/').filter(|step| !step.is_empty());
    let outer = outer.try_fold(root, |node, step| node.step(step));
    let outer = outer.unwrap_or_else(|| panic!("the path `{path}` leads nowhere"));
    let value = match edit {
        Edit::Set(_, text) => Node::Text(text.to_owned()),
        Edit::Plain(_, text) => Node::Plain(text.to_owned()),
        Edit::List(_, texts) => Node::List(texts.iter().map(|text| Node::Text((*text).to_owned())).collect()),
        Edit::Remove(_) => {
            match outer {
                Node::Map(fields) => fields.retain(|(key, _)| key != last),
                Node::List(items) => items.retain(|item| !item.answers_to(last)),
                _ => panic!("the path `{path}` leads nowhere"),
            }
            return;
        }
        Edit::Rename(_, name) => {
            let Node::Map(fields) = outer else { panic!("the path `{path}` leads nowhere") };
            let field = fields.iter_mut().find(|(key, _)| key == last);
            field.unwrap_or_else(|| panic!("the path `{path}` leads nowhere")).0 = name.to_owned();
            return;
        }
    };
    let Node::Map(fields) = outer else { panic!("the path `{path}` leads nowhere") };
    match fields.iter_mut().find(|(key, _)| key == last) {
        Some((_, old)) => *old = value,
        None => fields.push((last.to_owned(), value)),
    }
}

/// What people write between the lines.
const REMARKS: [&str; 12] = [
    "checked twice",
    "nach Prüfung durch den Meister",
    "Öl war noch handwarm",
    "see the photograph",
    "kreuzweise, von der Mitte nach außen",
    "as every time with this family",
    "customer waits, wants the old parts back",
    "Werkzeug vorher geprüft",
    "stripe drawn with the yellow paint pen",
    "für die Akte: siehe auch letzte Fahrt",
    "scan tool on battery charger",
    "lift 2, locks engaged",
];

/// The text of a record.
pub fn write(root: &Node, rng: &mut Rng) -> String {
    let mut out = String::with_capacity(4096);
    for _ in 0..rng.usize(1..4) {
        comment(0, rng, &mut out);
    }
    if let Node::Map(fields) = root {
        for (key, value) in fields {
            if rng.u8(..100) < 45 {
                out.push('\n');
            }
            if rng.u8(..100) < 35 {
                comment(0, rng, &mut out);
            }
            field(key, value, 0, rng, &mut out);
        }
    }
    out
}

fn comment(indent: usize, rng: &mut Rng, out: &mut String) {
    out.push_str(&format!("{:indent$}# {}\n", "", REMARKS[rng.usize(..REMARKS.len())]));
}

fn end_of_line(rng: &mut Rng, out: &mut String) {
    if rng.u8(..100) < 7 {
        out.push_str("   # ");
        out.push_str(REMARKS[rng.usize(..REMARKS.len())]);
    }
    out.push('\n');
}

/// `key: value`, the indentation of the first line already written or nought.
fn field(key: &str, value: &Node, indent: usize, rng: &mut Rng, out: &mut String) {
    out.push_str(&format!("{:indent$}{key}:", ""));
    rest_of_field(value, indent, rng, out);
}

fn rest_of_field(value: &Node, indent: usize, rng: &mut Rng, out: &mut String) {
    match value {
        Node::Lines(lines) => {
            out.push_str(" |\n");
            for line in lines {
                out.push_str(&format!("{:width$}{line}\n", "", width = indent + 2));
            }
        }
        Node::Map(fields) if !value.is_flat() || rng.u8(..100) < 60 => {
            end_of_line(rng, out);
            for (key, value) in fields {
                field(key, value, indent + 2, rng, out);
            }
        }
        Node::List(items) if !value.is_flat() => {
            end_of_line(rng, out);
            let flow = rng.u8(..100) < 65;
            for item in items {
                list_item(item, flow, indent + 2, rng, out);
            }
        }
        value => {
            out.push(' ');
            one_line(value, indent, rng, out);
            end_of_line(rng, out);
        }
    }
}

fn list_item(item: &Node, flow: bool, indent: usize, rng: &mut Rng, out: &mut String) {
    out.push_str(&format!("{:indent$}- ", ""));
    match item {
        Node::Map(fields) if !flow || !item.is_flat() => {
            for (number, (key, value)) in fields.iter().enumerate() {
                let before = if number == 0 { 0 } else { indent + 2 };
                out.push_str(&format!("{:before$}{key}:", ""));
                rest_of_field(value, indent + 2, rng, out);
            }
        }
        item => {
            one_line(item, indent, rng, out);
            end_of_line(rng, out);
        }
    }
}

/// A value on one line, or in brackets over two.
fn one_line(value: &Node, indent: usize, rng: &mut Rng, out: &mut String) {
    let comma = |number: usize, count: usize, rng: &mut Rng, out: &mut String| match number {
        0 => {}
        _ if count > 5 && number == 4 && rng.bool() => {
            out.push_str(&format!(",\n{:width$}", "", width = indent + 4))
        }
        _ => out.push_str(", "),
    };
    match value {
        Node::Map(fields) => {
            out.push('{');
            for (number, (key, value)) in fields.iter().enumerate() {
                comma(number, fields.len(), rng, out);
                out.push_str(key);
                out.push_str(": ");
                one_line(value, indent, rng, out);
            }
            out.push('}');
        }
        Node::List(items) => {
            out.push('[');
            for (number, item) in items.iter().enumerate() {
                comma(number, items.len(), rng, out);
                one_line(item, indent, rng, out);
            }
            out.push(']');
        }
        Node::Plain(text) => out.push_str(text),
        Node::Text(text) => match rng.u8(..100) {
            0..12 => double_quoted(text, out),
            12..20 => single_quoted(text, out),
            _ if needs_quotes(text) => double_quoted(text, out),
            _ => out.push_str(text),
        },
        Node::Lines(lines) => double_quoted(&lines.join(" "), out),
    }
}

fn double_quoted(text: &str, out: &mut String) {
    out.push_str(&format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"")));
}

fn single_quoted(text: &str, out: &mut String) {
    out.push_str(&format!("'{}'", text.replace('\'', "''")));
}

/// Whether a text is no text, or not the same one, when it stands bare.
fn needs_quotes(text: &str) -> bool {
    let guessed = ["off", "on", "yes", "no", "true", "false", "null", "~", ""].contains(&text);
    let number = text.chars().all(|c| c.is_ascii_digit() || ".:- ".contains(c));
    guessed || number || text.contains([',', '[', ']', '{', '}', '#', '"', '\'']) || text.contains(": ")
}
