//! Months and ages by the calendar.

use crate::language::builtins::arguments::{age_in_months, count, day, gives_number, months_later};
use crate::language::builtins::{Builtin, Carried, Gives, Tells, Wants, Words};
use crate::metrology::torque_tool;
use crate::value::Value;

pub(super) const ROWS: &[Builtin] = &[
    Builtin {
        name: "months_later",
        parameters: &[("time", Wants::DayOrTime), ("months", Wants::Number)],
        result: Gives::LikeFirst,
        words: Words::Value("{1} months after {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The same day so many calendar months later, or the last of that month where it has no such \
              day; of a time, at the same time of day and with the same offset. \
              Source: the calendar of ISO 8601.",
        example: "months_later(as_of, 1) after as_of and months_later(as_of, 0) is as_of",
        function: |arguments, _| months_later(arguments),
    },
    Builtin {
        name: "age_in_months",
        parameters: &[("since", Wants::DayOrTime), ("at", Wants::DayOrTime)],
        result: Gives::Number,
        words: Words::Value("age in months, since {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The age at a day or time of what was made, tested or opened on another: how many calendar \
              months are full, as `months_later` counts them, a leap year or not. A time counts by \
              the day that it writes.",
        example: "age_in_months(as_of, months_later(as_of, 13)) is 13 and age_in_months(as_of, as_of) is 0",
        function: |arguments, _| gives_number(age_in_months(arguments)),
    },
    Builtin {
        name: "calibration_due",
        parameters: &[("calibrated", Wants::Day), ("months", Wants::Number)],
        result: Gives::Day,
        words: Words::Value("last day of the calibration of {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The last day on which a calibration holds: the same day so many calendar months later, \
              or the last of that month. ISO 6789-1:2017 has 12 months where the owner has no interval \
              of his own (from memory).",
        example: "calibration_due(as_of, 12) after as_of and calibration_due(as_of, 0) is as_of",
        function: |arguments, _| torque_tool::due(day(arguments, 0)?, count(arguments, 1)?).map(Value::Day),
    },
];
