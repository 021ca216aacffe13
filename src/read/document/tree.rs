//! The tree of one document: an arena of nodes in which every key, value and collection knows the
//! bytes it was read from.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use super::path::{DocPath, WrittenStep, next_step};
use super::words::ReadBy;
use crate::quantity::Kind;
use crate::source::{Place, SourceId, Span};
use crate::value::Value;

/// The number of a node within its [`Document`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(pub(super) u32);

impl NodeId {
    /// The number itself, for lists with a place for each node.
    #[must_use]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// The field index of an entry whose key the form does not know.
pub const UNKNOWN: u16 = u16::MAX;

/// One value of a document.
#[derive(Clone, Debug)]
pub struct Node<'s> {
    /// The bytes it was read from: a quoted text with its quotes, a block text from its first
    /// character to its last, a collection in brackets with them, any other collection from its
    /// first key or dash to the end of its last value. Empty for a value that was left out.
    pub span: Span,
    /// What it is.
    pub kind: NodeKind<'s>,
    /// The map or list that holds it; none for the root.
    pub parent: Option<NodeId>,
}

/// What a node is.
#[derive(Clone, Debug)]
pub enum NodeKind<'s> {
    /// Nothing was written, or only a blank text: not recorded.
    Empty,
    /// A single value.
    Scalar {
        /// Its text, quotes and escapes resolved.
        raw: Cow<'s, str>,
        /// Whether it was written without quotes.
        plain: bool,
        /// What the declared shape made of the text.
        value: Bound<'s>,
    },
    /// A group of fields; see [`Document::entries`].
    Map(Range<u32>),
    /// A list; see [`Document::items`].
    List(Range<u32>),
}

/// What the declared shape of a field made of its raw text.
#[derive(Clone, Debug)]
pub enum Bound<'s> {
    /// The form says nothing of it, or the document is not bound to a form.
    Unbound,
    /// What it is worth.
    Value(Value<'s>),
    /// It is not what the form declares. It is reported where the document is checked; whoever
    /// needs the value has none.
    Wrong,
}

/// One field of a map.
#[derive(Clone, Debug)]
pub struct Entry<'s> {
    /// Its name.
    pub key: Cow<'s, str>,
    /// Where the name stands.
    pub key_span: Span,
    /// Its value.
    pub value: NodeId,
    /// The index of the field in the record that the form declares, or [`UNKNOWN`].
    pub field: u16,
}

/// A field that is not recorded, or is left blank, where its group has a field of nearly that name that the form
/// does not know.
#[derive(Clone, Debug)]
pub(super) struct Misspelt {
    /// The group.
    pub(super) group: NodeId,
    /// The number of the field that can be meant.
    pub(super) field: u16,
    /// Its name.
    pub(super) name: Arc<str>,
    /// A wrong value that takes its place. It is a child of the value that is recorded under the other name.
    pub(super) value: NodeId,
}

/// One YAML document.
///
/// ```
/// use witnessmark_read::document::{self, Forms};
/// use witnessmark_read::source::SourceId;
///
/// let text = "form: job/1\njob: {number: K-1}\nfastenings: [{torque: 45 Nm}]\n";
/// let (documents, mistakes) = document::read(SourceId::FIRST, text, &Forms::builtin());
/// let torque = documents[0].find("fastenings[0].torque").unwrap();
/// assert_eq!(documents[0].path(torque).to_string(), "fastenings[0].torque");
/// assert!(documents[0].value(torque).is_some());
/// assert!(mistakes.iter().any(|mistake| mistake.message.contains("vehicle")));
/// ```
#[derive(Clone, Debug)]
pub struct Document<'s> {
    /// The text it was read from.
    pub source: SourceId,
    pub(super) nodes: Vec<Node<'s>>,
    pub(super) entries: Vec<Entry<'s>>,
    pub(super) items: Vec<NodeId>,
    pub(super) root: NodeId,
    /// Values that the reader has refused and reported; they stand as wrong scalars.
    pub(super) refused: Vec<NodeId>,
    /// Those of them that are given twice, and not the same both times.
    pub(super) twice: Vec<NodeId>,
    /// Fields without a value that the form does not have: the group, and the number among all fields.
    pub(super) blank_strangers: Vec<(NodeId, u32)>,
    /// The fields that the form has, by their numbers among all fields, of groups with many more than it has.
    pub(super) known_in: BTreeMap<NodeId, Vec<u32>>,
    /// Fields that can be meant by others that the form does not have, in the order of their groups.
    pub(super) misspelt: Vec<Misspelt>,
    /// Values that are read as another word, and by what.
    pub(super) read_as: Vec<(NodeId, ReadBy)>,
    /// Values in whose place a sign stands that means none; they are blank, and the sign is kept to be shown.
    pub(super) placeholders: Vec<(NodeId, Cow<'s, str>)>,
    /// Values that are written alone in the place of their group; see [`super::Record::shorthand`].
    pub(super) alone: Vec<NodeId>,
    /// Values whose point can stand between thousands, and whether their field holds whole values only,
    /// so that they are refused.
    pub(super) dotted: Vec<(NodeId, bool)>,
    /// Names that are too long to be any.
    pub(super) long: Vec<NodeId>,
    /// The logs that are recorded, and of what kind their values are.
    pub(super) logs: Vec<(NodeId, Kind)>,
    pub(super) form: Option<Arc<str>>,
}

