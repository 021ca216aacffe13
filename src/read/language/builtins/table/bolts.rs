//! What bolts stand, and the order in which they are tightened.

use crate::language::builtins::arguments::{class, counts, gives, number, positions, quantity, text, thread};
use crate::language::builtins::{Builtin, Carried, Gives, Tells, Wants, Words};
use crate::metrology::bolt;
use crate::metrology::crisscross::Sequence;
use crate::quantity::KindName::{Area, Force, Pressure, Ratio, Torque};
use crate::quantity::{Number, Quantity};
use crate::value::Value;

pub(super) const ROWS: &[Builtin] = &[
    Builtin {
        name: "stress_area",
        parameters: &[("thread", Wants::Text)],
        result: Gives::Kind(Area),
        words: Words::Value("stress area of {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The stress area of a metric thread such as M8 or M14x1.5. Source: ISO 898-1.",
        example: r#"stress_area("M8") within 36.6 mm² ± 0.1 mm²"#,
        function: |arguments, working| gives(bolt::stress_area(&thread(arguments, 0)?, working)),
    },
    Builtin {
        name: "proof_load",
        parameters: &[("thread", Wants::Text), ("class", Wants::Text)],
        result: Gives::Kind(Force),
        words: Words::Value("proof load of {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
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
        words: Words::Value("preload of {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
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
        words: Words::Value("tightening torque of {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
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
        words: Words::Value("preload from {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
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
        words: Words::Value("share of the tightening torque, from {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
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
        words: Words::Value("mean stress from {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The mean tension in the stress area of a thread that was tightened with a torque: \
              torque/(nut factor × diameter × area). A nut factor of 0.2 is usual for dry steel, 0.15 \
              for oiled steel (from memory).",
        example: r#"mean_stress(45 Nm, "M14x1.5", 0.2) within 129 MPa ± 0.1 MPa"#,
        function: |arguments, working| {
            let (thread, factor) = (thread(arguments, 1)?, number(arguments, 2)?);
            gives(bolt::mean_stress(quantity(arguments, 0)?, &thread, &factor, working))
        },
    },
    Builtin {
        name: "is_criss_cross",
        parameters: &[("places", Wants::Numbers)],
        result: Gives::Truth,
        words: Words::Demand(
            "criss-cross, those tightened never more than 1.25 radii to one side",
            "not criss-cross",
        ),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
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
        name: "is_criss_cross_at",
        parameters: &[("places", Wants::Numbers), ("x", Wants::Coordinates), ("y", Wants::Coordinates)],
        result: Gives::Truth,
        words: Words::Demand(
            "criss-cross, those tightened never more than 1.25 radii to one side",
            "not criss-cross",
        ),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "Whether bolts were tightened criss-cross, by the place that each has in the order and by where \
              it sits: x and y from any corner or middle, bolt after bolt in any order. Each coordinate is \
              divided by the half extent of the pan; judged as `is_criss_cross`.",
        example: r#"is_criss_cross_at(places_in("1-2-3-4"), places_in("1-4-2-3"), places_in("1-3-4-2")) and not is_criss_cross(places_in("1-2-3-4"))"#,
        function: |arguments, working| {
            let places = Sequence::of_places(&counts(arguments, 0)?)?;
            places.is_criss_cross_at(&positions(arguments), working).map(Value::Truth)
        },
    },
    Builtin {
        name: "goes_round",
        parameters: &[("places", Wants::Numbers)],
        result: Gives::Truth,
        words: Words::Demand("once round the rim", "not once round the rim"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "Whether bolts were tightened once round the rim, from any of them, in either direction, as in \
              a last pass that only checks; by their places as `is_criss_cross`.",
        example: r#"goes_round(places_in("3-2-1-4")) and not goes_round(places_in("1-3-2-4"))"#,
        function: |arguments, working| {
            Ok(Value::Truth(Sequence::of_places(&counts(arguments, 0)?)?.is_round(working)))
        },
    },
    Builtin {
        name: "goes_round_at",
        parameters: &[("places", Wants::Numbers), ("x", Wants::Coordinates), ("y", Wants::Coordinates)],
        result: Gives::Truth,
        words: Words::Demand("once round the rim", "not once round the rim"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "Whether bolts were tightened once round, as `goes_round`, by where they sit: round means by their \
              angles as seen from the middle.",
        example: r#"goes_round_at(places_in("1-4-2-3"), places_in("1-4-2-3"), places_in("1-3-4-2")) and not goes_round_at(places_in("1-2-3-4"), places_in("1-4-2-3"), places_in("1-3-4-2"))"#,
        function: |arguments, _| {
            let places = Sequence::of_places(&counts(arguments, 0)?)?;
            places.goes_round_at(&positions(arguments)).map(Value::Truth)
        },
    },
    Builtin {
        name: "is_criss_cross_by",
        parameters: &[("places", Wants::Numbers), ("numbers", Wants::Numbers)],
        result: Gives::Truth,
        words: Words::Demand(
            "criss-cross, those tightened never more than 1.25 radii to one side",
            "not criss-cross",
        ),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "As `is_criss_cross`, the bolts listed in any order, each with the number that it has round the rim; \
              they count as listed where two have one number, or one has none (0).",
        example: r#"is_criss_cross_by(places_in("1-2-3-4"), places_in("1-3-2-4")) and not is_criss_cross(places_in("1-2-3-4"))"#,
        function: |arguments, working| {
            let order = Sequence::numbered(&counts(arguments, 0)?, &counts(arguments, 1)?)?;
            order.is_criss_cross(working).map(Value::Truth)
        },
    },
    Builtin {
        name: "goes_round_by",
        parameters: &[("places", Wants::Numbers), ("numbers", Wants::Numbers)],
        result: Gives::Truth,
        words: Words::Demand("once round the rim", "not once round the rim"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "As `goes_round`, the bolts listed in any order, each with the number that it has round the rim, as \
              `is_criss_cross_by`.",
        example: r#"goes_round_by(places_in("1-3-2-4"), places_in("1-3-2-4")) and not goes_round(places_in("1-3-2-4"))"#,
        function: |arguments, working| {
            let order = Sequence::numbered(&counts(arguments, 0)?, &counts(arguments, 1)?)?;
            Ok(Value::Truth(order.is_round(working)))
        },
    },
    Builtin {
        name: "places_in",
        parameters: &[("order", Wants::Text)],
        result: Gives::Numbers,
        words: Words::Value("places in the order"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The place of each bolt in a tightening order that is written as the numbers of the bolts, \
              such as 1-3-2-4; bolt after bolt round the rim.",
        example: r#"is_criss_cross(places_in("1-3-2-4")) and not is_criss_cross(places_in("1-2-3-4"))"#,
        function: |arguments, _| {
            let sequence = Sequence::parse(text(arguments, 0)).map_err(|fault| fault.argument(0))?;
            Ok(Value::Several(sequence.places().map(Number::from).map(Quantity::from).collect()))
        },
    },
];
