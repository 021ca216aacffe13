//! A second reader, serde_yaml, sees the same tree: the same keys in the same order and the same
//! texts of scalars, where it keeps the text.

use std::borrow::Cow;

use serde::Deserialize;
use serde_yaml::Value;
use witnessmark::document::{self, Document, NodeId, NodeKind};
use witnessmark::letters::composed;
use witnessmark::source::SourceId;

use super::{GOOD, tree};
use crate::support::{files_below, text};

const TEXTS: [&str; 10] = [
    GOOD,
    "größe: klein # Maß\nstraße: 'süß'\nlist: [ネジ, \"プラグ\"]\n",
    "a: |\n  one\n    two\n\n  three\nb: >\n  folded\n  text\n\n  more\nc: |-\n  kept\nd: |+\n  all\n\n",
    "a: \"\\t \\u00fc \\x41 \\\\ \\\" \\\n  joined\"\nb: 'it''s'\n",
    "- - a\n  - b\n-\n  - c\n- {d: [e, {f: g}]}\n",
    "a:\r\n  - x\r\n  - y: z\r\nb: 'one\r\n\r\n  two'\r\n",
    "a: one\n  two\n\n  three\nb: c\n",
    "? explicit\n: value\nother: { a: b, c: [], d: {} }\n",
    "a: http://host:80/x?y=1#z\nb: x - y\nc: a:b\nd: '#'\ne: 1 # one\n",
    "# c\n\n---\n# d\na: b # e\n...\n# f\n",
];

/// We read letters with accents in one form, and it reads them as they are.
fn one_form(text: &str) -> Cow<'_, str> {
    composed(Cow::Borrowed(text))
}

/// Compares a node with what the other reader made of it.
fn compare(document: &Document<'_>, id: NodeId, other: &Value) {
    let path = document.path(id);
    match (&document.node(id).kind, other) {
        (NodeKind::Map(_), Value::Mapping(fields)) => {
            let entries = document.entries(id);
            assert_eq!(entries.len(), fields.len(), "{path}");
            for (entry, (key, value)) in entries.iter().zip(fields) {
                assert_eq!(key.as_str().map(one_form).as_deref(), Some(&*entry.key), "{path}");
                compare(document, entry.value, value);
            }
        }
        (NodeKind::List(_), Value::Sequence(items)) => {
            assert_eq!(document.items(id).len(), items.len(), "{path}");
            for (item, value) in document.items(id).iter().zip(items) {
                compare(document, *item, value);
            }
        }
        (NodeKind::Scalar { raw, .. }, Value::String(text)) => assert_eq!(*raw, one_form(text), "{path}"),
        // It resolves what is written without quotes; the text must be one that it can have read.
        (NodeKind::Scalar { raw, plain, .. }, resolved) => {
            assert!(*plain, "{path} is quoted and was resolved to {resolved:?}");
            let again: Value = serde_yaml::from_str(raw).expect("is a scalar");
            assert_eq!(&again, resolved, "{path}");
        }
        (NodeKind::Empty, Value::Null) => {}
        (NodeKind::Empty, Value::String(text)) => assert!(text.trim().is_empty(), "{path}"),
        (kind, other) => panic!("{path}: {kind:?} against {other:?}"),
    }
}

#[test]
fn a_second_reader_sees_the_same_tree() {
    for text in TEXTS {
        let document = tree(text);
        let other: Value = serde_yaml::from_str(text).unwrap_or_else(|error| panic!("{text:?}: {error}"));
        compare(&document, document.root(), &other);
    }
}

#[test]
fn a_second_reader_sees_the_same_tree_in_made_up_documents() {
    let mut random = fastrand::Rng::with_seed(20);
    for _ in 0..500 {
        let text = made_up(&mut random, 0);
        let document = tree(&text);
        let other: Value = serde_yaml::from_str(&text).unwrap_or_else(|error| panic!("{text:?}: {error}"));
        compare(&document, document.root(), &other);
    }
}

/// Every record and every file of settings in this repository that is whole.
#[test]
fn a_second_reader_sees_the_same_tree_in_the_examples_and_the_cases() {
    let mut read = 0;
    let folders = ["examples", "tests/cases", "tests/document"];
    let paths = folders.iter().flat_map(|folder| files_below(folder));
    // That case is about documents that cannot be read.
    let whole = |path: &String| path.ends_with(".yaml") && path != "tests/cases/documents.yaml";
    for path in paths.filter(whole) {
        let text = text(&path);
        let (documents, diagnostics) = document::yaml::read(SourceId::FIRST, &text, 0);
        assert!(diagnostics.is_empty(), "{path}: {diagnostics:#?}");
        let others: Vec<Value> = serde_yaml::Deserializer::from_str(&text)
            .map(|other| Value::deserialize(other).unwrap_or_else(|error| panic!("{path}: {error}")))
            .collect();
        assert_eq!(documents.len(), others.len(), "{path}");
        for (document, other) in documents.iter().zip(&others) {
            compare(document, document.root(), other);
            read += 1;
        }
    }
    assert!(read > 40, "only {read} documents were read");
}

#[test]
fn a_second_reader_sees_the_same_tree_in_generated_records() {
    let mut read = 0;
    for record in crate::generate::records(7).take(400) {
        // A record with a field given twice has no tree on which two readers could agree.
        if let Ok(other) = serde_yaml::from_str::<Value>(&record.text) {
            let (documents, _) = document::yaml::read(SourceId::FIRST, &record.text, 0);
            compare(&documents[0], documents[0].root(), &other);
            read += 1;
        }
    }
    assert!(read > 350, "only {read} records were read");
}

/// A block map of random depth, in the styles that records use.
fn made_up(random: &mut fastrand::Rng, depth: usize) -> String {
    const SCALARS: [&str; 12] = [
        "45 Nm",
        "'a: b'",
        "\"x\\ty\"",
        "no",
        "012",
        "1e3",
        "größer",
        "[a, 'b', { c: d }]",
        "{ k: v, l: [] }",
        "東京",
        "~",
        "\"\"",
    ];
    let indent = " ".repeat(2 * depth);
    let mut text = String::new();
    for field in 0..random.usize(1..5) {
        let nests = depth < 4;
        match random.usize(0..if nests { 6 } else { 3 }) {
            0..3 => {
                let comment = if random.bool() { " # note" } else { "" };
                text.push_str(&format!(
                    "{indent}f{field}: {}{comment}\n",
                    SCALARS[random.usize(0..SCALARS.len())]
                ));
            }
            3 => text.push_str(&format!("{indent}f{field}:\n{}", made_up(random, depth + 1))),
            4 => {
                text.push_str(&format!("{indent}f{field}:\n"));
                for _ in 0..random.usize(1..4) {
                    text.push_str(&format!("{indent}- {}\n", SCALARS[random.usize(0..SCALARS.len())]));
                }
            }
            _ => text.push_str(&format!("{indent}f{field}: |\n{indent}  one\n{indent}  two ü\n")),
        }
    }
    text
}
