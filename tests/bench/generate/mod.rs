//! A seeded generator of job records of 3 to 4 kB, most of them right, some wrong in a known way.

pub mod around;
mod faults;
mod session;
mod tree;

use fastrand::Rng;

pub use faults::{FAULTS, Fault};
pub use session::{session, session_around};
use tree::Node;

/// What is said of a record only because no procedures and no register stand around it: that they are not there, and what is
/// asked of a tool in their place, which one torque that cannot be read leaves open for all others.
pub const ALONE: [&str; 3] =
    ["by_procedure.procedures_there", "job_basics.register_there", "fastenings.tool_reaches"];

/// The standards of gearboxes, with those that look at the documents around a job.
pub const AROUND: [&str; 7] = [
    "job_basics",
    "oil_service",
    "level",
    "fastenings",
    "seals_and_filters",
    "by_procedure",
    "calibrated_tools",
];

/// The units of which there are records.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    SteppedAutomatic,
    TwinClutch,
    Engine,
    Wheels,
}

/// What the records take the makers of the units to say.
pub const PARAMETERS: &[(&str, &[&str], &str)] = &[
    ("fastenings.torque", &[SIX_SPEED, "sump screw"], "10 Nm ± 10 %"),
    ("fastenings.torque", &[SIX_SPEED, "drain plug"], "45 Nm ± 10 %"),
    ("fastenings.torque", &[SIX_SPEED, "level plug"], "45 Nm ± 10 %"),
    ("fastenings.torque", &[TWIN_CLUTCH, "filter cap"], "8 Nm ± 10 %"),
    ("fastenings.torque", &[TWIN_CLUTCH, "drain plug"], "45 Nm ± 10 %"),
    ("fastenings.torque", &[TWIN_CLUTCH, "level plug"], "45 Nm ± 10 %"),
    ("fastenings.torque", &[IN_LINE, "drain plug"], "30 Nm ± 10 %"),
    ("fastenings.torque", &[IN_LINE, "oil filter"], "25 Nm ± 10 %"),
    ("fastenings.torque", &[SUMMER_SET, "wheel nut"], "120 Nm ± 5 %"),
    ("oil_service.first_fill", &[TWIN_CLUTCH], "at least 4.0 L"),
    ("oil_service.volume", &[IN_LINE], "4.0 L .. 5.0 L"),
    ("level.window", &[SIX_SPEED], "30 °C .. 50 °C"),
    ("level.window", &[TWIN_CLUTCH], "30 °C .. 50 °C"),
    ("seals_and_filters.filter_medium", &[TWIN_CLUTCH, "external"], "synthetic"),
];

const SIX_SPEED: &str = "six speed longitudinal";
const TWIN_CLUTCH: &str = "seven speed transverse";
const IN_LINE: &str = "four in line";
const SUMMER_SET: &str = "summer set";

/// A record and what must be found in it.
pub struct Record {
    /// Its text.
    pub text: String,
    /// The unit it is about.
    pub unit: Unit,
    /// What is wrong with it.
    pub fault: Option<&'static Fault>,
}

impl Record {
    /// The full names of the rules of which there is one finding each, in order.
    pub fn rules(&self) -> Vec<String> {
        let rules = self.fault.map_or(&[][..], |fault| fault.rules);
        let mut rules: Vec<String> = rules.iter().map(|rule| (*rule).to_owned()).collect();
        rules.sort();
        rules
    }

    /// The codes of what is wrong with the document itself.
    pub fn codes(&self) -> &'static [&'static str] {
        self.fault.map_or(&[], |fault| fault.codes)
    }
}

/// The records of a run: nine gearboxes in ten, three in four right.
pub fn records(seed: u64) -> impl Iterator<Item = Record> {
    let mut rng = Rng::with_seed(seed);
    std::iter::repeat_with(move || {
        let unit = match rng.u8(..100) {
            0..48 => Unit::SteppedAutomatic,
            48..90 => Unit::TwinClutch,
            90..96 => Unit::Engine,
            _ => Unit::Wheels,
        };
        let fault = (rng.u8(..4) == 0).then(|| {
            let fitting: Vec<&Fault> = FAULTS.iter().filter(|fault| fault.units.contains(&unit)).collect();
            fitting[rng.usize(..fitting.len())]
        });
        record(unit, fault, &mut rng)
    })
}

