//! Where a finding stands, and what it is called there: paths and places, also in the documents around
//! the one that is judged.

use std::collections::HashSet;

use super::{Explainer, describe};
use crate::decide::{NodeRef, Origin, Slots};
use crate::finding::Related;
use crate::language::ids::{LetId, ParameterId};
use crate::language::typed::{Concerns, Expr, ExprKind};
use crate::source::{Place, Span};

impl<'x> Explainer<'x> {
    /// The place in the judged document where a finding stands that looks at `spot`: there, or where
    /// the document names the other one that holds it.
    pub(super) fn home(&mut self, expr: &'x Expr, spot: NodeRef) -> NodeRef {
        if spot.is_own() {
            return spot;
        }
        let named = self.naming(expr);
        let home = named.or_else(|| {
            let mut own = None;
            visit(expr, &mut |part| {
                if own.is_none() && matches!(part.kind, ExprKind::Field { .. } | ExprKind::Variable(_)) {
                    own = self.values.node(part).ok().filter(|at| at.is_own());
                }
            });
            own
        });
        home.filter(|home| *home != self.values.root()).unwrap_or_else(|| self.around_home(spot))
    }

    /// The field of the judged document by which an expression comes to another one: the key of a link in
    /// it, or of one in the list whose element it speaks of.
    fn naming(&mut self, expr: &'x Expr) -> Option<NodeRef> {
        let mut found = None;
        let mut lists = Vec::new();
        visit(expr, &mut |part| match &part.kind {
            ExprKind::Link { base, link, .. } if found.is_none() => {
                let from = self.values.node(base).ok().filter(|from| from.is_own());
                found = from.map(|from| match link.by.is_empty() {
                    true => from,
                    false => self.values.around.name_of(link, from),
                });
            }
            ExprKind::Variable(slot) => lists.extend(self.list_of(*slot)),
            _ => {}
        });
        found.filter(|found| *found != self.values.root()).or_else(|| {
            // The list of a variable is written before it, so this ends.
            lists.into_iter().find_map(|list| self.naming(list))
        })
    }

    /// The list from which the rule at hand takes a variable.
    fn list_of(&self, slot: usize) -> Option<&'x Expr> {
        let Concerns::Each(each) = &self.values.rule?.concerns else { return None };
        each.iter().find(|each| each.slot == slot).map(|each| &each.list)
    }

    /// The same as [`Explainer::home`] where only the document counts.
    pub(super) fn around_home(&self, spot: NodeRef) -> NodeRef {
        if spot.is_own() { spot } else { self.values.around.anchor(spot.document) }
    }

    /// The places in other documents at which the operands of a comparison stand.
    pub(super) fn related(&mut self, expr: &'x Expr) -> Vec<Related> {
        let mut spots: Vec<(NodeRef, String)> = Vec::new();
        visit(expr, &mut |part| {
            let foreign = match &part.kind {
                ExprKind::Field { .. } | ExprKind::Variable(_) => {
                    self.values.node(part).ok().filter(|spot| !spot.is_own())
                }
                _ => None,
            };
            if let Some(spot) = foreign
                && let Some(raw) = self.values.doc(spot).raw(spot.node)
                && !spots.iter().any(|(known, _)| *known == spot)
            {
                spots.push((spot, raw.trim().to_owned()));
            }
        });
        let mut related: Vec<Related> =
            spots.into_iter().filter_map(|(spot, raw)| self.related_at(spot, raw)).collect();
        for limit in self.limits_in(expr, &mut HashSet::new()) {
            if !related.iter().any(|known| known.at == limit.at) {
                related.push(limit);
            }
        }
        related
    }

    /// From where the parameters in a comparison have their values; `known` holds the names that were looked behind.
    fn limits_in(&mut self, expr: &'x Expr, known: &mut HashSet<(LetId, Slots)>) -> Vec<Related> {
        let mut found = Vec::new();
        let mut names = Vec::new();
        visit(expr, &mut |part| match part.kind {
            ExprKind::Let(..) | ExprKind::Cases(_) => names.push(part),
            _ => {}
        });
        for name in names {
            let behind = self.behind(name, |inner, value| match name.kind {
                ExprKind::Let(id, _) if !known.insert((id, inner.values.bound())) => Vec::new(),
                _ => inner.limits_in(value, known),
            });
            found.extend(behind.unwrap_or_default());
        }
        visit(expr, &mut |part| {
            let ExprKind::Parameter(number, entry) = &part.kind else { return };
            let Ok((value, origin)) = self.values.parameter_from(*number, entry.as_deref()) else { return };
            let (name, value) = (&self.values.program.parameters()[*number].name, describe(value.get()));
            found.push(match origin {
                Origin::Field(spot) => {
                    let of = self.values.around.called(spot.document);
                    let text = format!("{of}: {value} (parameter `{name}`)");
                    Related { at: self.place(spot), text }
                }
                Origin::Stated(Some(at)) => {
                    Related { at, text: format!("stated: {value} (parameter `{name}`)") }
                }
                Origin::Default(at) => {
                    Related { at, text: format!("the default: {value} (parameter `{name}`)") }
                }
                // A trial states its own.
                Origin::Stated(None) => return,
            });
        });
        found
    }

    pub(super) fn related_at(&self, spot: NodeRef, text: String) -> Option<Related> {
        let text = format!("{}: {text}", self.values.around.called(spot.document));
        (!spot.is_own()).then(|| Related { at: self.place(spot), text })
    }

    /// The path of a node; in another document, with what that is called.
    #[must_use]
    pub fn path(&self, spot: NodeRef) -> String {
        let path = self.values.doc(spot).path(spot.node);
        match (spot.is_own(), path.is_root()) {
            (true, _) => path.to_string(),
            (false, true) => self.values.around.called(spot.document).to_owned(),
            (false, false) => format!("{} {path}", self.values.around.called(spot.document)),
        }
    }

    /// The full name of a parameter.
    #[must_use]
    pub fn parameter(&self, number: ParameterId) -> &'x str {
        &self.values.program.parameters()[number].name
    }

    /// Where a node is shown.
    #[must_use]
    pub fn place(&self, spot: NodeRef) -> Place {
        let (document, node) = (self.values.doc(spot), spot.node);
        // A value that was left out has no text of its own: its name is what one sees.
        let span = if document.is_empty(node) {
            document.key_span(node).unwrap_or(document.span(node))
        } else {
            document.span(node)
        };
        // The whole document is a long thing to point at: its first line will do.
        let span = if node == document.root() { Span { end: span.start, ..span } } else { span };
        Place { source: document.source, span }
    }
}

