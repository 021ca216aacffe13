//! The documents around the generated records: a register of 200 tools and 50 procedures.

use std::fmt::Write;

/// The names of the procedures that the records follow, by the kind of unit.
pub const PROCEDURES: [(&str, &str); 4] = [
    ("stepped automatic", "service with the pan off"),
    ("twin clutch", "service with the filter outside"),
    ("engine", "engine oil and filter"),
    ("wheels", "wheels off and on"),
];

/// The edition that the records name.
pub const EDITION: u32 = 4;

/// A register of tools, among them those that the records name.
pub fn register() -> String {
    let mut text = "form: tools/1\nregister: {name: workshop, kept_by: Mara Lindqvist}\ntools:\n".to_owned();
    text.push_str(
        "  - number: T-21
    kind: thermometer
    temperature: {range: -20 °C .. 150 °C, resolution: 0.1 K, uncertainty: 0.5 K}
    calibrations:
      - {on: 2025-12-01, by: calibration room, certificate: C-21, result: passed}
      - {on: 2026-06-01, by: calibration room, certificate: D-21, result: passed}\n",
    );
    for number in (0..200).filter(|number| *number != 21) {
        writeln!(
            text,
            "  - number: T-{number:02}
    kind: torque wrench
    type: setting
    class: A
    torque: {{range: 2 Nm .. 200 Nm, resolution: 0.5 Nm, uncertainty: 0.1 Nm}}
    in_use: yes
    operations: 120
    calibrations:
      - {{on: 2025-12-{day:02}, by: calibration room, certificate: C-{number}, result: passed}}
      - {{on: 2026-06-{day:02}, by: calibration room, certificate: D-{number}, result: passed}}",
            day = number % 28 + 1,
        )
        .unwrap();
    }
    text
}

/// The procedures that the records follow, in two editions each, and others.
pub fn procedures() -> Vec<String> {
    let followed = PROCEDURES.iter().flat_map(|(kind, name)| {
        [EDITION - 1, EDITION].map(|edition| procedure(kind, name, edition, &fastenings(kind)))
    });
    let others = (0..42).map(|number| {
        let kind = PROCEDURES[number % PROCEDURES.len()].0;
        procedure(kind, &format!("another work {number}"), 1, &fastenings(kind))
    });
    followed.chain(others).collect()
}

fn fastenings(kind: &str) -> String {
    let roles: &[(&str, u32, &str)] = match kind {
        "stepped automatic" => &[
            ("sump screw", 6, "10 Nm ± 10 %"),
            ("drain plug", 1, "45 Nm ± 10 %"),
            ("level plug", 1, "45 Nm ± 10 %"),
        ],
        "twin clutch" => &[
            ("filter cap", 1, "8 Nm ± 10 %"),
            ("drain plug", 1, "45 Nm ± 10 %"),
            ("level plug", 1, "45 Nm ± 10 %"),
        ],
        "engine" => &[("drain plug", 1, "30 Nm ± 10 %"), ("oil filter", 1, "25 Nm ± 10 %")],
        _ => &[("wheel nut", 20, "120 Nm ± 5 %")],
    };
    let mut text = String::new();
    for (role, count, torque) in roles {
        let thread = if *role == "sump screw" { ", thread: M6" } else { "" };
        writeln!(text, "  - {{role: {role}, place: case, count: {count}, torque: {torque}{thread}}}")
            .unwrap();
    }
    text
}

fn procedure(kind: &str, name: &str, edition: u32, fastenings: &str) -> String {
    format!(
        "form: procedure/1
procedure: {{name: {name}, edition: {edition}, issued: 2025-11-03}}
unit: {{kind: {kind}}}
steps:
  - {{name: drain, order: 1, engine: \"off\", lift: raised}}
  - {{name: first stage, order: 2, engine: \"off\", lift: raised}}
  - {{name: second stage, order: 3, engine: running, lift: raised}}
  - {{name: clean and look for leaks, order: 4, engine: \"off\", lift: lowered}}
fastenings:
{fastenings}level_check: {{window: 30 °C .. 50 °C, engine: running, vehicle_level: yes}}
"
    )
}
