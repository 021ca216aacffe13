//! The words of the language's closed lists, as rule files and messages write them.

use std::fmt;

use crate::language::ast::{
    Aggregate, Arithmetic, Comparison, Count, Logic, Quantifier, Severity, TrialOutcome,
};

impl Count {
    /// Whether every number from `least` to `most` is enough and not too many, or none of them is; nothing
    /// where that depends on the number.
    #[must_use]
    pub fn allows_all(self, least: u32, most: u32) -> Option<bool> {
        let (all, none) = match self {
            Count::AtLeast(wanted) => (least >= wanted, most < wanted),
            Count::AtMost(wanted) => (most <= wanted, least > wanted),
            Count::Exactly(wanted) => (least == wanted && most == wanted, most < wanted || least > wanted),
        };
        match (all, none) {
            (true, _) => Some(true),
            (_, true) => Some(false),
            _ => None,
        }
    }

    /// Whether this many subjects are too few.
    #[must_use]
    pub fn wants_more_than(self, found: u32) -> bool {
        match self {
            Count::AtLeast(wanted) | Count::Exactly(wanted) => found < wanted,
            Count::AtMost(_) => false,
        }
    }
}

/// As written: `not concerned`.
impl fmt::Display for TrialOutcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            TrialOutcome::Met => "met",
            TrialOutcome::Broken => "broken",
            TrialOutcome::Undecided => "undecided",
            TrialOutcome::NotConcerned => "not concerned",
        })
    }
}

/// As written: `at least 13`.
impl fmt::Display for Count {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Count::AtLeast(wanted) => write!(f, "at least {wanted}"),
            Count::AtMost(wanted) => write!(f, "at most {wanted}"),
            Count::Exactly(wanted) => write!(f, "exactly {wanted}"),
        }
    }
}

impl Severity {
    /// Its word in the rule language.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Severity::Hold => "hold",
            Severity::Advice => "advice",
            Severity::Note => "note",
        }
    }
}

impl Logic {
    /// Its word, as messages quote it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Logic::And => "`and`",
            Logic::Or => "`or`",
            Logic::Implies => "`implies`",
        }
    }
}

impl Quantifier {
    /// Its word, as messages quote it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Quantifier::Every => "`every`",
            Quantifier::Some => "`some`",
            Quantifier::No => "`no`",
        }
    }
}

impl Aggregate {
    /// Its words, as messages quote them.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Aggregate::Count => "`count of`",
            Aggregate::Sum => "`sum of`",
            Aggregate::Least => "`least of`",
            Aggregate::Greatest => "`greatest of`",
            Aggregate::All => "`all of`",
        }
    }
}

impl Comparison {
    /// Its words in the rule language.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Comparison::Is => "is",
            Comparison::IsNot => "is not",
            Comparison::Above => "above",
            Comparison::Below => "below",
            Comparison::AtLeast => "at least",
            Comparison::AtMost => "at most",
            Comparison::Before => "before",
            Comparison::After => "after",
        }
    }

    /// The comparison that says the same with its sides in the other order.
    #[must_use]
    pub fn turned_round(self) -> Comparison {
        match self {
            Comparison::Above => Comparison::Below,
            Comparison::Below => Comparison::Above,
            Comparison::AtLeast => Comparison::AtMost,
            Comparison::AtMost => Comparison::AtLeast,
            Comparison::Before => Comparison::After,
            Comparison::After => Comparison::Before,
            Comparison::Is | Comparison::IsNot => self,
        }
    }

    /// The comparison that holds exactly when this one does not.
    #[must_use]
    pub fn opposite(self) -> Comparison {
        match self {
            Comparison::Is => Comparison::IsNot,
            Comparison::IsNot => Comparison::Is,
            Comparison::Above => Comparison::AtMost,
            Comparison::AtMost => Comparison::Above,
            Comparison::Below => Comparison::AtLeast,
            Comparison::AtLeast => Comparison::Below,
            Comparison::Before => Comparison::After,
            Comparison::After => Comparison::Before,
        }
    }
}

impl Arithmetic {
    /// Its sign or words in the rule language.
    #[must_use]
    pub fn sign(self) -> &'static str {
        match self {
            Arithmetic::Add => "+",
            Arithmetic::Subtract => "−",
            Arithmetic::Elapsed => "duration of",
            Arithmetic::Multiply => "×",
            Arithmetic::Divide => "÷",
        }
    }
}
