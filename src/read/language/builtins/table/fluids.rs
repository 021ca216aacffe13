//! Brake fluid and coolant.

use crate::language::builtins::arguments::{gives, quantity, text};
use crate::language::builtins::{Builtin, Carried, Gives, Tells, Wants, Words};
use crate::metrology::brake_fluid::Water;
use crate::metrology::{brake_fluid, coolant};
use crate::quantity::KindName::{Ratio, Temperature};

pub(super) const ROWS: &[Builtin] = &[
    Builtin {
        name: "dry_boiling_point",
        parameters: &[("class", Wants::Text)],
        result: Gives::Kind(Temperature),
        words: Words::Value("dry boiling point of {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The least boiling point of a brake fluid of a class such as DOT 4, as delivered. Source: \
              FMVSS 116, 49 CFR 571.116 (from memory).",
        example: r#"dry_boiling_point("DOT 3") is 205 °C and dry_boiling_point("DOT 4") is 230 °C"#,
        function: |arguments, working| {
            gives(brake_fluid::boiling_point(text(arguments, 0), Water::Dry, working))
        },
    },
    Builtin {
        name: "wet_boiling_point",
        parameters: &[("class", Wants::Text)],
        result: Gives::Kind(Temperature),
        words: Words::Value("wet boiling point of {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The least boiling point of a brake fluid of a class such as DOT 4, after it has taken up \
              water. Source: FMVSS 116, 49 CFR 571.116 (from memory).",
        example: r#"wet_boiling_point("DOT 3") is 140 °C and wet_boiling_point("DOT 4") is 155 °C"#,
        function: |arguments, working| {
            gives(brake_fluid::boiling_point(text(arguments, 0), Water::Wet, working))
        },
    },
    Builtin {
        name: "freezing_point",
        parameters: &[("glycol", Wants::Text), ("share", Wants::Kind(Ratio))],
        result: Gives::Kind(Temperature),
        words: Words::Value("freezing point of {1} {0} glycol"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The freezing point of a mixture of water and ethylene or propylene glycol by its share \
              by volume, to about 1 K; straight between the rows of the table. For propylene glycol the \
              table of ASHRAE is lower by up to 1.5 K (from memory): allow for it in a limit. Sources: \
              ASHRAE Handbook Fundamentals 2009 for ethylene glycol (from memory), Lange's Handbook of \
              Chemistry, 15th edition, for propylene glycol.",
        example: r#"freezing_point("propylene", 40 %) is −20.6 °C"#,
        function: |arguments, working| {
            gives(coolant::freezing_point(text(arguments, 0), quantity(arguments, 1)?, working))
        },
    },
    Builtin {
        name: "glycol_share",
        parameters: &[("glycol", Wants::Text), ("freezing", Wants::Kind(Temperature))],
        result: Gives::Kind(Ratio),
        words: Words::Value("share of {0} glycol that freezes at {1}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The share by volume of ethylene or propylene glycol of a mixture with this freezing \
              point, as `freezing_point`.",
        example: r#"glycol_share("propylene", −20.6 °C) is 40 %"#,
        function: |arguments, working| {
            gives(coolant::share_for(text(arguments, 0), quantity(arguments, 1)?, working))
        },
    },
];
