//! What holds of everything that is said.

use witnessmark::code::INTERNAL_ERROR;
use witnessmark::diagnostic::Diagnostic;
use witnessmark::document::{Document, Forms, NodeId, NodeKind, ReaderChoice, read};
use witnessmark::finding::{Finding, Judged};
use witnessmark::source::{Place, SourceId, Sources, Span};

/// Words of the program: something is said, and not without end.
pub fn plain_words(words: &str) {
    assert!(!words.trim().is_empty(), "nothing is said");
    assert!(words.len() < 20_000, "{} bytes: {words}", words.len());
}

/// A span is within its text and between characters.
pub fn span(text: &str, span: Span) {
    let (start, end) = (span.start as usize, span.end as usize);
    assert!(start <= end && end <= text.len(), "{span:?} of {} bytes", text.len());
    assert!(text.is_char_boundary(start) && text.is_char_boundary(end), "{span:?} splits a character");
}

/// A place is in a source that there is.
fn place(sources: &Sources, at: Place) {
    span(sources.get(at.source).expect("a place is in a source that there is").text(), at.span);
}

/// What is wrong with texts: words, places, and no fault of the program itself.
pub fn diagnostics(list: &[Diagnostic], sources: &Sources) {
    for said in list {
        assert_ne!(said.code, INTERNAL_ERROR, "{}", said.message);
        plain_words(&said.message);
        said.help.iter().for_each(|help| plain_words(help));
        said.labels.iter().for_each(|label| place(sources, label.place));
        said.fix.iter().for_each(|fix| place(sources, fix.place));
    }
}

fn finding(found: &Finding, sources: &Sources) {
    plain_words(&found.message);
    place(sources, found.at);
    place(sources, found.demand);
    found.related.iter().for_each(|related| place(sources, related.at));
    found.concession.iter().for_each(|granted| place(sources, granted.at));
    found.awaited.iter().for_each(|awaited| place(sources, awaited.at));
}

/// A document that was judged: its places, and how much is listed of it.
pub fn judged(document: &Judged, most_steps: u64) {
    diagnostics(&document.diagnostics, &document.sources);
    document.findings.iter().for_each(|found| finding(found, &document.sources));
    // A quarter as many entries of logs may be read, each worth eight steps.
    let most = 3 * most_steps;
    assert!(document.steps <= most, "{} steps, and {most} may be done", document.steps);
    assert!(document.diagnostics.len() < 1_100, "{} mistakes are listed", document.diagnostics.len());
}

fn nodes(document: &Document<'_>, id: NodeId, text: &str) {
    span(text, document.span(id));
    match document.node(id).kind {
        NodeKind::Map(_) => {
            for entry in document.entries(id) {
                span(text, entry.key_span);
                assert_eq!(document.parent(entry.value), Some(id));
                nodes(document, entry.value, text);
            }
        }
        NodeKind::List(_) => document.items(id).iter().for_each(|item| nodes(document, *item, text)),
        NodeKind::Empty | NodeKind::Scalar { .. } => {}
    }
}

/// Reads documents by both readers, which must agree, and looks at every span.
pub fn documents(text: &str, forms: &Forms) {
    let mut sources = Sources::new();
    let source = sources.add("text.yaml", text);
    let (documents, said) = read(source, text, forms);
    diagnostics(&said, &sources);
    documents.iter().for_each(|document| nodes(document, document.root(), text));
    let (slowly, said_slowly) = read(source, text, &forms.clone().read_by(ReaderChoice::YamlOnly));
    assert_eq!(format!("{said:#?}"), format!("{said_slowly:#?}"), "the two readers say the same");
    assert_eq!(format!("{documents:?}"), format!("{slowly:?}"), "the two readers read the same");
}

/// Bytes as the text that a reader would be given; where they are none, that is said of one of them.
pub fn decoded(data: &[u8]) -> Option<String> {
    match witnessmark::document::decode(data.to_vec()) {
        Ok(text) => Some(text),
        Err(wrong) => {
            assert!(wrong.at < wrong.bytes.len());
            None
        }
    }
}

/// The number of a source, for texts that are read alone.
pub const ALONE: SourceId = SourceId::FIRST;
