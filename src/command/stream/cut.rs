//! Cuts a stream into records while it arrives, and holds no more of it than one of them.
//!
//! A line `---` or `...` that begins in the first column ends a YAML document wherever it stands: text of several lines within a
//! document is indented, and where it is not, YAML allows no such line in it. So a cut never changes what a document says, and
//! what is in a piece is for the one reader of documents to tell: where it finds several documents, each is judged.

use std::io::{self, BufRead};

use serde::Deserialize;

use super::super::files::{LONGEST, Unread, plainly};
use crate::code::{FILE_UNREADABLE, STREAM_PART};
use crate::diagnostic::Fault;
use crate::document::{Undecoded, decode};
use crate::report::lines::InStream;
use crate::report::text::count;
use crate::source::STANDARD_INPUT;

/// The form of a line that holds a text and its name.
const TEXT_FORM: &str = "text/1";

/// The longest name of a text, in letters.
const LONGEST_NAME: usize = 1_000;

/// A byte-order mark.
const MARK: &[u8] = "\u{feff}".as_bytes();

/// A record of a stream, or why there is none.
pub(in crate::command) struct Piece {
    pub(in crate::command) at: InStream,
    /// The name that came with it.
    pub(in crate::command) name: Option<String>,
    pub(in crate::command) text: Result<String, Unread>,
    /// How many bytes of the stream it holds.
    pub(in crate::command) length: usize,
}

/// How the records of a stream are parted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// By lines `---` and `...`.
    Documents,
    /// Each line is one.
    Lines,
}

/// A stream, cut into records.
pub(super) struct Cutter<R> {
    input: R,
    kind: Option<Kind>,
    /// The longest record that is read, in bytes.
    longest: usize,
    /// The bytes and lines that were read before the line at hand.
    read: InStream,
    /// The record at hand: where it begins, and its bytes as far as they are kept.
    begins: Option<(u64, u64)>,
    text: Vec<u8>,
    length: usize,
    /// Whether something stands in it that is no blank and no comment.
    is_filled: bool,
    /// Whether a line `---` begins it, so that it is one also where nothing stands in it.
    is_marked: bool,
    /// The line at hand, without its end.
    line: Vec<u8>,
    ended: bool,
    /// Whether the stream ended within a line.
    is_cut: bool,
}

/// A line as it was read.
struct Line {
    length: usize,
    has_end: bool,
}

impl<R: BufRead> Cutter<R> {
    pub(super) fn new(input: R) -> Cutter<R> {
        Cutter {
            input,
            kind: None,
            longest: usize::try_from(LONGEST).unwrap_or(usize::MAX),
            read: InStream { number: 0, byte: 0, line: 0 },
            begins: None,
            text: Vec::new(),
            length: 0,
            is_filled: false,
            is_marked: false,
            line: Vec::new(),
            ended: false,
            is_cut: false,
        }
    }

    /// Reads a line, and keeps no more of it than a record can have.
    fn read_line(&mut self) -> io::Result<Line> {
        self.line.clear();
        let mut length = 0;
        loop {
            let read = match self.input.fill_buf() {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                read => read?,
            };
            if read.is_empty() {
                return Ok(Line { length, has_end: false });
            }
            let end = read.iter().position(|byte| *byte == b'\n');
            let taken = end.map_or(read.len(), |end| end + 1);
            // One byte more shows that it is too long.
            let room = (self.longest + 1).saturating_sub(self.line.len());
            self.line.extend(read.iter().take(taken.min(room)));
            self.input.consume(taken);
            length += taken;
            if end.is_some() {
                return Ok(Line { length, has_end: true });
            }
        }
    }

