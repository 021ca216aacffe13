//! Numbers of vehicles, codes and other texts.

use crate::language::builtins::arguments::{follows_pattern, number_at_end, text};
use crate::language::builtins::{Builtin, Carried, Gives, MENTIONS, Tells, Wants, Words};
use crate::letters::{Separators, folded, mentions};
use crate::metrology::identity;
use crate::quantity::{Number, Quantity};
use crate::value::Value;

pub(super) const ROWS: &[Builtin] = &[
    Builtin {
        name: "vin_well_formed",
        parameters: &[("vin", Wants::Text)],
        result: Gives::Truth,
        words: Words::Demand(
            "17 digits and capital letters, without I, O and Q",
            "not 17 digits and capital letters without I, O and Q",
        ),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "Whether a vehicle identification number has 17 characters, digits and capital letters \
              without I, O and Q. Source: ISO 3779 and 49 CFR 565.13.",
        example: r#"vin_well_formed("1M8GDM9AXKP042788") and not vin_well_formed("1M8GDM9AXKPO42788")"#,
        function: |arguments, _| Ok(Value::Truth(identity::vin_well_formed(text(arguments, 0)))),
    },
    Builtin {
        name: "vin_check_digit_agrees",
        parameters: &[("vin", Wants::Text)],
        result: Gives::Truth,
        words: Words::Demand(
            "a ninth character that is the check digit of the other sixteen",
            "a ninth character that is not the check digit",
        ),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "Whether the ninth character of a vehicle identification number is its check digit: the \
              weighted sum of the characters' values modulo 11, with X for 10. Compulsory in North \
              America only. A number that is not well formed has none. Source: 49 CFR 565.15(c).",
        example: r#"vin_check_digit_agrees("1M8GDM9AXKP042788") and not vin_check_digit_agrees("1M8GDM9A0KP042788")"#,
        function: |arguments, _| identity::vin_check_digit_agrees(text(arguments, 0)).map(Value::Truth),
    },
    Builtin {
        name: "fault_code_well_formed",
        parameters: &[("code", Wants::Text)],
        result: Gives::Truth,
        words: Words::Demand(
            "P, C, B or U, a digit from 0 to 3 and three hexadecimal digits",
            "no well-formed fault code",
        ),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "Whether a diagnostic trouble code has its five characters: P, C, B or U, a digit from 0 to \
              3, and three hexadecimal digits. Source: SAE J2012 (from memory).",
        example: r#"fault_code_well_formed("P0711") and not fault_code_well_formed("P4711") and not fault_code_well_formed("0711")"#,
        function: |arguments, _| Ok(Value::Truth(identity::fault_code_well_formed(text(arguments, 0)))),
    },
    Builtin {
        name: "follows_pattern",
        parameters: &[("text", Wants::Text), ("pattern", Wants::Text)],
        result: Gives::Truth,
        words: Words::Demand("of the form {1}", "not of the form {1}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Pattern,
        doc: "Whether a whole text follows a pattern, in which `#` stands for a digit, `@` for a letter, \
              `~` for any run of characters, none included, and every other character for itself.",
        example: r#"follows_pattern("K-2041", "@-####") and follows_pattern("K-2041", "K-~") and not follows_pattern("K-2041b", "K-####")"#,
        function: |arguments, _| Ok(Value::Truth(follows_pattern(text(arguments, 0), text(arguments, 1)))),
    },
    Builtin {
        name: "same_name",
        parameters: &[("name", Wants::Text), ("other", Wants::Text)],
        result: Gives::Truth,
        words: Words::Demand("{1}, however it is written", "another name than {1}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "Whether two plates, VINs or other names are the same, without regard to capital letters, blanks, \
              hyphens, and letters of another alphabet that look alike: as the jobs of a vehicle are found.",
        example: r#"same_name("GW-123 A", "gw 123a") and not same_name("GW 123", "GW 124")"#,
        function: |arguments, _| {
            let folded = |at| folded(text(arguments, at), Separators::None);
            Ok(Value::Truth(folded(0) == folded(1)))
        },
    },
    Builtin {
        name: MENTIONS,
        parameters: &[("text", Wants::Text), ("words", Wants::TextOrWords)],
        result: Gives::Truth,
        words: Words::Demand("a text with the words {1} in it", "a text without the words {1}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "Whether the words of the second text, or of one of a list, are in the first one, whole and one behind the other, \
              without regard to capital letters and to what is between words. A text without words is mentioned nowhere.",
        example: r#"mentions("left hub plug", "Left hub") and not mentions("rear drain plug", one of ("ear drain", "hub"))"#,
        function: |arguments, _| {
            let found = match arguments.get(1) {
                Some(Value::Words(list)) => mentions(text(arguments, 0), list.iter().map(|word| &**word)),
                _ => mentions(text(arguments, 0), [text(arguments, 1)].into_iter()),
            };
            Ok(Value::Truth(found))
        },
    },
    Builtin {
        name: "characters_in",
        parameters: &[("text", Wants::Text)],
        result: Gives::Number,
        words: Words::Count("character"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "How many characters a text has.",
        example: r#"characters_in("Ölfilter") is 8"#,
        function: |arguments, _| {
            let count = u64::try_from(text(arguments, 0).chars().count()).unwrap_or(u64::MAX);
            Ok(Value::Quantity(Quantity::from(Number::from(count))))
        },
    },
    Builtin {
        name: "number_at_end",
        parameters: &[("text", Wants::Text)],
        result: Gives::Number,
        words: Words::Value("number at the end of {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The whole number in which a text ends, such as 3 in `front left 3`; a fault where it ends in none, \
              or in one of more than nine digits.",
        example: r#"number_at_end("front left 3") is 3 and number_at_end("A12") is 12"#,
        function: |arguments, _| {
            let number = number_at_end(text(arguments, 0)).map_err(|fault| fault.argument(0))?;
            Ok(Value::Quantity(Quantity::from(Number::from(number))))
        },
    },
];
