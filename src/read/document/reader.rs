//! Which of the two readers reads a text.

use super::tree::Document;
use super::{quick, yaml};
use crate::diagnostic::Diagnostic;
use crate::source::SourceId;

/// How texts become trees. Both ways lead to the same trees and the same messages; one takes longer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ReaderChoice {
    /// The quick reader, and the YAML reader where that one gives up.
    #[default]
    QuickFirst,
    /// The YAML reader alone.
    YamlOnly,
}

impl ReaderChoice {
    /// Reads every document of a text; see [`yaml::read`].
    #[must_use]
    pub fn read(self, source: SourceId, text: &str, base: u32) -> (Vec<Document<'_>>, Vec<Diagnostic>) {
        let quick = match self {
            ReaderChoice::QuickFirst => quick::read(source, text, base),
            ReaderChoice::YamlOnly => None,
        };
        match quick {
            Some(documents) => (documents, Vec::new()),
            None => yaml::read(source, text, base),
        }
    }
}
