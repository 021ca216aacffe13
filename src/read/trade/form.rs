//! The forms of documents: what each is called, where its documents belong, and what to say where one is not
//! judged.

pub use crate::document::link::{JOB, PROCEDURE, REGISTER};

/// The form of a workshop's settings.
pub const SETTINGS: &str = "workshop";
/// The form of a logbook, which the program makes.
pub const LOGBOOK: &str = "logbook";
/// The form of a list of known findings.
pub const KNOWN: &str = "known";

/// A form.
#[derive(Debug)]
pub struct Form {
    /// Its name, with which a document begins: `form: job/1`.
    pub name: &'static str,
    /// What one of its documents is called.
    pub called: &'static str,
    /// Whether its documents are kept beside the jobs of a run, which refer to them.
    pub is_neighbour: bool,
    /// What to say of a document that no standard of the run judges, and what to do.
    pub unjudged: (&'static str, &'static str),
}

const JUDGED: (&str, &str) = (
    "no standard of this run is meant for this document",
    "nothing was judged; name the standard with `--standard` or in the workshop's settings",
);

/// The forms.
pub const FORMS: [Form; 6] = [
    Form { name: JOB, called: "job", is_neighbour: false, unjudged: JUDGED },
    Form { name: PROCEDURE, called: "procedure", is_neighbour: true, unjudged: JUDGED },
    Form { name: REGISTER, called: "tool register", is_neighbour: true, unjudged: JUDGED },
    Form { name: LOGBOOK, called: "logbook", is_neighbour: false, unjudged: JUDGED },
    Form {
        name: SETTINGS,
        called: "workshop's settings",
        is_neighbour: false,
        unjudged: (
            "these are the settings of a workshop, which are judged by no standard",
            "a run over documents in this folder reads them by itself if the file is called `workshop.yaml`; \
             any other is named with `--settings`",
        ),
    },
    Form {
        name: KNOWN,
        called: "list of known findings",
        is_neighbour: false,
        unjudged: (
            "these are known findings, which are judged by no standard",
            "name the file with `--accept-known` in a run over the documents that it lists",
        ),
    },
];

/// The form of this name.
#[must_use]
pub fn called(name: &str) -> Option<&'static Form> {
    FORMS.iter().find(|form| form.name == name)
}

/// What to say of a document of a form that no standard of the run judges, and what to do.
#[must_use]
pub fn unjudged(name: &str) -> (&'static str, &'static str) {
    called(name).map_or(JUDGED, |form| form.unjudged)
}
