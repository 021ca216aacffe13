//! What stands around the document that is judged: its procedure, the tool register, earlier jobs.

use std::borrow::Cow;
use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

use crate::diagnostic::{did_you_mean, nearest};
use crate::document::{DocPath, Document, Earlier, Link, NodeId, NodeKind, Target};
use crate::trade::Job;

/// A node, and the number of the document that holds it among those of an [`LinkedDocuments`]. The document that
/// is judged has the number 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeRef {
    /// The number of the document.
    pub document: u16,
    /// The node in it.
    pub node: NodeId,
}

impl NodeRef {
    /// A node of the document that is judged.
    #[must_use]
    pub fn own(node: NodeId) -> NodeRef {
        NodeRef { document: 0, node }
    }

    /// Another node of the same document.
    #[must_use]
    pub fn beside(self, node: NodeId) -> NodeRef {
        NodeRef { node, ..self }
    }

    /// Whether it belongs to the document that is judged.
    #[must_use]
    pub fn is_own(self) -> bool {
        self.document == 0
    }
}

/// Why a link leads nowhere.
#[derive(Clone, Debug, PartialEq)]
pub enum UnresolvedLink {
    /// The field that says where it leads is not recorded: its path from the record of the link.
    Unnamed(DocPath),
    /// There is nothing of that name, in words.
    Absent(Arc<str>),
    /// There are several, in words.
    Several(Arc<str>),
    /// The first entry of a list has none before it.
    First,
}

/// Where a link leads or, where it leads nowhere, the nearest part of a document to look at, and why.
pub(super) type Followed = Result<NodeRef, (NodeRef, UnresolvedLink)>;

/// A document that the judged one refers to, if it was found.
pub type Linked = Result<u16, UnresolvedLink>;

/// The documents around one document.
#[derive(Debug)]
pub struct LinkedDocuments<'x> {
    documents: Vec<&'x Document<'x>>,
    procedure: Linked,
    /// The earlier jobs that links lead to.
    earlier: Vec<(Arc<Earlier>, Linked)>,
    any_procedure: Option<u16>,
    /// The number of the first register; the others follow it.
    first_register: u16,
    registers: Option<&'x Registers>,
    /// The lists of the procedure that links lead into, by the names of their entries.
    by_name: RefCell<Vec<Rc<ByName<'x>>>>,
    /// How many entries were looked at to follow links, and not counted yet.
    looked_at: Cell<u64>,
}

/// The entries of a list of the procedure by one of their fields.
#[derive(Debug)]
struct ByName<'x> {
    list: String,
    field: String,
    entries: HashMap<Cow<'x, str>, Vec<NodeId>>,
    /// In the order of the list, for near names.
    names: Vec<Cow<'x, str>>,
}

/// Comparing a name letter by letter takes as long as so many looks at an entry.
const LOOKS_OF_A_NEAR_NAME: usize = 8;

impl<'x> LinkedDocuments<'x> {
    /// A document that stands alone.
    #[must_use]
    pub fn nothing(document: &'x Document<'x>) -> Self {
        let none = |what: &str| Err(UnresolvedLink::Absent(what.into()));
        LinkedDocuments {
            documents: vec![document],
            procedure: none("there is no procedure in this run"),
            earlier: Vec::new(),
            any_procedure: None,
            first_register: 0,
            registers: None,
            by_name: RefCell::default(),
            looked_at: Cell::default(),
        }
    }

    fn add(&mut self, document: &'x Document<'x>) -> u16 {
        let number = u16::try_from(self.documents.len()).unwrap_or(u16::MAX);
        self.documents.push(document);
        number
    }

    /// The same with the procedure that the document names.
    #[must_use]
    pub fn with_procedure(mut self, procedure: Result<&'x Document<'x>, UnresolvedLink>) -> Self {
        self.procedure = procedure.map(|document| self.add(document));
        self
    }

    /// Whether the procedure that the document names is there.
    pub(super) fn has_procedure(&self) -> bool {
        self.procedure.is_ok()
    }

    /// The same with some procedure of the run, if there are any.
    #[must_use]
    pub fn with_any_procedure(mut self, procedure: Option<&'x Document<'x>>) -> Self {
        self.any_procedure = procedure.map(|document| self.add(document));
        self
    }

