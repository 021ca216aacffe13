//! The record of a job.

use super::{Field, Reference};
use crate::document::{Document, NodeId};
use crate::edition::Digest;

/// The group that says which vehicle it was.
pub const VEHICLE: &str = "vehicle";
/// The path of the kind of unit that was worked on.
pub const KIND: &str = "unit.kind";
/// The path of its family.
pub const FAMILY: &str = "unit.family";
/// The path of what says whether work still goes on.
pub const STATE: &str = "job.state";
/// The path of the reference to the procedure.
pub const PROCEDURE: &str = "job.procedure";
/// The path of the name of the procedure.
pub const PROCEDURE_NAME: &str = "job.procedure.name";
/// The path of its edition.
pub const PROCEDURE_EDITION: &str = "job.procedure.edition";

const VIN: &str = "vehicle.vin";
const PLATE: &str = "vehicle.plate";
/// The path of when the work was taken up.
pub const OPENED: &str = "job.opened";
/// The path of its number.
pub const NUMBER: &str = "job.number";

/// The paths of all by which a job is told from others.
pub const IDENTITY: [&str; 5] = [VIN, PLATE, OPENED, NUMBER, KIND];

/// The path of the standards that it is bound to.
pub const STANDARDS: &str = "job.standards";
/// The path of the content hash of its procedure.
pub const PROCEDURE_CONTENT: &str = "job.procedure.content";
/// The path of the list of its concessions.
pub const CONCESSIONS: &str = "concessions";

/// The path of the list of its photographs.
pub const PHOTOGRAPHS: &str = "photographs";

/// A photograph as a record has it on one line; its path is written as a single value already.
#[must_use]
pub fn photographed(path: &str, digest: &Digest) -> String {
    format!("{{path: {path}, sha256: \"{digest}\"}}")
}

/// An entry of the standards that a job is bound to, as a record has it on one line.
#[must_use]
pub fn bound_to(name: &str, edition: &str, content: Option<&str>) -> String {
    let content = content.map(|content| format!(", content: \"{content}\"")).unwrap_or_default();
    format!("{{name: {name}, edition: {edition}{content}}}")
}

/// A concession as a record has it on one line; the texts are written as its single values already.
#[must_use]
pub fn conceded(
    rule: &str,
    place: Option<&str>,
    found: Option<&str>,
    [reason, by, name, job]: [&str; 4],
) -> String {
    let place = place.map(|place| format!(", place: {place}")).unwrap_or_default();
    let found = found.map(|found| format!(", found: {found}")).unwrap_or_default();
    format!(
        "{{rule: {rule}{place}{found}, reason: {reason}, granted_by: {by}, name: {name}, for_job: {job}}}"
    )
}

/// The paths of all that a list of jobs shows.
pub const LISTED: [&str; 6] = [NUMBER, PLATE, KIND, FAMILY, TECHNICIAN, STATE];

/// The path of who answers for the work.
pub const TECHNICIAN: &str = "job.technician";
/// The path of who has looked the work over and signed for it.
pub const COUNTERSIGNED: &str = "job.countersigned_by";
/// The path of when it was finished.
pub const CLOSED: &str = "job.closed";

/// Whether work still goes on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JobState {
    /// It does.
    InWork,
    /// It does not, and the record is whole.
    Closed,
}

impl JobState {
    const ALL: [JobState; 2] = [JobState::InWork, JobState::Closed];

    /// As a record writes it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            JobState::InWork => "in work",
            JobState::Closed => "closed",
        }
    }
}

/// A job. Of a document of another form every field is one that is not recorded.
#[derive(Clone, Copy, Debug)]
pub struct Job<'d>(&'d Document<'d>);

