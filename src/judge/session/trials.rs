//! The records of trials: written out, or made from one that trials share.

use std::collections::HashMap;
use std::sync::Arc;

use super::Session;
use crate::code::{TOO_MUCH_WORK, TRIAL_RECORD};
use crate::diagnostic::{Diagnostic, Level};
use crate::document::changed::{Unplaced, put, take_out};
use crate::document::{self, Form};
use crate::language::ids::BaseId;
use crate::language::typed::{Base, Change, Start, Trial};
use crate::source::{Place, SourceId};

/// How many bytes of records are read to make those of trials: many times what the trials of a whole workshop need.
const MOST_READ: usize = 64 << 20;

/// The records that trials share, each made once, and how much may still be read to make those of trials.
pub(super) struct SharedRecords<'s> {
    session: &'s Session,
    /// Nothing where a record has a mistake, which is reported with it.
    made: HashMap<BaseId, Option<Arc<str>>>,
    left: usize,
}

impl<'s> SharedRecords<'s> {
    /// Makes them, and says what is wrong with them.
    pub(super) fn of(session: &'s Session) -> (SharedRecords<'s>, Vec<Diagnostic>) {
        let mut records = SharedRecords { session, made: HashMap::new(), left: MOST_READ };
        let mut wrong = Vec::new();
        for (id, _) in session.program().bases().iter() {
            records.make(id, &mut wrong);
        }
        (records, wrong)
    }

    /// Makes a record, and those with which it begins; the checker has refused circles and long chains.
    fn make(&mut self, id: BaseId, wrong: &mut Vec<Diagnostic>) -> Option<Arc<str>> {
        if let Some(made) = self.made.get(&id) {
            return made.clone();
        }
        let base = &self.session.program().bases()[id];
        let text = self.session.forms().get(&base.form).and_then(|form| self.text_of(base, form, wrong));
        self.made.insert(id, text.clone());
        text
    }

    fn text_of(&mut self, base: &'s Base, form: &Form, wrong: &mut Vec<Diagnostic>) -> Option<Arc<str>> {
        let begun = match base.record {
            Start::Own(place) => {
                let text = self.session.sources().text_at(place);
                let forms = self.session.forms();
                let found = document::read_partial(place.source, text, place.span.start, form, forms).1;
                let is_good = !found.iter().any(|found| found.level == Level::Error);
                wrong.extend(found);
                Arc::from(Some(text).filter(|_| is_good)?)
            }
            Start::From(id) => self.make(id, wrong)?,
            Start::Mistaken => return None,
        };
        match self.changed_by(begun, &base.changes, form) {
            Ok(text) => Some(text),
            Err(diagnostic) => {
                wrong.push(diagnostic);
                None
            }
        }
    }

    /// The text of the record of a trial that begins with another one.
    ///
    /// # Errors
    /// The first change that cannot be made, or after which the record has a mistake; none where that is reported
    /// with the other record.
    pub(super) fn begun(
        &mut self,
        trial: &Trial,
        place: Place,
        form: &Form,
    ) -> Result<Arc<str>, Option<Diagnostic>> {
        let Start::From(id) = trial.record else { return Err(None) };
        let base = &self.session.program().bases()[id];
        if base.form != form.name() {
            let (name, own) = (&base.name, &base.form);
            let message =
                format!("`{name}` is a part of a `{own}`, and this standard judges `{}`", form.name());
            return Err(Some(Diagnostic::error(TRIAL_RECORD, place, message)));
        }
        let text = self.make(id, &mut Vec::new()).ok_or(None)?;
        self.spend(&text, place).map_err(Some)?;
        self.changed_by(text, &trial.changes, form).map_err(Some)
    }

    fn changed_by(
        &mut self,
        mut text: Arc<str>,
        changes: &[Change],
        form: &Form,
    ) -> Result<Arc<str>, Diagnostic> {
        for change in changes {
            self.spend(&text, change.place)?;
            let source = change.place.source;
            let (read, _) = document::read_partial(source, &text, 0, form, self.session.forms());
            let new = match (read.as_slice(), &change.to) {
                ([record], Some(value)) => put(record, &text, &change.path, value),
                ([record], None) => take_out(record, &text, &change.path),
                _ => Err(Unplaced::Nothing),
            };
            let new = new.map_err(|unplaced| refused(change, &unplaced))?;
            if let Some(mistake) = self.mistake_in(source, &new, form) {
                return Err(at_change(change, mistake));
            }
            text = Arc::from(new);
        }
        Ok(text)
    }

    /// Takes the reading of a record from what may still be read.
    fn spend(&mut self, text: &str, place: Place) -> Result<(), Diagnostic> {
        match self.left.checked_sub(text.len()) {
            Some(left) => {
                self.left = left;
                Ok(())
            }
            None => {
                let most = MOST_READ >> 20;
                let message = format!("the records of the trials up to here come to more than {most} MiB");
                Err(Diagnostic::error(TOO_MUCH_WORK, place, message).help("let trials share shorter records"))
            }
        }
    }

    /// The first mistake in a record.
    fn mistake_in(&self, source: SourceId, text: &str, form: &Form) -> Option<Diagnostic> {
        let (_, found) = document::read_partial(source, text, 0, form, self.session.forms());
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