    /// The same with tool registers.
    #[must_use]
    pub fn with_registers(mut self, registers: &'x Registers) -> Self {
        for (number, document) in registers.documents.iter().enumerate() {
            let added = self.add(document);
            if number == 0 {
                self.first_register = added;
            }
        }
        self.registers = Some(registers);
        self
    }

    /// The same with earlier jobs on the vehicle: the documents, and which of them each link leads to.
    #[must_use]
    pub fn with_history(
        mut self,
        documents: &'x [Document<'x>],
        led_to: impl Iterator<Item = (Arc<Earlier>, Result<usize, UnresolvedLink>)>,
    ) -> Self {
        let numbers: Vec<u16> = documents.iter().map(|document| self.add(document)).collect();
        let number = |at: usize| numbers.get(at).copied().ok_or(UnresolvedLink::First);
        self.earlier = led_to.map(|(earlier, at)| (earlier, at.and_then(number))).collect();
        self
    }

    /// The earlier job that a link leads to.
    fn earlier(&self, wanted: &Earlier) -> Linked {
        let found = self.earlier.iter().find(|(earlier, _)| **earlier == *wanted);
        let none = || Err(UnresolvedLink::Absent("no earlier job of this vehicle is known".into()));
        found.map_or_else(none, |(_, linked)| linked.clone())
    }

    /// Whether a document is an earlier job.
    fn is_earlier(&self, number: u16) -> bool {
        self.earlier.iter().any(|(_, linked)| *linked == Ok(number))
    }

    /// Whether the judged document names a procedure that is not, or not once, among those that are there.
    #[must_use]
    pub(super) fn lacks_the_procedure(&self) -> bool {
        let lost = matches!(self.procedure, Err(UnresolvedLink::Absent(_) | UnresolvedLink::Several(_)));
        lost && self.any_procedure.is_some()
    }

    /// Whether there is a tool register.
    #[must_use]
    pub fn has_register(&self) -> bool {
        self.registers.is_some_and(|registers| !registers.documents().is_empty())
    }

    /// A document by its number; the judged one for a number that there is none of.
    #[must_use]
    pub fn document(&self, number: u16) -> &'x Document<'x> {
        let judged = self.documents.first().copied().unwrap_or(Document::nothing());
        self.documents.get(usize::from(number)).copied().unwrap_or(judged)
    }

    /// What a document is called beside the one that is judged: `the procedure`.
    #[must_use]
    pub fn called(&self, number: u16) -> &'static str {
        match Ok(number) {
            found if found == self.procedure => "the procedure",
            Ok(number) if self.is_earlier(number) => "the last job",
            _ => "the tool register",
        }
    }

    /// The node of the judged document that names another document, or its root.
    #[must_use]
    pub fn anchor(&self, number: u16) -> NodeRef {
        let judged = self.document(0);
        let node = match Ok(number) {
            found if found == self.procedure => Job::of(judged).procedure_group().node(),
            Ok(number) if self.is_earlier(number) => Job::of(judged).vehicle().node(),
            _ => None,
        };
        NodeRef::own(node.unwrap_or(judged.root()))
    }

    /// Follows a link from a node.
    ///
    /// # Errors
    /// Why it leads nowhere, and the nearest part of a document that is there to look at.
    pub(super) fn follow(&self, link: &Link, from: NodeRef) -> Followed {
        self.target(link, from).map_err(|lost| {
            let at = match (&link.to, &lost) {
                (Target::InProcedure(_), _) if self.procedure.is_err() => self.at_procedure(&lost),
                (Target::Procedure, _) => self.at_procedure(&lost),
                (Target::Earlier(_) | Target::Register | Target::AnyProcedure, _) => {
                    NodeRef::own(self.document(0).root())
                }
                // The name that leads nowhere is the place to look at.
                (_, UnresolvedLink::Absent(_) | UnresolvedLink::Several(_)) => self.name_of(link, from),
                (_, UnresolvedLink::Unnamed(_) | UnresolvedLink::First) => from,
            };
            (at, lost)
        })
    }

    /// Where the link to the procedure is lost: what is not recorded is missed in the document itself.
    fn at_procedure(&self, lost: &UnresolvedLink) -> NodeRef {
        let judged = self.document(0);
        let procedure = Job::of(judged).procedure_group().node();
        let named = procedure.filter(|_| !matches!(lost, UnresolvedLink::Unnamed(_)));
        NodeRef::own(named.unwrap_or(judged.root()))
    }

    /// The field that says where a link leads, from the record of the link.
    pub(crate) fn name_of(&self, link: &Link, from: NodeRef) -> NodeRef {
        let Some((key, _)) = link.by.first() else { return from };
        let document = self.document(from.document);
        let node = document.get(self.user(link, from).node, key);
        node.map_or(from, |node| from.beside(node))
    }

    /// The field of this name by which a link finds its way, from the record of the link.
    pub(super) fn key_of(&self, link: &Link, key: &str, from: NodeRef) -> Option<NodeRef> {
        let document = self.document(from.document);
        document.get(self.user(link, from).node, key).map(|node| from.beside(node))
    }

    /// The record that names a tool: that of the link or, where it has no such field, the one that holds its list.
    fn user(&self, link: &Link, from: NodeRef) -> NodeRef {
        let (Target::InRegister(_), Some((key, _))) = (&link.to, link.by.first()) else { return from };
        let document = self.document(from.document);
        let named =
            |node: &NodeId| document.get(*node, key).is_some() || document.unread(*node, key).is_some();
        let holder = document.holder(from.node).filter(named);
        if named(&from.node) { from } else { holder.map_or(from, |holder| from.beside(holder)) }
    }

    fn target(&self, link: &Link, from: NodeRef) -> Result<NodeRef, UnresolvedLink> {
        let root = |linked: &Linked| {
            let number = linked.clone()?;
            Ok(NodeRef { document: number, node: self.document(number).root() })
        };
        match &link.to {
            Target::Procedure => root(&self.procedure),
            Target::AnyProcedure => match self.any_procedure {
                Some(number) => root(&Ok(number)),
                None => Err(UnresolvedLink::Absent("there is no procedure in this run".into())),
            },
            Target::Earlier(earlier) => root(&self.earlier(earlier)),
            Target::Register if self.has_register() => root(&Ok(self.first_register)),
            Target::Register => Err(UnresolvedLink::Absent("there is no tool register in this run".into())),
            Target::EntryBefore => self.entry_before(from),
            Target::InRegister(list) => self.in_register(link, list, from),
            Target::InProcedure(list) => self.in_procedure(link, list, from),
            Target::Alongside(list) => self.alongside(link, list, from),
        }
    }

    fn alongside(&self, link: &Link, list: &str, from: NodeRef) -> Result<NodeRef, UnresolvedLink> {
        let document = self.document(from.document);
        let found = document.parent(from.node).and_then(|entries| {
            let number = document.items(entries).binary_search(&from.node).ok()?;
            Some((number, from.beside(document.parent(entries)?)))
        });
        let Some((number, holder)) = found else { return Err(UnresolvedLink::First) };
        let (way, list) = list.rsplit_once('.').unwrap_or(("", list));
        let prescribed = self.in_procedure(link, way, holder)?;
        let document = self.document(prescribed.document);
        let entries = document.get(prescribed.node, list).map_or(&[][..], |list| document.items(list));
        let entry = entries.get(number).map(|node| prescribed.beside(*node));
        entry.ok_or_else(|| {
            let (place, name) = (number + 1, list.replace('_', " "));
            UnresolvedLink::Absent(format!("the procedure has no {name} number {place} here").into())
        })
    }

    fn entry_before(&self, from: NodeRef) -> Result<NodeRef, UnresolvedLink> {
        let document = self.document(from.document);
        let entries = document.parent(from.node).map_or(&[][..], |list| document.items(list));
        // The nodes of a list are numbered in the order of the text.
        let number = entries.binary_search(&from.node).ok().and_then(|number| number.checked_sub(1));
        number
            .and_then(|number| entries.get(number))
            .map(|node| from.beside(*node))
            .ok_or(UnresolvedLink::First)
    }

    fn in_register(&self, link: &Link, list: &str, from: NodeRef) -> Result<NodeRef, UnresolvedLink> {
        let Some((own, theirs)) = link.by.first() else {
            return Err(UnresolvedLink::Unnamed(DocPath::root()));
        };
        let user = self.user(link, from);
        let name = self.key(user, own).ok_or_else(|| self.unnamed(user, own))?;
        let Some(registers) = self.registers else {
            return Err(UnresolvedLink::Absent("there is no tool register in this run".into()));
        };
        match registers.find(list, theirs, &name) {
            [(register, node)] => {
                Ok(NodeRef { document: self.first_register.saturating_add(*register), node: *node })
            }
            [] => {
                self.looked_at(registers.names(list, theirs).len().saturating_mul(LOOKS_OF_A_NEAR_NAME));
                Err(UnresolvedLink::Absent(registers.absent(list, theirs, &name).into()))
            }
            several => Err(UnresolvedLink::Several(
                format!("the tool register has {} tools with the number `{name}`", several.len()).into(),
            )),
        }
    }

    /// The entry that agrees in the first key and, where several do, in most of the others. Entries
    /// that differ in a key that both record are no candidates while one that agrees is there. A name
    /// agrees with itself and, where no entry has it, with the same name without the number behind it:
    /// `pan 3` is one of several at `pan`.
    fn in_procedure(&self, link: &Link, list: &str, from: NodeRef) -> Result<NodeRef, UnresolvedLink> {
        let Some(((first, theirs), others)) = link.by.split_first() else {
            return Err(UnresolvedLink::Unnamed(DocPath::root()));
        };
        let number = self.procedure.clone()?;
        let name = self.key(from, first).ok_or_else(|| self.unnamed(from, first))?;
        let procedure = self.document(number);
        let index = self.by_name(procedure, list, theirs);
        let name = &*name;
        let text = |node: NodeId, key: &str| procedure.get(node, key).and_then(|node| procedure.key(node));
        let mut found: Vec<NodeId> = index.entries.get(name).cloned().unwrap_or_default();
        for (own, theirs) in others {
            if found.len() < 2 {
                break;
            }
            let Some(name) = self.key(from, own) else { continue };
            let agreeing = |agree: &dyn Fn(&str) -> bool| -> Vec<NodeId> {
                self.looked_at(found.len());
                let theirs = |node: &NodeId| text(*node, theirs).is_some_and(|text| agree(&text));
                found.iter().copied().filter(theirs).collect()
            };
            let mut fitting = agreeing(&|text| text == &*name);
            if fitting.is_empty() {
                fitting = agreeing(&|text| is_one_of(&name, text));
            }
            if !fitting.is_empty() {
                found = fitting;
            }
        }
        match found.as_slice() {
            [node] => Ok(NodeRef { document: number, node: *node }),
            [] => {
                self.looked_at(index.names.len().saturating_mul(LOOKS_OF_A_NEAR_NAME));
                let near = nearest(name, index.names.iter().map(|name| &**name));
                let near = near.map(|near| format!("; {}", did_you_mean(name, near))).unwrap_or_default();
                let list = list.replace('_', " ");
                Err(UnresolvedLink::Absent(format!("the procedure has no `{name}` among its {list}{near}").into()))
            }
            several => Err(UnresolvedLink::Several(
                format!(
                    "the procedure has {} entries for `{name}` among its {list}, and nothing tells which is meant",
                    several.len()
                )
                .into(),
            )),
        }
    }

    /// The entries of a list of the procedure by a field; made when it is first wanted.
    fn by_name(&self, procedure: &'x Document<'x>, list: &str, field: &str) -> Rc<ByName<'x>> {
        let mut indexes = self.by_name.borrow_mut();
        if let Some(known) = indexes.iter().find(|known| known.list == list && known.field == field) {
            return Rc::clone(known);
        }
        let mut entries: HashMap<Cow<'x, str>, Vec<NodeId>> = HashMap::new();
        let mut names = Vec::new();
        for entry in procedure.find(list).map_or(&[][..], |list| procedure.items(list)) {
            if let Some(name) = procedure.get(*entry, field).and_then(|node| procedure.key(node)) {
                entries.entry(name.clone()).or_default().push(*entry);
                names.push(name);
            }
        }
        let made = Rc::new(ByName { list: list.to_owned(), field: field.to_owned(), entries, names });
        indexes.push(Rc::clone(&made));
        made
    }

    fn looked_at(&self, entries: usize) {
        self.looked_at.set(self.looked_at.get().saturating_add(entries as u64));
    }

    /// How many entries were looked at to follow links since this was asked last.
    pub(super) fn take_looked_at(&self) -> u64 {
        self.looked_at.take()
    }

    /// Why there is no name by which a link could be followed.
    fn unnamed(&self, from: NodeRef, field: &Arc<str>) -> UnresolvedLink {
        let document = self.document(from.document);
        match document.unread(from.node, field) {
            Some(node) => {
                let words = format!("`{}` {}", document.path(node), document.why_unread(node));
                UnresolvedLink::Absent(words.into())
            }
            None => UnresolvedLink::Unnamed(DocPath::root().key(field)),
        }
    }

    /// The value of a field by which a link is followed.
    fn key(&self, from: NodeRef, field: &str) -> Option<Cow<'x, str>> {
        let document = self.document(from.document);
        document.key(document.get(from.node, field)?)
    }
}

