//! What an editor asks of texts that are being typed: any text, at any place.

use std::sync::LazyLock;

use witnessmark::document::DocPath;
use witnessmark::editor::protocol::{Completion, Position, Range, TextEdit, Wanted};
use witnessmark::editor::symbols::Symbols;
use witnessmark::editor::text::Text;
use witnessmark::editor::{
    colours, complete, complete_rules, diagnostics, fixes, hints, hover, hover_rules, lens, names, outline,
    rows,
};
use witnessmark::session::Session;
use witnessmark::source::SourceId;

use super::given::{BETWEEN, FORMS, RULES, halves, opened};

/// Rules that judge what is typed.
static SESSION: LazyLock<Session> =
    LazyLock::new(|| opened(&[("made-up.standard", RULES)], FORMS.clone(), Vec::new()));

/// So many places of a text are asked about.
const PLACES: usize = 6;

/// Everything that is asked of a record and of a rule file has an answer that is within the text; and what is changed piece by
/// piece is what it would be at once.
pub fn editor(data: &[u8]) {
    let Some(text) = super::check::decoded(data) else { return };
    let (first, second) = halves(&text);
    typed(first, second);
    let text = Text::new(first.to_owned());
    let all = Range { start: Position::default(), end: text.range(end(&text)).end };
    let places = (0..=PLACES).map(|place| first.floor_char_boundary(first.len() * place / PLACES));
    for offset in places {
        of_records(&text, offset, all);
        of_rules(&text, offset);
    }
    of_whole(&text, all);
}

fn end(text: &Text) -> witnessmark::source::Span {
    witnessmark::source::Span::new(text.text().len(), text.text().len())
}

/// A range leads to bytes, and these back to the range.
fn whole(text: &Text, range: Range) {
    assert_eq!(text.range(text.span(range)), range, "a range that is not within the text");
}

fn offered(text: &Text, offset: usize, offers: Vec<Completion>) {
    for offer in offers {
        let TextEdit { range, .. } = offer.text_edit;
        whole(text, range);
        let span = text.span(range);
        assert!(
            span.start as usize <= offset && offset <= span.end as usize,
            "an offer elsewhere: {offer:?}"
        );
        assert_eq!(range.start.line, range.end.line, "an offer over several lines: {offer:?}");
    }
}

fn of_records(text: &Text, offset: usize, all: Range) {
    let at = u32::try_from(offset).unwrap();
    offered(text, offset, complete::at(text, offset, &SESSION));
    if let Some(hover) = hover::at(text, at, &SESSION, &SESSION.judge("typed.yaml", text.text())) {
        whole(text, hover.range);
    }
    if let Some((named, span)) = names::named_at(text, at, SESSION.forms()) {
        let found = names::places_in(text.text(), &named, SESSION.forms());
        assert!(found.contains(&span), "a name that is not found where it is: {named:?}");
    }
    let _ = names::parameter_at(text, at, &SESSION);
    let judged = SESSION.judge("typed.yaml", text.text());
    for action in fixes::of_document(text, &judged, all, &Wanted::default(), &SESSION) {
        assert!(!action.edits.is_empty(), "{action:?}");
        action.edits.iter().for_each(|edit| whole(text, edit.range));
    }
    diagnostics::of_judged(&judged, &|_| None).iter().for_each(|said| whole(text, said.range));
}

fn of_rules(text: &Text, offset: usize) {
    let at = u32::try_from(offset).unwrap();
    let symbols = Symbols::of(text.text(), &FORMS, None);
    offered(text, offset, complete_rules::at(text, offset, Some(&SESSION), &FORMS, &symbols));
    if let Some(hover) = hover_rules::at(text, at, Some(&SESSION), &symbols) {
        whole(text, hover.range);
    }
    let uses = names::uses(&symbols, at);
    if let Some((span, _)) = names::renamed(&symbols, at) {
        assert!(uses.contains(&span), "a name that is not used where it is");
        let name = span.of(text.text());
        assert!(uses.iter().all(|one| one.of(text.text()) == name), "uses of another name than `{name}`");
    }
    let _ = names::definition(&symbols, at);
}

fn of_whole(text: &Text, all: Range) {
    let symbols = Symbols::of(text.text(), &FORMS, None);
    let of_rules = outline::of_rules(text, &symbols);
    for one in of_rules.iter().chain(&outline::of_documents(text, &FORMS)) {
        whole(text, one.range);
        assert!(
            one.range.start <= one.selection_range.start && one.selection_range.end <= one.range.end,
            "{one:?}"
        );
    }
    assert_eq!(colours::of_rules(text, &symbols).len() % 5, 0);
    assert_eq!(colours::of_documents(text, &FORMS).len() % 5, 0);
    lens::of_rules(text, "file:///typed.standard", &symbols).iter().for_each(|lens| whole(text, lens.range));
    for hint in hints::of_documents(text, all, &SESSION, &[]) {
        whole(text, Range { start: hint.position, end: hint.position });
    }
    let (documents, _) = witnessmark::document::read(SourceId::FIRST, text.text(), &FORMS);
    for document in &documents {
        let paths: Vec<DocPath> = document.values().map(|(node, _)| document.path(node)).collect();
        assert_eq!(rows::asked(&SESSION, document, &paths).len(), paths.len());
    }
}

/// A text that becomes another, letter by letter.
fn typed(first: &str, second: &str) {
    use witnessmark::editor::protocol::Change;
    let mut text = Text::new(first.to_owned());
    let kept = first.floor_char_boundary(first.len() / 2);
    let cut = Range {
        start: text.range(witnessmark::source::Span::new(kept, kept)).start,
        end: text.range(end(&text)).end,
    };
    // Between the two halves of a line end, no position of an editor is.
    if text.offset(cut.start) as usize != kept {
        return;
    }
    text.change(vec![Change { range: Some(cut), text: String::new() }]).unwrap();
    let mut expected = first[..kept].to_owned();
    for c in second.chars().take(64) {
        let at = text.range(end(&text)).end;
        if text.offset(at) as usize != expected.len() {
            return;
        }
        text.change(vec![Change { range: Some(Range { start: at, end: at }), text: c.to_string() }]).unwrap();
        expected.push(c);
        assert_eq!(text.text(), expected);
    }
}

/// Texts to begin with, and what is typed behind their first halves.
pub fn seeds(texts: Vec<String>) -> Vec<Vec<u8>> {
    let typed = "    torque: 9 Nm\n  demands s.torque within 1 .. 2 # 😀é";
    texts.into_iter().map(|text| format!("{text}{BETWEEN}{typed}").into_bytes()).collect()
}