    /// The next record.
    pub(super) fn next(&mut self) -> Option<Piece> {
        while !self.ended {
            let (byte, line) = (self.read.byte, self.read.line + 1);
            let read = match self.read_line() {
                Ok(read) => read,
                Err(error) => {
                    self.ended = true;
                    let message =
                        format!("`{STANDARD_INPUT}` cannot be read to its end: {}", plainly(&error));
                    self.begins.get_or_insert((byte, line));
                    return Some(self.piece(Err(Fault::new(FILE_UNREADABLE, message).into())));
                }
            };
            self.read.byte += read.length as u64;
            self.read.line = line;
            // A mark at the beginning of a stream belongs to no record.
            let has_mark = byte == 0 && self.line.starts_with(MARK);
            let byte = if has_mark { self.line.drain(..MARK.len()).len() as u64 } else { byte };
            self.ended = !read.has_end;
            self.is_cut = self.ended
                && read.length > 0
                && !is_marker(&self.line, b"---")
                && !is_marker(&self.line, b"...");
            let kind = self.kind_of_line();
            let piece = match kind {
                Some(Kind::Lines) => self.take_line((byte, line), &read),
                _ => self.take_part((byte, line), &read),
            };
            if piece.is_some() {
                return piece;
            }
        }
        match (std::mem::take(&mut self.is_filled), self.is_cut) {
            (false, _) => None,
            (true, false) => Some(self.whole()),
            (true, true) => Some(self.cut_off()),
        }
    }

    /// What is said of the rest of a stream that could not be cut.
    pub(super) fn failed(&mut self, fault: Fault) -> Piece {
        self.piece(Err(fault.into()))
    }

    /// The first line that says something tells how the records are parted.
    fn kind_of_line(&mut self) -> Option<Kind> {
        let line = trimmed(&self.line);
        if self.kind.is_none() && !line.is_empty() {
            self.kind = Some(if line.starts_with(b"{") { Kind::Lines } else { Kind::Documents });
        }
        self.kind
    }

    /// A line that is a record by itself.
    fn take_line(&mut self, begins: (u64, u64), read: &Line) -> Option<Piece> {
        if trimmed(&self.line).is_empty() {
            return None;
        }
        self.forget();
        self.begins = Some(begins);
        self.add(read);
        Some(self.whole())
    }

    /// A line that is a part of a record, or stands between two.
    fn take_part(&mut self, begins: (u64, u64), read: &Line) -> Option<Piece> {
        let (begins_next, ends) = (is_marker(&self.line, b"---"), is_marker(&self.line, b"..."));
        if !begins_next && !ends {
            if read.length > 0 {
                self.begins.get_or_insert(begins);
                self.is_filled |= says_something(&self.line);
                self.add(read);
            }
            return None;
        }
        // Behind a line `---` there should be a record.
        let before = (self.is_filled || self.is_marked).then(|| {
            self.begins.get_or_insert(begins);
            self.whole()
        });
        self.forget();
        self.is_marked = begins_next;
        // Behind `...` there should be nothing; what stands there is told by whoever reads it.
        if self.line.get(3..).is_some_and(says_something) {
            self.begins = Some(begins);
            self.is_filled = true;
            self.is_cut = self.ended;
            self.add(read);
        }
        before
    }

    /// Adds the line at hand to the record at hand.
    fn add(&mut self, read: &Line) {
        self.length += read.length;
        if self.length <= self.longest {
            self.text.append(&mut self.line);
        } else {
            self.text.clear();
        }
    }

    /// The record at hand, of which the end is missing.
    fn cut_off(&mut self) -> Piece {
        let fault = Fault::new(STREAM_PART, "the stream ends within a line, so this record may be cut off")
            .help("end the last line of the stream with a line end");
        match self.length > self.longest {
            true => self.whole(),
            false => self.piece(Err(fault.into())),
        }
    }

    /// The record at hand, which is complete.
    fn whole(&mut self) -> Piece {
        if self.length > self.longest {
            let message = format!("this record is longer than {}", count(self.longest as u64, "byte"));
            let fault = Fault::new(FILE_UNREADABLE, message)
                .help("a record of one job is a few kilobytes; keep other data in files of their own");
            return self.piece(Err(fault.into()));
        }
        let read = decode(std::mem::take(&mut self.text));
        let read = read.map_err(|Undecoded { bytes, at, fault }| Unread {
            fault: Fault { help: Some("write the stream in the encoding UTF-8".to_owned()), ..fault },
            text: String::from_utf8_lossy(&bytes).into(),
            at,
        });
        let is_line = self.kind == Some(Kind::Lines);
        let (name, text) = match read {
            Ok(line) if is_line => unpacked(line),
            read => (None, read),
        };
        Piece { name, ..self.piece(text) }
    }

    fn piece(&mut self, text: Result<String, Unread>) -> Piece {
        self.read.number += 1;
        let (byte, line) = self.begins.unwrap_or_default();
        let piece = Piece {
            at: InStream { number: self.read.number, byte, line },
            name: None,
            text,
            length: self.length.min(self.longest),
        };
        self.forget();
        piece
    }

