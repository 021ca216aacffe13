//! The logs of a document, each read through once, so that what is wrong with one is said at its line
//! whether or not a rule asks for it.

use super::Session;
use crate::code::{LOG_FORM, TOO_MUCH_WORK};
use crate::decide::most_samples;
use crate::diagnostic::{Diagnostic, Fault};
use crate::document::log::{self, Misread, Opening};
use crate::document::{Document, NodeId};
use crate::quantity::Kind;
use crate::source::{Place, Sources, Span};
use crate::time::Frame;

impl Session {
    /// What is wrong with the logs of a document and is not said with the document itself; of each log that has times of
    /// day, whether these say their offset; and how many entries were read.
    pub(super) fn logs_of(
        &self,
        document: &Document<'_>,
        sources: &Sources,
    ) -> (Vec<Diagnostic>, Vec<(Span, Frame)>, u64) {
        let opening = Opening {
            document: sources.name(document.source),
            zone: &self.setting().zone,
            frame: None,
            logs: &*self.logs,
        };
        let (mut wrong, mut frames) = (Vec::new(), Vec::new());
        // Many logs can name one file.
        let most = most_samples(self.most_steps);
        let mut left = most;
        for (node, kind) in document.logs() {
            let (fault, frame) = read_through(document, *node, *kind, opening, &mut left);
            if left == 0 {
                let message = format!(
                    "the logs of this document have more than {most} entries together (64 bytes of text count as one)"
                );
                let place = Place { source: document.source, span: document.span(*node) };
                let help = "take out what nobody needs, or allow more with `--most-steps`; this log and those behind it were not read to their ends";
                wrong.push(Diagnostic::error(TOO_MUCH_WORK, place, message).help(help));
                return (wrong, frames, most);
            }
            wrong.extend(fault.map(|(span, fault)| fault.at(Place { source: document.source, span })));
            // A whole table of values is not marked, its first time is.
            let first = document.entries(*node).first().map(|entry| entry.key_span);
            frames.extend(frame.map(|frame| (first.unwrap_or(document.span(*node)), frame)));
        }
        (wrong, frames, most - left)
    }
}

fn read_through(
    document: &Document<'_>,
    node: NodeId,
    kind: Kind,
    opening: Opening<'_>,
    left: &mut u64,
) -> (Option<(Span, Fault)>, Option<Frame>) {
    match log::samples(document, node, kind, opening) {
        Ok(mut samples) => {
            let first = samples.next();
            let mut besides = samples.besides();
            count(1 + besides, left);
            let fault = match first {
                None => Some(
                    Fault::new(LOG_FORM, "the log has no entries")
                        .help("add what was measured, or take the log out of the record"),
                ),
                Some(Err(fault)) => Some(fault),
                Some(Ok(_)) => loop {
                    let entry = samples.next();
                    count(1 + samples.besides().saturating_sub(besides), left);
                    besides = samples.besides();
                    match entry {
                        Some(Err(fault)) => break Some(fault),
                        Some(Ok(_)) if *left > 0 => {}
                        _ => break None,
                    }
                },
            };
            (fault.map(|fault| (document.span(node), fault)), samples.frame())
        }
        Err(misread) => {
            let Misread { span, fault, is_reported } = *misread;
            ((!is_reported).then_some((span, fault)), None)
        }
    }
}

/// Counts what was read.
fn count(entries: u64, left: &mut u64) {
    *left = left.saturating_sub(entries);
}
