//! Documents that are made of the values of another one rather than read from a text.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use super::tree::{Bound, Document, Entry, Node, NodeId, NodeKind, UNKNOWN};
use super::{Form, Record, Shape};
use crate::source::{SourceId, Span};
use crate::value::Value;

/// A value of a document to be made.
#[derive(Clone, Debug)]
pub struct Made {
    /// The node of the other document that it was taken from, where it was taken from one.
    pub from: Option<NodeId>,
    /// What it is.
    pub kind: MadeKind,
}

/// What a [`Made`] value is.
#[derive(Clone, Debug)]
pub enum MadeKind {
    /// A single value as a document would write it, and what it is worth.
    Single(String, Value<'static>),
    /// A group of fields.
    Group(Vec<(&'static str, Made)>),
    /// A list.
    List(Vec<Made>),
}

/// Makes a document of a form. Its nodes stand nowhere; the second part says from which node of the
/// other document each was taken.
#[must_use]
pub fn make(
    source: SourceId,
    form: &Form,
    fields: Vec<(&'static str, Made)>,
) -> (Document<'static>, HashMap<NodeId, NodeId>) {
    let mut maker = Maker { nodes: Vec::new(), entries: Vec::new(), items: Vec::new(), from: HashMap::new() };
    let root = Made { from: None, kind: MadeKind::Group(fields) };
    let root = maker.node(root, None, &Shape::Record(Arc::clone(form.record())));
    let document = Document {
        source,
        nodes: maker.nodes,
        entries: maker.entries,
        items: maker.items,
        root,
        refused: Vec::new(),
        twice: Vec::new(),
        blank_strangers: Vec::new(),
        known_in: BTreeMap::new(),
        misspelt: Vec::new(),
        read_as: Vec::new(),
        placeholders: Vec::new(),
        alone: Vec::new(),
        dotted: Vec::new(),
        long: Vec::new(),
        logs: Vec::new(),
        form: Some(form.name().into()),
    };
    (document, maker.from)
}

struct Maker {
    nodes: Vec<Node<'static>>,
    entries: Vec<Entry<'static>>,
    items: Vec<NodeId>,
    from: HashMap<NodeId, NodeId>,
}

impl Maker {
    /// Adds a value and all that it holds; its number is below theirs, as where a document is read.
    fn node(&mut self, made: Made, parent: Option<NodeId>, shape: &Shape) -> NodeId {
        let id = NodeId(narrow(self.nodes.len()));
        self.nodes.push(Node { span: Span::default(), kind: NodeKind::Empty, parent });
        self.from.extend(made.from.map(|from| (id, from)));
        let kind = match made.kind {
            MadeKind::Single(text, value) => {
                NodeKind::Scalar { raw: text.into(), plain: true, value: Bound::Value(value) }
            }
            MadeKind::Group(fields) => self.group(id, fields, shape),
            MadeKind::List(elements) => self.list(id, elements, shape),
        };
        if let Some(node) = self.nodes.get_mut(id.index()) {
            node.kind = kind;
        }
        id
    }

    fn group(&mut self, id: NodeId, fields: Vec<(&'static str, Made)>, shape: &Shape) -> NodeKind<'static> {
        let declared: Option<&Record> = if let Shape::Record(record) = shape { Some(record) } else { None };
        let mut entries = Vec::with_capacity(fields.len());
        for (name, made) in fields {
            let field = declared.and_then(|record| record.field(name));
            let (index, shape) = field.map_or((UNKNOWN, &Shape::Any), |(index, field)| (index, &field.shape));
            let value = self.node(made, Some(id), shape);
            entries.push(Entry { key: name.into(), key_span: Span::default(), value, field: index });
        }
        let start = narrow(self.entries.len());
        self.entries.extend(entries);
        NodeKind::Map(start..narrow(self.entries.len()))
    }

    fn list(&mut self, id: NodeId, elements: Vec<Made>, shape: &Shape) -> NodeKind<'static> {
        let shape = if let Shape::List(element) = shape { element } else { &Shape::Any };
        let items: Vec<NodeId> = elements.into_iter().map(|made| self.node(made, Some(id), shape)).collect();
        let start = narrow(self.items.len());
        self.items.extend(items);
        NodeKind::List(start..narrow(self.items.len()))
    }
}

fn narrow(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
