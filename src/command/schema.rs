//! `schema`: the JSON Schema of a form, for editors, or of a report, for programs.

use clap::Args;

use super::output::Sink;
use super::{Exit, Failure};
use crate::audit;
use crate::diagnostic::nearest;
use crate::document::Forms;
use crate::report::{compare, json, lines};
use crate::trade::form::FORMS;

/// Prints the JSON Schema of a form, with which an editor completes and checks documents, or of what
/// `--format json` writes: `report`, and `comparison` or, of folders, `comparisons` for `compare`; `lines` for a line of
/// `--format lines`.
#[derive(Debug, Args)]
pub(super) struct Schema {
    #[arg(value_name = "FORM", help = help())]
    form: String,
}

/// The names that there are, as `--help` shows them.
fn help() -> String {
    format!(
        "The form: {}; or {}",
        FORMS.map(|form| form.name).join(", "),
        REPORTS.map(|(name, _)| name).join(", ")
    )
}

/// What programs read.
const REPORTS: [(&str, &str); 5] = [
    ("report", json::SCHEMA),
    ("lines", lines::SCHEMA),
    ("comparison", compare::SCHEMA),
    ("comparisons", compare::FOLDERS_SCHEMA),
    ("audit", audit::forms::SCHEMA),
];

impl Schema {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        let forms = Forms::builtin();
        let report =
            REPORTS.into_iter().find(|(name, _)| *name == self.form).map(|(_, text)| text.to_owned());
        let Some(text) = forms.get(&self.form).map(|form| form.schema_text()).or(report) else {
            let names: Vec<&str> = forms.names().chain(REPORTS.map(|(name, _)| name)).collect();
            let hint = match nearest(&self.form, names.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("the forms are {}", names.join(", ")),
            };
            return Err(Failure(format!("there is no form `{}`; {hint}", self.form)));
        };
        let mut sink = Sink::exact();
        sink.write(text.as_bytes())?;
        sink.finish()?;
        Ok(Exit::Clean)
    }
}
