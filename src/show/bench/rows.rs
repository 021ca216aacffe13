//! The plan laid over the record: what the page shows, field by field. Each row has a name that goes by the names of the
//! entries on the way, so that it means the same screw after somebody has put another entry above it.

use crate::document::{DocPath, Document, Field, NodeId, NodeKind, Record, Shape};
use crate::sheet::{Asked, Entry, Leaf, Slot, is_of_groups, scalar};
use crate::trade::names::NAMES;
use crate::trade::work::NOT_FILLED_IN;

/// A part of the page.
#[derive(Clone, Debug)]
pub enum Part<'f> {
    /// A single value, or a list of single values.
    Value(Row<'f>),
    /// A group of fields.
    Group(GroupPart<'f>),
    /// A list of groups.
    List {
        /// Its field.
        field: &'f Field,
        /// Its name on the page.
        id: String,
        /// Its path.
        path: DocPath,
        /// What is to be said at its head.
        head: Option<String>,
        /// Its entries.
        entries: Vec<EntryPart<'f>>,
    },
}

impl<'f> Part<'f> {
    /// Its field in the form.
    #[must_use]
    pub fn field(&self) -> &'f Field {
        match self {
            Part::Value(row) => row.field,
            Part::Group(group) => group.field,
            Part::List { field, .. } => field,
        }
    }

    /// Its name on the page.
    #[must_use]
    pub fn id(&self) -> &str {
        match self {
            Part::Value(row) => &row.id,
            Part::Group(group) => &group.id,
            Part::List { id, .. } => id,
        }
    }
}

/// A group of fields.
#[derive(Clone, Debug)]
pub struct GroupPart<'f> {
    /// Its field.
    pub field: &'f Field,
    /// Its name on the page.
    pub id: String,
    /// Its path.
    pub path: DocPath,
    /// Whether the record has it, be it with nothing filled in.
    pub is_there: bool,
    /// Its fields.
    pub parts: Vec<Part<'f>>,
}

/// An entry of a list.
#[derive(Clone, Debug)]
pub struct EntryPart<'f> {
    /// Its name on the page.
    pub id: String,
    /// Its path; of one that is not recorded yet, the one that it will have.
    pub path: DocPath,
    /// Whether the record has it.
    pub is_there: bool,
    /// The entry that has to be written first: its path, and what the procedure settles of it.
    pub first: Option<(DocPath, String)>,
    /// What people call it.
    pub title: String,
    /// The number of the entry of the procedure of which it is one of several alike.
    pub series: Option<usize>,
    /// The rule that asks for it, where the procedure does not speak of it.
    pub asked_by: Option<String>,
    /// Its fields.
    pub parts: Vec<Part<'f>>,
}

/// A field to be filled in.
#[derive(Clone, Debug)]
pub struct Row<'f> {
    /// Its name on the page.
    pub id: String,
    /// Its field in the form.
    pub field: &'f Field,
    /// The group of the form that it is in.
    pub form: &'f Record,
    /// Its path; of one in an entry that is not recorded yet, the one that it will have.
    pub path: DocPath,
    /// The entry that has to be written first: its path, and what the procedure settles of it.
    pub first: Option<(DocPath, String)>,
    /// What is recorded, as it is written.
    pub recorded: Option<String>,
    /// What the procedure settles.
    pub settled: Option<String>,
    /// What is asked of it.
    pub asked: Asked,
    /// What is planned as a value.
    pub planned: Option<String>,
}

impl Row<'_> {
    /// What is recorded, empty where nothing is: by this it is seen whether somebody else has changed it.
    #[must_use]
    pub fn base(&self) -> &str {
        self.recorded.as_deref().unwrap_or_default()
    }

    /// Whether there is nothing to fill in: the record has what the procedure settles, or will with the first value of the entry.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        let comes_with_entry = self.recorded.is_none() && self.first.is_some();
        self.settled.is_some() && (self.settled == self.recorded || comes_with_entry)
    }
}

/// The parts of a whole record.
#[must_use]
pub fn parts<'f>(slots: &[Slot], form: &'f Record, document: &Document<'_>) -> Vec<Part<'f>> {
    let place = Place { node: Some(document.root()), path: DocPath::root(), id: String::new(), first: None };
    Layout { document }.parts(slots, form, &place)
}

