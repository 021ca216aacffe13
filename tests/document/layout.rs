//! Mistakes in the layout, and input that means harm.

use witnessmark::code::{ENCODING, TOO_DEEP, TOO_LARGE};
use witnessmark::document::{decode, yaml};

use super::{layout_of, shown, source};

/// A text, the piece of it that is pointed at, and how the message begins.
const MISTAKES: [(&str, &str, &str); 47] = [
    ("a: 1\r\n\tb: 2\n", "\t", "a tab indents this line, and only spaces may"),
    ("a:\n\tb: 1\n", "\t", "a tab indents this line, and only spaces may"),
    ("a: [1, 2\nb: 3\n", "[", "the bracket `[` is not closed before the next line"),
    ("a: {b: 1\n", "{", "the bracket `{` is never closed"),
    // What was opened in an item of a list is noticed lines later.
    ("a:\n  - {b: 1\n  - {b: 2}\n", "{", "the bracket `{` is not closed before the next line"),
    ("a:\n  - {b: 1\n    c: 2\nd: []\n", "{", "the bracket `{` is not closed before the next line"),
    (
        "a:\n  - [1, 2, # three ] of them\n  - [3]\n",
        "[",
        "the bracket `[` is not closed before the next line",
    ),
    ("a:\n  - {b: [1, 2\n  - {b: 2}\n", "[", "the bracket `[` is not closed before the next line"),
    ("a:\n  - {b: \"]\", c: 'd}\n  - {b: 2}\n", "'", "the quoted text that begins here is not closed"),
    ("a:\n  - {b: \"\\\"x, c: d}\n  - {b: 2}\n", "\"", "the quoted text that begins here is not closed"),
    ("a:\n  - {b: it's}\n - {b: 2}\n", "- {b: 2}", "this line does not begin in the same column"),
    ("a: [1, 2}\n", "[", "the bracket `[` is closed by `}`"),
    ("a: 1\n]\n", "]", "this closing bracket has no opening one"),
    ("a: 'x\nb: 1\n", "'", "the quoted text that begins here is not closed"),
    ("a: 1 # it's\nb: \"x\nc: 1\n", "\"", "the quoted text that begins here is not closed"),
    ("a: 'it's'\n", "s'", "there is something after the closing quote"),
    ("a: \"x\" y\n", "y", "there is something after the closing quote"),
    ("a: \"\\q\"\n", "\"\\q\"", "a backslash in double quotes begins an escape that does not exist"),
    ("a: 1\n b: 2\n", "b", "this line is indented further than the field above it"),
    ("ä: ö\n  ü: 2\n", "ü", "this line is indented further than the field above it"),
    ("a: x: y\n", ":", "there is a second colon in this value"),
    ("a: 1\nb\nc: 2\n", "b", "this line is not a field: it has no colon"),
    ("a:b\nc: d\n", "a:b", "this line is not a field: it has no colon"),
    ("- a\nb: c\n", "b: c", "this line is in a list but is not an item of it"),
    ("a:\n  - 1\n - 2\n", "- 2", "this line does not begin in the same column"),
    ("a:\n    b: 1\n  c: 2\n", "c: 2", "this line does not begin in the same column"),
    ("a: @b\n", "@", "a value cannot begin with `@`"),
    ("a: `b`\n", "`", "a value cannot begin with ```"),
    ("a: {b: 1 c: 2}\n", ":", "a comma or the closing bracket is missing"),
    ("a: - b\n", "-", "no list item can begin here"),
    ("a: |x\n  y\n", "|x", "the text below a `|` or `>` is not laid out"),
    ("%YAML 1.2\n---\na: 1\n", "%YAML", "a line that begins with % is not used here"),
    ("a: *\n", "*", "a value that begins with `&`, `*` or `!` cannot be read"),
    ("a: b\0c\n", "\0", "an invisible control character (hexadecimal 00)"),
    ("a: 'b\u{1}c'\n", "\u{1}", "an invisible control character (hexadecimal 01)"),
    ("a: 1\n# \u{7f}\n", "\u{7f}", "an invisible control character (hexadecimal 7f)"),
    ("a: 1\n\u{feff}b: 2\n", "\u{feff}b:", "an invisible byte-order mark is in the middle"),
    ("? [a]\n: b\n", "[", "a field's name must be a plain text"),
    ("a: 1\n{b: 2}: c\n", "{", "a field's name must be a plain text"),
    (": b\n", ":", "a field's name is missing before the colon"),
    ("<<: 1\n", "<<", "`<<` copies fields from elsewhere"),
    ("a: *x\n", "*x", "`*x` marks or repeats a shared value"),
    ("&x b: 3\n", "&x", "`&x` marks or repeats a shared value"),
    ("b: &x 3\n", "&x", "`&x` marks or repeats a shared value"),
    ("b: !!int 3\n", "!!int", "`!!int` is a type tag"),
    ("ä: 1\nb: 2\nä: 3\n", "ä", "the field `ä` is given twice"),
    ("a: {b: 1, b: 2}\n", "b", "the field `b` is given twice"),
];

