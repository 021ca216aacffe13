//! The logs of a document, each read through once, so that what is wrong with one is said at its line
//! whether or not a rule asks for it.

use super::Session;
use crate::code::LOG_FORM;
use crate::diagnostic::{At, Diagnostic, Fault};
use crate::document::log::{self, Misread, Opening};
use crate::document::{Document, NodeId};
use crate::quantity::Kind;
use crate::source::{Place, Sources, Span};

impl Session {
    /// What is wrong with the logs of a document and is not said with the document itself.
    pub(super) fn logs_of(&self, document: &Document<'_>, sources: &Sources) -> Vec<Diagnostic> {
        let opening = Opening {
            document: sources.name(document.source),
            zone: &self.setting().zone,
            logs: &*self.logs,
        };
        let misread =
            document.logs().iter().filter_map(|(node, kind)| misread(document, *node, *kind, opening));
        misread
            .filter_map(|(span, fault)| {
                Err::<(), Fault>(fault).at(Place { source: document.source, span }).err()
            })
            .collect()
    }
}

fn misread(document: &Document<'_>, node: NodeId, kind: Kind, opening: Opening<'_>) -> Option<(Span, Fault)> {
    match log::samples(document, node, kind, opening) {
        Ok(mut samples) => {
            let fault = match samples.next() {
                None => Fault::new(LOG_FORM, "the log has no entries")
                    .help("add what was measured, or take the log out of the record"),
                Some(first) => std::iter::once(first).chain(samples).find_map(Result::err)?,
            };
            Some((document.span(node), fault))
        }
        Err(misread) => {
            let Misread { span, fault, is_reported } = *misread;
            (!is_reported).then_some((span, fault))
        }
    }
}
