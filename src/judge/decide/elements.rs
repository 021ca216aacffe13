//! The elements that a rule goes through: those of a list, of a group, or of several lists one after another.

use std::borrow::Cow;

use super::compute::Computed;
use super::verdict::joined;
use super::{Evaluator, Missing, NodeRef, Reason};
use crate::document::{NodeId, NodeKind};
use crate::language::typed::{Expr, ExprKind};
use crate::language::types::Type;

/// Elements in their order.
#[derive(Debug)]
pub(super) struct Elements<'x> {
    /// What holds them: the list or, where they are of several lists, the document.
    pub(super) list: NodeRef,
    /// The elements.
    pub(super) entries: Cow<'x, [NodeId]>,
    /// Why it cannot be told whether there are more, where one of several lists is not recorded or cannot be read.
    pub(super) rest: Option<Missing<'x>>,
}

impl<'x> Elements<'x> {
    /// The elements of one list.
    pub(super) fn of(list: NodeRef, entries: Cow<'x, [NodeId]>) -> Self {
        Elements { list, entries, rest: None }
    }
}

impl<'x> Evaluator<'x> {
    /// The elements of a list, or of a group, for which a condition on them can hold or be open.
    pub(super) fn elements(
        &mut self,
        list: &'x Expr,
        slot: Option<usize>,
        condition: Option<&'x Expr>,
    ) -> Computed<'x, Elements<'x>> {
        if let ExprKind::Group(own) = list.kind {
            return self.entries_of(own);
        }
        let program = self.program;
        if let Some(lists) = program.lists_in(list) {
            return Ok(self.elements_of(lists, slot, condition));
        }
        let list = self.list(list)?;
        Ok(Elements::of(list, self.candidates(list, slot, condition)))
    }

    /// The elements of several lists. A group of fields is one where it is recorded; of a list that is not recorded
    /// nobody knows how many it has.
    fn elements_of(
        &mut self,
        lists: &'x [Expr],
        slot: Option<usize>,
        condition: Option<&'x Expr>,
    ) -> Elements<'x> {
        let (mut entries, mut rest) = (Vec::new(), None);
        for list in lists {
            let is_group = matches!(list.ty, Type::Record(_));
            let found = match is_group {
                true => self.group_of_fields(list).map(|group| entries.push(group.node)),
                false => self
                    .list(list)
                    .map(|list| entries.extend_from_slice(&self.candidates(list, slot, condition))),
            };
            match found {
                Err(Missing { reason: Reason::NotRecorded(..), .. }) if is_group => {}
                Err(missing) => rest = Some(joined(rest, missing)),
                Ok(()) => {}
            }
        }
        Elements { list: self.root(), entries: Cow::Owned(entries), rest }
    }

    /// The node of a group of fields; a node of another kind was reported with the document.
    fn group_of_fields(&mut self, group: &'x Expr) -> Computed<'x, NodeRef> {
        let node = self.node(group)?;
        match self.doc(node).node(node.node).kind {
            NodeKind::Map(_) => Ok(node),
            _ => Err(Missing { at: node, reason: Reason::Unreadable }),
        }
    }

    /// Whether a list is there, so that its elements can be counted.
    pub(crate) fn has_list(&mut self, list: &'x Expr) -> bool {
        self.program.lists_in(list).is_some() || self.list(list).is_ok()
    }
}
