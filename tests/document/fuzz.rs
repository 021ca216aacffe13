//! Damaged records never bring the reader down, and every span it gives lies in the text.

use witnessmark::diagnostic::Diagnostic;
use witnessmark::document::{self, Document, Forms, decode};
use witnessmark::source::{LineIndex, Span};

use super::{GOOD, source, walk};

fn check_span(text: &str, span: Span) {
    let (start, end) = (span.start as usize, span.end as usize);
    assert!(start <= end && end <= text.len(), "{span:?} in {} bytes", text.len());
    assert!(text.is_char_boundary(start) && text.is_char_boundary(end), "{span:?} cuts a character");
}

fn check(text: &str, documents: &[Document<'_>], diagnostics: &[Diagnostic]) {
    for diagnostic in diagnostics {
        assert!(!diagnostic.message.is_empty());
        for label in &diagnostic.labels {
            check_span(text, label.place.span);
        }
    }
    for document in documents {
        walk(document, document.root(), &mut |id| {
            check_span(text, document.span(id));
            for entry in document.entries(id) {
                check_span(text, entry.key_span);
                assert!(document.span(id).start <= entry.key_span.start);
                assert_eq!(document.parent(entry.value), Some(id));
            }
        });
    }
}

/// What damages records in practice and what troubles readers of YAML.
const PIECES: [&str; 30] = [
    "\t", "\r", "\n", "\0", "\u{feff}", "ü", "🔧", "[", "]", "{", "}", ",", ":", ": ", "- ", "? ", "#", " #",
    "'", "\"", "\\", "&a ", "*a", "!!x ", "| \n", ">-\n", "---\n", "...\n", "%", "<<: ",
];

fn damage(random: &mut fastrand::Rng, bytes: &mut Vec<u8>) {
    for _ in 0..random.usize(1..4) {
        let at = random.usize(0..bytes.len().max(1)).min(bytes.len());
        match random.u8(0..5) {
            0 if at < bytes.len() => bytes[at] ^= 1 << random.u8(0..8),
            1 if at < bytes.len() => {
                bytes.drain(at..(at + random.usize(1..9)).min(bytes.len()));
            }
            2 => {
                let from = random.usize(0..=at);
                let copy = bytes[from..at.min(from + 40)].to_vec();
                bytes.splice(at..at, copy);
            }
            3 => bytes.truncate(at),
            _ => {
                let piece = PIECES[random.usize(0..PIECES.len())];
                bytes.splice(at..at, piece.bytes());
            }
        }
    }
}

#[test]
fn damaged_records_are_read_without_harm() {
    let forms = Forms::builtin();
    let mut random = fastrand::Rng::with_seed(7);
    let (mut read, mut refused) = (0, 0);
    for _ in 0..20_000 {
        let mut bytes = GOOD.as_bytes().to_vec();
        damage(&mut random, &mut bytes);
        match decode(bytes) {
            Ok(text) => {
                let (documents, diagnostics) = document::read(source(), &text, &forms);
                check(&text, &documents, &diagnostics);
                read += 1;
            }
            Err(wrong) => {
                assert!(wrong.at < wrong.bytes.len());
                refused += 1;
            }
        }
    }
    // The seed is fixed: both ways are taken often.
    assert!(read > 15_000 && refused > 500, "{read} read, {refused} refused");
}

#[test]
fn no_damage_to_a_record_passes_as_another_record_in_silence() {
    // A byte lost from a field's name or from a unit must be said.
    let forms = Forms::builtin();
    for piece in ["  technician", "  torque", "role", " Nm", "job/1", "stepped automatic", "yes"] {
        let at = GOOD.find(piece).expect("is there") + piece.len() - 1;
        let mut text = GOOD.to_owned();
        text.remove(at);
        let (_, diagnostics) = document::read(source(), &text, &forms);
        assert_eq!(diagnostics.len(), 1, "{piece} without its last letter");
        let place = diagnostics[0].place().expect("has a place").span.start;
        let line = LineIndex::new(&text).position(&text, place).line;
        let expected = LineIndex::new(GOOD).position(GOOD, u32::try_from(at).expect("is small")).line;
        assert_eq!(line, expected, "{piece}");
    }
}
