//! The reading of the one procedure in a text.

use super::{MOST_ENTRIES, Refusal};
use crate::code::{DOCUMENT_EMPTY, NO_PROCEDURE, SHEET_TOO_LONG};
use crate::diagnostic::{Diagnostic, Level};
use crate::document::{self, Document, forms};
use crate::session::Session;
use crate::source::{Place, Sources, Span};
use crate::trade::form::PROCEDURE;
use crate::trade::procedure::{FASTENINGS, Procedure};

/// Reads the one procedure in a text.
///
/// # Errors
/// The mistakes in the text, where it holds any; a text with another document in it; more
/// fastenings than a sheet has room for.
pub fn read_procedure(session: &Session, name: &str, text: &str) -> Result<Procedure, Refusal> {
    let mut sources = Sources::over(session.sources());
    let source = sources.add(name, text);
    let text = sources.get(source).map_or("", |source| source.text());
    let (documents, diagnostics) = document::read(source, text, session.forms());
    let errors: Vec<Diagnostic> =
        diagnostics.into_iter().filter(|found| found.level == Level::Error).collect();
    let read = match documents.as_slice() {
        _ if !errors.is_empty() => Err(errors),
        [document] if document.form() == Some(PROCEDURE) => {
            let procedure = Procedure::of(document, text);
            too_long(document, &procedure).map_or(Ok(procedure), |fault| Err(vec![fault]))
        }
        documents => Err(vec![not_one_procedure(documents, Place { source, span: Span::default() })]),
    };
    read.map_err(|diagnostics| Refusal { diagnostics, sources })
}

fn not_one_procedure(documents: &[Document<'_>], whole: Place) -> Diagnostic {
    match documents {
        [] => Diagnostic::error(DOCUMENT_EMPTY, whole, "there is no document in this text")
            .help("begin it with the line `form: procedure/1`"),
        [document] => {
            let form = document.form().unwrap_or("unknown");
            let at = document.place(document.deepest(forms::FIELD));
            Diagnostic::error(
                NO_PROCEDURE,
                at,
                format!("a sheet is written for a procedure, and this is a document of the form `{form}`"),
            )
            .help("name the file of the procedure, which begins with `form: procedure/1`")
        }
        [_, second, ..] => {
            let message = format!(
                "a sheet is written for one procedure, and {} documents stand in this text",
                documents.len()
            );
            Diagnostic::error(NO_PROCEDURE, second.place(second.root()), message)
                .help("put each procedure into a file of its own")
        }
    }
}

fn too_long(document: &Document<'_>, procedure: &Procedure) -> Option<Diagnostic> {
    let long = |at: Place, what: &str| {
        let message =
            format!("the sheet would have more than {MOST_ENTRIES} {what}, each with room to be filled in");
        Diagnostic::error(SHEET_TOO_LONG, at, message)
            .help("correct the figure, or divide the work into several procedures")
    };
    let mut lists = document.entries(document.root()).iter();
    let list = lists.find(|entry| document.items(entry.value).len() as u64 > MOST_ENTRIES);
    if let Some(list) = list {
        return Some(long(document.place(list.value), &list.key));
    }
    let mut total: u64 = 0;
    let number = procedure.fastenings.iter().position(|joint| {
        total = total.saturating_add(joint.count);
        total > MOST_ENTRIES
    })?;
    Some(long(Procedure::count_of(document, number)?.place(), FASTENINGS))
}
