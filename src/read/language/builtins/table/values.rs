//! Quantities and ranges of any kind.

use crate::language::builtins::arguments::{gives, gives_number, limit, quantity, range};
use crate::language::builtins::{Builtin, Carried, Gives, Tells, Wants, Words};
use crate::metrology::{angle, conformity};
use crate::quantity::KindName::{Angle, Ratio};
use crate::quantity::{Number, Range};
use crate::value::Value;

pub(super) const ROWS: &[Builtin] = &[
    Builtin {
        name: "size_of",
        parameters: &[("quantity", Wants::Quantity)],
        result: Gives::QuantityLikeFirst,
        words: Words::Value("without its sign"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "A quantity without its sign.",
        example: "size_of(3 Nm − 5 Nm) is 2 Nm",
        function: |arguments, _| {
            let value = quantity(arguments, 0)?;
            Ok(Value::Quantity(if value.magnitude() < &Number::ZERO { value.neg()? } else { value.clone() }))
        },
    },
    Builtin {
        name: "lesser",
        parameters: &[("first", Wants::Quantity), ("second", Wants::QuantityLikeFirst)],
        result: Gives::QuantityLikeFirst,
        words: Words::Value("lesser of {0} and {1}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The lesser of two quantities of one kind.",
        example: "lesser(33 lbf·ft, 45 Nm) is 33 lbf·ft",
        function: |arguments, _| {
            let (first, second) = (quantity(arguments, 0)?, quantity(arguments, 1)?);
            Ok(Value::Quantity(if second.compare(first).is_lt() { second.clone() } else { first.clone() }))
        },
    },
    Builtin {
        name: "greater",
        parameters: &[("first", Wants::Quantity), ("second", Wants::QuantityLikeFirst)],
        result: Gives::QuantityLikeFirst,
        words: Words::Value("greater of {0} and {1}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The greater of two quantities of one kind.",
        example: "greater(33 lbf·ft, 45 Nm) is 45 Nm",
        function: |arguments, _| {
            let (first, second) = (quantity(arguments, 0)?, quantity(arguments, 1)?);
            Ok(Value::Quantity(if second.compare(first).is_gt() { second.clone() } else { first.clone() }))
        },
    },
    Builtin {
        name: "lower_limit",
        parameters: &[("range", Wants::Range)],
        result: Gives::QuantityLikeFirst,
        words: Words::Value("lower limit of {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The lower limit of a range; a range without one gives a fault.",
        example: "lower_limit(45 Nm ± 10 %) is 40.5 Nm",
        function: |arguments, _| limit(range(arguments, 0)?, Range::low, "lower"),
    },
    Builtin {
        name: "upper_limit",
        parameters: &[("range", Wants::Range)],
        result: Gives::QuantityLikeFirst,
        words: Words::Value("upper limit of {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The upper limit of a range; a range without one gives a fault.",
        example: "upper_limit(45 Nm ± 10 %) is 49.5 Nm",
        function: |arguments, _| limit(range(arguments, 0)?, Range::high, "upper"),
    },
    Builtin {
        name: "lies_within",
        parameters: &[("range", Wants::Range), ("outer", Wants::RangeLikeFirst)],
        result: Gives::Truth,
        words: Words::Demand("every value within {1}", "not every value within {1}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "Whether every value of a range lies in another range. One that is open at an end lies in none \
              that is closed there.",
        example: "lies_within(45 Nm ± 10 %, 20 Nm .. 120 Nm) and not lies_within(at least 45 Nm, 20 Nm .. 120 Nm)",
        function: |arguments, _| Ok(Value::Truth(range(arguments, 0)?.lies_within(range(arguments, 1)?))),
    },
    Builtin {
        name: "cosine",
        parameters: &[("angle", Wants::Kind(Angle))],
        result: Gives::Number,
        words: Words::Value("cosine of {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The cosine of an angle, exact at 0°, 60°, 90° and so on, else to twelve digits. Cosine and sine of \
              its bearing are x and y of a screw on a rim, for `is_criss_cross_at`.",
        example: "cosine(60°) is 0.5 and cosine(180°) is −1",
        function: |arguments, _| gives_number(angle::cosine(quantity(arguments, 0)?)),
    },
    Builtin {
        name: "sine",
        parameters: &[("angle", Wants::Kind(Angle))],
        result: Gives::Number,
        words: Words::Value("sine of {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The sine of an angle, exact at 0°, 30°, 90° and so on, else to twelve digits.",
        example: "sine(30°) is 0.5 and sine(−90°) is −1",
        function: |arguments, _| gives_number(angle::sine(quantity(arguments, 0)?)),
    },
    Builtin {
        name: "conformance_probability",
        parameters: &[
            ("value", Wants::Quantity),
            ("uncertainty", Wants::DistanceLikeFirst),
            ("range", Wants::RangeLikeFirst),
        ],
        result: Gives::Kind(Ratio),
        words: Words::Value("probability of conformity"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The probability that the true value of a reading lies within a range, by its standard \
              uncertainty and a normal distribution, to twelve digits. Source: JCGM 106:2012.",
        example: "conformance_probability(13.6 mm²/s, 1.8 mm²/s, 12.5 mm²/s .. 16.3 mm²/s) within 66.25 % .. 66.27 %",
        function: |arguments, working| {
            let (value, uncertainty) = (quantity(arguments, 0)?, quantity(arguments, 1)?);
            gives(conformity::probability_ratio(value, uncertainty, range(arguments, 2)?, working))
        },
    },
];
