//! The one layout of rule files.
//!
//! A file is cut into clauses as the parser cuts it, and each clause into its atoms (`atoms`); what is between clauses,
//! comments and blank lines, is kept (`gaps`). Only blanks and line ends are written anew: so what a text means stays what
//! it was, and so does a mistake inside a clause. A text whose clauses cannot be told apart is refused, because laying it
//! out would be a guess at what was meant. What comes out is read again, and must have the same atoms.

mod atoms;
mod clauses;
mod expressions;
mod gaps;
mod records;
mod writer;

use std::borrow::Cow;

use crate::code::INTERNAL_ERROR;
use crate::diagnostic::{Diagnostic, Level};
use crate::language::parse;
use crate::language::pieces::{ClauseCut, ClauseKind, ItemCut, ItemWord, pieces};
use crate::source::{Place, SourceId, Span};
use atoms::{Atom, atoms};
use clauses::{indent_of, width_of_keys};
use gaps::Gap;
use writer::Writer;

/// The text of a rule file in its one layout.
///
/// # Errors
/// What is wrong with it, where it cannot be told which clauses it has.
pub fn laid_out(source: SourceId, text: &str) -> Result<String, Vec<Diagnostic>> {
    let plain = with_plain_ends(text);
    // What is said of a mistake counts in the text as it was written.
    let page = match Page::read(source, &plain) {
        Err(_) if plain != text => return Err(pieces(source, text).err().unwrap_or_default()),
        read => read?,
    };
    let laid = page.written();
    match pieces(source, &laid) {
        Ok(again) if page.is_said_by(&laid, &again) => Ok(with_ends_of(text, laid)),
        _ => {
            // Of a text with mistakes it may not be clear where a clause ends: a line end more can make another of it.
            let (_, found) = parse(source, &plain);
            if found.iter().any(|found| found.level == Level::Error) {
                return Err(found);
            }
            let message = "the program itself has a fault: laid out, this text would not say the same";
            let place = Place { source, span: Span::new(0, 0) };
            Err(vec![Diagnostic::error(INTERNAL_ERROR, place, message).help("it is left as it is")])
        }
    }
}

/// The text with lines that end in one way, and without a mark of the order of bytes.
fn with_plain_ends(text: &str) -> Cow<'_, str> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if !text.contains('\r') {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.replace("\r\n", "\n").replace('\r', "\n"))
}

/// A text with lines that end as the first one of another text does.
fn with_ends_of(text: &str, laid: String) -> String {
    let first = text.find(['\r', '\n']).and_then(|end| text.get(end..));
    if first.is_some_and(|end| end.starts_with("\r\n")) { laid.replace('\n', "\r\n") } else { laid }
}

/// A rule file as it is laid out.
struct Page<'t> {
    /// What is before the first item.
    head: Gap<'t>,
    items: Vec<Item<'t>>,
}

struct Item<'t> {
    word: ItemWord,
    clauses: Vec<Clause<'t>>,
}

struct Clause<'t> {
    kind: ClauseKind,
    /// Nothing where it is left as it is.
    atoms: Option<Vec<Atom<'t>>>,
    written: &'t str,
    /// What is behind it.
    gap: Gap<'t>,
}

impl<'t> Page<'t> {
    fn read(source: SourceId, text: &'t str) -> Result<Self, Vec<Diagnostic>> {
        let cut = pieces(source, text)?;
        let mut gaps = Gaps::of(text, &cut);
        let head = gaps.next();
        let items = cut.iter().map(|item| {
            let clauses = item.clauses.iter().map(|clause| Clause {
                kind: clause.kind,
                atoms: atoms(text, clause),
                written: clause.span.of(text),
                gap: gaps.next(),
            });
            Item { word: item.word, clauses: clauses.collect() }
        });
        let items = items.collect();
        Ok(Page { head, items })
    }

    /// Whether a text that was cut into these items has the same clauses with the same atoms and comments.
    fn is_said_by(&self, text: &str, items: &[ItemCut]) -> bool {
        let mut gaps = Gaps::of(text, items);
        let head = gaps.next();
        let clauses = self.items.iter().zip(items).all(|(item, cut)| {
            let pairs = item.clauses.iter().zip(&cut.clauses);
            item.word == cut.word
                && item.clauses.len() == cut.clauses.len()
                && pairs.into_iter().all(|(clause, cut)| clause.is_said_by(text, cut, gaps.next()))
        });
        head.same(&self.head) && self.items.len() == items.len() && clauses
    }

