//! Reads YAML text into trees. The only file that names the YAML crate.
//!
//! Scalars stay raw text: no word, number or date is guessed here, the form decides. What a record
//! has no use for and what hides mistakes is refused: shared values, merge keys, tags, directives.

use std::borrow::Cow;

use granit_parser::{ErrorKind, Event, Options, Parser, ScalarStyle, ScanError, StructureStyle};

use super::build::Builder;
use super::syntax::{self, Class, Mistake};
use super::tree::Document;
use crate::code;
use crate::diagnostic::{Diagnostic, Fault};
use crate::source::{SourceId, Span};

/// Longest text that is read, in bytes. A record has about 4 kB.
pub const MAX_BYTES: usize = 16 << 20;
/// Deepest nesting of maps and lists that is read. A record has about 5.
pub const MAX_DEPTH: usize = 64;
/// Most values that are read from one text.
pub const MAX_NODES: usize = 1_000_000;
/// Most documents that one text holds: some years of a workshop's jobs.
pub const MAX_DOCUMENTS: usize = 10_000;
/// Most diagnostics that one text gives rise to.
pub const MAX_DIAGNOSTICS: usize = 1_000;

/// Bytes that are no text which can be read.
#[derive(Debug)]
pub struct Undecoded {
    /// The bytes.
    pub bytes: Box<[u8]>,
    /// The offset of the first byte that is wrong.
    pub at: usize,
    /// What is wrong with it.
    pub fault: Fault,
}

/// Checks that bytes are UTF-8 text of a bearable size, and takes them as such.
///
/// A byte-order mark stays in the text, so that spans count it.
///
/// # Errors
/// The bytes, the first that is wrong among them, and what is wrong with it.
pub fn decode(bytes: Vec<u8>) -> Result<String, Undecoded> {
    if bytes.len() > MAX_BYTES {
        return Err(Undecoded { bytes: bytes.into(), at: MAX_BYTES, fault: too_large() });
    }
    if let Some(encoding) = other_encoding(&bytes) {
        let fault =
            Fault::new(code::ENCODING, format!("this file is {encoding} text, and only UTF-8 is read"));
        let fault = fault.help("save it again with the encoding UTF-8");
        return Err(Undecoded { bytes: bytes.into(), at: 0, fault });
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let bytes = error.into_bytes().into_boxed_slice();
        let byte = bytes.get(at).copied().unwrap_or_default();
        let message = format!("byte {at} (hexadecimal {byte:02x}) is not UTF-8 text");
        let fault = Fault::new(code::ENCODING, message).help("save the file again with the encoding UTF-8");
        Undecoded { bytes, at, fault }
    })
}

/// The encoding of a text that is none of UTF-8: by its mark or, without one, by the zero bytes beside its first two letters.
fn other_encoding(bytes: &[u8]) -> Option<&'static str> {
    let is_letter = |byte: u8| matches!(byte, b'\t'..=b'~');
    match *bytes {
        [0xff, 0xfe, 0, 0, ..] | [0, 0, 0xfe, 0xff, ..] => Some("UTF-32"),
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => Some("UTF-16"),
        [0, 0, 0, one, ..] | [one, 0, 0, 0, ..] if is_letter(one) => Some("UTF-32"),
        [0, one, 0, two, ..] | [one, 0, two, 0, ..] if is_letter(one) && is_letter(two) => Some("UTF-16"),
        _ => None,
    }
}

fn too_large() -> Fault {
    Fault::new(code::TOO_LARGE, format!("this text is larger than {} MiB", MAX_BYTES >> 20))
        .help("split it into several files")
}

/// Reads every YAML document of a text. `base` is added to every offset, for a text that stands
/// inside another one.
///
/// A document with a mistake in its layout is left out and reported; those before and after it are
/// read. A document that is only refused in a detail (a field given twice) is returned without it.
#[must_use]
pub fn read(source: SourceId, text: &str, base: u32) -> (Vec<Document<'_>>, Vec<Diagnostic>) {
    let mut reader = Reader::new(source, text, base);
    if text.len() > MAX_BYTES {
        reader.report_fault(too_large(), Span::new(0, 0));
        return reader.done();
    }
    let mut parser = Parser::new_from_str_with_options(text, options());
    while let Some(next) = parser.next_event() {
        let step = match next {
            Ok((event, span)) => reader.take(event, span),
            Err(error) => reader.mistake(&error),
        };
        let goes_on = match step {
            Step::Next => true,
            Step::SkipDocument => parser.proceed_next_document().unwrap_or(false),
            Step::Stop => false,
        };
        if !goes_on || reader.builder.diagnostics.len() >= MAX_DIAGNOSTICS {
            break;
        }
    }
    reader.done()
}

fn options() -> Options {
    let mut options = granit_parser::options! {
        strict_indentation: true,
        disallow_directives: true,
        emit_unresolved_aliases: true,
        emit_anchor_events: true,
        flow_nesting_limit: MAX_DEPTH,
        block_nesting_limit: MAX_DEPTH,
    };
    options.set_emit_comments(false);
    options
}

/// What to do after an event.
enum Step {
    Next,
    SkipDocument,
    Stop,
}

