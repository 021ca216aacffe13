//! A field of a document: a name of the form, and what is recorded under it.

use crate::document::{DocPath, Document, NodeId};
use crate::edition::Edition;
use crate::source::Place;
use crate::value::{Moment, Value};

/// A field that a form has, whether it is recorded or not.
///
/// ```
/// use witnessmark_read::document::{self, Forms};
/// use witnessmark_read::source::SourceId;
/// use witnessmark_read::trade::Job;
///
/// let text = "form: job/1\njob: { number: K-1, opened: 2026-03-02T08:10, state: in work }\nvehicle: {}\nunit: { kind: engine }";
/// let (documents, _) = document::read(SourceId::FIRST, text, &Forms::builtin());
/// let job = Job::of(&documents[0]);
/// assert_eq!(job.number().text(), Some("K-1"));
/// assert_eq!(job.plate().text(), None);
/// assert!(job.is_in_work());
/// ```
#[derive(Clone, Copy, Debug)]
pub struct Field<'d> {
    document: &'d Document<'d>,
    from: NodeId,
    path: &'static str,
}

impl<'d> Field<'d> {
    /// The field of this name, or at this path, of a group.
    pub(super) fn of(document: &'d Document<'_>, from: NodeId, path: &'static str) -> Field<'d> {
        Field { document, from, path }
    }

    /// The same of the whole document.
    pub(super) fn at(document: &'d Document<'_>, path: &'static str) -> Field<'d> {
        Field { document, from: document.root(), path }
    }

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.path.rsplit_once('.').map_or(self.path, |(_, name)| name)
    }

    /// Its path from the group that it belongs to.
    #[must_use]
    pub fn path(self) -> DocPath {
        self.path.split('.').fold(DocPath::root(), |path, name| path.key(name))
    }

    /// As far as the document has a way to the field: the last node on it, and whether that is the field.
    fn follow(self) -> (NodeId, bool) {
        let mut at = self.from;
        for name in self.path.split('.') {
            match self.document.get(at, name) {
                Some(next) => at = next,
                None => return (at, false),
            }
        }
        (at, true)
    }

    /// Its value, also one that is left blank.
    #[must_use]
    pub fn node(self) -> Option<NodeId> {
        let (node, is_there) = self.follow();
        is_there.then_some(node)
    }

    /// Its value, if something is recorded.
    #[must_use]
    pub fn recorded(self) -> Option<NodeId> {
        self.node().filter(|node| !self.document.is_empty(*node))
    }

    /// Where it is, or would be.
    #[must_use]
    pub fn place(self) -> Place {
        self.document.place(self.follow().0)
    }

    /// What is recorded for it and cannot be read, under its name or a misspelt one.
    #[must_use]
    pub fn unread(self) -> Option<NodeId> {
        let group = match self.path.rsplit_once('.') {
            Some((group, _)) => Field { path: group, ..self }.node()?,
            None => self.from,
        };
        self.document.unread(group, self.name())
    }

    /// Its value as the form reads it; none where it is not recorded or wrong.
    #[must_use]
    pub fn value(self) -> Option<&'d Value<'d>> {
        self.document.value(self.node()?)
    }

    /// Its text, without blanks around it.
    #[must_use]
    pub fn text(self) -> Option<&'d str> {
        self.document.text(self.node()?)
    }

    /// Its value as it is written, to be shown.
    #[must_use]
    pub fn raw(self) -> Option<&'d str> {
        self.document.raw(self.node()?).map(str::trim)
    }

    /// The time that it states.
    #[must_use]
    pub fn moment(self) -> Option<&'d Moment> {
        match self.value()? {
            Value::Moment(moment) => Some(moment),
            _ => None,
        }
    }

    /// The edition that it states; none where nothing is recorded.
    #[must_use]
    pub fn edition(self) -> Option<Stated> {
        let node = self.recorded()?;
        Some(self.document.value(node).and_then(Edition::of).map_or(Stated::Unreadable, Stated::Edition))
    }

    /// The entries of its list; none where it is no list.
    #[must_use]
    pub fn entries(self) -> &'d [NodeId] {
        self.node().map_or(&[], |list| self.document.items(list))
    }
}

/// The edition that a document states.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stated {
    /// An edition.
    Edition(Edition),
    /// It is no edition, which is reported with the document.
    Unreadable,
}