    fn written(&self) -> String {
        let mut writer = Writer::new(self.items.len() * 64);
        let mut before: Option<&Item<'_>> = None;
        let mut gap = &self.head;
        for item in &self.items {
            let inner = before.filter(|item| item.word != ItemWord::Standard);
            let apart = before.is_some_and(|before| before.is_apart_from(item));
            between_items(gap, inner.is_some(), apart, &mut writer);
            gap = item.write(&mut writer).unwrap_or(gap);
            before = Some(item);
        }
        let inner = before.is_some_and(|item| item.word != ItemWord::Standard);
        between_items(gap, inner, before.is_some_and(|item| !item.is_small()), &mut writer);
        writer.finish()
    }
}

/// Writes what is between two items. Comments right below an item that are indented belong to it.
fn between_items(gap: &Gap<'_>, has_inner: bool, apart: bool, writer: &mut Writer) {
    gap.trailing.into_iter().for_each(|comment| writer.trail(comment));
    let is_inner = |line: &&gaps::Line<'_>| has_inner && line.indented && !line.blank;
    let inner = gap.lines.iter().take_while(is_inner).count();
    let mut apart = apart;
    for (number, line) in gap.lines.iter().enumerate() {
        let indent = if number < inner { 2 } else { 0 };
        let begins = number >= inner && std::mem::take(&mut apart);
        let blank = line.blank || begins;
        writer.paragraph(indent, blank);
        writer.put(line.text, true);
    }
    writer.paragraph(0, gap.blank || apart);
}

impl<'t> Item<'t> {
    /// Whether a blank line is between the two, also where nobody wrote one.
    fn is_apart_from(&self, next: &Item<'_>) -> bool {
        let given = |item: &Item<'_>| item.word == ItemWord::Given;
        !self.is_small() || !next.is_small() || given(self) != given(next)
    }

    /// Whether others of its kind can be right below it.
    fn is_small(&self) -> bool {
        matches!(self.word, ItemWord::Let | ItemWord::Use | ItemWord::Given)
    }

    /// Writes it, and hands on what is behind it.
    fn write(&self, writer: &mut Writer) -> Option<&Gap<'t>> {
        let keys = self.clauses.iter().filter(|clause| clause.kind == ClauseKind::Row);
        let keys = keys.filter_map(|row| row.atoms.as_deref()).map(width_of_keys).max().unwrap_or_default();
        let mut clauses = self.clauses.iter().peekable();
        let mut is_head = true;
        while let Some(clause) = clauses.next() {
            match &clause.atoms {
                Some(atoms) => clauses::write(atoms, self.word, clause.kind, keys, writer),
                None => writer.put(clause.written, true),
            }
            let Some(next) = clauses.peek() else { return Some(&clause.gap) };
            between_clauses(&clause.gap, indent_of(self.word, next.kind), is_head, writer);
            is_head = false;
        }
        None
    }
}

/// Writes what is between two clauses of an item. Behind the head of an item is no blank line.
fn between_clauses(gap: &Gap<'_>, indent: usize, is_head: bool, writer: &mut Writer) {
    gap.trailing.into_iter().for_each(|comment| writer.trail(comment));
    for (number, line) in gap.lines.iter().enumerate() {
        writer.paragraph(indent, line.blank && !(is_head && number == 0));
        writer.put(line.text, true);
    }
    writer.paragraph(indent, gap.blank && !(is_head && gap.lines.is_empty()));
}

impl Clause<'_> {
    /// Whether a clause of another text, and what is behind it, say the same.
    fn is_said_by(&self, text: &str, cut: &ClauseCut, gap: Gap<'_>) -> bool {
        let content = self.written == cut.span.of(text)
            || match (&self.atoms, atoms(text, cut)) {
                (Some(left), Some(right)) => atoms::same(left, &right),
                _ => false,
            };
        self.kind == cut.kind && content && self.gap.same(&gap)
    }
}

/// What is between the clauses of a text, one after the other, first what is before all.
struct Gaps<'t> {
    text: &'t str,
    /// Where each clause begins and ends.
    spans: std::vec::IntoIter<Span>,
    /// Where the clause before ends; nothing where none is before.
    end: Option<usize>,
}

impl<'t> Gaps<'t> {
    fn of(text: &'t str, items: &[ItemCut]) -> Self {
        let spans: Vec<Span> = items.iter().flat_map(|item| item.clauses.iter().map(|c| c.span)).collect();
        Gaps { text, spans: spans.into_iter(), end: None }
    }

    fn next(&mut self) -> Gap<'t> {
        let next = self.spans.next();
        let start = next.map_or(self.text.len(), |span| span.start as usize);
        let between = self.text.get(self.end.unwrap_or_default()..start).unwrap_or_default();
        let gap = Gap::read(between, self.end.is_none());
        self.end = next.map_or(self.end, |span| Some(span.end as usize));
        gap
    }
}
