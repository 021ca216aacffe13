//! Cleanliness and filters.

use crate::language::builtins::arguments::{gives, gives_number, number, quantity, text};
use crate::language::builtins::{Builtin, Carried, Gives, Tells, Wants, Words};
use crate::metrology::cleanliness::Scale;
use crate::metrology::{cleanliness, filtration};
use crate::quantity::KindName::{ParticleCount, Ratio};
use crate::value::Value;

pub(super) const ROWS: &[Builtin] = &[
    Builtin {
        name: "cleanliness_code",
        parameters: &[
            ("at_4", Wants::Kind(ParticleCount)),
            ("at_6", Wants::Kind(ParticleCount)),
            ("at_14", Wants::Kind(ParticleCount)),
        ],
        result: Gives::Text,
        words: Words::Value("cleanliness code"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The cleanliness code of particle counts at 4, 6 and 14 µm(c) and above. Source: ISO \
              4406:2017.",
        example: r#"cleanliness_code(3000 /mL, 500 /mL, 7 /mL) is "19/16/10""#,
        function: |arguments, working| {
            let counts = [quantity(arguments, 0)?, quantity(arguments, 1)?, quantity(arguments, 2)?];
            cleanliness::code(&counts, working).map(|code| Value::Text(code.into()))
        },
    },
    Builtin {
        name: "cleanliness_number",
        parameters: &[("count", Wants::Kind(ParticleCount))],
        result: Gives::Number,
        words: Words::Value("number of the cleanliness scale, from {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The number of the cleanliness scale for a particle count, 0 to 28; 29 for more than the \
              scale holds. Source: ISO 4406:2017.",
        example: "cleanliness_number(1300 /mL) is 17 and cleanliness_number(1301 /mL) is 18",
        function: |arguments, _| gives_number(Scale::of_count(quantity(arguments, 0)?).map(Scale::rank)),
    },
    Builtin {
        name: "cleanliness_within",
        parameters: &[("code", Wants::Text), ("limit", Wants::Text)],
        result: Gives::Truth,
        words: Words::Demand("at most {1} in each number", "above {1} in at least one number"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "Whether a cleanliness code is at or below a limit code in each of its numbers; what was \
              not counted is not compared. Source: ISO 4406:2017.",
        example: r#"cleanliness_within("18/16/13", "19/16/13") and not cleanliness_within("18/17/13", "19/16/13")"#,
        function: |arguments, _| {
            cleanliness::within(text(arguments, 0), text(arguments, 1)).map(Value::Truth)
        },
    },
    Builtin {
        name: "efficiency",
        parameters: &[("beta", Wants::Number)],
        result: Gives::Kind(Ratio),
        words: Words::Value("efficiency of the filter"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The share of particles that a filter of this filtration ratio holds back: 1 − 1/β. It \
              holds for the particle size of the ratio alone. Exact. Source: ISO 16889.",
        example: "efficiency(75) above 98.6 % and efficiency(200) is 99.5 %",
        function: |arguments, working| gives(filtration::efficiency(&number(arguments, 0)?, working)),
    },
    Builtin {
        name: "filtration_ratio",
        parameters: &[("efficiency", Wants::Kind(Ratio))],
        result: Gives::Number,
        words: Words::Value("filtration ratio"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The filtration ratio of a filter that holds back this share of particles: 1/(1 − \
              efficiency). Exact. Source: ISO 16889.",
        example: "filtration_ratio(99.5 %) is 200",
        function: |arguments, working| gives_number(filtration::ratio(quantity(arguments, 0)?, working)),
    },
];