struct Reader<'s> {
    text: &'s str,
    builder: Builder<'s>,
    documents: Vec<Document<'s>>,
    /// Values in the documents that are finished.
    counted: usize,
    /// End of the last event: a mistake lies behind it.
    last: usize,
    /// Where the text of the current document begins.
    begun: usize,
    /// Whether the document before was given up, so that its rest is skipped.
    skipped: bool,
}

impl<'s> Reader<'s> {
    fn new(source: SourceId, text: &'s str, base: u32) -> Self {
        // A record has a value on about every 20 bytes.
        let capacity = (text.len() / 16).clamp(8, 4096);
        Reader {
            text,
            builder: Builder::new(source, text, base, capacity),
            documents: Vec::new(),
            counted: 0,
            last: 0,
            begun: 0,
            skipped: false,
        }
    }

    fn take(&mut self, event: Event<'s>, span: granit_parser::Span) -> Step {
        let at = bytes(&span);
        self.last = self.last.max(at.end as usize);
        if let Some(tag) = span.tag_span().map(|tag| bytes(&tag)) {
            self.builder.refuse_tag(tag.of(self.text), tag);
        }
        match event {
            Event::Scalar(raw, style, ..) => self.scalar(raw, style, at),
            Event::MappingStart(style, ..) => return self.open(true, style, at),
            Event::SequenceStart(style, ..) => return self.open(false, style, at),
            Event::MappingEnd | Event::SequenceEnd => self.builder.close(at),
            Event::Alias(_) | Event::UnresolvedAlias(_) => self.builder.alias(at.of(self.text), at),
            Event::Anchor(..) => self.builder.refuse_sharing(at.of(self.text), at),
            Event::DocumentStart(..) if self.documents.len() >= MAX_DOCUMENTS => return self.refuse_many(at),
            Event::DocumentStart(..) => self.begin(at.start as usize),
            Event::DocumentEnd => self.finish(at.end as usize),
            Event::StreamEnd => self.end(),
            _ => {}
        }
        if self.counted + self.builder.count() > MAX_NODES {
            let message = format!("this text holds more than {MAX_NODES} values");
            self.report_fault(Fault::new(code::TOO_LARGE, message).help("split it into several files"), at);
            self.builder.abandon();
            return Step::Stop;
        }
        Step::Next
    }

    fn scalar(&mut self, raw: Cow<'s, str>, style: ScalarStyle, at: Span) {
        let block = matches!(style, ScalarStyle::Literal | ScalarStyle::Folded);
        let at = if block { without_line_end(self.text, at) } else { at };
        self.builder.scalar(raw, style == ScalarStyle::Plain, at);
    }

    fn open(&mut self, map: bool, style: StructureStyle, at: Span) -> Step {
        if self.builder.depth() >= MAX_DEPTH {
            self.report(syntax::too_deep(), at);
            self.give_up();
            return Step::SkipDocument;
        }
        self.builder.open(map, style == StructureStyle::Flow, at);
        Step::Next
    }

    fn begin(&mut self, start: usize) {
        if std::mem::take(&mut self.skipped) {
            (self.begun, self.last) = (start, start);
        }
    }

    fn give_up(&mut self) {
        self.builder.abandon();
        self.skipped = true;
    }

    fn finish(&mut self, end: usize) {
        let nodes = self.builder.count();
        let document = self.builder.finish();
        self.counted += nodes;
        let begun = std::mem::replace(&mut self.begun, end);
        match syntax::control_character(self.text, begun, end) {
            Some((mistake, span)) => self.report(mistake, span),
            None => self.documents.push(document),
        }
    }

    /// Refuses a text of too many documents as a whole: the first of them are no more right than the last.
    fn refuse_many(&mut self, at: Span) -> Step {
        self.documents.clear();
        let message = format!("this text holds more than {MAX_DOCUMENTS} documents");
        self.report_fault(Fault::new(code::TOO_LARGE, message).help("split it into several files"), at);
        self.builder.abandon();
        Step::Stop
    }

    /// What stands behind the last document.
    fn end(&mut self) {
        if self.skipped {
            return;
        }
        if let Some((mistake, span)) = syntax::control_character(self.text, self.begun, self.text.len()) {
            self.report(mistake, span);
        }
    }

    /// A mistake in the layout: the document is given up.
    fn mistake(&mut self, error: &ScanError) -> Step {
        let at = error.marker().byte_offset().unwrap_or(self.last).min(self.text.len());
        let class = class(error.kind());
        let control = syntax::control_character(self.text, self.begun, at + 1);
        let bracket = self.builder.bracket().filter(|_| matches!(class, Class::Indentation));
        // Events can lag behind what was scanned.
        let scanned =
            matches!(class, Class::Indentation).then(|| syntax::left_open(self.text, self.last, at));
        let (mistake, span) = match (control, bracket, scanned.flatten()) {
            (Some(control), ..) => control,
            (None, Some((open, span)), _) => (syntax::bracket_left_open(open), span),
            (None, None, Some(open)) => open,
            (None, None, None) => syntax::explain(class, self.text, self.last, at),
        };
        self.report(mistake, span);
        self.give_up();
        Step::SkipDocument
    }

