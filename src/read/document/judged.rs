//! The values of a document that some rule must have looked at.

use std::sync::Arc;

use super::{Bound, Document, NodeId, NodeKind, Record, Shape};
use crate::value::Value;

/// Some of the nodes of one document.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct NodeSet(Vec<u64>);

impl NodeSet {
    /// Adds a node.
    pub fn insert(&mut self, node: NodeId) {
        let (word, bit) = (node.index() / 64, node.index() % 64);
        if self.0.len() <= word {
            self.0.resize(word + 1, 0);
        }
        if let Some(word) = self.0.get_mut(word) {
            *word |= 1 << bit;
        }
    }

    /// Whether a node is among them.
    #[must_use]
    pub fn contains(&self, node: NodeId) -> bool {
        let (word, bit) = (node.index() / 64, node.index() % 64);
        self.0.get(word).is_some_and(|word| word & (1 << bit) != 0)
    }
}

/// A value that some rule must look at.
#[derive(Clone, Debug, PartialEq)]
pub struct ToJudge {
    /// The value.
    pub node: NodeId,
    /// What it is a value of: the outermost entry of a list that holds it, or the outermost group.
    pub entry: NodeId,
    /// What is declared of that.
    pub of: Arc<Record>,
    /// The field of the entry that holds the value.
    pub field: Arc<str>,
    /// What is declared of the group that the value is a field of, and the field.
    pub group: Arc<Record>,
    /// The number of that field.
    pub index: u16,
}

/// The values of a document that some rule must look at, in the order of the text. Those that cannot be read are
/// reported elsewhere.
pub(super) fn to_judge(document: &Document<'_>, record: &Arc<Record>) -> Vec<ToJudge> {
    let mut walk = Walk { document, found: Vec::new() };
    walk.group(document.root(), record, None);
    walk.found
}

/// Whether anything of this shape has values that some rule must look at.
pub(super) fn has_any(shape: &Shape) -> bool {
    match shape {
        Shape::List(item) => has_any(item),
        Shape::Record(record) => {
            record.fields.iter().any(|field| field.judged.is_some() || has_any(&field.shape))
        }
        _ => false,
    }
}

/// The entry or the outermost group on the way to a value.
#[derive(Clone)]
struct Way {
    entry: NodeId,
    of: Arc<Record>,
    /// The field of it; none where it was just reached.
    field: Option<Arc<str>>,
    /// Whether it is the entry of a list; a group is left for an entry that it holds.
    listed: bool,
}

struct Walk<'d, 's> {
    document: &'d Document<'s>,
    found: Vec<ToJudge>,
}

impl Walk<'_, '_> {
    /// Depth is bounded by the reader's limit.
    fn group(&mut self, group: NodeId, record: &Arc<Record>, way: Option<&Way>) {
        if record.touched.is_some_and(|touched| self.says_no(group, touched)) {
            return;
        }
        for entry in self.document.entries(group) {
            let Some(field) = record.fields.get(usize::from(entry.field)) else { continue };
            let way = match way {
                None => Way { entry: group, of: Arc::clone(record), field: None, listed: false },
                Some(way) => {
                    let field = Some(way.field.clone().unwrap_or_else(|| Arc::clone(&field.name)));
                    Way { field, ..way.clone() }
                }
            };
            if field.judged.is_some() && self.is_readable(entry.value) {
                self.found.push(ToJudge {
                    node: entry.value,
                    entry: way.entry,
                    of: Arc::clone(&way.of),
                    field: way.field.clone().unwrap_or_else(|| Arc::clone(&field.name)),
                    group: Arc::clone(record),
                    index: entry.field,
                });
            }
            self.value(entry.value, &field.shape, &way);
        }
    }

    fn value(&mut self, node: NodeId, shape: &Shape, way: &Way) {
        match shape {
            Shape::Record(record) if way.field.is_none() && !way.listed => {
                let of = Arc::clone(record);
                self.group(node, record, Some(&Way { entry: node, of, ..way.clone() }));
            }
            Shape::Record(record) => self.group(node, record, Some(way)),
            Shape::List(item) => {
                for entry in self.document.items(node) {
                    match &**item {
                        Shape::Record(record) if !way.listed => {
                            let of = Arc::clone(record);
                            self.group(
                                *entry,
                                record,
                                Some(&Way { entry: *entry, of, field: None, listed: true }),
                            );
                        }
                        _ => self.value(*entry, item, way),
                    }
                }
            }
            _ => {}
        }
    }

    fn says_no(&self, group: NodeId, field: u16) -> bool {
        let value = self.document.field(group, field).and_then(|node| self.document.value(node));
        matches!(value, Some(Value::Truth(false)))
    }

    /// A log that is written out is a group.
    fn is_readable(&self, node: NodeId) -> bool {
        match &self.document.node(node).kind {
            NodeKind::Scalar { value, .. } => matches!(value, Bound::Value(_)),
            NodeKind::Map(_) => true,
            NodeKind::List(_) | NodeKind::Empty => false,
        }
    }
}
