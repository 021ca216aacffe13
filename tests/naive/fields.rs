//! The fields of a job record that the generated programs use, written down apart from the schema.

use super::figures::Measure;

/// What a field holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Field {
    Amount(Measure),
    /// Free text, with a few samples.
    Text(&'static [&'static str]),
    /// A word of a closed list.
    Word(&'static [&'static str]),
    Truth,
    Count,
    Number,
    Moment,
    Record(&'static str),
    /// A list of records.
    List(&'static str),
    /// A list of texts.
    Texts(&'static [&'static str]),
}

/// The lists, and the group of fields, that the generated programs go through as one list, with their records.
pub const SEVERAL: [(&str, &str); 3] =
    [("fastenings", "fastening"), ("level_check", "level_check"), ("readings", "reading")];

pub type Fields = &'static [(&'static str, Field)];

const ENGINE: Field = Field::Word(&["off", "running"]);
const CODES: &[&str] = &["P0711", "P0730", "U0101"];

/// Every record and its fields.
const RECORDS: &[(&str, Fields)] = &[
    (
        "root",
        &[
            ("job", Field::Record("job")),
            ("vehicle", Field::Record("vehicle")),
            ("unit", Field::Record("unit")),
            ("fluid", Field::Record("fluid")),
            ("level_check", Field::Record("level_check")),
            ("fastenings", Field::List("fastening")),
            ("seals", Field::List("seal")),
            ("filters", Field::List("filter")),
            ("wheels", Field::List("wheel")),
            ("retightening", Field::Record("retightening")),
            ("pressure_hold", Field::Record("pressure_hold")),
            ("steps", Field::List("step")),
            ("readings", Field::List("reading")),
            ("fault_memory", Field::Record("fault_memory")),
            ("road_test", Field::Record("road_test")),
            ("cautions", Field::Record("cautions")),
        ],
    ),
    (
        "job",
        &[
            ("number", Field::Text(&["K-2041", "K-7"])),
            ("opened", Field::Moment),
            ("closed", Field::Moment),
            ("state", Field::Word(&["in work", "closed"])),
            ("technician", Field::Text(&["Agnes Öhler", "B", "To Lund"])),
        ],
    ),
    (
        "vehicle",
        &[
            ("market", Field::Word(&["north america", "europe", "elsewhere"])),
            ("odometer", Field::Amount(Measure::Length)),
            ("high_voltage", Field::Truth),
        ],
    ),
    (
        "unit",
        &[
            ("kind", Field::Word(&["stepped automatic", "twin clutch", "engine", "wheels"])),
            ("family", Field::Text(&["six speed", "eight speed", "nine speed"])),
        ],
    ),
    (
        "fluid",
        &[
            ("product", Field::Text(&["Nordal TC", "Belt 5"])),
            ("drained", Field::Record("drained")),
            ("fills", Field::List("fill")),
            ("appearance", Field::Word(&["clear", "dark", "burnt", "milky"])),
        ],
    ),
    (
        "drained",
        &[("volume", Field::Amount(Measure::Volume)), ("temperature", Field::Amount(Measure::Temperature))],
    ),
    (
        "fill",
        &[
            ("stage", Field::Word(&["first", "second", "top up"])),
            ("volume", Field::Amount(Measure::Volume)),
            ("temperature", Field::Amount(Measure::Temperature)),
            ("engine", ENGINE),
            ("at", Field::Moment),
        ],
    ),
    (
        "level_check",
        &[
            ("temperature", Field::Amount(Measure::Temperature)),
            ("engine", ENGINE),
            ("positions", Field::List("drive_position")),
            ("vehicle_level", Field::Truth),
        ],
    ),
    (
        "drive_position",
        &[("position", Field::Text(&["P", "R", "D"])), ("held", Field::Amount(Measure::Duration))],
    ),
    (
        "fastening",
        &[
            ("role", Field::Text(&["sump screw", "wheel nut", "drain plug"])),
            ("place", Field::Text(&["A1", "A2", "front left 3"])),
            ("torque", Field::Amount(Measure::Torque)),
            ("angle", Field::Amount(Measure::Angle)),
            ("stages", Field::List("tightening_stage")),
            ("adapter", Field::Record("adapter")),
            ("new", Field::Truth),
            ("order", Field::Count),
            ("pass", Field::Count),
            ("marked", Field::Truth),
        ],
    ),
    (
        "tightening_stage",
        &[("torque", Field::Amount(Measure::Torque)), ("angle", Field::Amount(Measure::Angle))],
    ),
    ("adapter", &[("lever", Field::Amount(Measure::Length)), ("offset", Field::Amount(Measure::Length))]),
    (
        "seal",
        &[
            ("place", Field::Text(&["sump", "drain plug", "A1"])),
            ("kind", Field::Word(&["ring", "gasket", "washer"])),
            ("disturbed", Field::Truth),
            ("renewed", Field::Truth),
        ],
    ),
    (
        "filter",
        &[
            ("kind", Field::Word(&["internal", "external", "sump"])),
            ("beta", Field::Number),
            ("at_size", Field::Amount(Measure::Length)),
            ("renewed", Field::Truth),
        ],
    ),
    (
        "wheel",
        &[
            ("position", Field::Word(&["front left", "front right", "rear left", "rear right"])),
            ("fasteners", Field::Count),
            ("seat_clean", Field::Truth),
        ],
    ),
    (
        "retightening",
        &[
            ("required_after", Field::Amount(Measure::Length)),
            ("advised", Field::Truth),
            ("done", Field::Truth),
            ("odometer", Field::Amount(Measure::Length)),
        ],
    ),
    (
        "pressure_hold",
        &[
            ("start", Field::Amount(Measure::Gauge)),
            ("end", Field::Amount(Measure::Gauge)),
            ("air_pressure", Field::Amount(Measure::Absolute)),
            ("held", Field::Amount(Measure::Duration)),
        ],
    ),
    (
        "step",
        &[
            ("step", Field::Text(&["drain", "fill", "check"])),
            ("started", Field::Moment),
            ("ended", Field::Moment),
            ("engine", ENGINE),
            ("positions", Field::List("drive_position")),
        ],
    ),
    (
        "reading",
        &[
            ("of", Field::Text(&["fluid", "oil pressure"])),
            ("at", Field::Moment),
            ("temperature", Field::Amount(Measure::Temperature)),
            ("pressure", Field::Amount(Measure::Gauge)),
        ],
    ),
    (
        "fault_memory",
        &[("before", Field::Record("fault_reading")), ("after", Field::Record("fault_reading"))],
    ),
    ("fault_reading", &[("read", Field::Truth), ("codes", Field::Texts(CODES))]),
    ("road_test", &[("done", Field::Truth), ("distance", Field::Amount(Measure::Length))]),
    // An entry of one of several lists.
    (
        "use",
        &[
            ("role", Field::Text(&["sump screw", "wheel nut", "drain plug"])),
            ("torque", Field::Amount(Measure::Torque)),
            ("stages", Field::List("tightening_stage")),
            ("adapter", Field::Record("adapter")),
            ("order", Field::Count),
            ("marked", Field::Truth),
            ("of", Field::Text(&["fluid", "oil pressure"])),
            ("at", Field::Moment),
            ("temperature", Field::Amount(Measure::Temperature)),
            ("pressure", Field::Amount(Measure::Gauge)),
            ("engine", ENGINE),
            ("positions", Field::List("drive_position")),
        ],
    ),
    ("cautions", &[("acknowledged", Field::Truth), ("list", Field::Texts(&["hot oil", "wheels chocked"]))]),
];

