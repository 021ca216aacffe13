//! `schema`: the JSON Schema of a form, for editors.

use clap::Args;

use super::output::Sink;
use super::{Exit, Failure};
use crate::diagnostic::nearest;
use crate::document::Forms;

/// Prints the JSON Schema of a form, with which an editor completes and checks documents.
#[derive(Debug, Args)]
pub(super) struct Schema {
    /// The form: job, procedure, workshop, known
    #[arg(value_name = "FORM")]
    form: String,
}

impl Schema {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        let forms = Forms::builtin();
        let Some(form) = forms.get(&self.form) else {
            let names: Vec<&str> = forms.names().collect();
            let hint = match nearest(&self.form, names.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("the forms are {}", names.join(", ")),
            };
            return Err(Failure(format!("there is no form `{}`; {hint}", self.form)));
        };
        let mut sink = Sink::screen();
        sink.write(form.schema_text().as_bytes())?;
        sink.finish()?;
        Ok(Exit::Clean)
    }
}