    fn forget(&mut self) {
        self.text.clear();
        (self.begins, self.length, self.is_filled, self.is_marked) = (None, 0, false, false);
    }
}

/// A text and its name in one line.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Packed {
    form: String,
    #[serde(default)]
    name: Option<String>,
    text: String,
}

/// The text that a line holds, with its name; a line that is a record itself stays as it is.
fn unpacked(line: String) -> (Option<String>, Result<String, Unread>) {
    /// What can be read also where the text cannot.
    #[derive(Deserialize)]
    struct Formed {
        form: String,
        #[serde(default)]
        name: Option<String>,
    }
    // A record can hold these letters, too: its form is another.
    if !line.contains(TEXT_FORM) {
        return (None, Ok(line));
    }
    let formed: Result<Formed, _> = serde_json::from_str(&line);
    let is_record = formed.as_ref().is_ok_and(|formed| formed.form != TEXT_FORM);
    if is_record {
        return (None, Ok(line));
    }
    let is_name = |name: &String| !name.is_empty() && name.chars().count() <= LONGEST_NAME;
    let name = formed.ok().and_then(|formed| formed.name).filter(is_name);
    let wrong = |why: String| {
        let fault = Fault::new(STREAM_PART, format!("this line is not a text with its name: {why}"));
        let help = "write it as `{\"form\": \"text/1\", \"name\": NAME, \"text\": TEXT}` on one line, with no other member; the text in UTF-8";
        Err(Unread { fault: fault.help(help), text: line.clone().into(), at: 0 })
    };
    let text = match serde_json::from_str::<Packed>(&line) {
        Ok(Packed { form, .. }) if form != TEXT_FORM => wrong(format!("its form is `{form}`")),
        Ok(Packed { name: Some(long), .. }) if long.chars().count() > LONGEST_NAME => {
            wrong(format!("its name is longer than {LONGEST_NAME} letters"))
        }
        Ok(Packed { text, .. }) => Ok(text),
        Err(error) => wrong(error.to_string()),
    };
    (name, text)
}

fn trimmed(line: &[u8]) -> &[u8] {
    line.trim_ascii()
}

/// Whether a line says something: it is neither blank nor a comment. For YAML a carriage return alone ends a line, too.
fn says_something(line: &[u8]) -> bool {
    line.split(|byte| *byte == b'\r').any(|line| !matches!(trimmed(line).first(), None | Some(b'#')))
}

/// Whether a line begins with this marker between documents.
fn is_marker(line: &[u8], marker: &[u8; 3]) -> bool {
    let rest = line.strip_prefix(marker);
    rest.is_some_and(|rest| matches!(rest.first(), None | Some(b' ' | b'\t' | b'\r' | b'\n')))
}

#[cfg(test)]
mod tests {
    use std::io::BufReader;

    use super::Cutter;

    /// The pieces of a stream that arrives in parts of so many bytes: where each begins, its name, and its text or what is
    /// wrong with it.
    fn cut_in(stream: &[u8], part: usize, longest: usize) -> Vec<(u64, u64, String)> {
        let mut cutter = Cutter { longest, ..Cutter::new(BufReader::with_capacity(part, stream)) };
        let mut pieces = Vec::new();
        while let Some(piece) = cutter.next() {
            let name = piece.name.map(|name| format!("{name}: ")).unwrap_or_default();
            let text = match piece.text {
                Ok(text) => text,
                Err(unread) => format!("! {}", unread.fault.message),
            };
            assert_eq!(piece.at.number, pieces.len() as u64 + 1);
            pieces.push((piece.at.byte, piece.at.line, name + &text));
        }
        pieces
    }

    #[track_caller]
    fn cuts(stream: &str, wanted: &[(u64, u64, &str)]) {
        for part in [1, 2, 3, 7, 4096] {
            let pieces = cut_in(stream.as_bytes(), part, 64);
            let pieces: Vec<_> = pieces.iter().map(|(byte, line, text)| (*byte, *line, &**text)).collect();
            assert_eq!(pieces, wanted, "{stream:?} in parts of {part}");
        }
    }