/// The fields that a record must have to be whole.
const REQUIRED: &[(&str, &str)] = &[
    ("root", "job"),
    ("root", "vehicle"),
    ("root", "unit"),
    ("job", "number"),
    ("job", "opened"),
    ("job", "state"),
    ("unit", "kind"),
    ("fill", "stage"),
    ("drive_position", "position"),
    ("wheel", "position"),
    ("step", "step"),
    ("reading", "of"),
];

pub fn fields(record: &str) -> Fields {
    RECORDS.iter().find(|(name, _)| *name == record).map(|(_, fields)| *fields).expect("a record named here")
}

pub fn field(record: &str, name: &str) -> Option<Field> {
    fields(record).iter().find(|(field, _)| *field == name).map(|(_, field)| *field)
}

/// The field that says when an entry was.
pub fn when(record: &str) -> Option<&'static str> {
    match record {
        "step" => Some("started"),
        "fill" | "reading" => Some("at"),
        _ => None,
    }
}

pub fn is_required(record: &str, field: &str) -> bool {
    REQUIRED.contains(&(record, field))
}

/// The paths within a record that lead to a field of which `wanted` is true, lists not entered.
pub fn paths(record: &str, wanted: &impl Fn(Field) -> bool) -> Vec<String> {
    let mut found = Vec::new();
    for (name, field) in fields(record) {
        if wanted(*field) {
            found.push((*name).to_owned());
        }
        if let Field::Record(inner) = field {
            found.extend(paths(inner, wanted).iter().map(|path| format!("{name}.{path}")));
        }
    }
    found
}
