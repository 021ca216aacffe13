//! The lines of a CSV file, one at a time and in bounded memory.

use std::io::{BufRead, ErrorKind};

use csv_core::{ReadRecordResult, Reader, ReaderBuilder};

use crate::code::{LOG_ENCODING, LOG_TOO_LARGE, LOG_UNREADABLE};
use crate::diagnostic::Fault;

/// The longest line, in bytes without its quotes.
const LONGEST_LINE: usize = 64 << 10;
/// The most columns.
const MOST_COLUMNS: usize = 1024;
/// The largest file, in bytes.
const LARGEST: u64 = 512 << 20;

/// Reads a file line by line. A quoted field may go over several lines of the file, as the form of CSV
/// has it (RFC 4180); together they have the size of a line. Empty lines are passed over.
pub(super) struct Records<R> {
    reader: R,
    parser: Reader,
    /// The fields of the line that was read last, one behind the other.
    fields: Vec<u8>,
    /// Where each of them ends.
    ends: Vec<usize>,
    bytes: u64,
    /// How many line ends were read.
    lines: u64,
    /// The number of the line that was read last, from 1.
    line: u64,
}

impl<R: BufRead> Records<R> {
    /// Reads lines whose fields are separated by `separator` and whose first one has this number.
    pub fn new(reader: R, separator: u8, first_line: u64) -> Records<R> {
        Records {
            reader,
            parser: ReaderBuilder::new().delimiter(separator).build(),
            fields: vec![0; LONGEST_LINE],
            ends: vec![0; MOST_COLUMNS],
            bytes: 0,
            lines: first_line - 1,
            line: first_line,
        }
    }

    /// The number of the line that was read last.
    pub fn line(&self) -> u64 {
        self.line
    }

    /// How many bytes were read so far.
    pub fn bytes(&self) -> u64 {
        self.bytes
    }

    /// A fault in the line that was read last.
    pub fn fault(&self, code: crate::code::Code, message: impl std::fmt::Display) -> Fault {
        Fault::new(code, format!("line {}: {message}", self.line))
    }

    /// The fields of the next line; nothing behind the last.
    ///
    /// # Errors
    /// A file that cannot be read, is no UTF-8 text, or is larger than a log can be.
    pub fn read(&mut self) -> Result<Option<Fields<'_>>, Fault> {
        self.skip_line_ends()?;
        self.line = self.lines + 1;
        let (mut written, mut ended) = (0, 0);
        loop {
            let input = fill(&mut self.reader)?;
            let fields = self.fields.get_mut(written..).unwrap_or_default();
            let ends = self.ends.get_mut(ended..).unwrap_or_default();
            let (result, read, wrote, ends) = self.parser.read_record(input, fields, ends);
            let line_ends = input.iter().take(read).filter(|byte| **byte == b'\n').count();
            self.consume(read, line_ends)?;
            written += wrote;
            ended += ends;
            match result {
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull => {
                    let what = format!("there is no end to it after {} KiB", LONGEST_LINE >> 10);
                    return Err(self
                        .fault(LOG_TOO_LARGE, what)
                        .help("look for a quote that is not closed, or a file that is no log"));
                }
                ReadRecordResult::OutputEndsFull => {
                    let what = format!("it has more than {MOST_COLUMNS} columns");
                    return Err(self.fault(LOG_TOO_LARGE, what).help("keep the columns that are needed"));
                }
                ReadRecordResult::End => return Ok(None),
                ReadRecordResult::Record => break,
            }
        }
        let text = self.fields.get(..written).unwrap_or_default();
        let text = std::str::from_utf8(text).map_err(|_| not_text(self.line))?;
        Ok(Some(Fields { text, ends: self.ends.get(..ended).unwrap_or_default() }))
    }

    /// So that a line has the number of its first letter.
    fn skip_line_ends(&mut self) -> Result<(), Fault> {
        loop {
            let input = fill(&mut self.reader)?;
            let ends = input.iter().take_while(|byte| matches!(byte, b'\r' | b'\n'));
            let (count, feeds) =
                ends.fold((0, 0), |(count, feeds), byte| (count + 1, feeds + usize::from(*byte == b'\n')));
            if count == 0 {
                return Ok(());
            }
            self.consume(count, feeds)?;
        }
    }

    fn consume(&mut self, bytes: usize, line_ends: usize) -> Result<(), Fault> {
        self.reader.consume(bytes);
        self.bytes += bytes as u64;
        self.lines += line_ends as u64;
        if self.bytes > LARGEST {
            let what = format!("the log is larger than {} MiB", LARGEST >> 20);
            return Err(Fault::new(LOG_TOO_LARGE, what).help("keep the stretch of time that matters"));
        }
        Ok(())
    }
}

fn fill<R: BufRead>(reader: &mut R) -> Result<&[u8], Fault> {
    // Twice, because a borrow that is returned cannot be given up in a loop.
    while let Err(error) = reader.fill_buf() {
        if error.kind() != ErrorKind::Interrupted {
            return Err(unreadable(&error));
        }
    }
    reader.fill_buf().map_err(|error| unreadable(&error))
}

pub(super) fn unreadable(error: &std::io::Error) -> Fault {
    Fault::new(LOG_UNREADABLE, format!("the log cannot be read to its end: {error}"))
}

pub(super) fn not_text(line: u64) -> Fault {
    Fault::new(LOG_ENCODING, format!("line {line}: it is not UTF-8 text")).help("save the log as UTF-8 text")
}

/// The fields of one line.
#[derive(Clone, Copy)]
pub(super) struct Fields<'r> {
    text: &'r str,
    ends: &'r [usize],
}

impl<'r> Fields<'r> {
    /// How many there are.
    pub fn count(&self) -> usize {
        self.ends.len()
    }

    /// One of them, without white space around it.
    pub fn get(&self, number: usize) -> Option<&'r str> {
        let end = *self.ends.get(number)?;
        let begin = number.checked_sub(1).map_or(Some(0), |before| self.ends.get(before).copied())?;
        self.text.get(begin..end).map(str::trim)
    }

    /// All of them.
    pub fn iter(&self) -> impl Iterator<Item = &'r str> {
        let fields = *self;
        (0..self.count()).filter_map(move |number| fields.get(number))
    }
}
