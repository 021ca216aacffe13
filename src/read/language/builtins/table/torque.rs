//! Torque tools and adapters.

use crate::language::builtins::arguments::{gives, quantities, quantity, text};
use crate::language::builtins::{Builtin, Carried, Gives, Tells, Wants, Words};
use crate::metrology::{adapter, torque_tool};
use crate::quantity::KindName::{Angle, Length, Ratio, Torque};
use crate::value::Value;

pub(super) const ROWS: &[Builtin] = &[
    Builtin {
        name: "permissible_deviation",
        parameters: &[("type", Wants::Text), ("class", Wants::Text), ("greatest", Wants::Kind(Torque))],
        result: Gives::Kind(Ratio),
        words: Words::Value("permissible deviation"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The permissible deviation of a hand torque tool by its type, I or II, its class and its \
              greatest torque: 6 % or 4 % to either side. Source: ISO 6789-1:2017 (classes other than \
              II A from memory).",
        example: r#"permissible_deviation("II", "A", 25 Nm) is 4 % and permissible_deviation("II", "A", 10 Nm) is 6 %"#,
        function: |arguments, working| {
            let (kind, class) = (text(arguments, 0), text(arguments, 1));
            gives(torque_tool::permissible_deviation(kind, class, quantity(arguments, 2)?, working))
        },
    },
    Builtin {
        name: "tool_deviation",
        parameters: &[("shown", Wants::Kind(Torque)), ("reference", Wants::Kind(Torque))],
        result: Gives::Kind(Ratio),
        words: Words::Value("deviation of the tool"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "How far a torque tool that was set to or showed a torque was off the reference device: \
              (shown − reference)/reference. Exact. Source: ISO 6789-1:2017 (from memory).",
        example: "tool_deviation(45 Nm, 46.875 Nm) is −4 %",
        function: |arguments, working| {
            gives(torque_tool::deviation(quantity(arguments, 0)?, quantity(arguments, 1)?, working))
        },
    },
    Builtin {
        name: "tool_uncertainty",
        parameters: &[("torque", Wants::Kind(Torque)), ("deviation", Wants::Kind(Ratio))],
        result: Gives::Kind(Torque),
        words: Words::Value("uncertainty of the tool"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The standard uncertainty of a torque that a tool within this permissible deviation \
              gives: deviation × torque/√3, a rectangular distribution, to twelve digits. Source: JCGM \
              100:2008, 4.3.7.",
        example: "tool_uncertainty(45 Nm, 4 %) within 1.03923 Nm ± 0.00001 Nm",
        function: |arguments, working| {
            gives(torque_tool::standard_uncertainty(
                quantity(arguments, 0)?,
                quantity(arguments, 1)?,
                working,
            ))
        },
    },
    Builtin {
        name: "is_overload",
        parameters: &[("torque", Wants::Kind(Torque)), ("greatest", Wants::Kind(Torque))],
        result: Gives::Truth,
        words: Words::Demand("above 125 % of {1}", "at most 125 % of {1}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "Whether a torque overloads a tool with this greatest torque, so that it must be checked: \
              more than 125 % of it. Source: ISO 6789-1:2017 (from memory).",
        example: "is_overload(126 Nm, 100 Nm) and not is_overload(125 Nm, 100 Nm)",
        function: |arguments, _| {
            torque_tool::is_overload(quantity(arguments, 0)?, quantity(arguments, 1)?).map(Value::Truth)
        },
    },
    Builtin {
        name: "torque_at_fastener",
        parameters: &[
            ("setting", Wants::Kind(Torque)),
            ("lever", Wants::Kind(Length)),
            ("offset", Wants::Kind(Length)),
            ("angle", Wants::Kind(Angle)),
        ],
        result: Gives::Kind(Torque),
        words: Words::Value("torque at the fastener, from {0} at the wrench"),
        uncertainty: Carried::Proportional,
        tells: Tells::Nothing,
        doc: "The torque at the fastener of a torque wrench with an adapter: setting × (lever + offset \
              × cos angle)/lever. The lever reaches from the drive to the grip, the offset from the \
              drive to the fastener; 0° is straight ahead, 90° square. Source: US Army TM 9-254.",
        example: "torque_at_fastener(45 Nm, 400 mm, 50 mm, 0°) is 50.625 Nm",
        function: |arguments, working| {
            let [setting, lever, offset, angle] = quantities(arguments)?;
            gives(adapter::torque_at_fastener(setting, lever, offset, angle, working))
        },
    },
    Builtin {
        name: "wrench_setting",
        parameters: &[
            ("wanted", Wants::Kind(Torque)),
            ("lever", Wants::Kind(Length)),
            ("offset", Wants::Kind(Length)),
            ("angle", Wants::Kind(Angle)),
        ],
        result: Gives::Kind(Torque),
        words: Words::Value("setting of the wrench for {0}"),
        uncertainty: Carried::Proportional,
        tells: Tells::Nothing,
        doc: "The setting of a torque wrench with an adapter for a wanted torque at the fastener: \
              wanted × lever/(lever + offset × cos angle). Source: US Army TM 9-254.",
        example: "wrench_setting(45 Nm, 400 mm, 50 mm, 0°) is 40 Nm and wrench_setting(45 Nm, 400 mm, 50 mm, 90°) is 45 Nm",
        function: |arguments, working| {
            let [wanted, lever, offset, angle] = quantities(arguments)?;
            gives(adapter::wrench_setting(wanted, lever, offset, angle, working))
        },
    },
];