#[test]
fn every_mistake_is_said_in_plain_words_at_its_place() {
    for (text, place, message) in MISTAKES {
        let (_, diagnostics) = yaml::read(source(), text, 0);
        let said = shown(text, &diagnostics);
        assert_eq!(said.len(), 1, "{text:?}: {said:?}");
        assert!(said[0].starts_with(&format!("{place} | {message}")), "{text:?}: {said:?}");
        assert!(diagnostics[0].help.is_some(), "{text:?}: every mistake can be mended");
        for jargon in ["scalar", "flow", "mapping", "node", "token", "anchor", "EOF", "sequence"] {
            assert!(!said[0].contains(jargon), "{text:?}: {said:?}");
        }
    }
}

#[test]
fn the_second_of_two_fields_is_refused_and_the_first_is_kept() {
    let text = "a: 1\nb: 2\na: 3\n";
    let (documents, diagnostics) = yaml::read(source(), text, 0);
    let places: Vec<u32> = diagnostics[0].labels.iter().map(|label| label.place.span.start).collect();
    // The second `a` stands on byte 10, the first on byte 0.
    assert_eq!(places, [10, 0]);
    let document = &documents[0];
    assert_eq!(document.get(document.root(), "a").and_then(|id| document.raw(id)), Some("1"));
    assert_eq!(document.entries(document.root()).len(), 2);
}

#[test]
fn repeated_fields_are_found_in_large_groups_too() {
    for count in [2, 15, 16, 17, 18, 40, 500] {
        let fields: String = (0..count).map(|field| format!("f{field}: 1\n")).collect();
        assert_eq!(layout_of(&fields), [""; 0]);
        for again in [0, count / 2, count - 1] {
            let text = format!("{fields}f{again}: 2\n");
            let said = layout_of(&text);
            assert_eq!(said.len(), 1, "{count} fields, f{again} again: {said:?}");
            let (_, diagnostics) = yaml::read(source(), &text, 0);
            let first = diagnostics[0].labels[1].place.span;
            assert_eq!(first.start as usize, text.find(&format!("f{again}:")).expect("is there"));
        }
    }
}

#[test]
fn a_broken_document_hides_no_other() {
    let text = "a: 1\n---\nb: [\n---\nc: 3\n---\nd: 'x\n...\n---\ne: \u{1}\nmore: \u{1}\n---\nf: 6\n";
    let (documents, diagnostics) = yaml::read(source(), text, 0);
    let first = |document: &witnessmark::document::Document<'_>| {
        document.entries(document.root()).first().map(|entry| entry.key.to_string())
    };
    let kept: Vec<String> = documents.iter().filter_map(first).collect();
    assert_eq!(kept, ["a", "c", "f"]);
    assert_eq!(diagnostics.len(), 3, "{:?}", shown(text, &diagnostics));
}