/// How a new entry of a list is named.
pub const NEW: &str = "[+]";

/// So many fields a new entry shows.
const MOST_OF_NEW: usize = 14;

/// Adds the field of this name, with the groups on the way to it, where the page does not have it: one that a note asks for, or
/// that somebody wants to fill in. A name that no form has adds nothing.
pub fn extend<'f>(parts: &mut Vec<Part<'f>>, form: &'f Record, document: &Document<'_>, id: &str) {
    let place = Place { node: Some(document.root()), path: DocPath::root(), id: String::new(), first: None };
    Layout { document }.extend(parts, form, place, id);
}

/// What a document has recorded at a path, as it is written.
#[must_use]
pub fn recorded_at(document: &Document<'_>, path: &DocPath) -> Option<String> {
    Layout { document }.recorded(document.find(&path.to_string())?)
}

/// Whether the last entry of a list holds nothing but what is to be written into a field of a new one.
#[must_use]
pub fn is_said_by_last(document: &Document<'_>, row: &Row<'_>, value: &str) -> bool {
    let is_new = row.id.contains(NEW) && !value.is_empty();
    let list = row.first.as_ref().filter(|_| is_new).map(|(entry, _)| entry.list());
    let last = list.and_then(|list| document.items(document.find(&list.to_string())?).last().copied());
    let entries = last.map(|last| document.entries(last)).unwrap_or_default();
    let [only] = entries else { return false };
    let written = Layout { document }.recorded(only.value).map(|text| scalar(&text));
    *only.key == *row.field.name && written.is_some_and(|text| text == value)
}

/// Every row, those within groups and entries too.
pub fn each<'p, 'f>(parts: &'p [Part<'f>], take: &mut dyn FnMut(&'p Row<'f>)) {
    for part in parts {
        match part {
            Part::Value(row) => take(row),
            Part::Group(group) => each(&group.parts, take),
            Part::List { entries, .. } => entries.iter().for_each(|entry| each(&entry.parts, take)),
        }
    }
}

/// The row of this name.
#[must_use]
pub fn find<'p, 'f>(parts: &'p [Part<'f>], id: &str) -> Option<&'p Row<'f>> {
    let mut found = None;
    each(parts, &mut |row| {
        if row.id == id {
            found = Some(row);
        }
    });
    found
}

/// A group or an entry of a list, with all that is in it.
#[derive(Clone, Copy, Debug)]
pub struct Whole<'p, 'f> {
    /// Its path.
    pub path: &'p DocPath,
    /// Its fields.
    pub parts: &'p [Part<'f>],
}

/// The group or the entry of this name, where the record has it.
#[must_use]
pub fn whole<'p, 'f>(parts: &'p [Part<'f>], id: &str) -> Option<Whole<'p, 'f>> {
    parts.iter().find_map(|part| match part {
        Part::Value(_) => None,
        Part::Group(group) if group.id == id => {
            group.is_there.then_some(Whole { path: &group.path, parts: &group.parts })
        }
        Part::Group(group) => whole(&group.parts, id),
        Part::List { entries, .. } => entries.iter().find_map(|entry| match entry.id == id {
            true => entry.is_there.then_some(Whole { path: &entry.path, parts: &entry.parts }),
            false => whole(&entry.parts, id),
        }),
    })
}

/// Where a group is.
struct Place {
    node: Option<NodeId>,
    path: DocPath,
    id: String,
    first: Option<(DocPath, String)>,
}

struct Layout<'l> {
    document: &'l Document<'l>,
}

