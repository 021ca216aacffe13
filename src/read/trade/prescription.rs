//! What a procedure prescribes for the record of a job: which of its fields are which of the record, and how each
//! is carried over. The record of a job that was done exactly so ([`super::prescribed`]), the blank record and,
//! by that, the printed sheet ([`super::blank`]) go by these tables.

/// How a value of a procedure is carried over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Carry {
    /// It is settled: a blank record has it already.
    Settled,
    /// The same of an edition, which has one way to be written.
    Edition,
    /// A blank record leaves room for it, and says what is planned.
    Planned,
    /// The same of a tool: the procedure says what it is called, the record its number in the register.
    ToolNumber,
    /// It is settled for one; of several alike, each has a number behind it.
    Numbered,
    /// A blank record does not ask for it, unless a rule reads it.
    Unasked,
    /// How many there are: the record has an entry for each.
    EntryEach,
    /// The procedure has no such field: only the work tells.
    Work,
}

/// A field of the record of a job, with the one of the procedure that prescribes it.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// The field of the job.
    pub job: &'static str,
    /// The field of the procedure.
    pub procedure: Option<&'static str>,
    /// How its value is carried over.
    pub carry: Carry,
    /// Whether a blank record has a line for it though the procedure does not state it.
    pub always: bool,
    /// What is meant, where the field alone says too little.
    pub note: Option<&'static str>,
}

impl Row {
    /// Whether the record of a job that was done exactly so has the value of the procedure.
    #[must_use]
    pub fn is_the_same(&self) -> bool {
        !matches!(self.carry, Carry::ToolNumber | Carry::Numbered | Carry::EntryEach | Carry::Work)
    }

    const fn always(self) -> Row {
        Row { always: true, ..self }
    }

    const fn noted(self, note: &'static str) -> Row {
        Row { note: Some(note), ..self }
    }
}

/// A group or a list of a procedure, and the one of a job that it prescribes.
#[derive(Debug)]
pub struct Part {
    /// The path of that of the job, from the record that holds it.
    pub job: &'static str,
    /// The path of that of the procedure.
    pub procedure: &'static str,
    /// The fields.
    pub rows: &'static [Row],
    /// The lists within.
    pub lists: &'static [Part],
}

const fn row(job: &'static str, procedure: &'static str, carry: Carry) -> Row {
    Row { job, procedure: Some(procedure), carry, always: false, note: None }
}

const fn settled(job: &'static str, procedure: &'static str) -> Row {
    row(job, procedure, Carry::Settled)
}

const fn planned(job: &'static str, procedure: &'static str) -> Row {
    row(job, procedure, Carry::Planned)
}

/// What only the work tells.
const fn work(job: &'static str) -> Row {
    Row { job, procedure: None, carry: Carry::Work, always: true, note: None }
}

/// How the job names the procedure.
pub const REFERENCE: Part = Part {
    job: "job.procedure",
    procedure: "procedure",
    rows: &[settled("name", "name"), row("edition", "edition", Carry::Edition)],
    lists: &[],
};

/// The unit.
pub const UNIT: Part = Part {
    job: "unit",
    procedure: "unit",
    rows: &[settled("kind", "kind"), settled("family", "family")],
    lists: &[],
};

/// The fluid, without what is filled in stages.
pub const FLUID: Part = Part {
    job: "fluid",
    procedure: "fluids",
    rows: &[
        planned("product", "product").always(),
        planned("specification", "specification").always(),
        work("lot"),
    ],
    lists: &[],
};

const POSITIONS: Part = Part {
    job: "positions",
    procedure: "positions",
    rows: &[settled("position", "position"), planned("held", "hold").always()],
    lists: &[],
};

/// The level check.
pub const LEVEL_CHECK: Part = Part {
    job: "level_check",
    procedure: "level_check",
    rows: &[
        planned("temperature", "window").always(),
        planned("engine", "engine"),
        planned("method", "method"),
        planned("run_out", "run_out"),
        planned("vehicle_level", "vehicle_level"),
        work("tool").noted("number of the thermometer"),
    ],
    lists: &[POSITIONS],
};

/// What is tightened; of several alike the procedure has one entry, the record one for each.
pub const FASTENINGS: Part = Part {
    job: "fastenings",
    procedure: "fastenings",
    rows: &[
        settled("role", "role").always(),
        row("place", "place", Carry::Numbered),
        row("count", "count", Carry::EntryEach),
        settled("thread", "thread"),
        settled("property_class", "property_class"),
        planned("torque", "torque").always(),
        row("tool", "tool", Carry::ToolNumber).always(),
        planned("new", "new"),
        planned("marked", "marked"),
    ],
    lists: &[Part {
        job: "stages",
        procedure: "stages",
        rows: &[planned("torque", "torque"), planned("angle", "angle")],
        lists: &[],
    }],
};

/// The seals.
pub const SEALS: Part = Part {
    job: "seals",
    procedure: "seals",
    rows: &[
        settled("place", "place").always(),
        settled("kind", "kind"),
        planned("disturbed", "disturbed").always(),
        planned("renewed", "renewed").always(),
        planned("lubricated", "lubricated"),
        work("lot"),
    ],
    lists: &[],
};

/// The filters.
pub const FILTERS: Part = Part {
    job: "filters",
    procedure: "filters",
    rows: &[
        settled("place", "place").always(),
        settled("kind", "kind"),
        work("media_removed"),
        planned("media_fitted", "media").always(),
        row("beta", "beta", Carry::Unasked),
        row("at_size", "at_size", Carry::Unasked),
        work("condition_removed"),
        planned("renewed", "renewed").always(),
        work("lot"),
    ],
    lists: &[],
};

/// The steps.
pub const STEPS: Part = Part {
    job: "steps",
    procedure: "steps",
    rows: &[settled("step", "name"), planned("engine", "engine"), planned("lift", "lift")],
    lists: &[POSITIONS],
};

/// The wheels.
pub const WHEELS: Part = Part {
    job: "wheels",
    procedure: "wheels",
    rows: &[settled("position", "position"), planned("pressure", "pressure")],
    lists: &[],
};

/// The learning run.
pub const LEARNING_RUN: Part = Part {
    job: "learning_run",
    procedure: "learning_run",
    rows: &[settled("required", "required"), work("done"), work("at")],
    lists: &[],
};

/// The road test.
pub const ROAD_TEST: Part = Part {
    job: "road_test",
    procedure: "road_test",
    rows: &[work("done"), planned("distance", "distance").always()],
    lists: &[],
};

/// The cautions, of which the record has the list beside who has read it.
pub const CAUTIONS: Part =
    Part { job: "cautions", procedure: "cautions", rows: &[work("acknowledged"), work("by")], lists: &[] };

/// All parts.
pub const PARTS: [&Part; 12] = [
    &REFERENCE,
    &UNIT,
    &FLUID,
    &LEVEL_CHECK,
    &FASTENINGS,
    &SEALS,
    &FILTERS,
    &STEPS,
    &WHEELS,
    &LEARNING_RUN,
    &ROAD_TEST,
    &CAUTIONS,
];

// What is filled: the procedure states the whole and what goes in before the engine turns, the record an entry for
// each stage.
pub(super) const VOLUME: &str = "volume";
pub(super) const FIRST_FILL: &str = "first_fill";
pub(super) const FILLS: &str = "fills";
pub(super) const STAGE: &str = "stage";
pub(super) const FIRST: &str = "first";
pub(super) const SECOND: &str = "second";
pub(super) const TOP_UP: &str = "top up";
