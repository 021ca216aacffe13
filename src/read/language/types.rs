//! The types of expressions, and how the fields of a form get theirs.

use std::fmt;
use std::sync::Arc;

use crate::document::{Record, Shape};
use crate::quantity::Kind;
use crate::signal::Sampling;

/// What an expression is worth, before it runs.
#[derive(Clone, Debug)]
pub enum Type {
    /// Yes or no.
    Truth,
    /// A number with a unit; a plain number has the kind [`Kind::NUMBER`].
    Quantity(Kind),
    /// Several quantities of one kind, in their order.
    Several(Kind),
    /// A range of quantities of one kind.
    Range(Kind),
    /// Quantities of one kind over time.
    Log(Kind, Sampling),
    /// Free text.
    Text,
    /// A word of a closed list.
    Word(Arc<[Arc<str>]>),
    /// Several words; where they are those of a field, the closed list that it has, if it has one.
    Words(Option<Arc<[Arc<str>]>>),
    /// A calendar day.
    Day,
    /// A time.
    Moment,
    /// A part of the document with named fields.
    Record(Arc<Record>),
    /// A list in the document.
    List(Arc<Shape>),
    /// Whatever stands where a mistake was reported already; it fits everywhere.
    Mistaken,
}

impl Type {
    /// The type of a field with this shape.
    #[must_use]
    pub fn of(shape: &Shape) -> Type {
        match shape {
            Shape::Record(record) => Type::Record(Arc::clone(record)),
            Shape::List(element) => Type::List(Arc::clone(element)),
            Shape::Text | Shape::Any => Type::Text,
            Shape::Word(words) => Type::Word(Arc::clone(words)),
            Shape::Truth => Type::Truth,
            Shape::Count | Shape::Number => Type::Quantity(Kind::NUMBER),
            Shape::Quantity(kind) => Type::Quantity(*kind),
            Shape::Range(kind) => Type::Range(*kind),
            Shape::Log(kind, sampling) => Type::Log(*kind, *sampling),
            Shape::Day => Type::Day,
            Shape::Moment => Type::Moment,
        }
    }

    /// Whether it is text of either sort.
    #[must_use]
    pub fn is_text(&self) -> bool {
        matches!(self, Type::Text | Type::Word(_) | Type::Mistaken)
    }

    /// Whether it is a day or a time.
    #[must_use]
    pub fn is_time(&self) -> bool {
        matches!(self, Type::Day | Type::Moment | Type::Mistaken)
    }

    /// Whether a mistake was reported already.
    #[must_use]
    pub fn is_mistaken(&self) -> bool {
        matches!(self, Type::Mistaken)
    }
}

/// In plain words, with an article: `a torque`, `a list`.
impl fmt::Display for Type {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Type::Truth => f.write_str("yes or no"),
            Type::Quantity(kind) if *kind == Kind::NUMBER => f.write_str("a plain number"),
            Type::Quantity(kind) => write!(f, "{}", with_article(&kind.to_string())),
            Type::Several(kind) if *kind == Kind::NUMBER => f.write_str("several plain numbers"),
            Type::Several(kind) => write!(f, "several values of {kind}"),
            Type::Range(kind) if *kind == Kind::NUMBER => f.write_str("a range of plain numbers"),
            Type::Range(kind) => write!(f, "a range of {kind}"),
            Type::Log(kind, _) if *kind == Kind::NUMBER => f.write_str("a log of plain numbers"),
            Type::Log(kind, _) => write!(f, "a log of {kind}"),
            Type::Text => f.write_str("a text"),
            Type::Word(_) => f.write_str("a word of a closed list"),
            Type::Words(_) => f.write_str("a list of words"),
            Type::Day => f.write_str("a day"),
            Type::Moment => f.write_str("a time"),
            Type::Record(_) => f.write_str("a group of fields"),
            Type::List(_) => f.write_str("a list"),
            Type::Mistaken => f.write_str("something that is reported already"),
        }
    }
}

/// A noun with `a` or `an`.
#[must_use]
pub fn with_article(noun: &str) -> String {
    let vowel = noun.starts_with(['a', 'e', 'i', 'o', 'u']);
    let article = if noun.starts_with("a ") || noun.starts_with("an ") {
        ""
    } else if vowel {
        "an "
    } else {
        "a "
    };
    format!("{article}{noun}")
}
