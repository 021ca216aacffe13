//! The values that a finding goes by, as a file of known findings keeps them.

use super::Explainer;
use super::words::{below, last_names};
use crate::decide::{Missing, NodeRef, Reason, Seen, UnresolvedLink};
use crate::finding::SeenValue;
use crate::trade::names::named_path;

impl<'x> Explainer<'x> {
    /// The path of a value by the names of entries, and what is written there.
    pub fn seen(&mut self, seen: &Seen<'x>) -> SeenValue {
        match seen {
            Seen::Value(spot) => {
                let text = self.values.doc(*spot).raw(spot.node).map_or("recorded", str::trim).to_owned();
                SeenValue { path: self.by_names(*spot), text }
            }
            Seen::Missing(missing) => self.absent(missing),
            Seen::Logs(leaf) => {
                let at = leaf.at.unwrap_or(self.values.root());
                let text = self.explain(leaf).found.unwrap_or_default();
                SeenValue { path: self.by_names(at), text }
            }
        }
    }

    /// What is not there: that it is not recorded, or why it cannot be found.
    fn absent(&mut self, missing: &Missing<'x>) -> SeenValue {
        let at = self.by_names(missing.at);
        let field = match missing.shown() {
            Reason::NotRecorded(expr, depth) => Some(below(&at, &last_names(expr, *depth))),
            Reason::UnresolvedLink(lost) => match &**lost {
                UnresolvedLink::Unnamed(field) => Some(below(&at, field)),
                _ => None,
            },
            _ => None,
        };
        match field {
            Some(path) => SeenValue { path, text: SeenValue::NOT_RECORDED.to_owned() },
            None => SeenValue { path: at, text: self.missing_words(missing).1 },
        }
    }

    /// The path of a node by the names of entries; in another document, with what that is called.
    fn by_names(&self, spot: NodeRef) -> String {
        let document = self.values.doc(spot);
        let path = named_path(document, &document.path(spot.node));
        match spot.is_own() {
            true => path.to_string(),
            false => format!("{} {path}", self.values.around.called(spot.document)).trim_end().to_owned(),
        }
    }
}
