//! An entry of a list, or a field with all that is in it, taken out of the text of a record. Comments on its lines go with it;
//! all else stays as it is, which is looked at before anything is given back.

use super::{NodeId, NodeKind, Pair, READER, Unwritable, Writer};
use crate::document::path::Step;
use crate::document::{DocPath, Document, Record};
use crate::source::SourceId;

/// The text without what is at a path of the document of this number.
///
/// # Errors
/// Why it cannot be taken out; nothing is changed then.
pub fn take_out(text: &str, number: usize, path: &DocPath, form: &Record) -> Result<String, Unwritable> {
    let (before, faults) = READER.read(SourceId::FIRST, text, 0);
    let document = before.get(number).ok_or(Unwritable::Unreadable)?;
    let node = document.find(&path.to_string()).filter(|node| *node != document.root());
    let node = node.ok_or(Unwritable::NoWay)?;
    let (start, end) = Writer { document, text, form }.extent(node)?;
    let rest = format!("{}{}", text.get(..start).unwrap_or_default(), text.get(end..).unwrap_or_default());
    let (after, new_faults) = READER.read(SourceId::FIRST, &rest, 0);
    let is_same = |(at, (before, after)): (usize, (&Document<'_>, &Document<'_>))| {
        let pair = Pair { before, after, wanted: before, node: before.root() };
        match at == number {
            true => pair.same_without(before.root(), after.root(), path.steps()),
            false => pair.same(before.root(), after.root(), None),
        }
    };
    let is_sound = before.len() == after.len()
        && new_faults.len() <= faults.len()
        && before.iter().zip(&after).enumerate().all(is_same);
    if is_sound { Ok(rest) } else { Err(Unwritable::Layout) }
}

impl Writer<'_> {
    /// The bytes to cut out for a field or an entry: whole lines, or what lies between two commas.
    fn extent(&self, node: NodeId) -> Result<(usize, usize), Unwritable> {
        let (start, end) = (self.start_of(node), self.end_of(node));
        if self.is_in_brackets(node) {
            let siblings = self.siblings(node);
            let at = siblings.iter().position(|sibling| *sibling == node).ok_or(Unwritable::NoWay)?;
            let before = at.checked_sub(1).and_then(|before| siblings.get(before));
            return Ok(match (before, siblings.get(at + 1)) {
                (_, Some(next)) => (start, self.start_of(*next)),
                (Some(before), None) => (self.end_of(*before), end),
                (None, None) => (start, end),
            });
        }
        let start = match self.document.key_span(node) {
            Some(_) => start,
            None => self.dash_before(start)?,
        };
        let line = start - self.column(start);
        if self.text.get(line..start).is_none_or(|indent| !indent.trim().is_empty()) {
            // In front of it stands the dash of an entry.
            return Err(Unwritable::Layout);
        }
        let last = self.text.get(..end).unwrap_or_default().trim_end().len();
        let end = self.end_of_line(last.max(start));
        let behind = self.text.get(end..).unwrap_or_default();
        let ending = ["\r\n", "\n", "\r"].into_iter().find(|ending| behind.starts_with(ending));
        Ok((line, end + ending.map_or(0, str::len)))
    }

    fn siblings(&self, node: NodeId) -> Vec<NodeId> {
        let Some(parent) = self.document.parent(node) else { return Vec::new() };
        match &self.document.node(parent).kind {
            NodeKind::List(_) => self.document.items(parent).to_vec(),
            _ => self.document.entries(parent).iter().map(|entry| entry.value).collect(),
        }
    }

    /// Where a field or an entry begins.
    fn start_of(&self, node: NodeId) -> usize {
        self.document.key_span(node).unwrap_or(self.document.span(node)).start as usize
    }

    /// The dash of an entry that begins here.
    fn dash_before(&self, start: usize) -> Result<usize, Unwritable> {
        let before = self.text.get(..start).unwrap_or_default().trim_end();
        match before.strip_suffix('-') {
            Some(before) => Ok(before.len()),
            // A comment between the two, or a mark of the language of documents.
            None => Err(Unwritable::Layout),
        }
    }
}

impl Pair<'_> {
    /// Whether both say the same, but for what is at the end of the steps in the first.
    fn same_without(&self, before: NodeId, after: NodeId, steps: &[Step<usize>]) -> bool {
        let Some((step, rest)) = steps.split_first() else { return false };
        let below = |document: &Document<'_>, node: NodeId| -> Vec<(String, NodeId)> {
            let entries = document.entries(node).iter().map(|entry| (entry.key.to_string(), entry.value));
            entries.chain(document.items(node).iter().map(|item| (String::new(), *item))).collect()
        };
        let (old, mut new) = (below(self.before, before), below(self.after, after).into_iter());
        let is_on_way = |at: usize, key: &str| match step {
            Step::Key(name) => *key == **name && matches!(self.before.node(before).kind, NodeKind::Map(_)),
            Step::In(number) => *number == at && matches!(self.before.node(before).kind, NodeKind::List(_)),
        };
        // Of a group or list in which nothing is left, there is nothing.
        let kinds = (&self.before.node(before).kind, &self.after.node(after).kind);
        let is_alike =
            matches!(kinds, (NodeKind::Map(_), NodeKind::Map(_)) | (NodeKind::List(_), NodeKind::List(_)))
                || (rest.is_empty() && old.len() == 1 && self.after.is_empty(after));
        let mut found = false;
        let same = old.iter().enumerate().all(|(at, (key, value))| {
            let on_way = is_on_way(at, key);
            found |= on_way;
            match on_way {
                true if rest.is_empty() => true,
                _ => new.next().is_some_and(|(name, other)| {
                    name == *key
                        && match on_way {
                            true => self.same_without(*value, other, rest),
                            false => self.same(*value, other, None),
                        }
                }),
            }
        });
        found && same && is_alike && new.next().is_none()
    }
}