    fn report(&mut self, mistake: Mistake, span: Span) {
        let Mistake { code, message, help } = mistake;
        self.report_fault(Fault::new(code, message).help(help), span);
    }

    fn report_fault(&mut self, fault: Fault, span: Span) {
        let place = self.builder.place(span);
        let diagnostic = Diagnostic::error(fault.code, place, fault.message);
        self.builder.diagnostics.push(Diagnostic { help: fault.help, ..diagnostic });
    }

    fn done(mut self) -> (Vec<Document<'s>>, Vec<Diagnostic>) {
        if self.builder.diagnostics.len() >= MAX_DIAGNOSTICS {
            let end = Span::new(self.last, self.last);
            let message =
                format!("{MAX_DIAGNOSTICS} errors were found, and the rest of the text is not read");
            self.report_fault(Fault::new(code::TOO_LARGE, message), end);
        }
        (self.documents, self.builder.diagnostics)
    }
}

fn bytes(span: &granit_parser::Span) -> Span {
    span.byte_range().map_or_else(Span::default, |range| Span::new(range.start, range.end))
}

/// The span of a block text without the line ends behind it.
fn without_line_end(text: &str, span: Span) -> Span {
    let kept = span.of(text).trim_end().len();
    Span::new(span.start as usize, span.start as usize + kept)
}

/// Sorts the crate's many kinds of error into those that a writer of records can tell apart.
fn class(kind: &ErrorKind) -> Class {
    use ErrorKind as K;
    match kind {
        K::TabNotAllowed
        | K::TabInBlockIndentation
        | K::TabInIndentation
        | K::TabInPlainScalar
        | K::TabAtBlockScalarStart => Class::Tab,
        K::UnclosedFlowCollection { open } => Class::Unclosed(*open),
        K::UnexpectedEofFlowSequence => Class::Unclosed('['),
        K::UnexpectedEofFlowMapping | K::UnexpectedEofImplicitFlowMapping => Class::Unclosed('{'),
        K::MismatchedFlowCollectionEnd { open, close } => Class::Mismatched(*open, *close),
        K::MisplacedFlowCollectionEnd => Class::Unopened,
        K::ExpectedFlowMappingSeparator | K::ExpectedFlowSequenceSeparator => Class::NoComma,
        K::UnclosedQuotedScalar | K::InvalidQuotedScalarIndent | K::DocumentIndicatorInQuotedScalar => {
            Class::OpenQuote
        }
        K::InvalidTrailingSingleQuotedScalar | K::InvalidTrailingDoubleQuotedScalar => Class::BehindQuote,
        K::UnknownQuotedScalarEscape
        | K::InvalidQuotedScalarHexEscape
        | K::InvalidLowSurrogateHexEscape
        | K::InvalidLowSurrogate
        | K::MissingLowSurrogate
        | K::UnpairedLowSurrogate
        | K::InvalidUnicodeEscape => Class::Escape,
        K::ExpectedNodeContent => Class::NoValue,
        K::UnexpectedCharacter { character } => Class::Character(*character),
        K::MappingValueNotAllowed => Class::SecondColon,
        K::SimpleKeyExpected | K::InvalidSimpleKey => Class::NoColon,
        K::ExpectedBlockMappingKey | K::InvalidIndentation | K::InvalidFlowScalarIndent => Class::Indentation,
        K::ExpectedBlockSequenceEntry => Class::NoDash,
        K::BlockEntryInFlowCollection
        | K::BlockSequenceEntryNotAllowed
        | K::InvalidBlockEntryWhitespace
        | K::PlainScalarStartsWithDashFlowIndicator => Class::Dash,
        K::MappingKeyNotAllowed
        | K::FlowMappingValueAdjacentCollection
        | K::InvalidMappingValueWhitespace
        | K::InvalidColonPlacement => Class::Colon,
        K::CommentNotSeparated | K::CommentInterceptedScalar => Class::Comment,
        K::BomInsideDocument => Class::ByteOrderMark,
        K::RecursionLimitExceeded => Class::Depth,
        K::ZeroBlockScalarIndent | K::InvalidBlockScalarHeader | K::InvalidBlockScalarIndent => {
            Class::BlockText
        }
        K::DirectiveDisallowed
        | K::MissingDocumentEndBeforeDirective
        | K::DirectiveByteLimitExceeded { .. }
        | K::MissingDirectiveName
        | K::InvalidDirectiveName => Class::Directive,
        K::InvalidDocumentEnd | K::ExpectedDocumentStart => Class::BehindDocument,
        K::MissingAnchorOrAliasName
        | K::UndeclaredTagHandle
        | K::ExpectedTagBang
        | K::InvalidGlobalTagCharacter
        | K::InvalidTagTerminator
        | K::MissingTagUri
        | K::UnclosedVerbatimTag
        | K::InvalidTagEscape
        | K::InvalidTagUtf8LeadingByte
        | K::InvalidTagUtf8TrailingByte
        | K::InvalidTagUtf8 => Class::Mark,
        _ => Class::Other,
    }
}
