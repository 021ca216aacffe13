//! The table of builtins. A new one is one row.

use super::arguments::{
    class, count, counts, day, follows_pattern, gives, gives_number, gives_range, limit, months_later,
    number, quantities, quantity, range, text, thread,
};
use super::{Builtin, Gives, Wants};
use crate::diagnostic::Fault;
use crate::metrology::brake_fluid::{self, Water};
use crate::metrology::cleanliness::{self, Scale};
use crate::metrology::crisscross::Sequence;
use crate::metrology::{
    adapter, bolt, conformity, coolant, filtration, identity, oil_grade, torque_tool, viscosity,
    viscosity_index, volume,
};
use crate::quantity::KindName::{
    Angle, Area, Density, DynamicViscosity, Force, KinematicViscosity, Length, ParticleCount, Pressure,
    Ratio, Temperature, ThermalExpansion, Torque, Volume,
};
use crate::quantity::{Number, Quantity, Range};
use crate::value::Value;

/// Every builtin.
pub const BUILTINS: &[Builtin] = &[
    Builtin {
        name: "vin_well_formed",
        parameters: &[("vin", Wants::Text)],
        result: Gives::Truth,
        doc: "Whether a vehicle identification number has 17 characters, digits and capital letters \
              without I, O and Q. Source: ISO 3779 and 49 CFR 565.13.",
        example: r#"vin_well_formed("1M8GDM9AXKP042788") and not vin_well_formed("1M8GDM9AXKPO42788")"#,
        function: |arguments, _| Ok(Value::Truth(identity::vin_well_formed(text(arguments, 0)))),
    },
    Builtin {
        name: "vin_check_digit_agrees",
        parameters: &[("vin", Wants::Text)],
        result: Gives::Truth,
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
        doc: "Whether a diagnostic trouble code has its five characters: P, C, B or U, a digit from 0 to \
              3, and three hexadecimal digits. Source: SAE J2012 (from memory).",
        example: r#"fault_code_well_formed("P0711") and not fault_code_well_formed("P4711") and not fault_code_well_formed("0711")"#,
        function: |arguments, _| Ok(Value::Truth(identity::fault_code_well_formed(text(arguments, 0)))),
    },
    Builtin {
        name: "follows_pattern",
        parameters: &[("text", Wants::Text), ("pattern", Wants::Text)],
        result: Gives::Truth,
        doc: "Whether a whole text follows a pattern, in which `#` stands for a digit, `@` for a letter, \
              `~` for any run of characters, none included, and every other character for itself.",
        example: r#"follows_pattern("K-2041", "@-####") and follows_pattern("K-2041", "K-~") and not follows_pattern("K-2041b", "K-####")"#,
        function: |arguments, _| Ok(Value::Truth(follows_pattern(text(arguments, 0), text(arguments, 1)))),
    },
    Builtin {
        name: "characters_in",
        parameters: &[("text", Wants::Text)],
        result: Gives::Number,
        doc: "How many characters a text has.",
        example: r#"characters_in("Ölfilter") is 8"#,
        function: |arguments, _| {
            let count = u64::try_from(text(arguments, 0).chars().count()).unwrap_or(u64::MAX);
            Ok(Value::Quantity(Quantity::from(Number::from(count))))
        },
    },
    Builtin {
        name: "size_of",
        parameters: &[("quantity", Wants::Quantity)],
        result: Gives::QuantityLikeFirst,
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
        doc: "The lower limit of a range; a range without one gives a fault.",
        example: "lower_limit(45 Nm ± 10 %) is 40.5 Nm",
        function: |arguments, _| limit(range(arguments, 0)?, Range::low, "lower"),
    },
    Builtin {
        name: "upper_limit",
        parameters: &[("range", Wants::Range)],
        result: Gives::QuantityLikeFirst,
        doc: "The upper limit of a range; a range without one gives a fault.",
        example: "upper_limit(45 Nm ± 10 %) is 49.5 Nm",
        function: |arguments, _| limit(range(arguments, 0)?, Range::high, "upper"),
    },
    Builtin {
        name: "lies_within",
        parameters: &[("range", Wants::Range), ("outer", Wants::RangeLikeFirst)],
        result: Gives::Truth,
        doc: "Whether every value of a range lies in another range. One that is open at an end lies in none \
              that is closed there.",
        example: "lies_within(45 Nm ± 10 %, 20 Nm .. 120 Nm) and not lies_within(at least 45 Nm, 20 Nm .. 120 Nm)",
        function: |arguments, _| Ok(Value::Truth(range(arguments, 0)?.lies_within(range(arguments, 1)?))),
    },
    // Torque tools and adapters.
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
        name: "permissible_deviation",
        parameters: &[("type", Wants::Text), ("class", Wants::Text), ("greatest", Wants::Kind(Torque))],
        result: Gives::Kind(Ratio),
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
        doc: "Whether a torque overloads a tool with this greatest torque, so that it must be checked: \
              more than 125 % of it. Source: ISO 6789-1:2017 (from memory).",
        example: "is_overload(126 Nm, 100 Nm) and not is_overload(125 Nm, 100 Nm)",
        function: |arguments, _| {
            torque_tool::is_overload(quantity(arguments, 0)?, quantity(arguments, 1)?).map(Value::Truth)
        },
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
    Builtin {
        name: "torque_at_fastener",
        parameters: &[
            ("setting", Wants::Kind(Torque)),
            ("lever", Wants::Kind(Length)),
            ("offset", Wants::Kind(Length)),
            ("angle", Wants::Kind(Angle)),
        ],
        result: Gives::Kind(Torque),
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
        doc: "The setting of a torque wrench with an adapter for a wanted torque at the fastener: \
              wanted × lever/(lever + offset × cos angle). Source: US Army TM 9-254.",
        example: "wrench_setting(45 Nm, 400 mm, 50 mm, 0°) is 40 Nm and wrench_setting(45 Nm, 400 mm, 50 mm, 90°) is 45 Nm",
        function: |arguments, working| {
            let [wanted, lever, offset, angle] = quantities(arguments)?;
            gives(adapter::wrench_setting(wanted, lever, offset, angle, working))
        },
    },
    // Bolts.
    Builtin {
        name: "stress_area",
        parameters: &[("thread", Wants::Text)],
        result: Gives::Kind(Area),
        doc: "The stress area of a metric thread such as M8 or M14x1.5. Source: ISO 898-1.",
        example: r#"stress_area("M8") within 36.6 mm² ± 0.1 mm²"#,
        function: |arguments, working| gives(bolt::stress_area(&thread(arguments, 0)?, working)),
    },
    Builtin {
        name: "proof_load",
        parameters: &[("thread", Wants::Text), ("class", Wants::Text)],
        result: Gives::Kind(Force),
        doc: "The proof load of a steel bolt of property class 8.8, 10.9 or 12.9. Source: ISO 898-1.",
        example: r#"proof_load("M8", "8.8") within 21.2 kN ± 0.1 kN"#,
        function: |arguments, working| {
            gives(bolt::proof_load(&thread(arguments, 0)?, class(arguments, 1)?, working))
        },
    },
    Builtin {
        name: "preload",
        parameters: &[("thread", Wants::Text), ("class", Wants::Text), ("friction", Wants::Number)],
        result: Gives::Kind(Force),
        doc: "The preload of a steel bolt at 90 % of its yield strength, with one coefficient of \
              friction for thread and head. M5 to M14, hexagon head, friction 0.08 to 0.24; not for \
              aluminium, plastic or sealing plugs. Source: VDI 2230.",
        example: r#"preload("M8", "8.8", 0.12) within 18.6 kN ± 0.1 kN"#,
        function: |arguments, working| {
            let (thread, class) = (thread(arguments, 0)?, class(arguments, 1)?);
            gives(bolt::preload(&thread, class, &number(arguments, 2)?, working))
        },
    },
    Builtin {
        name: "tightening_torque",
        parameters: &[("thread", Wants::Text), ("class", Wants::Text), ("friction", Wants::Number)],
        result: Gives::Kind(Torque),
        doc: "The torque that brings a steel bolt to 90 % of its yield strength, for the same bolts as \
              `preload`. Source: VDI 2230.",
        example: r#"tightening_torque("M8", "8.8", 0.12) within 24.6 Nm ± 0.1 Nm"#,
        function: |arguments, working| {
            let (thread, class) = (thread(arguments, 0)?, class(arguments, 1)?);
            gives(bolt::tightening_torque(&thread, class, &number(arguments, 2)?, working))
        },
    },
    Builtin {
        name: "preload_of_torque",
        parameters: &[("torque", Wants::Kind(Torque)), ("thread", Wants::Text), ("friction", Wants::Number)],
        result: Gives::Kind(Force),
        doc: "The preload that a torque gives a steel bolt, for the same bolts as `preload`. Source: \
              VDI 2230.",
        example: r#"preload_of_torque(24.57 Nm, "M8", 0.12) within 18.6 kN ± 0.1 kN"#,
        function: |arguments, working| {
            let (thread, friction) = (thread(arguments, 1)?, number(arguments, 2)?);
            gives(bolt::preload_of_torque(quantity(arguments, 0)?, &thread, &friction, working))
        },
    },
    Builtin {
        name: "torque_share",
        parameters: &[
            ("torque", Wants::Kind(Torque)),
            ("thread", Wants::Text),
            ("class", Wants::Text),
            ("friction", Wants::Number),
        ],
        result: Gives::Kind(Ratio),
        doc: "A torque as a share of the one that brings the bolt to 90 % of its yield strength, for \
              the same bolts as `preload`; a basis for advice, not for a hold. Source: VDI 2230.",
        example: r#"torque_share(25 Nm, "M8", "8.8", 0.12) within 101 % .. 102 %"#,
        function: |arguments, working| {
            let (thread, class) = (thread(arguments, 1)?, class(arguments, 2)?);
            let torque = quantity(arguments, 0)?;
            gives(bolt::torque_share(torque, &thread, class, &number(arguments, 3)?, working))
        },
    },
    Builtin {
        name: "mean_stress",
        parameters: &[
            ("torque", Wants::Kind(Torque)),
            ("thread", Wants::Text),
            ("nut_factor", Wants::Number),
        ],
        result: Gives::Kind(Pressure),
        doc: "The mean tension in the stress area of a thread that was tightened with a torque: \
              torque/(nut factor × diameter × area). A nut factor of 0.2 is usual for dry steel, 0.15 \
              for oiled steel (from memory).",
        example: r#"mean_stress(45 Nm, "M14x1.5", 0.2) within 129 MPa ± 0.1 MPa"#,
        function: |arguments, working| {
            let (thread, factor) = (thread(arguments, 1)?, number(arguments, 2)?);
            gives(bolt::mean_stress(quantity(arguments, 0)?, &thread, &factor, working))
        },
    },
    // Oil.
    Builtin {
        name: "volume_at",
        parameters: &[
            ("volume", Wants::Kind(Volume)),
            ("from", Wants::Kind(Temperature)),
            ("to", Wants::Kind(Temperature)),
            ("density", Wants::Kind(Density)),
        ],
        result: Gives::Kind(Volume),
        doc: "The volume at another temperature of a lubricating oil with this density at 15 °C, to \
              twelve digits. −50 °C to 150 °C, 800.9 to 1163.5 kg/m³. Source: API MPMS 11.1 / ASTM \
              D1250, form of 1980.",
        example: "volume_at(7 L, 30 °C, 50 °C, 850 kg/m³) within 7.10727 L ± 0.00001 L",
        function: |arguments, working| {
            let [volume, from, to, other] = quantities(arguments)?;
            gives(volume::volume_at(volume, from, to, other, working))
        },
    },
    Builtin {
        name: "volume_at_linear",
        parameters: &[
            ("volume", Wants::Kind(Volume)),
            ("from", Wants::Kind(Temperature)),
            ("to", Wants::Kind(Temperature)),
            ("expansion", Wants::Kind(ThermalExpansion)),
        ],
        result: Gives::Kind(Volume),
        doc: "The volume at another temperature with a linear coefficient of expansion: volume × (1 + \
              expansion × (to − from)). Exact; −50 °C to 150 °C. 0.0007 per K is usual for oil.",
        example: "volume_at_linear(7 L, 30 °C, 50 °C, 0.0007 1/K) is 7.098 L",
        function: |arguments, working| {
            let [volume, from, to, other] = quantities(arguments)?;
            gives(volume::volume_at_linear(volume, from, to, other, working))
        },
    },
    Builtin {
        name: "density_at",
        parameters: &[("density", Wants::Kind(Density)), ("temperature", Wants::Kind(Temperature))],
        result: Gives::Kind(Density),
        doc: "The density at a temperature of a lubricating oil with this density at 15 °C, as \
              `volume_at`. Source: API MPMS 11.1 / ASTM D1250, form of 1980.",
        example: "density_at(850 kg/m³, 80 °C) within 808.665 kg/m³ ± 0.001 kg/m³",
        function: |arguments, working| {
            gives(volume::density_at(quantity(arguments, 0)?, quantity(arguments, 1)?, working))
        },
    },
    Builtin {
        name: "viscosity_at",
        parameters: &[
            ("first", Wants::Kind(KinematicViscosity)),
            ("first_at", Wants::Kind(Temperature)),
            ("second", Wants::Kind(KinematicViscosity)),
            ("second_at", Wants::Kind(Temperature)),
            ("temperature", Wants::Kind(Temperature)),
        ],
        result: Gives::Kind(KinematicViscosity),
        doc: "The kinematic viscosity at a temperature of an oil of which it is known at two others, \
              to 0.0002 mm²/s. −70 °C to 370 °C, 0.21 to 20,000,000 mm²/s. Source: ASTM D341.",
        example: "viscosity_at(32 mm²/s, 40 °C, 5.4 mm²/s, 100 °C, 80 °C) within 8.533 mm²/s ± 0.001 mm²/s",
        function: |arguments, working| {
            let known = |at| Ok::<_, Fault>((quantity(arguments, at)?, quantity(arguments, at + 1)?));
            gives(viscosity::viscosity_at(known(0)?, known(2)?, quantity(arguments, 4)?, working))
        },
    },
    Builtin {
        name: "dynamic_viscosity",
        parameters: &[("viscosity", Wants::Kind(KinematicViscosity)), ("density", Wants::Kind(Density))],
        result: Gives::Kind(DynamicViscosity),
        doc: "The dynamic viscosity: kinematic viscosity × density, both at one temperature. Exact.",
        example: "dynamic_viscosity(32 mm²/s, 850 kg/m³) is 27.2 mPa·s",
        function: |arguments, working| {
            gives(viscosity::dynamic(quantity(arguments, 0)?, quantity(arguments, 1)?, working))
        },
    },
    Builtin {
        name: "viscosity_index",
        parameters: &[
            ("at_40", Wants::Kind(KinematicViscosity)),
            ("at_100", Wants::Kind(KinematicViscosity)),
        ],
        result: Gives::Number,
        doc: "The viscosity index of an oil by its viscosities at 40 °C and 100 °C, as a whole number. \
              The viscosity at 100 °C from 2 to 500 mm²/s; by the equations of the standard, which \
              move the index by 0.1 at most. Source: ASTM D2270 / ISO 2909.",
        example: "viscosity_index(73.3 mm²/s, 8.86 mm²/s) is 92 and viscosity_index(22.83 mm²/s, 5.05 mm²/s) is 156",
        function: |arguments, working| {
            gives_number(viscosity_index::whole_index(
                quantity(arguments, 0)?,
                quantity(arguments, 1)?,
                working,
            ))
        },
    },
    Builtin {
        name: "grade_viscosity",
        parameters: &[("grade", Wants::Text)],
        result: Gives::Range(KinematicViscosity),
        doc: "The kinematic viscosity at 100 °C that a viscosity grade such as 5W-30, 30 or 5W allows. \
              What a grade demands in the cold and under high shear is not covered. Source: SAE J300, \
              2015.",
        example: r#"12.4 mm²/s within grade_viscosity("5W-30") and not (12.5 mm²/s within grade_viscosity("5W-30"))"#,
        function: |arguments, working| gives_range(oil_grade::allowed(text(arguments, 0), working)),
    },
    // Cleanliness and filters.
    Builtin {
        name: "cleanliness_code",
        parameters: &[
            ("at_4", Wants::Kind(ParticleCount)),
            ("at_6", Wants::Kind(ParticleCount)),
            ("at_14", Wants::Kind(ParticleCount)),
        ],
        result: Gives::Text,
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
        doc: "The number of the cleanliness scale for a particle count, 0 to 28; 29 for more than the \
              scale holds. Source: ISO 4406:2017.",
        example: "cleanliness_number(1300 /mL) is 17 and cleanliness_number(1301 /mL) is 18",
        function: |arguments, _| gives_number(Scale::of_count(quantity(arguments, 0)?).map(Scale::rank)),
    },
    Builtin {
        name: "cleanliness_within",
        parameters: &[("code", Wants::Text), ("limit", Wants::Text)],
        result: Gives::Truth,
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
        doc: "The share of particles that a filter of this filtration ratio holds back: 1 − 1/β. It \
              holds for the particle size of the ratio alone. Exact. Source: ISO 16889.",
        example: "efficiency(75) above 98.6 % and efficiency(200) is 99.5 %",
        function: |arguments, working| gives(filtration::efficiency(&number(arguments, 0)?, working)),
    },
    Builtin {
        name: "filtration_ratio",
        parameters: &[("efficiency", Wants::Kind(Ratio))],
        result: Gives::Number,
        doc: "The filtration ratio of a filter that holds back this share of particles: 1/(1 − \
              efficiency). Exact. Source: ISO 16889.",
        example: "filtration_ratio(99.5 %) is 200",
        function: |arguments, working| gives_number(filtration::ratio(quantity(arguments, 0)?, working)),
    },
    // Brake fluid and coolant.
    Builtin {
        name: "dry_boiling_point",
        parameters: &[("class", Wants::Text)],
        result: Gives::Kind(Temperature),
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
        doc: "The freezing point of a mixture of water and ethylene or propylene glycol by its share \
              by volume, to about 1 K; straight between the rows of the table. Sources: ASHRAE \
              Handbook Fundamentals 2009 (from memory), Lange's Handbook of Chemistry.",
        example: r#"freezing_point("propylene", 40 %) is −20.6 °C"#,
        function: |arguments, working| {
            gives(coolant::freezing_point(text(arguments, 0), quantity(arguments, 1)?, working))
        },
    },
    Builtin {
        name: "glycol_share",
        parameters: &[("glycol", Wants::Text), ("freezing", Wants::Kind(Temperature))],
        result: Gives::Kind(Ratio),
        doc: "The share by volume of ethylene or propylene glycol of a mixture with this freezing \
              point, as `freezing_point`.",
        example: r#"glycol_share("propylene", −20.6 °C) is 40 %"#,
        function: |arguments, working| {
            gives(coolant::share_for(text(arguments, 0), quantity(arguments, 1)?, working))
        },
    },
    // Order and uncertainty.
    Builtin {
        name: "is_criss_cross",
        parameters: &[("places", Wants::Numbers)],
        result: Gives::Truth,
        doc: "Whether bolts were tightened criss-cross, by the place that each has in the order, bolt after \
              bolt round the rim: those tightened so far pull at most 1.25 radii to one side. Up to 2, with \
              eight bolts or more, it is doubtful and undecided. Holds for three bolts and fewer. The \
              patterns of ASME PCC-1 have 1; the bounds are our own.",
        example: r#"is_criss_cross(places_in("1-5-3-7-2-6-4-8")) and not is_criss_cross(places_in("1-2-3-4-5-6-7-8"))"#,
        function: |arguments, working| {
            Sequence::of_places(&counts(arguments, 0)?)?.is_criss_cross(working).map(Value::Truth)
        },
    },
    Builtin {
        name: "goes_round",
        parameters: &[("places", Wants::Numbers)],
        result: Gives::Truth,
        doc: "Whether bolts were tightened once round the rim, from any of them, in either direction, as in \
              a last pass that only checks; by their places as `is_criss_cross`.",
        example: r#"goes_round(places_in("3-2-1-4")) and not goes_round(places_in("1-3-2-4"))"#,
        function: |arguments, working| {
            Ok(Value::Truth(Sequence::of_places(&counts(arguments, 0)?)?.is_round(working)))
        },
    },
    Builtin {
        name: "places_in",
        parameters: &[("order", Wants::Text)],
        result: Gives::Numbers,
        doc: "The place of each bolt in a tightening order that is written as the numbers of the bolts, \
              such as 1-3-2-4; bolt after bolt round the rim.",
        example: r#"is_criss_cross(places_in("1-3-2-4")) and not is_criss_cross(places_in("1-2-3-4"))"#,
        function: |arguments, _| {
            let sequence = Sequence::parse(text(arguments, 0)).map_err(|fault| fault.argument(0))?;
            Ok(Value::Several(sequence.places().map(Number::from).map(Quantity::from).collect()))
        },
    },
    Builtin {
        name: "conformance_probability",
        parameters: &[
            ("value", Wants::Quantity),
            ("uncertainty", Wants::DistanceLikeFirst),
            ("range", Wants::RangeLikeFirst),
        ],
        result: Gives::Kind(Ratio),
        doc: "The probability that the true value of a reading lies within a range, by its standard \
              uncertainty and a normal distribution, to twelve digits. Source: JCGM 106:2012.",
        example: "conformance_probability(13.6 mm²/s, 1.8 mm²/s, 12.5 mm²/s .. 16.3 mm²/s) within 66.25 % .. 66.27 %",
        function: |arguments, working| {
            let (value, uncertainty) = (quantity(arguments, 0)?, quantity(arguments, 1)?);
            gives(conformity::probability_ratio(value, uncertainty, range(arguments, 2)?, working))
        },
    },
];
