//! What a text means, as a tree without its layout.

use std::hash::{Hash, Hasher};

use sha2::{Digest, Sha256};

use crate::quantity::{Limit, Number, Quantity, Range};
use crate::source::Place;
use crate::value::{Moment, Value};

/// What a value is worth: the same for every way of writing it.
#[derive(Clone, Debug, Hash)]
pub(super) enum Worth {
    /// Words that mean themselves.
    Words(String),
    /// A plain number, or a quantity in coherent SI units.
    Number(Number),
    /// Something that is built of others, and what it is.
    Of(&'static str, Vec<Worth>),
}

impl Worth {
    /// Words in which a run of blanks is as good as one.
    pub(super) fn words(text: &str) -> Worth {
        Worth::Words(one_line(text))
    }

    /// A quantity with its kind: a temperature is not a difference of temperatures.
    pub(super) fn quantity(quantity: &Quantity) -> Worth {
        let kind = Worth::Words(quantity.kind().to_string());
        Worth::Of("quantity", vec![kind, Worth::Number(quantity.base())])
    }

    /// A range by its limits.
    pub(super) fn range(range: &Range) -> Worth {
        let limit = |limit: Option<&Limit>| match limit {
            None => Worth::Of("open", Vec::new()),
            Some(limit) if limit.inclusive => Worth::Of("included", vec![Worth::quantity(&limit.value)]),
            Some(limit) => Worth::Of("excluded", vec![Worth::quantity(&limit.value)]),
        };
        Worth::Of("range", vec![limit(range.low()), limit(range.high())])
    }

    /// A value of a document.
    pub(super) fn of(value: &Value<'_>) -> Worth {
        match value {
            Value::Truth(truth) => Worth::Of(if *truth { "yes" } else { "no" }, Vec::new()),
            Value::Quantity(quantity) => Worth::quantity(quantity),
            Value::Reading(reading) => {
                let coverage = Worth::Number(reading.coverage.clone());
                let parts =
                    vec![Worth::quantity(&reading.value), Worth::quantity(&reading.expanded), coverage];
                Worth::Of("reading", parts)
            }
            Value::Several(quantities) => {
                Worth::Of("several", quantities.iter().map(Worth::quantity).collect())
            }
            Value::Range(range) => Worth::range(range),
            Value::Text(text) => Worth::words(text),
            Value::Words(words) => Worth::Of("one of", words.iter().map(|word| Worth::words(word)).collect()),
            Value::Day(day) => Worth::Words(day.to_string()),
            Value::Moment(Moment::Exact(instant, _)) => {
                Worth::Of("instant", vec![Worth::words(&instant.to_string())])
            }
            Value::Moment(Moment::Civil(civil)) => Worth::Words(civil.to_string()),
        }
    }

    pub(super) fn mark(&self) -> Mark {
        Mark::of(self)
    }
}

/// A text on one line, a run of blanks as one.
pub(super) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A hash of what something means: equal marks, equal meaning. It is one that cannot be met on purpose,
/// so that no change can be hidden.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Mark([u8; 32]);

impl Mark {
    pub(super) fn of(value: &impl Hash) -> Mark {
        let mut feed = Feed(Sha256::new());
        value.hash(&mut feed);
        Mark(feed.0.finalize().into())
    }
}

/// Hands what is hashed to SHA-256.
struct Feed(Sha256);

impl Hasher for Feed {
    fn write(&mut self, bytes: &[u8]) {
        self.0.update(bytes);
    }

    /// Not asked for: the whole hash is taken instead.
    fn finish(&self) -> u64 {
        0
    }
}

/// A piece of a text.
#[derive(Debug)]
pub(super) struct Piece {
    pub(super) place: Place,
    pub(super) path: String,
    pub(super) body: Body,
    pub(super) mark: Mark,
}

/// What a piece is.
#[derive(Debug)]
pub(super) enum Body {
    /// A single value, as it is written.
    Value(String),
    /// Named fields, in the order of the text.
    Group(Vec<Field>),
    /// A list.
    List(List),
}

/// A field of a group.
#[derive(Debug)]
pub(super) struct Field {
    pub(super) name: String,
    pub(super) piece: Piece,
}

/// A list.
#[derive(Debug)]
pub(super) struct List {
    /// What each item is called where each is a part of the text by itself: `rule`.
    pub(super) noun: Option<&'static str>,
    /// Whether the order of its items means something.
    pub(super) ordered: bool,
    pub(super) items: Vec<Item>,
}

/// An item of a list.
#[derive(Debug)]
pub(super) struct Item {
    /// What identifies it, if anything does.
    pub(super) key: Option<Mark>,
    /// The same in words; empty for an item without it.
    pub(super) label: String,
    /// Its number in the sequence, for an item that states one.
    pub(super) rank: Option<Rank>,
    /// All else of it.
    pub(super) piece: Piece,
}

/// The number that an item states for its place in the sequence.
#[derive(Debug)]
pub(super) struct Rank {
    pub(super) number: Number,
    pub(super) piece: Piece,
}

impl Piece {
    /// A single value.
    pub(super) fn value(place: Place, path: String, worth: &Worth, words: String) -> Piece {
        Piece { place, path, body: Body::Value(words), mark: worth.mark() }
    }

    /// A group of fields, whose order means nothing.
    pub(super) fn group(place: Place, path: String, fields: Vec<Field>) -> Piece {
        let mut parts: Vec<(&str, Mark)> =
            fields.iter().map(|field| (field.name.as_str(), field.piece.mark)).collect();
        parts.sort_unstable();
        let mark = Mark::of(&("group", parts));
        Piece { place, path, body: Body::Group(fields), mark }
    }

    /// A list of items.
    pub(super) fn list(place: Place, path: String, list: List) -> Piece {
        let mut parts: Vec<(Option<Mark>, Option<&Number>, Mark)> = list
            .items
            .iter()
            .map(|item| (item.key, item.rank.as_ref().map(|rank| &rank.number), item.piece.mark))
            .collect();
        if !list.ordered {
            parts.sort_unstable();
        }
        let mark = Mark::of(&("list", parts));
        Piece { place, path, body: Body::List(list), mark }
    }

    /// Its fields; none for anything but a group.
    pub(super) fn fields(&self) -> &[Field] {
        match &self.body {
            Body::Group(fields) => fields,
            _ => &[],
        }
    }

    /// What stands there, in a few words.
    pub(super) fn summary(&self) -> String {
        let mut words = String::new();
        self.sum_up(&mut words);
        words
    }

    fn sum_up(&self, words: &mut String) {
        match &self.body {
            Body::Value(value) => words.push_str(value),
            Body::List(list) => {
                for (number, item) in list.items.iter().enumerate() {
                    if number > 0 {
                        words.push_str(", ");
                    }
                    if words.len() > ENOUGH {
                        words.push('…');
                        return;
                    }
                    words.push_str(&item.label);
                    if item.label.is_empty() {
                        item.piece.sum_up(words);
                    }
                }
            }
            Body::Group(fields) => {
                for (number, field) in fields.iter().enumerate() {
                    if number > 0 {
                        words.push_str(", ");
                    }
                    if words.len() > ENOUGH {
                        words.push('…');
                        return;
                    }
                    words.push_str(&spaced(&field.name));
                    words.push(' ');
                    field.piece.sum_up(words);
                }
            }
        }
    }
}

/// After how many bytes a summary ends.
const ENOUGH: usize = 160;

/// The name of a field as people say it.
pub(super) fn spaced(name: &str) -> String {
    name.replace('_', " ")
}
