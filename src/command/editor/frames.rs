//! Messages as they come and go: headers, an empty line, and a body of the length that a header states. What comes is bounded,
//! and what cannot be read ends nothing: the next header is looked for.

use std::io::{self, BufRead, Read, Write};

/// The longest line of a header.
const LONGEST_LINE: u64 = 4 * 1024;

/// The longest body that is read: the longest text, with each of its characters written out.
const LONGEST_BODY: u64 = 128 * 1024 * 1024;

/// So much is reserved for a body before it comes.
const RESERVED: u64 = 64 * 1024;

/// What came.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Frame {
    /// The body of a message.
    Body(Vec<u8>),
    /// A body of this length, which was passed over.
    TooLong(u64),
    /// Headers without a length.
    Headless,
    /// Nothing more.
    End,
}

/// Reads the next message.
///
/// # Errors
/// The input cannot be read.
pub(super) fn read(input: &mut impl BufRead) -> io::Result<Frame> {
    let mut length = None;
    let mut is_headless = false;
    loop {
        let Some(line) = line(input)? else { return Ok(Frame::End) };
        match header(&line) {
            Header::Length(bytes) => length = Some(bytes),
            Header::Other => {}
            Header::None => is_headless = true,
            Header::Last => match length {
                Some(length) => return body(input, length),
                None if is_headless => return Ok(Frame::Headless),
                // An empty line between two messages.
                None => {}
            },
        }
    }
}

enum Header {
    /// How long the body is.
    Length(u64),
    /// One that says nothing of that.
    Other,
    /// A line that is no header, or a length that is none.
    None,
    /// The end of the headers.
    Last,
}

fn header(line: &[u8]) -> Header {
    let line = String::from_utf8_lossy(line);
    let line = line.trim();
    if line.is_empty() {
        return Header::Last;
    }
    match line.split_once(':') {
        Some((name, value)) if name.trim().eq_ignore_ascii_case("content-length") => {
            value.trim().parse().map_or(Header::None, Header::Length)
        }
        Some(_) => Header::Other,
        None => Header::None,
    }
}

/// The next line without its end; nothing at the end of the input. Of a longer one a part at a time.
fn line(input: &mut impl BufRead) -> io::Result<Option<Vec<u8>>> {
    let mut line = Vec::new();
    let read = input.take(LONGEST_LINE).read_until(b'\n', &mut line)?;
    Ok((read > 0).then_some(line))
}

fn body(input: &mut impl BufRead, length: u64) -> io::Result<Frame> {
    if length > LONGEST_BODY {
        let skipped = io::copy(&mut input.take(length), &mut io::sink())?;
        return Ok(if skipped == length { Frame::TooLong(length) } else { Frame::End });
    }
    let mut body = Vec::with_capacity(usize::try_from(length.min(RESERVED)).unwrap_or_default());
    input.take(length).read_to_end(&mut body)?;
    Ok(if body.len() as u64 == length { Frame::Body(body) } else { Frame::End })
}

/// Writes a message.
///
/// # Errors
/// Nobody reads it.
pub(super) fn write(output: &mut impl Write, body: &[u8]) -> io::Result<()> {
    write!(output, "Content-Length: {}\r\n\r\n", body.len())?;
    output.write_all(body)?;
    output.flush()
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use super::{Frame, read};

    fn all(input: &[u8]) -> Vec<Frame> {
        let mut input = Cursor::new(input);
        let mut frames = Vec::new();
        loop {
            match read(&mut input).unwrap() {
                Frame::End => return frames,
                frame => frames.push(frame),
            }
        }
    }

    #[test]
    fn bodies_are_read_by_their_length() {
        let input = b"Content-Length: 2\r\n\r\n{}content-length:3\r\nContent-Type: a\r\n\r\n[1]";
        assert_eq!(all(input), [Frame::Body(b"{}".to_vec()), Frame::Body(b"[1]".to_vec())]);
    }

    #[test]
    fn what_is_no_header_ends_nothing() {
        let long = "x".repeat(100_000);
        let input = format!(
            "{long}\r\n\r\nContent-Length: many\r\n\r\nContent-Length: -1\r\n\r\n\u{1}\r\n\r\nContent-Length: 2\r\n\r\n{{}}"
        );
        let frames = all(input.as_bytes());
        assert_eq!(frames.last(), Some(&Frame::Body(b"{}".to_vec())));
        assert!(frames.iter().rev().skip(1).all(|frame| *frame == Frame::Headless), "{frames:?}");
    }

    #[test]
    fn a_length_is_no_promise() {
        assert_eq!(all(b"Content-Length: 18446744073709551615\r\n\r\n{}"), []);
        assert_eq!(all(b"Content-Length: 99\r\n\r\n{}"), []);
        assert_eq!(all(b"Content-Length: 99999999999999999999999\r\n\r\n{}"), [Frame::Headless]);
    }
}
