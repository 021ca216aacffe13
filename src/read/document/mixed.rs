//! Entries of several lists, gone through as those of one: the record that has the fields of all of them.

use std::sync::Arc;

use super::link::{Link, Target};
use super::shape::{Field, Judged, Record};

/// One of the lists, or a single group of fields that counts as one entry.
#[derive(Clone, Debug, PartialEq)]
pub struct EntriesAt {
    /// Its path from the root of the document, as a rule writes it.
    pub path: Arc<str>,
    /// Whether it is a list.
    pub is_list: bool,
    /// What is declared of its entries.
    pub record: Arc<Record>,
}

/// What a name stands for in an entry.
#[derive(Clone, Copy, Debug)]
pub enum Member<'r> {
    /// A field.
    Field(&'r Field),
    /// A link.
    Link(&'r Link),
}

impl Member<'_> {
    /// Whether it can be asked for without regard to the list in which an entry is. The neighbour of an entry is one
    /// of its own list.
    fn agrees(self, other: Member<'_>) -> bool {
        match (self, other) {
            (Member::Field(one), Member::Field(other)) => {
                one.shape == other.shape && one.measured == other.measured
            }
            (Member::Link(one), Member::Link(other)) => {
                one.to == other.to && one.by == other.by && one.to != Target::EntryBefore
            }
            _ => false,
        }
    }
}

impl Record {
    /// The field or the link of this name.
    #[must_use]
    pub fn member(&self, name: &str) -> Option<Member<'_>> {
        let link = || self.link(name).map(|(_, link)| Member::Link(link));
        self.field(name).map(|(_, field)| Member::Field(field)).or_else(link)
    }

    /// Whether its entries are those of several lists.
    #[must_use]
    pub fn is_mixed(&self) -> bool {
        !self.lists.is_empty()
    }

    /// The record of the entries of several lists: with each field and link that is the same in all that have it.
    #[must_use]
    pub fn mixed(lists: Vec<EntriesAt>) -> Record {
        let titles: Vec<&str> = lists.iter().map(|list| list.record.title.as_str()).collect();
        let title = match titles.split_last() {
            Some((last, others)) if !others.is_empty() => format!("{} or {last}", others.join(", ")),
            _ => titles.concat(),
        };
        let mut mixed = Record {
            title,
            fields: Vec::new(),
            links: Vec::new(),
            when: None,
            shorthand: None,
            touched: None,
            open: false,
            lists,
            others: None,
        };
        let records: Vec<Arc<Record>> = mixed.lists.iter().map(|list| Arc::clone(&list.record)).collect();
        for record in &records {
            for field in &record.fields {
                if mixed.field(&field.name).is_none() && mixed.clash(&field.name).is_none() {
                    let others = records.iter().filter_map(|record| record.field(&field.name));
                    let judged = others.fold(None, |so_far, (_, other)| stricter(so_far, other.judged));
                    mixed.fields.push(Field { judged, required: false, ..field.clone() });
                }
            }
            for link in &record.links {
                let is_own = link.to == Target::EntryBefore;
                if !is_own && mixed.link(&link.name).is_none() && mixed.clash(&link.name).is_none() {
                    mixed.links.push(link.clone());
                }
            }
        }
        mixed
    }

    /// The first two of its lists in which a name stands for different things.
    #[must_use]
    pub fn clash(&self, name: &str) -> Option<[&EntriesAt; 2]> {
        let mut having = self.lists.iter().filter_map(|list| Some((list, list.record.member(name)?)));
        let (first, member) = having.next()?;
        having.find(|(_, other)| !member.agrees(*other)).map(|(other, _)| [first, other])
    }

    /// That one of its lists to which the path of an entry leads.
    #[must_use]
    pub fn list_of(&self, entry: &str) -> Option<&EntriesAt> {
        self.lists.iter().find(|list| match entry.strip_prefix(&*list.path) {
            Some(number) if list.is_list => number.starts_with('['),
            number => number == Some(""),
        })
    }

    /// Whether the entries of one of its lists have no field or link of this name. `entry` is the path of one of them.
    #[must_use]
    pub fn lacks(&self, entry: &str, name: &str) -> bool {
        self.list_of(entry).is_some_and(|list| list.record.member(name).is_none())
    }

    /// Those of its lists whose entries have this field or link.
    pub fn lists_with(&self, name: &str) -> impl Iterator<Item = &EntriesAt> {
        self.lists.iter().filter(move |list| list.record.member(name).is_some())
    }
}

/// Of what a field asks for in several lists, what is enough in all of them.
fn stricter(one: Option<Judged>, other: Option<Judged>) -> Option<Judged> {
    match (one, other) {
        (Some(Judged::Value), _) | (_, Some(Judged::Value)) => Some(Judged::Value),
        (one, other) => one.or(other),
    }
}
