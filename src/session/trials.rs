//! The records of trials: written out, or made from one that trials share.

use std::sync::Arc;

use super::Session;
use crate::code::TRIAL_RECORD;
use crate::diagnostic::{Diagnostic, Level};
use crate::document::changed::{Unplaced, put, take_out};
use crate::document::{self, Form};
use crate::language::typed::{Base, Change, Start};
use crate::source::{Place, SourceId};

impl Session {
    /// What is wrong with the records that trials share.
    pub(super) fn wrong_bases(&self) -> Vec<Diagnostic> {
        let bases = self.program().bases().all().iter();
        bases
            .flat_map(|base| self.form_of(base).map_or_else(Vec::new, |form| self.wrong_base(base, form)))
            .collect()
    }

    fn form_of(&self, base: &Base) -> Option<&Arc<Form>> {
        self.forms().get(&base.form)
    }

    fn wrong_base(&self, base: &Base, form: &Form) -> Vec<Diagnostic> {
        if let Start::Own(place) = base.record {
            let text = self.sources().text_at(place);
            return document::read_partial(place.source, text, place.span.start, form, self.forms()).1;
        }
        let begun = self.text_of(&base.record, form);
        begun.and_then(|text| self.changed_by(text, &base.changes, form).err()).into_iter().collect()
    }

    /// The text that a record begins with; nothing where it has a mistake, which is reported with it.
    fn text_of(&self, start: &Start, form: &Form) -> Option<String> {
        match start {
            Start::Own(place) => {
                let text = self.sources().text_at(*place);
                self.mistake_in(place.source, text, form).is_none().then(|| text.to_owned())
            }
            Start::From(id) => {
                let base = &self.program().bases()[*id];
                self.changed_by(self.text_of(&base.record, form)?, &base.changes, form).ok()
            }
            Start::Mistaken => None,
        }
    }

    /// The text of a record that begins with another one.
    ///
    /// # Errors
    /// The first change that cannot be made, or after which the record has a mistake; none where that is reported
    /// with the other record.
    pub(super) fn begun(
        &self,
        start: &Start,
        changes: &[Change],
        form: &Form,
    ) -> Result<String, Option<Diagnostic>> {
        let text = self.text_of(start, form).ok_or(None)?;
        self.changed_by(text, changes, form).map_err(Some)
    }

    fn changed_by(&self, text: String, changes: &[Change], form: &Form) -> Result<String, Diagnostic> {
        changes.iter().try_fold(text, |text, change| {
            let source = change.place.source;
            let (read, _) = document::read_partial(source, &text, 0, form, self.forms());
            let new = match (read.as_slice(), &change.to) {
                ([record], Some(value)) => put(record, &text, &change.path, value),
                ([record], None) => take_out(record, &text, &change.path),
                _ => Err(Unplaced::Nothing),
            };
            let new = new.map_err(|unplaced| refused(change, &unplaced))?;
            match self.mistake_in(source, &new, form) {
                Some(mistake) => Err(at_change(change, mistake)),
                None => Ok(new),
            }
        })
    }

    /// The first mistake in a record.
    fn mistake_in(&self, source: SourceId, text: &str, form: &Form) -> Option<Diagnostic> {
        let (_, found) = document::read_partial(source, text, 0, form, self.forms());
        found.into_iter().find(|found| found.level == Level::Error)
    }
}

/// A mistake in a record, at the change that made it.
fn at_change(change: &Change, mistake: Diagnostic) -> Diagnostic {
    let diagnostic = Diagnostic::error(mistake.code, change.place, mistake.message);
    match mistake.help {
        Some(help) => diagnostic.help(help),
        None => diagnostic,
    }
}

fn refused(change: &Change, unplaced: &Unplaced) -> Diagnostic {
    let path = &change.path;
    let error = |message: String| Diagnostic::error(TRIAL_RECORD, change.place, message);
    match unplaced {
        Unplaced::Nothing => error(format!("nothing is recorded at `{path}`, so it cannot be left out")),
        Unplaced::PastTheEnd(list, 0) => error(format!("`{list}` has no entries in this record"))
            .help(format!("the first one is `{}`", list.clone().entry(0))),
        Unplaced::PastTheEnd(list, entries) => {
            let word = if *entries == 1 { "entry" } else { "entries" };
            error(format!("`{list}` has {entries} {word} in this record"))
                .help(format!("the next one is `{}`; they count from 0", list.clone().entry(*entries)))
        }
        Unplaced::Single(value) => error(format!("`{value}` is a single value in this record")),
        Unplaced::List(list) => error(format!("`{list}` is a list in this record"))
            .help(format!("say which entry, from 0: `{}`", list.clone().entry(0))),
        Unplaced::Group(group) => {
            error(format!("`{group}` is a group of fields in this record, and no list"))
        }
    }
}

/// The place of a record that is written out.
pub(super) fn own(start: &Start) -> Option<Place> {
    match start {
        Start::Own(place) => Some(*place),
        Start::From(_) | Start::Mistaken => None,
    }
}