    #[test]
    fn documents_are_parted_by_markers() {
        cuts("a: 1\n---\nb: 2\n", &[(0, 1, "a: 1\n"), (9, 3, "b: 2\n")]);
        cuts("# x\n\n---\r\na: 1\r\n...\r\nb: 2\n---\n", &[(10, 4, "a: 1\r\n"), (21, 6, "b: 2\n")]);
        cuts("\u{feff}---\na: 1\n--- # x\nb: 2\n", &[(7, 2, "a: 1\n"), (20, 4, "b: 2\n")]);
        cuts("--- {a: 1}\n--- \t{b: 2}\n...\n", &[(0, 1, "--- {a: 1}\n"), (11, 2, "--- \t{b: 2}\n")]);
        cuts("", &[]);
        cuts("# nothing\n\n", &[]);
    }

    #[test]
    fn only_a_marker_in_the_first_column_parts() {
        cuts(
            "a: |\n  ---\n  ...\n ---\nb: 2\n---x\n....\n",
            &[(0, 1, "a: |\n  ---\n  ...\n ---\nb: 2\n---x\n....\n")],
        );
        cuts("---\n{a: 1,\n b: 2}\n---\nc: 3\n", &[(4, 2, "{a: 1,\n b: 2}\n"), (22, 5, "c: 3\n")]);
    }

    #[test]
    fn a_carriage_return_ends_a_line() {
        cuts(
            "a: 1\n---\n# x\rb: 2\r",
            &[(0, 1, "a: 1\n"), (9, 3, "! the stream ends within a line, so this record may be cut off")],
        );
        cuts("# x\rb: 2\r\n---\na: 1\n", &[(0, 1, "# x\rb: 2\r\n"), (14, 3, "a: 1\n")]);
        cuts("a: 1\n---\r# x\rb: 2\n", &[(0, 1, "a: 1\n"), (5, 2, "---\r# x\rb: 2\n")]);
        cuts("a: 1\n...\rb: 2\n", &[(0, 1, "a: 1\n"), (5, 2, "...\rb: 2\n")]);
        cuts("a: 1\n... {b: 2}\n", &[(0, 1, "a: 1\n"), (5, 2, "... {b: 2}\n")]);
    }

    #[test]
    fn an_empty_document_is_one() {
        cuts("---\n---\na: 1\n", &[(4, 2, ""), (8, 3, "a: 1\n")]);
        cuts("---\n# lost\n...\na: 1\n", &[(4, 2, "# lost\n"), (15, 4, "a: 1\n")]);
    }

    #[test]
    fn lines_are_records_where_the_first_one_is() {
        cuts(
            "\n{\"a\": 1}\n\n{\"b\":\n---\n{\"c\": 3}",
            &[(1, 2, "{\"a\": 1}\n"), (11, 4, "{\"b\":\n"), (17, 5, "---\n"), (21, 6, "{\"c\": 3}")],
        );
        let packed = "{\"form\":\"text/1\",\"name\":\"K\",\"text\":\"a: 1\\n---\\nb\"}\n";
        cuts(&format!("\u{feff}{packed}"), &[(3, 1, "K: a: 1\n---\nb")]);
        cuts(
            "{\"note\": \"text/1\", \"form\": \"job/1\"}\n",
            &[(0, 1, "{\"note\": \"text/1\", \"form\": \"job/1\"}\n")],
        );
    }

    #[test]
    fn a_text_with_its_name_is_nothing_else() {
        let faulty = [
            "{\"form\":\"text/1\",\"text\":\"a\",\"text\":\"b\"}",
            "{\"form\":\"text/1\",\"text\":\"a\",\"txt\":\"b\"}",
            "{\"form\":\"text/1\",\"name\":\"K\"}",
            "{\"form\":\"text/1\",\"text\":1}",
            "{\"form\":\"text/1\",\"text\":\"a",
        ];
        for line in faulty {
            let pieces = cut_in(line.as_bytes(), 4096, 64);
            assert_eq!(pieces.len(), 1, "{line}");
            assert!(pieces[0].2.contains("! this line is not a text with its name: "), "{line}: {pieces:?}");
        }
        let no_text = "{\"form\":\"text/1\",\"name\":\"K\",\"text\":\"a\\udcff\"}";
        let pieces = cut_in(no_text.as_bytes(), 4096, 64);
        assert!(pieces[0].2.starts_with("K: ! this line is not a text with its name: "), "{pieces:?}");
        let long = format!("{{\"form\":\"text/1\",\"name\":\"{}\",\"text\":\"a\"}}", "K".repeat(1_001));
        let pieces = cut_in(long.as_bytes(), 4096, 4096);
        assert!(pieces[0].2.contains("its name is longer than 1000 letters"), "{pieces:?}");
    }