#[test]
fn bytes_that_are_no_utf_8_are_refused_at_their_place() {
    let refused = |bytes: &[u8]| {
        let refused = decode(bytes.to_vec()).expect_err("is refused");
        assert_eq!(&*refused.bytes, bytes);
        (refused.at, refused.fault)
    };
    let (at, fault) = refused(b"name: M\xfcller\n");
    assert_eq!((at, fault.code), (7, ENCODING));
    assert_eq!(fault.message, "byte 7 (hexadecimal fc) is not UTF-8 text");
    // A character that is cut off at the end.
    assert_eq!(refused(b"a: \xe2\x82").0, 3);
    let utf_16 = |little: bool| -> Vec<u8> {
        let units = "\u{feff}a: 1\n".encode_utf16();
        units.flat_map(|unit| if little { unit.to_le_bytes() } else { unit.to_be_bytes() }).collect()
    };
    for bytes in [utf_16(true), utf_16(false), utf_16(true)[2..].to_vec(), utf_16(false)[2..].to_vec()] {
        let (at, fault) = refused(&bytes);
        assert_eq!((at, fault.code), (0, ENCODING));
        assert!(fault.message.contains("UTF-16"), "{}", fault.message);
    }
    let utf_32 = |little: bool| -> Vec<u8> {
        let units = "\u{feff}a: 1\n".chars().map(u32::from);
        units.flat_map(|unit| if little { unit.to_le_bytes() } else { unit.to_be_bytes() }).collect()
    };
    for bytes in [utf_32(true), utf_32(false), utf_32(true)[4..].to_vec(), utf_32(false)[4..].to_vec()] {
        let (at, fault) = refused(&bytes);
        assert_eq!((at, fault.code), (0, ENCODING));
        assert!(fault.message.contains("UTF-32"), "{}", fault.message);
    }
    // One byte of a mark is none, and a zero byte alone is a letter of no encoding.
    for bytes in [&b"\xff"[..], b"\xffa: 1", b"\x00\xff", b"\xfe\x00"] {
        assert!(refused(bytes).1.message.ends_with("is not UTF-8 text"), "{bytes:?}");
    }
    for text in ["\0\0", "\0form: job/1\n", "f\0orm: job/1\n", "a\0", "\u{feff}a: 1\n", "größe: klein\n", ""]
    {
        assert_eq!(decode(text.as_bytes().to_vec()).expect("is a text"), text);
    }
}

#[test]
fn sizes_are_bounded() {
    let refused = decode(vec![b'a'; yaml::MAX_BYTES + 1]).expect_err("is refused");
    assert_eq!((refused.at, refused.fault.code), (yaml::MAX_BYTES, TOO_LARGE));
    let text = "a".repeat(yaml::MAX_BYTES + 1);
    let (documents, diagnostics) = yaml::read(source(), &text, 0);
    assert!(documents.is_empty());
    assert_eq!(diagnostics[0].code, TOO_LARGE);
    let many = format!("[{}]", "1,".repeat(yaml::MAX_NODES + 1));
    let (documents, diagnostics) = yaml::read(source(), &many, 0);
    assert!(documents.is_empty());
    assert_eq!(diagnostics[0].code, TOO_LARGE);
}

#[test]
fn mistakes_without_end_are_cut_off() {
    let text = "a: *x\n---\n".repeat(3 * yaml::MAX_DIAGNOSTICS);
    let (_, diagnostics) = yaml::read(source(), &text, 0);
    assert_eq!(diagnostics.len(), yaml::MAX_DIAGNOSTICS + 1);
    assert!(diagnostics[yaml::MAX_DIAGNOSTICS].message.contains("the rest of the text is not read"));
}

#[test]
fn depth_is_bounded() {
    let nested =
        |open: &str, close: &str, depth: usize| format!("{}x{}\n", open.repeat(depth), close.repeat(depth));
    for (open, close) in [("[", "]"), ("{a: ", "}"), ("- ", ""), ("? ", "")] {
        let deep = nested(open, close, 100_000);
        let (documents, diagnostics) = yaml::read(source(), &deep, 0);
        assert!(documents.is_empty(), "{open:?}");
        let last = diagnostics.last().expect("is refused");
        assert_eq!(last.code, TOO_DEEP, "{open:?}");
        // A key that is no text is refused first.
        assert_eq!(diagnostics.len(), if open == "? " { 2 } else { 1 }, "{open:?}");
    }
    for (open, close) in [("[", "]"), ("{a: ", "}"), ("- ", "")] {
        assert_eq!(layout_of(&nested(open, close, yaml::MAX_DEPTH)), [""; 0], "{open:?}");
        assert_eq!(layout_of(&nested(open, close, yaml::MAX_DEPTH + 1)).len(), 1, "{open:?}");
    }
}

#[test]
fn shared_values_cannot_multiply() {
    // Each line would repeat the one before it ten times: a billion values from ten lines.
    let mut bomb = "a0: &a0 x\n".to_owned();
    for line in 1..10 {
        let again = vec![format!("*a{}", line - 1); 10].join(", ");
        bomb.push_str(&format!("a{line}: &a{line} [{again}]\n"));
    }
    let (documents, diagnostics) = yaml::read(source(), &bomb, 0);
    assert_eq!(documents.len(), 1);
    assert_eq!(diagnostics.len(), 10 + 90);
    assert_eq!(layout_of("&a [*a]\n").len(), 2);
}
