//! Editions: which edition of a standard judges a job, and whether a text is still the one that a job
//! was bound to.

use std::collections::HashMap;
use std::sync::Mutex;

use super::Session;
use crate::code::{EDITION_CHANGED, EDITION_MISSING, STANDARD_NOT_HERE};
use crate::diagnostic::{Diagnostic, Level, did_you_mean, nearest};
use crate::document::{Document, NodeId};
use crate::edition::{Digest, Edition, Pin};
use crate::language::typed::Standard;
use crate::source::{Place, SourceId, Sources};

/// The content hashes of the texts of a run, each computed when it is first asked for.
#[derive(Debug, Default)]
pub(super) struct Digests(Mutex<HashMap<SourceId, Digest>>);

impl Digests {
    fn of(&self, source: SourceId, sources: &Sources) -> Digest {
        let known = self.0.lock().ok().and_then(|known| known.get(&source).copied());
        known.unwrap_or_else(|| {
            let digest = Digest::of(sources.get(source).map_or("", |source| source.text()));
            if let Ok(mut known) = self.0.lock() {
                known.insert(source, digest);
            }
            digest
        })
    }
}

/// A standard that a job is bound to.
struct Bound<'d> {
    name: &'d str,
    edition: Option<Stated>,
    entry: NodeId,
}

/// The edition that a document states.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Stated {
    Edition(Edition),
    /// It is no edition, which is reported with the document.
    Unreadable,
}

impl Stated {
    /// The edition in a field; none where nothing is recorded.
    pub(super) fn read(document: &Document<'_>, field: NodeId) -> Option<Stated> {
        if document.is_empty(field) {
            return None;
        }
        Some(document.value(field).and_then(Edition::of).map_or(Stated::Unreadable, Stated::Edition))
    }
}

impl Session {
    /// The standards that judge a document, as far as their editions tell: those in force, but for a
    /// standard that a job is bound to the edition that it names. What it names and is not there is said;
    /// no other edition takes its place.
    pub(super) fn editions(&self, document: &Document<'_>) -> (Vec<&Standard>, Vec<Diagnostic>) {
        let form = document.form().unwrap_or_default();
        let bound = bound(document);
        let mut diagnostics = Vec::new();
        for (number, one) in bound.iter().enumerate() {
            diagnostics.extend(self.missing(document, one));
            let first = bound.iter().take(number).find(|first| first.name == one.name);
            diagnostics.extend(first.map(|first| twice(document, first, one)));
        }
        diagnostics.extend(self.changed_procedure(document));
        let judges = |standard: &&Standard| {
            let named =
                bound.iter().find(|bound| bound.name == standard.name).and_then(|bound| bound.edition);
            standard.form == form
                && named.map_or(standard.in_force, |named| named == Stated::Edition(standard.edition))
        };
        (self.program().standards().iter().filter(judges).collect(), diagnostics)
    }

    /// What is wrong with the edition that a job is bound to.
    fn missing(&self, document: &Document<'_>, bound: &Bound<'_>) -> Option<Diagnostic> {
        let place = |field: &str| document.place(document.get(bound.entry, field).unwrap_or(bound.entry));
        let name = bound.name;
        let standards = self.program().standards();
        let editions: Vec<&Standard> = standards.iter().filter(|standard| standard.name == name).collect();
        if editions.is_empty() {
            let message =
                format!("the job is bound to `{name}`, which is not among the standards of this run");
            let diagnostic = Diagnostic::error(STANDARD_NOT_HERE, place("name"), message);
            let near = nearest(name, standards.iter().map(|standard| standard.name.as_str()));
            return Some(match near {
                Some(near) => diagnostic.help(did_you_mean(name, near)),
                None => {
                    diagnostic.help("nothing was judged by it; name it with `--standard` or in the settings")
                }
            });
        }
        let Some(Stated::Edition(edition)) = bound.edition else { return None };
        let Some(standard) = editions.iter().find(|standard| standard.edition == edition) else {
            let known: Vec<String> = editions.iter().map(|known| known.edition.to_string()).collect();
            let message = format!(
                "the job is bound to edition {edition} of `{name}`, and this run has only edition {}",
                known.join(" and ")
            );
            let help = "nothing was judged by it; put the file of that edition among the earlier standards of the settings";
            return Some(Diagnostic::error(EDITION_MISSING, place("edition"), message).help(help));
        };
        self.changed(document, bound.entry, standard.place.source, &format!("edition {edition} of `{name}`"))
    }

    fn changed_procedure(&self, document: &Document<'_>) -> Option<Diagnostic> {
        let entry = document.find("job.procedure")?;
        document.get(entry, "content")?;
        let procedure = self.context.procedure(document).ok()?;
        let name = document.get(entry, "name").and_then(|node| document.text(node)).unwrap_or_default();
        self.changed(document, entry, procedure.source, &format!("the procedure `{name}`"))
    }

    /// Says that a text is another one than that whose content hash a job states.
    fn changed(
        &self,
        document: &Document<'_>,
        entry: NodeId,
        source: SourceId,
        what: &str,
    ) -> Option<Diagnostic> {
        let node = document.get(entry, "content")?;
        // Another text than a content hash is reported with the form.
        let pin = Pin::parse(document.text(node)?)?;
        let digest = self.digest(source);
        if digest.matches(&pin) {
            return None;
        }
        let message = format!(
            "{what} was changed after the job was bound to it: its content is now {}, not {pin}",
            digest.short()
        );
        let at = Place { source, span: crate::source::Span::default() };
        let diagnostic = Diagnostic {
            level: Level::Error,
            ..Diagnostic::advice(EDITION_CHANGED, document.place(node), message)
        };
        let help = "give a changed text the next edition, and bring back the text that the job was done by";
        Some(diagnostic.and_at(at, "the text of this run").help(help))
    }

    /// The content hash of a text of this run.
    #[must_use]
    pub fn digest(&self, source: SourceId) -> Digest {
        self.digests.of(source, self.sources())
    }
}

/// Says that a job is bound to one standard twice.
fn twice(document: &Document<'_>, first: &Bound<'_>, second: &Bound<'_>) -> Diagnostic {
    let message = format!("the job is bound to `{}` twice, and is judged by the first", second.name);
    Diagnostic::error(EDITION_MISSING, document.place(second.entry), message)
        .labelled("again here")
        .and_at(document.place(first.entry), "first here")
        .help("keep the edition that the job was done by")
}

/// The standards that a job is bound to.
fn bound<'d>(document: &'d Document<'_>) -> Vec<Bound<'d>> {
    let list = document.find("job.standards").map_or(&[][..], |list| document.items(list));
    let one = |entry: &NodeId| {
        let name = document.text(document.get(*entry, "name")?)?;
        let edition = document.get(*entry, "edition").and_then(|field| Stated::read(document, field));
        Some(Bound { name, edition, entry: *entry })
    };
    list.iter().filter_map(one).collect()
}
