//! Calendar months.

use crate::language::builtins::arguments::{count, day, months_later};
use crate::language::builtins::{Builtin, Gives, Wants};
use crate::metrology::torque_tool;
use crate::value::Value;

pub(super) const ROWS: &[Builtin] = &[
    Builtin {
        name: "months_later",
        parameters: &[("time", Wants::DayOrTime), ("months", Wants::Number)],
        result: Gives::LikeFirst,
        doc: "The same day so many calendar months later, or the last of that month where it has no such \
              day; of a time, at the same time of day. A time with an offset from UTC is counted in UTC. \
              Source: the calendar of ISO 8601.",
        example: "months_later(as_of, 1) after as_of and months_later(as_of, 0) is as_of",
        function: |arguments, _| months_later(arguments),
    },
    Builtin {
        name: "calibration_due",
        parameters: &[("calibrated", Wants::Day), ("months", Wants::Number)],
        result: Gives::Day,
        doc: "The last day on which a calibration holds: the same day so many calendar months later, \
              or the last of that month. ISO 6789-1:2017 has 12 months where the owner has no interval \
              of his own (from memory).",
        example: "calibration_due(as_of, 12) after as_of and calibration_due(as_of, 0) is as_of",
        function: |arguments, _| torque_tool::due(day(arguments, 0)?, count(arguments, 1)?).map(Value::Day),
    },
];
