//! Every span, read again, is the text it stands for.

use witnessmark::document::{Document, NodeKind, yaml};
use witnessmark::source::Span;

use super::{GOOD, source, tree, walk};

/// Texts with everything that moves offsets: letters and signs of several bytes, line ends of two,
/// byte-order marks, comments, all styles of scalars and collections.
const TEXTS: [&str; 12] = [
    GOOD,
    "größe: klein # Maß\nstraße: 'süß'\n",
    "工場: 東京 # 注\nlist: [ネジ, \"プラグ\"]\n",
    "emoji: 🔧🔩\n🧰: [ '🛢️', { k: \"🚗\" } ]\n",
    "a: 1\r\nb:\r\n  - x\r\n  - y: ü\r\n    z: \"q\"\r\n",
    "\u{feff}a: 1\nb: [ö, 2]\n",
    "\u{feff}a: 1\r\nü: 2\r\n",
    "- - a\n  - b\n-\n  - c\n- {d: [e, {f: g}]}\n",
    "a:   1   # one\n# two\nb:\n  # three\n  - x   # four\n\n  -   y\n",
    "outer: { inner: [ ], none: { }, last: 'x' }\n",
    "\"quoted key\": v\n'it''s': w\n? plain\n: u\n",
    "---\na: 1\n...\n",
];

/// Reads a scalar's span again as a document of its own.
fn read_again(text: &str, span: Span) -> String {
    let piece = span.of(text).to_owned();
    let document = tree(&piece);
    document.raw(document.root()).unwrap_or_else(|| panic!("`{piece}` is a single value")).to_owned()
}

fn check(text: &str, document: &Document<'_>) {
    walk(document, document.root(), &mut |id| {
        let (node, piece) = (document.node(id), document.span(id).of(text));
        match &node.kind {
            NodeKind::Scalar { raw, .. } if piece.contains('\n') => {
                let lines = piece.lines().map(str::trim).collect::<Vec<_>>().join("\n");
                assert_eq!(lines, raw.trim_end(), "a text over several lines");
            }
            NodeKind::Scalar { raw, .. } => assert_eq!(read_again(text, node.span), **raw),
            NodeKind::Map(_) | NodeKind::List(_) => check_collection(text, document, id),
            NodeKind::Empty => assert!(piece.is_empty() || piece == "-", "{piece:?}"),
        }
        for entry in document.entries(id) {
            assert_eq!(read_again(text, entry.key_span), *entry.key);
        }
    });
}

/// In brackets, a collection reaches from one to the other; otherwise from its first key or dash
/// to the end of its last value.
fn check_collection(text: &str, document: &Document<'_>, id: witnessmark::document::NodeId) {
    let (span, piece) = (document.span(id), document.span(id).of(text));
    let is_map = matches!(document.node(id).kind, NodeKind::Map(_));
    if piece.starts_with(if is_map { '{' } else { '[' }) {
        assert!(piece.ends_with(if is_map { '}' } else { ']' }), "{piece:?}");
        return;
    }
    let last = if is_map {
        let entries = document.entries(id);
        let first = entries.first().expect("a block map has a field");
        let explicit = piece.starts_with("? ");
        assert!(explicit || span.start == first.key_span.start, "{piece:?}");
        let last = entries.last().expect("a block map has a field");
        document.span(last.value).end.max(last.key_span.end)
    } else {
        assert!(piece.starts_with('-'), "{piece:?}");
        document.span(*document.items(id).last().expect("a block list has an item")).end
    };
    assert_eq!(span.end, last, "{piece:?}");
}

#[test]
fn every_span_read_again_is_its_text() {
    for text in TEXTS {
        check(text, &tree(text));
    }
}

#[test]
fn a_base_moves_every_span() {
    for text in TEXTS {
        let outer = format!("{}{text}", "x".repeat(97));
        let (documents, _) = yaml::read(source(), text, 97);
        let document = documents.first().expect("one document");
        check(&outer, document);
    }
}

#[test]
fn spans_stand_where_they_are_expected() {
    let text =
        "a: |\n  one\n  two\n\nb: >-\n  fold\nc:\nd: \"x\\ny\" # note\ne: [1, 2] # end\nf:\n  - g: h\n";
    let document = tree(text);
    let found = |path: &str| document.span(document.find(path).expect(path)).of(text);
    // Counted by hand in the text above.
    assert_eq!(found("a"), "one\n  two");
    assert_eq!(found("b"), "fold");
    assert_eq!(found("d"), "\"x\\ny\"");
    assert_eq!(found("e"), "[1, 2]");
    assert_eq!(found("f"), "- g: h");
    assert_eq!(found("f[0]"), "g: h");
    let left_out = document.span(document.find("c").expect("c"));
    assert!(left_out.is_empty());
    assert_eq!(Span { start: left_out.start - 1, end: left_out.end + 1 }.of(text), "c:");
}

#[test]
fn every_path_leads_back_to_its_node() {
    for text in TEXTS {
        let document = tree(text);
        walk(&document, document.root(), &mut |id| {
            assert_eq!(document.find(&document.path(id).to_string()), Some(id), "{}", document.path(id));
        });
    }
}

#[test]
fn a_path_that_leads_nowhere_ends_at_the_nearest_node() {
    let document = tree("fastenings:\n  - torque: 9 Nm\n\"a.b\": 1\n");
    let deepest = |path| document.path(document.deepest(path)).to_string();
    assert_eq!(deepest("fastenings[0].angle"), "fastenings[0]");
    assert_eq!(deepest("fastenings[7].angle"), "fastenings");
    assert_eq!(deepest("seals[0]"), "");
    assert_eq!(deepest("[\"a.b\"]"), "[\"a.b\"]");
    assert_eq!(document.find("fastenings[7]"), None);
    assert_eq!(document.find("fastenings[0].torque").and_then(|id| document.raw(id)), Some("9 Nm"));
}