/// The same for every comparison of a condition.
fn visit_parts<'x>(expr: &'x Expr, see: &mut dyn FnMut(&'x Expr)) {
    match &expr.kind {
        ExprKind::Not(inner) => visit_parts(inner, see),
        ExprKind::Logic(_, left, right) => {
            visit_parts(left, see);
            visit_parts(right, see);
        }
        _ => visit(expr, see),
    }
}

/// Calls `see` with the paths among the operands of a comparison, from left to right.
pub(super) fn visit<'x>(expr: &'x Expr, see: &mut dyn FnMut(&'x Expr)) {
    see(expr);
    match &expr.kind {
        ExprKind::Field { base, .. } | ExprKind::Link { base, .. } => visit(base, see),
        ExprKind::Compare(_, left, right)
        | ExprKind::InOrder(_, left, right)
        | ExprKind::Arithmetic(_, left, right)
        | ExprKind::Within(left, right) => {
            visit(left, see);
            visit(right, see);
        }
        ExprKind::Call { arguments, .. } => arguments.iter().for_each(|argument| visit(argument, see)),
        ExprKind::OneOf { value, options, .. } => {
            visit(value, see);
            options.iter().for_each(|option| visit(option, see));
        }
        ExprKind::Minus(inner)
        | ExprKind::Recorded(inner)
        | ExprKind::Rate(inner)
        | ExprKind::Decided(_, inner) => visit(inner, see),
        ExprKind::Timed(timed) => timed.operands().for_each(|operand| visit_parts(operand, see)),
        // Whose elements are counted or summed says where; what is said of each is different for each.
        ExprKind::Aggregate { list, .. } => visit(list, see),
        ExprKind::Lookup { keys, .. } => keys.iter().for_each(|key| visit(key, see)),
        ExprKind::Quantified { slot, list, body, .. } => {
            visit(list, see);
            visit(body, &mut |part| {
                // What is said of its elements is different for each.
                if part.variable() != Some(*slot) {
                    see(part);
                }
            });
        }
        ExprKind::Range(form) => form.operands().for_each(|operand| visit(operand, see)),
        _ => {}
    }
}