/// Whether a name is another one with a number behind it.
fn is_one_of(name: &str, several: &str) -> bool {
    let number = name.strip_prefix(several).and_then(|rest| rest.strip_prefix(' '));
    number.is_some_and(|number| !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()))
}

/// The tool registers of a run, with an index by the number of the tool.
#[derive(Debug, Default)]
pub struct Registers {
    documents: Vec<Document<'static>>,
    indexes: Vec<Index>,
}

/// The entries of one list, by the text of one field: register and node.
#[derive(Debug)]
struct Index {
    list: Arc<str>,
    field: Arc<str>,
    entries: HashMap<String, Vec<(u16, NodeId)>>,
    /// Their names in order, for near ones.
    names: Vec<String>,
}

impl Registers {
    /// Indexes registers for the links that lead into them.
    #[must_use]
    pub fn new<'l>(documents: Vec<Document<'static>>, links: impl Iterator<Item = &'l Link>) -> Self {
        let mut indexes: Vec<Index> = Vec::new();
        for link in links {
            let (Target::InRegister(list), Some((_, field))) = (&link.to, link.by.first()) else { continue };
            if indexes.iter().all(|index| (&index.list, &index.field) != (list, field)) {
                let entries = entries_by(&documents, list, field);
                let mut names: Vec<String> = entries.keys().cloned().collect();
                names.sort_unstable();
                indexes.push(Index { list: Arc::clone(list), field: Arc::clone(field), entries, names });
            }
        }
        Registers { documents, indexes }
    }

    /// The registers.
    #[must_use]
    pub fn documents(&self) -> &[Document<'static>] {
        &self.documents
    }

    fn index(&self, list: &str, field: &str) -> Option<&Index> {
        self.indexes.iter().find(|index| &*index.list == list && &*index.field == field)
    }

    fn find(&self, list: &str, field: &str, name: &str) -> &[(u16, NodeId)] {
        self.index(list, field).and_then(|index| index.entries.get(name)).map_or(&[], Vec::as_slice)
    }

    /// The names of the entries of a list, each once, in their order.
    fn names(&self, list: &str, field: &str) -> &[String] {
        self.index(list, field).map_or(&[], |index| &index.names)
    }

    fn absent(&self, list: &str, field: &str, name: &str) -> String {
        if self.documents.is_empty() {
            return "there is no tool register in this run".to_owned();
        }
        let near = nearest(name, self.names(list, field).iter().map(String::as_str));
        let near = near.map(|near| format!("; {}", did_you_mean(name, near))).unwrap_or_default();
        format!("the tool register has no `{name}`{near}")
    }
}

fn entries_by(
    documents: &[Document<'static>],
    list: &str,
    field: &str,
) -> HashMap<String, Vec<(u16, NodeId)>> {
    let mut entries: HashMap<String, Vec<(u16, NodeId)>> = HashMap::new();
    for (number, document) in documents.iter().enumerate() {
        let number = u16::try_from(number).unwrap_or(u16::MAX);
        let Some(list) = document.get(document.root(), list) else { continue };
        for entry in document.items(list) {
            if !matches!(document.node(*entry).kind, NodeKind::Map(_)) {
                continue;
            }
            if let Some(name) = document.get(*entry, field).and_then(|node| document.key(node)) {
                entries.entry(name.into_owned()).or_default().push((number, *entry));
            }
        }
    }
    entries
}
