//! The builtin functions of the rule language. A new one is one row of its table,
//! which [`all`] lists.
//!
//! A builtin gets decided values of the types its row names, and answers with a value or a
//! [`Fault`]; the caller knows the place.

mod arguments;
mod table;

use crate::diagnostic::Fault;
use crate::language::types::Type;
use crate::metrology::Working;
use crate::quantity::{Kind, KindName};
use crate::value::Value;

/// The builtin that looks for words within a text. What it looks for is known to the rules like what they compare with.
pub const MENTIONS: &str = "mentions";

/// A row of the table.
#[derive(Debug)]
pub struct Builtin {
    /// Its name.
    pub name: &'static str,
    /// The names and types of its parameters.
    pub parameters: &'static [(&'static str, Wants)],
    /// What it answers.
    pub result: Gives,
    /// What it answers, in the words of a finding.
    pub words: Words,
    /// What becomes of the uncertainty of its first argument, the others being exact.
    pub uncertainty: Carried,
    /// What a demand by it tells of the field that it looks at.
    pub tells: Tells,
    /// What it means, with the source of what it computes.
    pub doc: &'static str,
    /// A demand that holds; it is run as a test.
    pub example: &'static str,
    /// The function; it writes its steps into the working.
    pub function: for<'s> fn(&[Value<'s>], &mut Working) -> Result<Value<'s>, Fault>,
}

impl Builtin {
    /// How it is called: `follows_pattern(text, pattern)`.
    #[must_use]
    pub fn call(&self) -> String {
        let names: Vec<&str> = self.parameters.iter().map(|(name, _)| *name).collect();
        format!("{}({})", self.name, names.join(", "))
    }
}

/// The words of a finding for what a builtin answers. `{0}` stands for the first argument, and so on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Words {
    /// What the first argument must be where the answer must be yes, and where it must be no.
    Demand(&'static str, &'static str),
    /// What the value is.
    Value(&'static str),
    /// Of what it counts how many the first argument has: one of them.
    Count(&'static str),
}

/// What becomes of the uncertainty of the first argument of a builtin in its answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Carried {
    /// The answer is in proportion to the argument, and so is its uncertainty.
    Proportional,
    /// Nobody has worked it out: what is guarded stays undecided.
    NotKnown,
}

/// What a demand by a builtin tells of the field that its first argument is, for a sheet to say at the field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tells {
    /// The second argument is a pattern that the field must follow.
    Pattern,
    /// Nothing that could be written down beside it.
    Nothing,
}

/// What a parameter takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wants {
    /// Text of either sort.
    Text,
    /// Text of either sort, or a list of words.
    TextOrWords,
    /// A quantity of any kind.
    Quantity,
    /// A quantity that can be compared with the first argument.
    QuantityLikeFirst,
    /// A range of any kind.
    Range,
    /// A range that can be compared with the first argument.
    RangeLikeFirst,
    /// A distance between two quantities of the first argument's kind.
    DistanceLikeFirst,
    /// A quantity of one kind.
    Kind(KindName),
    /// A plain number.
    Number,
    /// Several plain numbers, in their order.
    Numbers,
    /// Several lengths or plain numbers, in their order.
    Coordinates,
    /// A day.
    Day,
    /// A day or a time.
    DayOrTime,
}

/// What a builtin answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gives {
    /// Yes or no.
    Truth,
    /// A plain number.
    Number,
    /// Several plain numbers.
    Numbers,
    /// A quantity of the first argument's kind.
    QuantityLikeFirst,
    /// A quantity of one kind.
    Kind(KindName),
    /// A range of one kind.
    Range(KindName),
    /// A text.
    Text,
    /// A day.
    Day,
    /// A day or a time, as the first argument is.
    LikeFirst,
}

impl Gives {
    /// The type of the answer to arguments whose first has the type `first`.
    #[must_use]
    pub fn type_for(self, first: Option<&Type>) -> Type {
        match (self, first) {
            (Gives::Truth, _) => Type::Truth,
            (Gives::Number, _) => Type::Quantity(Kind::NUMBER),
            (Gives::Numbers, _) => Type::Several(Kind::NUMBER),
            (Gives::Kind(kind), _) => Type::Quantity(kind.into()),
            (Gives::Range(kind), _) => Type::Range(kind.into()),
            (Gives::Text, _) => Type::Text,
            (Gives::Day, _) => Type::Day,
            (Gives::LikeFirst, Some(first)) => first.clone(),
            (Gives::QuantityLikeFirst, Some(Type::Quantity(kind) | Type::Range(kind))) => {
                Type::Quantity(*kind)
            }
            (Gives::QuantityLikeFirst | Gives::LikeFirst, _) => Type::Mistaken,
        }
    }
}

/// Every builtin, subject by subject.
pub fn all() -> impl Iterator<Item = &'static Builtin> {
    table::BUILTINS.iter().copied().flatten()
}

/// The builtin with this name.
#[must_use]
pub fn find(name: &str) -> Option<&'static Builtin> {
    all().find(|builtin| builtin.name == name)
}