    #[test]
    fn what_is_too_long_is_passed_over_and_told() {
        let long = "a: 1\n".repeat(20);
        cuts(
            &format!("{long}---\nb: 2\n"),
            &[(0, 1, "! this record is longer than 64 bytes"), (104, 22, "b: 2\n")],
        );
        let line = "ab".repeat(50);
        cuts(
            &format!("a: {line}\nb: 2\n---\nc: 3\n"),
            &[(0, 1, "! this record is longer than 64 bytes"), (113, 4, "c: 3\n")],
        );
        cuts(
            &format!("{{\"a\": \"{line}\"}}\n{{}}\n"),
            &[(0, 1, "! this record is longer than 64 bytes"), (110, 2, "{}\n")],
        );
        cuts(&long, &[(0, 1, "! this record is longer than 64 bytes")]);
    }

    #[test]
    fn a_stream_that_ends_within_a_line_is_told() {
        let cut = "! the stream ends within a line, so this record may be cut off";
        cuts("a: 1\n---\nb: 2", &[(0, 1, "a: 1\n"), (9, 3, cut)]);
        cuts("a: 1\n  ", &[(0, 1, cut)]);
        cuts("a: 1\n# b", &[(0, 1, cut)]);
        cuts("a: 1\n--- {b: 2}", &[(0, 1, "a: 1\n"), (5, 2, cut)]);
        cuts("a: 1\n---", &[(0, 1, "a: 1\n")]);
        cuts("a: 1\n...", &[(0, 1, "a: 1\n")]);
    }

    #[test]
    fn what_is_no_text_is_told_and_the_next_record_read() {
        let pieces = cut_in(b"a: \xff\n---\nb: 2\n", 4096, 64);
        assert_eq!(pieces[0].2, "! byte 3 (hexadecimal ff) is not UTF-8 text");
        assert_eq!(pieces[1].2, "b: 2\n");
    }

    /// Whatever stands in a stream, the documents in its pieces are those that are read in it at once.
    #[test]
    fn pieces_hold_the_documents_of_the_whole() {
        const PARTS: [&str; 21] = [
            "# c\rn: 1\r\n",
            "# c\ro: 1\n",
            "---\r# c\rp: 2\n",
            "...\rq: 3\n",
            "... # x\rr: 3\n",
            "---\n",
            "---\n",
            "...\n",
            "--- # c\n",
            "--- {a: 1}\n",
            "a: 1\n",
            "b: |\n  ---\n  x\n",
            "c: 'd\n  ---\n  e'\n",
            "# ---\n",
            "\n",
            "f: [1,\n  2]\n",
            "---g: 1\n",
            "h: 2 # ---\n",
            "---\tk: 1\n",
            "- 1\n",
            "m: \"---\"\n",
        ];
        let mut rng = fastrand::Rng::with_seed(1);
        let mut compared = 0;
        for _ in 0..4_000 {
            let number = rng.usize(1..8);
            let stream: String = (0..number).map(|_| PARTS[rng.usize(..PARTS.len())]).collect();
            let said = |text: &str| -> Option<Vec<String>> {
                let (documents, faults) =
                    crate::document::yaml::read(crate::source::SourceId::FIRST, text, 0);
                let of =
                    |one: &crate::document::Document<'_>| one.span(one.root()).of(text).trim_end().to_owned();
                faults.is_empty().then(|| documents.iter().map(of).filter(|text| !text.is_empty()).collect())
            };
            let pieces = cut_in(stream.as_bytes(), 4096, 4096);
            let Some(whole) = said(&stream) else { continue };
            let parts: Option<Vec<Vec<String>>> = pieces.iter().map(|(.., text)| said(text)).collect();
            // An empty piece is told of by itself.
            assert_eq!(parts.map(|parts| parts.concat()).as_ref(), Some(&whole), "{stream:?}: {pieces:?}");
            compared += usize::from(whole.len() > 1);
        }
        assert!(compared > 100, "{compared}");
    }
}