/// What a number that is no node of the document stands for. Node numbers come from the document
/// itself, so this is met only if two documents are mixed up.
static NOWHERE: Node<'static> = Node { span: Span { start: 0, end: 0 }, kind: NodeKind::Empty, parent: None };

/// A document in which nothing stands.
static NOTHING: Document<'static> = Document {
    source: SourceId::FIRST,
    nodes: Vec::new(),
    entries: Vec::new(),
    items: Vec::new(),
    root: NodeId(0),
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
    form: None,
};

impl Document<'static> {
    /// A document in which nothing stands.
    #[must_use]
    pub fn nothing() -> &'static Self {
        &NOTHING
    }
}

impl<'s> Document<'s> {
    /// The same document with texts of its own, so that it can outlive the text that it was read from.
    #[must_use]
    pub fn into_owned(self) -> Document<'static> {
        let own = |text: Cow<'s, str>| Cow::Owned(text.into_owned());
        let kind = |kind: NodeKind<'s>| match kind {
            NodeKind::Empty => NodeKind::Empty,
            NodeKind::Map(range) => NodeKind::Map(range),
            NodeKind::List(range) => NodeKind::List(range),
            NodeKind::Scalar { raw, plain, value } => {
                let value = match value {
                    Bound::Unbound => Bound::Unbound,
                    Bound::Wrong => Bound::Wrong,
                    Bound::Value(value) => Bound::Value(value.into_owned()),
                };
                NodeKind::Scalar { raw: own(raw), plain, value }
            }
        };
        let node = |node: Node<'s>| Node { span: node.span, kind: kind(node.kind), parent: node.parent };
        let entry = |entry: Entry<'s>| Entry {
            key: own(entry.key),
            key_span: entry.key_span,
            value: entry.value,
            field: entry.field,
        };
        Document {
            source: self.source,
            nodes: self.nodes.into_iter().map(node).collect(),
            entries: self.entries.into_iter().map(entry).collect(),
            items: self.items,
            root: self.root,
            refused: self.refused,
            twice: self.twice,
            blank_strangers: self.blank_strangers,
            known_in: self.known_in,
            misspelt: self.misspelt,
            read_as: self.read_as,
            placeholders: self.placeholders.into_iter().map(|(node, raw)| (node, own(raw))).collect(),
            alone: self.alone,
            dotted: self.dotted,
            long: self.long,
            logs: self.logs,
            form: self.form,
        }
    }

    /// The logs that are recorded, and of what kind their values are.
    #[must_use]
    pub fn logs(&self) -> &[(NodeId, Kind)] {
        &self.logs
    }

    /// The outermost value.
    #[must_use]
    pub fn root(&self) -> NodeId {
        self.root
    }

    /// The name of the form it follows, such as `job`, if it names one that is known.
    #[must_use]
    pub fn form(&self) -> Option<&str> {
        self.form.as_deref()
    }

    /// A node.
    #[must_use]
    pub fn node(&self, id: NodeId) -> &Node<'s> {
        self.nodes.get(id.index()).unwrap_or(&NOWHERE)
    }

    /// The bytes that a node was read from; see [`Node::span`].
    #[must_use]
    pub fn span(&self, id: NodeId) -> Span {
        self.node(id).span
    }

    /// The same, with the source.
    #[must_use]
    pub fn place(&self, id: NodeId) -> Place {
        Place { source: self.source, span: self.span(id) }
    }

    /// The map or list that holds a node.
    #[must_use]
    pub fn parent(&self, id: NodeId) -> Option<NodeId> {
        self.node(id).parent
    }

    /// The record that holds the list in which an entry stands; none for anything else.
    #[must_use]
    pub fn holder(&self, entry: NodeId) -> Option<NodeId> {
        let list = self.parent(entry).filter(|list| matches!(self.node(*list).kind, NodeKind::List(_)))?;
        self.parent(list)
    }

    /// The fields of a map, in the order of the text; none for anything else.
    #[must_use]
    pub fn entries(&self, id: NodeId) -> &[Entry<'s>] {
        match &self.node(id).kind {
            NodeKind::Map(range) => {
                self.entries.get(range.start as usize..range.end as usize).unwrap_or_default()
            }
            _ => &[],
        }
    }

    /// The items of a list; none for anything else.
    #[must_use]
    pub fn items(&self, id: NodeId) -> &[NodeId] {
        match &self.node(id).kind {
            NodeKind::List(range) => {
                self.items.get(range.start as usize..range.end as usize).unwrap_or_default()
            }
            _ => &[],
        }
    }

    /// The entry of a map with this key.
    #[must_use]
    pub fn entry(&self, id: NodeId, key: &str) -> Option<&Entry<'s>> {
        self.entries(id).iter().find(|entry| entry.key == key)
    }

    /// The value of a field by its name.
    #[must_use]
    pub fn get(&self, id: NodeId, key: &str) -> Option<NodeId> {
        self.entry(id, key).map(|entry| entry.value)
    }

    /// The value of a field by the index that [`super::bind`] gave it.
    #[must_use]
    pub fn field(&self, id: NodeId, index: u16) -> Option<NodeId> {
        self.known_field(id, |entry| entry.field == index)
    }

    /// The same by its name, for a field or link that the form has: where the group can be one of several.
    #[must_use]
    pub fn field_named(&self, id: NodeId, name: &str) -> Option<NodeId> {
        self.known_field(id, |entry| entry.field != UNKNOWN && entry.key == name)
    }

    fn known_field(&self, id: NodeId, is: impl Fn(&Entry<'s>) -> bool) -> Option<NodeId> {
        if !self.known_in.is_empty()
            && let Some(known) = self.known_in.get(&id)
        {
            let mut entries = known.iter().filter_map(|number| self.entries.get(*number as usize));
            return entries.find(|entry| is(entry)).map(|entry| entry.value);
        }
        self.entries(id).iter().find(|entry| is(entry)).map(|entry| entry.value)
    }

    /// The value that takes the place of a field which a misspelt one can mean: a wrong one.
    #[must_use]
    pub fn misspelt(&self, group: NodeId, index: u16) -> Option<NodeId> {
        self.misspelt_in(group).find(|misspelt| misspelt.field == index).map(|misspelt| misspelt.value)
    }

    /// The same by the name of the field.
    #[must_use]
    pub fn misspelt_named(&self, group: NodeId, name: &str) -> Option<NodeId> {
        self.misspelt_in(group).find(|misspelt| *misspelt.name == *name).map(|misspelt| misspelt.value)
    }

    fn misspelt_in(&self, group: NodeId) -> impl Iterator<Item = &Misspelt> {
        let from = self.misspelt.partition_point(|misspelt| misspelt.group < group);
        let list = self.misspelt.get(from..).unwrap_or_default();
        list.iter().take_while(move |misspelt| misspelt.group == group)
    }

    /// What is recorded for a field of single values and cannot be read, under its name or a misspelt one.
    #[must_use]
    pub fn unread(&self, group: NodeId, name: &str) -> Option<NodeId> {
        let recorded = self.get(group, name).filter(|node| !self.is_empty(*node));
        match recorded {
            Some(node) => Some(node).filter(|node| self.value(*node).is_none()),
            None => self.misspelt_named(group, name),
        }
    }

    /// Why a recorded value cannot be read, in words that follow its path.
    #[must_use]
    pub fn why_unread(&self, id: NodeId) -> String {
        if let Some(misspelt) = self.misspelt.iter().find(|misspelt| misspelt.value == id) {
            return format!("is no field, and can mean `{}`", misspelt.name);
        }
        let twice = self.twice.contains(&id);
        if twice { "is recorded twice" } else { "is recorded but cannot be read" }.to_owned()
    }

    /// The text of a single value.
    #[must_use]
    pub fn raw(&self, id: NodeId) -> Option<&str> {
        match &self.node(id).kind {
            NodeKind::Scalar { raw, .. } => Some(raw),
            _ => None,
        }
    }

    /// What the declared shape made of a single value; `None` where there is none or it is wrong.
    #[must_use]
    pub fn value(&self, id: NodeId) -> Option<&Value<'s>> {
        match &self.node(id).kind {
            NodeKind::Scalar { value: Bound::Value(value), .. } => Some(value),
            _ => None,
        }
    }

    /// The text of a value that the form declares to be a text or a word, without blanks around it; none
    /// where it is empty, wrong or something else.
    #[must_use]
    pub fn text(&self, id: NodeId) -> Option<&str> {
        match self.value(id)? {
            Value::Text(text) => Some(text.trim()).filter(|text| !text.is_empty()),
            _ => None,
        }
    }

    /// The same of the value at a path.
    #[must_use]
    pub fn text_at(&self, path: &str) -> Option<&str> {
        self.text(self.find(path)?)
    }

    /// What a value is told from others by: the text of one that is a text, the figures of a number, so that
    /// `2` and `2.0` are one; none where it is wrong or empty.
    #[must_use]
    pub fn key(&self, id: NodeId) -> Option<Cow<'_, str>> {
        match self.value(id)? {
            Value::Quantity(quantity) => Some(Cow::Owned(quantity.base().to_string())),
            Value::Text(_) => self.text(id).map(Cow::Borrowed),
            _ => self.raw(id).map(|raw| Cow::Borrowed(raw.trim())),
        }
    }

    /// All that it consists of.
    pub fn ids(&self) -> impl Iterator<Item = NodeId> + use<> {
        (0..u32::try_from(self.nodes.len()).unwrap_or(u32::MAX)).map(NodeId)
    }

    /// The single values that could be read, in the order of the text.
    pub fn values(&self) -> impl Iterator<Item = (NodeId, &Value<'s>)> {
        let id = |number| NodeId(u32::try_from(number).unwrap_or(u32::MAX));
        self.nodes.iter().enumerate().filter_map(move |(number, node)| match &node.kind {
            NodeKind::Scalar { value: Bound::Value(value), .. } => Some((id(number), value)),
            _ => None,
        })
    }

    /// Where the name of a field stands, by its value; none for an item of a list and for the root.
    #[must_use]
    pub fn key_span(&self, id: NodeId) -> Option<Span> {
        let entries = self.entries(self.parent(id)?);
        entries.iter().find(|entry| entry.value == id).map(|entry| entry.key_span)
    }

    /// Whether two values say the same in the same words, whatever their layout.
    pub(super) fn is_written_like(&self, one: NodeId, other: NodeId) -> bool {
        self.is_like(one, self, other)
    }

    /// Whether two documents say the same in the same words, whatever their layout and comments.
    #[must_use]
    pub fn says_the_same(&self, other: &Document<'_>) -> bool {
        self.is_like(self.root, other, other.root)
    }

    /// Depth is bounded by the reader's limit.
    fn is_like(&self, one: NodeId, theirs: &Document<'_>, other: NodeId) -> bool {
        match (&self.node(one).kind, &theirs.node(other).kind) {
            (NodeKind::Empty, NodeKind::Empty) => true,
            (NodeKind::Scalar { raw: one, .. }, NodeKind::Scalar { raw: other, .. }) => {
                one.trim() == other.trim()
            }
            (NodeKind::Map(_), NodeKind::Map(_)) => {
                let (one, other) = (self.entries(one), theirs.entries(other));
                let same = |(one, other): (&Entry<'_>, &Entry<'_>)| {
                    one.key == other.key && self.is_like(one.value, theirs, other.value)
                };
                one.len() == other.len() && one.iter().zip(other).all(same)
            }
            (NodeKind::List(_), NodeKind::List(_)) => {
                let (one, other) = (self.items(one), theirs.items(other));
                let same = |(one, other): (&NodeId, &NodeId)| self.is_like(*one, theirs, *other);
                one.len() == other.len() && one.iter().zip(other).all(same)
            }
            _ => false,
        }
    }

    /// Whether nothing is recorded here.
    #[must_use]
    pub fn is_empty(&self, id: NodeId) -> bool {
        matches!(self.node(id).kind, NodeKind::Empty)
    }

    /// Whether it is a group below the root in which no field has a value, as in the blank record of a job.
    #[must_use]
    pub fn is_left_blank(&self, id: NodeId) -> bool {
        let fields = self.entries(id);
        self.parent(id).is_some()
            && !fields.is_empty()
            && fields.iter().all(|field| self.is_empty(field.value))
    }

    /// What is recorded here, on one line; nothing where nothing is. A value that stands alone for its group is that value.
    #[must_use]
    pub fn in_a_line(&self, id: NodeId) -> Option<String> {
        let joined = |parts: Vec<String>| parts.join(", ");
        match &self.node(id).kind {
            NodeKind::Empty => None,
            NodeKind::Scalar { raw, .. } => Some(raw.trim().to_owned()),
            NodeKind::List(_) => {
                Some(joined(self.items(id).iter().filter_map(|item| self.in_a_line(*item)).collect()))
            }
            NodeKind::Map(_) if self.is_written_alone(id) => {
                self.entries(id).iter().find_map(|entry| self.in_a_line(entry.value))
            }
            NodeKind::Map(_) => {
                let said = self
                    .entries(id)
                    .iter()
                    .filter_map(|entry| Some(format!("{}: {}", entry.key, self.in_a_line(entry.value)?)));
                Some(format!("{{{}}}", joined(said.collect())))
            }
        }
    }

    /// How many values, groups and lists it holds.
    #[must_use]
    pub fn number_of_nodes(&self) -> usize {
        self.nodes.len()
    }

    /// The path of a node, such as `fastenings[2].torque`; the root's is empty. A value that is written alone in the
    /// place of its group has the path of the group.
    #[must_use]
    pub fn path(&self, id: NodeId) -> DocPath {
        let (mut way, mut at) = (Vec::new(), id);
        if self.alone.binary_search(&id).is_ok() {
            at = self.parent(id).unwrap_or(id);
        }
        while let Some(parent) = self.parent(at) {
            way.push((parent, at));
            at = parent;
        }
        way.into_iter().rev().fold(DocPath::root(), |path, (parent, node)| {
            let entry = self.entries(parent).iter().find(|entry| entry.value == node);
            // The nodes of a list are numbered in the order of the text.
            let number = || self.items(parent).binary_search(&node).ok();
            match (entry, number()) {
                (Some(entry), _) => path.key(&entry.key),
                (None, Some(number)) => path.entry(number),
                // What takes the place of a misspelt field is no field of its group.
                (None, None) => path,
            }
        })
    }

    /// Whether a group is written as the single value that it stands for.
    #[must_use]
    pub fn is_written_alone(&self, group: NodeId) -> bool {
        self.entries(group).iter().any(|entry| self.alone.binary_search(&entry.value).is_ok())
    }

    /// The node at a path that [`Document::path`] wrote.
    #[must_use]
    pub fn find(&self, path: &str) -> Option<NodeId> {
        match self.follow(path) {
            (id, "") => Some(id),
            _ => None,
        }
    }

    /// The node at a path, or the nearest one around the place where it would stand.
    #[must_use]
    pub fn deepest(&self, path: &str) -> NodeId {
        self.follow(path).0
    }

    /// Follows a path as far as it exists; returns the node and what is left of the path.
    fn follow<'p>(&self, path: &'p str) -> (NodeId, &'p str) {
        let (mut at, mut left) = (self.root, path);
        while let Some((step, rest)) = next_step(left) {
            let next = match step {
                WrittenStep::Key(key) => self.get(at, key),
                WrittenStep::In(number) => self.items(at).get::<usize>(number).copied(),
            };
            match next {
                Some(next) => (at, left) = (next, rest),
                None => break,
            }
        }
        (at, left)
    }
}
