//! What a record has already, laid over what a procedure prescribes for it.

use super::blank::{Draft, Group, Plan};
use super::names::{NAMES, ROLE};
use crate::document::{Document, NodeId, NodeKind};

impl Group {
    /// The same group with what a document records besides: its other fields and entries, each entry with its number. What
    /// the procedure plans stays planned.
    #[must_use]
    pub fn with_record(mut self, document: &Document<'_>) -> Group {
        self.join(document, document.root());
        self
    }

    fn join(&mut self, document: &Document<'_>, node: NodeId) {
        for entry in document.entries(node) {
            let found = self.fields.iter_mut().find(|(name, _)| *name == entry.key);
            match (found.map(|(_, draft)| draft), &document.node(entry.value).kind) {
                (None, _) => {
                    let draft = recorded(document, entry.value);
                    self.fields.push((entry.key.to_string(), draft));
                }
                (Some(Draft::Group(group)), NodeKind::Map(_)) => group.join(document, entry.value),
                (Some(Draft::List(entries, _)), NodeKind::List(_)) => {
                    join_list(entries, document, entry.value);
                }
                (Some(_), _) => {}
            }
        }
    }

    /// Whether an entry of a record is one of the several alike of which this is one: a procedure says how many screws there are,
    /// and the record what each is called.
    fn is_alike(&self, document: &Document<'_>, entry: NodeId) -> bool {
        let role = document.get(entry, ROLE).and_then(|node| document.text(node));
        self.series.is_some() && role.is_some() && self.stated(ROLE) == role
    }

    /// Takes what the entry is called from the record.
    fn called_as(&mut self, document: &Document<'_>, entry: NodeId) {
        let names = NAMES.iter().find(|row| row.contains(&ROLE)).copied().unwrap_or_default();
        for (name, draft) in self.fields.iter_mut().filter(|(name, _)| names.contains(&name.as_str())) {
            let text = document.get(entry, name).and_then(|node| document.text(node));
            if let (Draft::Stated(stated), Some(text)) = (&*draft, text)
                && stated != text
            {
                *draft = Draft::Recorded(text.to_owned());
            }
        }
    }

    /// Whether an entry of a record is this one: by all that is settled of its name.
    fn is_that(&self, document: &Document<'_>, entry: NodeId) -> bool {
        let named = NAMES.iter().find(|row| row.iter().any(|name| self.stated(name).is_some()));
        let text = |name: &str| {
            let node = document.get(entry, name)?;
            document.text(node).or_else(|| document.raw(node).map(str::trim))
        };
        named.is_some_and(|row| {
            row.iter().all(|name| self.stated(name).is_none_or(|stated| text(name) == Some(stated)))
        })
    }
}

fn join_list(entries: &mut Vec<Draft>, document: &Document<'_>, list: NodeId) {
    let mut others = Vec::new();
    for (number, item) in document.items(list).iter().enumerate() {
        match free(entries, |group| group.is_that(document, *item)) {
            Some(group) => {
                group.at = Some(number);
                group.join(document, *item);
            }
            None => others.push((number, *item)),
        }
    }
    // What is only recorded is no other entry's.
    let mut more = Vec::new();
    for (number, item) in others {
        match free(entries, |group| group.is_alike(document, item)) {
            Some(group) => {
                group.at = Some(number);
                group.called_as(document, item);
                group.join(document, item);
            }
            None => more.push(entry(document, item, number)),
        }
    }
    entries.extend(more);
}

/// The first planned entry that fits and of which nothing is recorded yet.
fn free(entries: &mut [Draft], fits: impl Fn(&Group) -> bool) -> Option<&mut Group> {
    entries.iter_mut().find_map(|entry| match entry {
        Draft::Group(group) if group.at.is_none() && fits(group) => Some(group),
        _ => None,
    })
}

fn entry(document: &Document<'_>, node: NodeId, number: usize) -> Draft {
    match recorded(document, node) {
        Draft::Group(group) => Draft::Group(Group { at: Some(number), ..group }),
        other => other,
    }
}

/// A value of which a procedure says nothing.
fn recorded(document: &Document<'_>, node: NodeId) -> Draft {
    match &document.node(node).kind {
        NodeKind::Map(_) if document.is_written_alone(node) => Draft::Blank(Plan::Open),
        NodeKind::Map(_) => {
            let mut group = Group::default();
            group.join(document, node);
            Draft::Group(group)
        }
        NodeKind::List(_) => {
            let items = document.items(node).iter().enumerate();
            let entries: Vec<Draft> = items.map(|(number, item)| entry(document, *item, number)).collect();
            let is_of_groups = entries.iter().all(|entry| matches!(entry, Draft::Group(_)));
            // A list of single values is filled in as one.
            if is_of_groups && !entries.is_empty() {
                Draft::List(entries, None)
            } else {
                Draft::Blank(Plan::Open)
            }
        }
        _ => match document.text(node) {
            Some(text) => Draft::Recorded(text.to_owned()),
            None => Draft::Blank(Plan::Open),
        },
    }
}