/// One record of a unit, with a fault or right.
pub fn record(unit: Unit, fault: Option<&'static Fault>, rng: &mut Rng) -> Record {
    let mut root = right(unit, rng);
    for edit in fault.into_iter().flat_map(|fault| fault.edits) {
        tree::edit(&mut root, *edit);
    }
    Record { text: tree::write(&root, rng), unit, fault }
}

fn text(text: impl Into<String>) -> Node {
    Node::Text(text.into())
}

fn plain(text: impl Into<String>) -> Node {
    Node::Plain(text.into())
}

fn map<const N: usize>(fields: [(&str, Node); N]) -> Node {
    Node::Map(fields.into_iter().map(|(key, value)| (key.to_owned(), value)).collect())
}

fn texts(items: &[&str]) -> Node {
    Node::List(items.iter().map(|item| text(*item)).collect())
}

fn pick<'t>(rng: &mut Rng, choices: &[&'t str]) -> &'t str {
    choices[rng.usize(..choices.len())]
}

/// A figure with one decimal place, from tenths.
fn tenths(value: u32) -> String {
    format!("{}.{}", value / 10, value % 10)
}

fn right(unit: Unit, rng: &mut Rng) -> Node {
    let names = ["Jürgen Kößler", "Agnes Öhler", "Mara Lindqvist", "Tomasz Wirth", "Šárka Nováková"];
    let technician = pick(rng, &names);
    let mut fields = vec![
        ("form", text("job/1")),
        ("job", job(unit, technician, rng)),
        ("vehicle", vehicle(rng)),
        ("unit", unit_of(unit, rng)),
        ("cautions", cautions(technician)),
        ("fault_memory", fault_memory(rng)),
        ("steps", steps()),
    ];
    fields.extend(match unit {
        Unit::SteppedAutomatic => stepped_automatic(rng),
        Unit::TwinClutch => twin_clutch(rng),
        Unit::Engine => engine(rng),
        Unit::Wheels => wheels(rng),
    });
    fields.push((
        "road_test",
        map([
            ("done", plain("yes")),
            ("distance", text(format!("{} km", rng.u32(9..30)))),
            ("leaks", text("none")),
            ("remarks", text(pick(rng, &["shifts softly", "keine Geräusche", "warm nach 12 km, dicht"]))),
        ]),
    ));
    fields.push(("photographs", photographs(rng)));
    Node::Map(fields.into_iter().map(|(key, value)| (key.to_owned(), value)).collect())
}

fn job(unit: Unit, technician: &str, rng: &mut Rng) -> Node {
    let (month, day, hour) = (rng.u8(1..13), rng.u8(1..29), rng.u8(7..12));
    map([
        ("number", text(format!("K-{}", rng.u32(1000..9999)))),
        ("opened", text(format!("2026-{month:02}-{day:02}T{hour:02}:15:00+01:00"))),
        ("closed", text(format!("2026-{month:02}-{day:02}T{:02}:40:00+01:00", hour + rng.u8(1..5)))),
        ("state", text("closed")),
        ("technician", text(technician)),
        (
            "procedure",
            map([("name", text(procedure(unit))), ("edition", plain(around::EDITION.to_string()))]),
        ),
        ("reported", text(pick(rng, &["Schaltet im Stau ruppig.", "none", "ruckelt, wenn er kalt ist"]))),
        (
            "remarks",
            Node::Lines(vec![
                "Vehicle stood outside overnight, so the fluid was cold at first.".to_owned(),
                "Kundin wünscht die alten Teile zurück.".to_owned(),
            ]),
        ),
    ])
}

/// The name of the procedure for a unit.
fn procedure(unit: Unit) -> &'static str {
    let number = match unit {
        Unit::SteppedAutomatic => 0,
        Unit::TwinClutch => 1,
        Unit::Engine => 2,
        Unit::Wheels => 3,
    };
    around::PROCEDURES[number].1
}

fn vehicle(rng: &mut Rng) -> Node {
    map([
        ("vin", text(vin(rng))),
        ("plate", text(format!("GW {} TE", rng.u32(100..999)))),
        ("market", text(pick(rng, &["europe", "north america", "elsewhere"]))),
        ("odometer", text(format!("{} {}", rng.u32(20_000..300_000), pick(rng, &["km", "mi"])))),
        ("high_voltage", plain("no")),
    ])
}