impl Layout<'_> {
    fn parts<'f>(&self, slots: &[Slot], form: &'f Record, place: &Place) -> Vec<Part<'f>> {
        let part = |slot: &Slot| {
            let field = form.fields.get(slot.field)?;
            let node = place.node.and_then(|node| self.document.get(node, &field.name));
            let id = if place.id.is_empty() {
                field.name.to_string()
            } else {
                format!("{}.{}", place.id, field.name)
            };
            if NOT_FILLED_IN.contains(&id.as_str()) {
                return None;
            }
            let below =
                Place { node, path: place.path.clone().key(&field.name), id, first: place.first.clone() };
            Some(self.part(&slot.leaf, field, form, below))
        };
        slots.iter().filter_map(part).collect()
    }

    fn extend<'f>(&self, parts: &mut Vec<Part<'f>>, form: &'f Record, place: Place, id: &str) {
        let rest = id.strip_prefix(place.id.as_str()).unwrap_or_default();
        let rest = rest.strip_prefix('.').unwrap_or(rest);
        let name = rest.split(['.', '[']).next().unwrap_or_default();
        let Some((_, field)) = form.field(name) else { return };
        let own = if place.id.is_empty() { name.to_owned() } else { format!("{}.{name}", place.id) };
        if NOT_FILLED_IN.contains(&own.as_str()) {
            return;
        }
        let node = place.node.and_then(|node| self.document.get(node, name));
        let below =
            Place { node, path: place.path.clone().key(name), id: own.clone(), first: place.first.clone() };
        let known = parts.iter().position(|part| part.field().name == field.name);
        let at = known.unwrap_or_else(|| {
            let leaf = match &field.shape {
                Shape::Record(_) => Leaf::Group(Vec::new()),
                Shape::List(shape) if is_of_groups(shape) => Leaf::List(Vec::new(), None),
                _ => Leaf::Value { settled: None, asked: Asked::default(), planned: None },
            };
            let below = Place { path: below.path.clone(), id: own.clone(), first: below.first.clone(), node };
            parts.push(self.part(&leaf, field, form, below));
            parts.len() - 1
        });
        match (parts.get_mut(at), &field.shape) {
            (Some(Part::Group(group)), Shape::Record(inner)) => {
                self.extend(&mut group.parts, inner, below, id)
            }
            (Some(Part::List { entries, .. }), Shape::List(shape)) => {
                let Shape::Record(inner) = &**shape else { return };
                self.extend_list(entries, inner, below, id);
            }
            _ => {}
        }
    }

    fn extend_list<'f>(&self, entries: &mut Vec<EntryPart<'f>>, form: &'f Record, list: Place, id: &str) {
        let is_on_way = |entry: &&mut EntryPart<'f>| {
            id.strip_prefix(entry.id.as_str()).is_some_and(|rest| rest.starts_with('.'))
        };
        let items = list.node.map_or(&[][..], |list| self.document.items(list));
        if let Some(entry) = entries.iter_mut().find(is_on_way) {
            let node =
                items.iter().copied().find(|node| entry.is_there && self.document.path(*node) == entry.path);
            let place =
                Place { node, path: entry.path.clone(), id: entry.id.clone(), first: entry.first.clone() };
            return self.extend(&mut entry.parts, form, place, id);
        }
        let new = format!("{}{NEW}", list.id);
        let is_wanted = id.starts_with(&new) || (id == list.id && entries.is_empty());
        if !is_wanted || entries.iter().any(|entry| entry.id == new) {
            return;
        }
        let single = form.fields.iter().enumerate().filter(|(_, field)| field.shape.is_single());
        let slot = |(number, _)| Slot {
            field: number,
            leaf: Leaf::Value { settled: None, asked: Asked::default(), planned: None },
        };
        let slots: Vec<Slot> = single.take(MOST_OF_NEW).map(slot).collect();
        let path = list.path.clone().entry(items.len());
        let first = list.first.clone().or_else(|| Some((path.clone(), "{}".to_owned())));
        let place = Place { node: None, path: path.clone(), id: new.clone(), first: first.clone() };
        entries.push(EntryPart {
            parts: self.parts(&slots, form, &place),
            id: new,
            path,
            is_there: false,
            first,
            title: form.title.clone(),
            series: None,
            asked_by: None,
        });
    }

    fn part<'f>(&self, leaf: &Leaf, field: &'f Field, form: &'f Record, place: Place) -> Part<'f> {
        match (leaf, &field.shape) {
            (Leaf::Group(slots), Shape::Record(inner)) => {
                let parts = self.parts(slots, inner, &place);
                let is_there = place.node.is_some();
                Part::Group(GroupPart { field, id: place.id, path: place.path, is_there, parts })
            }
            (Leaf::List(entries, head), Shape::List(shape)) => {
                let Shape::Record(inner) = &**shape else { return self.row(leaf, field, form, place) };
                let entries = self.entries(entries, inner, &place);
                Part::List { field, id: place.id, path: place.path, head: head.clone(), entries }
            }
            _ => self.row(leaf, field, form, place),
        }
    }

    fn row<'f>(&self, leaf: &Leaf, field: &'f Field, form: &'f Record, place: Place) -> Part<'f> {
        let (settled, asked, planned) = match leaf {
            Leaf::Value { settled, asked, planned } => (settled.clone(), asked.clone(), planned.clone()),
            Leaf::Group(_) | Leaf::List(..) => (None, Asked::default(), None),
        };
        let recorded = place.node.and_then(|node| self.recorded(node));
        let Place { path, id, first, .. } = place;
        Part::Value(Row { id, field, form, path, first, recorded, settled, asked, planned })
    }

    /// What is recorded, as it is written; of a list of single values, with commas between them.
    fn recorded(&self, node: NodeId) -> Option<String> {
        let is_list = matches!(self.document.node(node).kind, NodeKind::List(_));
        match self.document.in_a_line(node) {
            Some(text) if is_list && text.is_empty() => Some(super::entry::NONE.to_owned()),
            said => said,
        }
    }

    fn entries<'f>(&self, entries: &[Entry], form: &'f Record, place: &Place) -> Vec<EntryPart<'f>> {
        let items = place.node.map_or(&[][..], |list| self.document.items(list));
        let mut seen: Vec<String> = Vec::new();
        let mut parts = Vec::with_capacity(entries.len());
        for entry in entries {
            let node = entry.at.and_then(|at| items.get(at).copied());
            let name = self.name(entry, form, node).unwrap_or_default();
            let twice = seen.iter().filter(|known| **known == name).count();
            seen.push(name.clone());
            let number = if twice == 0 { String::new() } else { format!("#{}", twice + 1) };
            let id = format!("{}[{name}{number}]", place.id);
            let path = place.path.clone().entry(entry.at.unwrap_or(items.len()));
            let new = || Some((path.clone(), format!("{{{}}}", settled(&entry.slots, form))));
            let first = place.first.clone().or_else(|| if node.is_none() { new() } else { None });
            let below = Place { node, path: path.clone(), id: id.clone(), first: first.clone() };
            parts.push(EntryPart {
                first,
                parts: self.parts(&entry.slots, form, &below),
                id,
                path,
                is_there: node.is_some(),
                title: if name.is_empty() { format!("{} {}", form.title, seen.len()) } else { name },
                series: entry.series,
                asked_by: entry.asked_by.clone(),
            });
        }
        parts
    }

    /// The name of an entry: of its fields those by which people know it.
    fn name(&self, entry: &Entry, form: &Record, node: Option<NodeId>) -> Option<String> {
        let settled = |name: &str| {
            let (number, _) = form.field(name)?;
            let slot = entry.slots.iter().find(|slot| slot.field == usize::from(number))?;
            if let Leaf::Value { settled, .. } = &slot.leaf { settled.clone() } else { None }
        };
        let text = |name: &&str| {
            let recorded = node.and_then(|node| self.recorded(self.document.get(node, name)?));
            recorded.or_else(|| settled(name))
        };
        let rows = NAMES.iter().map(|row| row.iter().filter_map(text).collect::<Vec<_>>());
        rows.into_iter().find(|names| !names.is_empty()).map(|names| names.join(", "))
    }
}

/// What the procedure settles of an entry, as fields between braces.
fn settled(slots: &[Slot], form: &Record) -> String {
    let field = |slot: &Slot| {
        let field = form.fields.get(slot.field)?;
        let value = match (&slot.leaf, &field.shape) {
            (Leaf::Value { settled: Some(text), .. }, Shape::Count | Shape::Number | Shape::Truth) => {
                text.clone()
            }
            (Leaf::Value { settled: Some(text), .. }, _) => scalar(text),
            (Leaf::Value { .. }, _) => return None,
            (Leaf::Group(slots), Shape::Record(form)) => match settled(slots, form) {
                inner if inner.is_empty() => return None,
                inner => format!("{{{inner}}}"),
            },
            (Leaf::List(entries, _), Shape::List(shape)) => {
                let Shape::Record(form) = &**shape else { return None };
                let entries = entries.iter().map(|entry| format!("{{{}}}", settled(&entry.slots, form)));
                format!("[{}]", entries.collect::<Vec<_>>().join(", "))
            }
            _ => return None,
        };
        Some(format!("{}: {value}", field.name))
    };
    slots.iter().filter_map(field).collect::<Vec<_>>().join(", ")
}
