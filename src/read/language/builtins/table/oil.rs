//! Volume and viscosity of oil.

use crate::diagnostic::Fault;
use crate::language::builtins::arguments::{gives, gives_number, gives_range, quantities, quantity, text};
use crate::language::builtins::{Builtin, Carried, Gives, Tells, Wants, Words};
use crate::metrology::{oil_grade, viscosity, viscosity_index, volume};
use crate::quantity::KindName::{
    Density, DynamicViscosity, KinematicViscosity, Temperature, ThermalExpansion, Volume,
};

pub(super) const ROWS: &[Builtin] = &[
    Builtin {
        name: "volume_at",
        parameters: &[
            ("volume", Wants::Kind(Volume)),
            ("from", Wants::Kind(Temperature)),
            ("to", Wants::Kind(Temperature)),
            ("density", Wants::Kind(Density)),
        ],
        result: Gives::Kind(Volume),
        words: Words::Value("volume at another temperature, from {0}"),
        uncertainty: Carried::Proportional,
        tells: Tells::Nothing,
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
        words: Words::Value("volume at another temperature, from {0}"),
        uncertainty: Carried::Proportional,
        tells: Tells::Nothing,
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
        words: Words::Value("density at {1}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
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
        words: Words::Value("viscosity at {4}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
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
        words: Words::Value("dynamic viscosity"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
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
        words: Words::Value("viscosity index"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The viscosity index of an oil by its viscosities at 40 °C and 100 °C, as a whole number. \
              The viscosity at 100 °C from 2 to 500 mm²/s; up to 70 mm²/s by the table of the standard, \
              straight between its rows, above by its equations. Source: ASTM D2270 / ISO 2909.",
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
        words: Words::Value("viscosity of the grade {0}"),
        uncertainty: Carried::NotKnown,
        tells: Tells::Nothing,
        doc: "The kinematic viscosity at 100 °C that a viscosity grade such as 5W-30, 30 or 5W allows. \
              What a grade demands in the cold and under high shear is not covered. Source: SAE J300, \
              2015.",
        example: r#"12.4 mm²/s within grade_viscosity("5W-30") and not (12.5 mm²/s within grade_viscosity("5W-30"))"#,
        function: |arguments, working| gives_range(oil_grade::allowed(text(arguments, 0), working)),
    },
];