impl<'d> Job<'d> {
    /// The job that a document records.
    #[must_use]
    pub fn of(document: &'d Document<'_>) -> Job<'d> {
        Job(document)
    }

    fn field(self, path: &'static str) -> Field<'d> {
        Field::at(self.0, path)
    }

    /// Its number.
    #[must_use]
    pub fn number(self) -> Field<'d> {
        self.field(NUMBER)
    }

    /// When the work was taken up.
    #[must_use]
    pub fn opened(self) -> Field<'d> {
        self.field(OPENED)
    }

    /// When it was finished.
    #[must_use]
    pub fn closed(self) -> Field<'d> {
        self.field(CLOSED)
    }

    /// Who answers for the work.
    #[must_use]
    pub fn technician(self) -> Field<'d> {
        self.field(TECHNICIAN)
    }

    /// What says whether work still goes on.
    #[must_use]
    pub fn stated_state(self) -> Field<'d> {
        self.field(STATE)
    }

    /// Whether it says that work still goes on, or does not.
    #[must_use]
    pub fn state(self) -> Option<JobState> {
        let word = self.stated_state().text()?;
        JobState::ALL.into_iter().find(|state| state.word() == word)
    }

    /// Whether work still goes on; a job that does not say, and one that says when it was closed, counts as
    /// closed.
    #[must_use]
    pub fn is_in_work(self) -> bool {
        self.state() == Some(JobState::InWork) && self.closed().recorded().is_none()
    }

    /// What is recorded of the vehicle.
    #[must_use]
    pub fn vehicle(self) -> Field<'d> {
        self.field(VEHICLE)
    }

    /// The vehicle identification number.
    #[must_use]
    pub fn vin(self) -> Field<'d> {
        self.field(VIN)
    }

    /// The registration plate.
    #[must_use]
    pub fn plate(self) -> Field<'d> {
        self.field(PLATE)
    }

    /// The group that has the kind of unit.
    #[must_use]
    pub fn unit(self) -> Field<'d> {
        self.field("unit")
    }

    /// The kind of unit that was worked on.
    #[must_use]
    pub fn kind(self) -> Field<'d> {
        self.field(KIND)
    }

    /// Its family.
    #[must_use]
    pub fn family(self) -> Field<'d> {
        self.field(FAMILY)
    }

    /// All that is recorded of the procedure.
    #[must_use]
    pub fn procedure_group(self) -> Field<'d> {
        self.field("job.procedure")
    }

    /// The procedure that it was done by.
    #[must_use]
    pub fn procedure(self) -> Reference<'d> {
        Reference {
            name: self.field(PROCEDURE_NAME),
            edition: self.field(PROCEDURE_EDITION),
            content: self.field(PROCEDURE_CONTENT),
        }
    }

    /// The standards that it is bound to, each with its entry.
    pub fn standards(self) -> impl Iterator<Item = (NodeId, Reference<'d>)> {
        let entries = self.field(STANDARDS).entries();
        entries.iter().map(move |entry| (*entry, Reference::entry(self.0, *entry)))
    }

    /// The permissions to release it in spite of a finding.
    pub fn concessions(self) -> impl Iterator<Item = Concession<'d>> {
        let entries = self.field(CONCESSIONS).entries();
        entries.iter().map(move |entry| Concession { document: self.0, entry: *entry })
    }

    /// The photographs that belong to it.
    pub fn photographs(self) -> impl Iterator<Item = Photograph<'d>> {
        let entries = self.field(PHOTOGRAPHS).entries();
        entries.iter().map(move |entry| Photograph { document: self.0, entry: *entry })
    }
}

/// A photograph as it is recorded.
#[derive(Clone, Copy, Debug)]
pub struct Photograph<'d> {
    document: &'d Document<'d>,
    entry: NodeId,
}

impl<'d> Photograph<'d> {
    /// Its file, by the way from the record to it.
    #[must_use]
    pub fn path(self) -> Field<'d> {
        Field::of(self.document, self.entry, "path")
    }

    /// The digest of what is in the file.
    #[must_use]
    pub fn digest(self) -> Field<'d> {
        Field::of(self.document, self.entry, "sha256")
    }
}

/// A concession as it is recorded.
#[derive(Clone, Copy, Debug)]
pub struct Concession<'d> {
    /// The record.
    pub document: &'d Document<'d>,
    /// Its entry.
    pub entry: NodeId,
}

impl<'d> Concession<'d> {
    fn field(self, name: &'static str) -> Field<'d> {
        Field::of(self.document, self.entry, name)
    }

    /// The full name of the rule.
    #[must_use]
    pub fn rule(self) -> Field<'d> {
        self.field("rule")
    }

    /// The path of the value that it is granted for.
    #[must_use]
    pub fn place(self) -> Field<'d> {
        self.field("place")
    }

    /// What was recorded there when it was granted.
    #[must_use]
    pub fn found(self) -> Field<'d> {
        self.field("found")
    }

    /// Why it is granted.
    #[must_use]
    pub fn reason(self) -> Field<'d> {
        self.field("reason")
    }

    /// The role of who granted it.
    #[must_use]
    pub fn granted_by(self) -> Field<'d> {
        self.field("granted_by")
    }

    /// The name of who granted it.
    #[must_use]
    pub fn name(self) -> Field<'d> {
        self.field("name")
    }

    /// The number of the only job for which it holds.
    #[must_use]
    pub fn for_job(self) -> Field<'d> {
        self.field("for_job")
    }

    /// The last day on which it holds.
    #[must_use]
    pub fn until(self) -> Field<'d> {
        self.field("until")
    }
}