/// A vehicle identification number whose ninth character is its check digit: 49 CFR 565.15(c), from
/// memory.
fn vin(rng: &mut Rng) -> String {
    const SIGNS: &[u8; 33] = b"0123456789ABCDEFGHJKLMNPRSTUVWXYZ";
    const VALUES: &[u8; 33] = b"012345678912345678123457923456789";
    const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];
    let picks: Vec<usize> = WEIGHTS.iter().map(|_| rng.usize(..SIGNS.len())).collect();
    let sum: u32 =
        picks.iter().zip(WEIGHTS).map(|(pick, weight)| u32::from(VALUES[*pick] - b'0') * weight).sum();
    let check = char::from_digit(sum % 11, 10).unwrap_or('X');
    picks
        .iter()
        .enumerate()
        .map(|(at, pick)| if at == 8 { check } else { char::from(SIGNS[*pick]) })
        .collect()
}

fn unit_of(unit: Unit, rng: &mut Rng) -> Node {
    let (kind, family) = match unit {
        Unit::SteppedAutomatic => ("stepped automatic", SIX_SPEED),
        Unit::TwinClutch => ("twin clutch", TWIN_CLUTCH),
        Unit::Engine => ("engine", IN_LINE),
        Unit::Wheels => ("wheels", SUMMER_SET),
    };
    let serial = format!("00{} {}", rng.u32(10..99), rng.u32(1000..9999));
    map([("kind", text(kind)), ("family", text(family)), ("serial", text(serial))])
}

fn cautions(technician: &str) -> Node {
    map([
        ("acknowledged", plain("yes")),
        ("by", text(technician)),
        ("raised_vehicle_supported", plain("yes")),
        ("list", texts(&["hot oil", "hot exhaust", "engine running under the vehicle"])),
    ])
}

fn fault_memory(rng: &mut Rng) -> Node {
    let stored: &[&str] = if rng.bool() { &["P0711", "U0103"] } else { &[] };
    map([
        ("before", map([("read", plain("yes")), ("codes", texts(stored))])),
        ("after", map([("read", plain("yes")), ("codes", texts(&[]))])),
    ])
}

fn steps() -> Node {
    let step = |name: &str, engine: &str, lift: &str| {
        map([("step", text(name)), ("engine", text(engine)), ("lift", text(lift))])
    };
    Node::List(vec![
        step("drain", "off", "raised"),
        step("first stage", "off", "raised"),
        step("second stage", "running", "raised"),
        step("clean and look for leaks", "off", "lowered"),
    ])
}

fn photographs(rng: &mut Rng) -> Node {
    let photograph = |name: &str, of: &str| map([("path", text(format!("{name}.jpg"))), ("of", text(of))]);
    let all =
        [photograph("oelwanne-1", "Ölwanne vor der Reinigung"), photograph("magnet", "magnets as found")];
    Node::List(all.into_iter().take(rng.usize(1..3)).collect())
}

/// 40.5 Nm to 49.5 Nm are right for a plug.
fn plug(role: &str, rng: &mut Rng) -> Node {
    let torque =
        if rng.u8(..10) == 0 { "33 lbf·ft".to_owned() } else { format!("{} Nm", tenths(rng.u32(405..496))) };
    let fields = [("role", text(role)), ("place", text("case")), ("torque", text(torque))];
    let Node::Map(mut fields) = map(fields) else { return text("") };
    fields.extend([("tool".to_owned(), text("T-07")), ("marked".to_owned(), plain("yes"))]);
    Node::Map(fields)
}

fn seal(place: &str, kind: &str, rng: &mut Rng) -> Node {
    map([
        ("place", text(place)),
        ("kind", text(kind)),
        ("disturbed", plain("yes")),
        ("renewed", plain("yes")),
        ("lubricated", plain("yes")),
        ("lot", text(format!("G-{}", rng.u32(100..999)))),
    ])
}

fn magnet(place: &str, rng: &mut Rng) -> Node {
    map([
        ("place", text(place)),
        ("cleaned", plain("yes")),
        ("debris", text(pick(rng, &["fine paste", "none"]))),
    ])
}

/// Fluid of a gearbox: some 5.5 L in two stages.
fn fluid(product: &str, specification: &str, rng: &mut Rng) -> [(&'static str, Node); 2] {
    let drained = rng.u32(53..57);
    let fill = |stage: &str, volume: u32, engine: &str| {
        map([
            ("stage", text(stage)),
            ("volume", text(format!("{} L", tenths(volume)))),
            ("temperature", text("21 °C")),
            ("engine", text(engine)),
        ])
    };
    let fluid = map([
        ("product", text(product)),
        ("specification", text(specification)),
        ("lot", text(format!("N6-25-0{}", rng.u32(100..999)))),
        (
            "drained",
            map([
                ("method", text("drained")),
                ("volume", text(format!("{} L", tenths(drained)))),
                ("temperature", text("36 °C")),
            ]),
        ),
        (
            "fills",
            Node::List(vec![
                fill("first", 45, "off"),
                fill("second", drained - 45 + rng.u32(..3), "running"),
            ]),
        ),
        ("appearance", text(pick(rng, &["dark", "clear"]))),
        ("wear_debris", text("fine paste")),
    ]);
    let used_oil = map([
        ("collected", plain("yes")),
        ("volume", text(format!("{} L", tenths(drained - rng.u32(..3))))),
        ("container", text("drum 4")),
    ]);
    [("fluid", fluid), ("used_oil", used_oil)]
}

fn level_check(rng: &mut Rng) -> Node {
    let held = |position: &str, rng: &mut Rng| {
        let held = format!("{} s", tenths(rng.u32(20..45)));
        map([("position", text(position)), ("held", text(held))])
    };
    map([
        ("temperature", text(format!("{} °C", tenths(rng.u32(300..501))))),
        ("tool", text("T-21")),
        ("engine", text("running")),
        ("vehicle_level", plain("yes")),
        ("positions", Node::List(["P", "R", "N", "D"].iter().map(|position| held(position, rng)).collect())),
        ("result", text(pick(rng, &["dripping", "level with the edge"]))),
    ])
}

fn stepped_automatic(rng: &mut Rng) -> Vec<(&'static str, Node)> {
    let screw = |place: &str, order: usize, rng: &mut Rng| {
        map([
            ("role", text("sump screw")),
            ("place", text(place)),
            ("thread", text("M6")),
            ("torque", text(format!("{} Nm", tenths(rng.u32(90..111))))),
            ("tool", text("T-03")),
            ("order", plain(order.to_string())),
        ])
    };
    // Round the pan, each with its turn.
    let places = [("A1", 1), ("A2", 3), ("A3", 5), ("B3", 2), ("B2", 4), ("B1", 6)];
    let mut fastenings: Vec<Node> = places.map(|(place, order)| screw(place, order, rng)).into();
    fastenings.extend([plug("drain plug", rng), plug("level plug", rng)]);
    let filter = map([
        ("place", text("pan")),
        ("kind", text("internal")),
        ("media_removed", text("felt")),
        ("media_fitted", text("felt")),
        ("condition_removed", text(pick(rng, &["sound", "clogged"]))),
        ("renewed", plain("yes")),
    ]);
    let pan = map([
        ("removed", plain("yes")),
        ("cleaned", plain("yes")),
        ("flatness_checked", plain("yes")),
        ("material", text("steel")),
    ]);
    let seals =
        vec![seal("sump", "gasket", rng), seal("drain plug", "ring", rng), seal("level plug", "ring", rng)];
    let [fluid, used_oil] = fluid("Nordal ATF 6", "AF-6", rng);
    vec![
        ("pan", pan),
        ("magnets", Node::List(vec![magnet("main", rng), magnet("pan rear", rng)])),
        ("filters", Node::List(vec![filter])),
        ("seals", Node::List(seals)),
        ("fastenings", Node::List(fastenings)),
        fluid,
        ("level_check", level_check(rng)),
        used_oil,
    ]
}

fn twin_clutch(rng: &mut Rng) -> Vec<(&'static str, Node)> {
    let cap = map([
        ("role", text("filter cap")),
        ("place", text("gearbox top")),
        ("torque", text(format!("{} Nm", tenths(rng.u32(72..89))))),
        ("tool", text("T-03")),
    ]);
    let filter = map([
        ("place", text("gearbox top")),
        ("kind", text("external")),
        ("media_removed", text("synthetic")),
        ("media_fitted", text("synthetic")),
        ("condition_removed", text(pick(rng, &["sound", "clogged"]))),
        ("cap_removed", text("B")),
        ("cap_fitted", text("B")),
        ("renewed", plain("yes")),
        ("lot", text(format!("TF-{}", rng.u32(1000..9999)))),
    ]);
    let seals = vec![
        seal("filter cap", "ring", rng),
        seal("drain plug", "washer", rng),
        seal("level plug", "washer", rng),
    ];
    let [fluid, used_oil] = fluid("Nordal TC", "TC-2", rng);
    vec![
        ("pan", map([("removed", plain("no"))])),
        ("magnets", Node::List(vec![magnet("main", rng)])),
        ("filters", Node::List(vec![filter])),
        ("seals", Node::List(seals)),
        ("fastenings", Node::List(vec![cap, plug("drain plug", rng), plug("level plug", rng)])),
        fluid,
        ("level_check", level_check(rng)),
        used_oil,
        ("readings", readings(rng)),
    ]
}

/// Temperatures of the fluid while it warms up.
fn readings(rng: &mut Rng) -> Node {
    let reading = |number: u32, rng: &mut Rng| {
        map([
            ("of", text("fluid")),
            ("temperature", text(format!("{} °C", 24 + 3 * number))),
            ("tool", text("T-21")),
            ("speed", text(format!("{} rev/min", rng.u32(720..780)))),
        ])
    };
    Node::List((0..6).map(|number| reading(number, rng)).collect())
}

fn engine(rng: &mut Rng) -> Vec<(&'static str, Node)> {
    let fastening = |role: &str, torque: String| {
        map([
            ("role", text(role)),
            ("torque", text(torque)),
            ("tool", text("T-05")),
            ("marked", plain("yes")),
        ])
    };
    let fastenings = vec![
        fastening("drain plug", format!("{} Nm", tenths(rng.u32(270..331)))),
        fastening("oil filter", format!("{} Nm", tenths(rng.u32(225..276)))),
    ];
    let fill = map([
        ("stage", text("first")),
        ("volume", text(format!("{} L", tenths(rng.u32(42..47))))),
        ("engine", text("off")),
    ]);
    let fluid = map([
        ("product", text("Nordal EO 5W-30")),
        ("specification", text("EO-3")),
        ("drained", map([("method", text("drained")), ("volume", text("4.4 L"))])),
        ("fills", Node::List(vec![fill])),
        ("appearance", text("dark")),
        ("wear_debris", text("none")),
        ("level_after", text("between marks")),
    ]);
    let filter = map([("place", text("oil filter")), ("kind", text("external")), ("renewed", plain("yes"))]);
    vec![
        ("filters", Node::List(vec![filter])),
        ("seals", Node::List(vec![seal("drain plug", "washer", rng), seal("oil filter", "ring", rng)])),
        ("fastenings", Node::List(fastenings)),
        ("fluid", fluid),
        ("readings", readings(rng)),
        (
            "used_oil",
            map([("collected", plain("yes")), ("volume", text("4.3 L")), ("container", text("drum 1"))]),
        ),
    ]
}

fn wheels(rng: &mut Rng) -> Vec<(&'static str, Node)> {
    let positions = ["front left", "front right", "rear left", "rear right"];
    let wheel = |position: &str| {
        map([("position", text(position)), ("fasteners", plain("5")), ("seat_clean", plain("yes"))])
    };
    let nut = |position: &str, number: u32, order: u32, rng: &mut Rng| {
        map([
            ("role", text("wheel nut")),
            ("wheel", text(position)),
            ("place", text(format!("{position} {number}"))),
            ("torque", text(format!("{} Nm", rng.u32(114..127)))),
            ("tool", text("T-11")),
            ("order", plain(order.to_string())),
        ])
    };
    let mut nuts = Vec::new();
    for position in positions {
        nuts.extend((1..).zip([1, 4, 2, 5, 3]).map(|(number, order)| nut(position, number, order, rng)));
    }
    let retightening =
        map([("required_after", text("50 km")), ("advised", plain("yes")), ("done", plain("no"))]);
    vec![
        ("wheels", Node::List(positions.map(wheel).into())),
        ("fastenings", Node::List(nuts)),
        ("retightening", retightening),
    ]
}
