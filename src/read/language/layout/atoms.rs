//! A clause as its atoms: words, numbers with their units, quoted texts, signs and records, each with the comments
//! before it. Where one begins and ends does not depend on lines and blanks, so that a text that is laid out has the
//! same atoms again.

use std::borrow::Cow;

use crate::language::MOST_NESTED;
use crate::language::layout::gaps::comments;
use crate::language::layout::records::Record;
use crate::language::pieces::{ClauseCut, Kind as Token, Tokens, is_reserved, word_length};
use crate::quantity::Literal;
use crate::source::Span;

/// What an atom is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A word, or a path of words.
    Word,
    /// A number with its unit, or a day.
    Number,
    /// A quoted text.
    Text,
    /// `(`
    Open,
    /// `)`
    Close,
    /// `,`
    Comma,
    /// `:`
    Colon,
    /// `=`
    Equals,
    /// A sign between two values.
    Between,
    /// A sign before a value.
    Before,
    /// The record of a trial, or a part of one.
    Record,
}

/// A comment inside a clause.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Comment<'t> {
    /// From `#` to the last character that can be seen.
    pub(super) text: &'t str,
    /// Whether nothing is before it on its line.
    pub(super) own_line: bool,
}

/// A piece of a clause.
#[derive(Clone, Debug)]
pub(super) struct Atom<'t> {
    pub(super) kind: Kind,
    pub(super) text: Cow<'t, str>,
    pub(super) record: Option<Box<Record<'t>>>,
    /// The comments between the atom before it and itself.
    pub(super) before: Vec<Comment<'t>>,
    /// It must begin a line: on the line of the number before it, it would be read as a unit.
    pub(super) apart: bool,
    /// No blank is before it.
    pub(super) glued: bool,
}

impl Atom<'_> {
    /// Whether it is this word.
    pub(super) fn is(&self, word: &str) -> bool {
        self.kind == Kind::Word && self.text == word
    }

    /// Whether it begins a line wherever it is.
    pub(super) fn begins_line(&self) -> bool {
        self.apart || !self.before.is_empty()
    }

    /// Whether it needs several lines.
    pub(super) fn is_tall(&self) -> bool {
        self.record.as_ref().is_some_and(|record| record.line().is_none())
    }

    /// How many columns it takes.
    pub(super) fn width(&self) -> usize {
        self.text.chars().count()
    }

    /// Whether two atoms say the same.
    fn same(&self, other: &Atom<'_>) -> bool {
        let comments = |atom: &Atom<'_>| atom.before.iter().map(|c| c.text.to_owned()).collect::<Vec<_>>();
        let written = match (&self.record, &other.record) {
            (Some(own), Some(others)) => own.same(others),
            _ => self.text == other.text,
        };
        self.kind == other.kind && written && comments(self) == comments(other)
    }
}

/// Whether two clauses have the same atoms and comments.
pub(super) fn same(left: &[Atom<'_>], right: &[Atom<'_>]) -> bool {
    left.len() == right.len() && left.iter().zip(right).all(|(left, right)| left.same(right))
}

/// The atoms of a clause; nothing where something in it is no part of the language, so that it is left as written.
pub(super) fn atoms<'t>(text: &'t str, clause: &ClauseCut) -> Option<Vec<Atom<'t>>> {
    let mut lexer = Lexer {
        text,
        end: clause.span.end as usize,
        at: clause.span.start as usize,
        atoms: Vec::new(),
        records: clause.parts.iter().chain(&clause.record).copied().collect(),
    };
    while lexer.take_next()? {}
    let mut atoms = lexer.atoms;
    glue(&mut atoms);
    is_balanced(&atoms).then_some(atoms)
}

/// Whether each bracket is closed, and nothing is nested further than anything that can be read: in brackets, or behind
/// a `where` or a colon.
fn is_balanced(atoms: &[Atom<'_>]) -> bool {
    let mut opened = Vec::new();
    let mut nested = 0_usize;
    let fits = |atom: &Atom<'_>| {
        match atom.kind {
            Kind::Open => {
                opened.push(nested);
                nested += 1;
            }
            Kind::Close => match opened.pop() {
                Some(before) => nested = before,
                None => return false,
            },
            Kind::Colon => nested += 1,
            Kind::Word if atom.text == "where" => nested += 1,
            _ => {}
        }
        nested <= MOST_NESTED
    };
    atoms.iter().all(fits) && opened.is_empty()
}

struct Lexer<'t> {
    text: &'t str,
    end: usize,
    /// The end of the last atom.
    at: usize,
    atoms: Vec<Atom<'t>>,
    records: Vec<Span>,
}

impl<'t> Lexer<'t> {
    fn rest(&self, from: usize) -> &'t str {
        self.text.get(from..self.end).unwrap_or_default()
    }

    /// Takes one more atom; no where there is none, and nothing where what comes is no part of the language.
    fn take_next(&mut self) -> Option<bool> {
        let mut tokens = Tokens::new(self.text);
        tokens.go_on_at(self.at, false);
        let Some(token) = tokens.next().filter(|token| (token.span.start as usize) < self.end) else {
            return Some(false);
        };
        let start = token.span.start as usize;
        let gap = self.text.get(self.at..start).unwrap_or_default();
        let (kind, end) = match self.records.iter().find(|span| span.start == token.span.start) {
            Some(span) => (Kind::Record, span.end as usize),
            None => self.atom(token.kind, token.text, start, gap)?,
        };
        let written = self.text.get(start..end)?;
        let record = (kind == Kind::Record).then(|| Box::new(Record::read(written)));
        let text = match (&record, kind) {
            (Some(record), _) => record.text(),
            (None, Kind::Number) => number(written),
            _ => Cow::Borrowed(written),
        };
        let apart = kind == Kind::Word && self.is_apart(written, gap)?;
        let before = comments(gap).collect();
        self.atoms.push(Atom { kind, text, record, before, apart, glued: false });
        self.at = end;
        Some(true)
    }

    /// What the atom at `start` is, and where it ends.
    fn atom(&self, token: Token, text: &str, start: usize, gap: &str) -> Option<(Kind, usize)> {
        let rest = self.rest(start);
        let simple = |kind| Some((kind, start + text.len()));
        match token {
            Token::Word | Token::Sign if text.starts_with(['Δ', '\u{2206}']) => {
                Some((Kind::Number, start + literal_length(rest)?))
            }
            Token::Number => {
                let follows_number = self.atoms.last().is_some_and(|last| last.kind == Kind::Number);
                let end = start + number_length(rest)?;
                (!follows_number).then_some((Kind::Number, end))
            }
            Token::Word => Some((Kind::Word, start + path_length(rest)?)),
            Token::Text => simple(Kind::Text),
            Token::Open => simple(Kind::Open),
            Token::Close => simple(Kind::Close),
            Token::OpenText | Token::Brace => None,
            Token::Sign => self.sign(rest, start, gap),
        }
    }

    fn sign(&self, rest: &str, start: usize, gap: &str) -> Option<(Kind, usize)> {
        let mut characters = rest.chars();
        let first = characters.next()?;
        let second = characters.next();
        let whole = |kind, length: usize| Some((kind, start + length));
        match first {
            ',' => {
                // Between two digits it was meant for a decimal comma, which must stay visible.
                let touches = gap.is_empty() && self.atoms.last().is_some_and(|a| a.kind == Kind::Number);
                let is_decimal = touches && second.is_some_and(|c| c.is_ascii_digit());
                (!is_decimal).then_some((Kind::Comma, start + 1))
            }
            ':' => whole(Kind::Colon, 1),
            '=' if second != Some('=') => whole(Kind::Equals, 1),
            '.' if second == Some('.') && characters.next() != Some('.') => whole(Kind::Between, 2),
            '±' | '×' | '*' | '÷' | '/' => whole(Kind::Between, first.len_utf8()),
            '+' if second == Some('/') => {
                let minus = characters.next().filter(|c| is_minus(*c))?;
                whole(Kind::Between, 2 + minus.len_utf8())
            }
            '+' | '-' | '−' | '–' => {
                let kind = if self.has_operand_before() { Kind::Between } else { Kind::Before };
                whole(kind, first.len_utf8())
            }
            _ => None,
        }
    }

    /// Whether what was read last is a value.
    fn has_operand_before(&self) -> bool {
        let Some((last, before)) = self.atoms.split_last() else { return false };
        match last.kind {
            Kind::Number | Kind::Text | Kind::Close | Kind::Record => true,
            Kind::Word => {
                let limit = matches!(&*last.text, "least" | "most");
                let of_limit = limit && before.last().is_some_and(|before| before.is("at"));
                !of_limit && (matches!(&*last.text, "yes" | "no") || !is_reserved(&last.text))
            }
            _ => false,
        }
    }

    /// Whether a word must stay on another line than the number before it; nothing where the two are on one line and
    /// so are a value with a unit that nobody knows.
    fn is_apart(&self, word: &str, gap: &str) -> Option<bool> {
        let Some(number) = self.atoms.last().filter(|last| last.kind == Kind::Number) else {
            return Some(false);
        };
        let together = format!("{} {word}", number.text);
        let longer = literal_length(&together).is_some_and(|length| length > number.text.len());
        let has_unit = literal_length(&number.text).is_some();
        let joins = longer || !has_unit && !is_reserved(word);
        if gap.contains('\n') { Some(joins) } else { (!joins && !gap.is_empty()).then_some(false) }
    }
}

fn is_minus(character: char) -> bool {
    matches!(character, '-' | '−' | '–')
}

/// The length of a word with the fields and places behind it, `fastenings[0].torque`.
fn path_length(text: &str) -> Option<usize> {
    let mut length = word_length(text);
    loop {
        let rest = text.get(length..)?;
        if !rest.starts_with(['.', '[']) {
            return Some(length);
        }
        let digits = |rest: &str| rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
        if let Some(field) = rest.strip_prefix('.').filter(|field| word_length(field) > 0) {
            length += 1 + word_length(field);
        } else if let Some(place) = rest.strip_prefix('[') {
            place.get(digits(place)..)?.strip_prefix(']')?;
            length += digits(place) + 2;
        } else {
            return Some(length);
        }
    }
}

/// The length of a number with its unit, or of a day; nothing where it is written as no number is.
fn number_length(text: &str) -> Option<usize> {
    if let Some(length) = literal_length(text) {
        return Some(length);
    }
    let length = day_length(text).unwrap_or_else(|| figure_length(text));
    let mut rest = text.get(length..)?.chars();
    let first = rest.next();
    let grouped = matches!(first, Some('.' | '\'' | '’' | '_')) && rest.next() != Some('.');
    let touches = first.is_some_and(|c| c.is_alphanumeric() || c == '"');
    (!grouped && !touches).then_some(length)
}

/// The length of a number with its unit, without blanks behind it.
fn literal_length(text: &str) -> Option<usize> {
    let end = Literal::at_head(text)?.end;
    text.get(..end).map(|written| written.trim_end().len())
}

fn day_length(text: &str) -> Option<usize> {
    const DAY: &str = "0000-00-00";
    let day = text.get(..DAY.len())?;
    let fits = |(c, shape): (char, char)| if shape == '0' { c.is_ascii_digit() } else { c == shape };
    day.chars().zip(DAY.chars()).all(fits).then_some(DAY.len())
}

fn figure_length(text: &str) -> usize {
    let digits = |from: usize| {
        let rest = text.get(from..).unwrap_or_default();
        from + rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len())
    };
    let whole = digits(0);
    let starts = |at: usize, signs: &[char]| text.get(at..).is_some_and(|rest| rest.starts_with(signs));
    let decimals =
        if starts(whole, &['.']) && digits(whole + 1) > whole + 1 { digits(whole + 1) } else { whole };
    if !starts(decimals, &['e', 'E']) {
        return decimals;
    }
    let signed = decimals + 1 + usize::from(starts(decimals + 1, &['-', '+']));
    if digits(signed) > signed { digits(signed) } else { decimals }
}

/// A number with one blank before its unit, and none before the sign of a degree.
fn number(written: &str) -> Cow<'_, str> {
    let Some(found) = Literal::at_head(written) else { return Cow::Borrowed(written) };
    let (Some(figure), Some(unit)) = (written.get(..found.unit), written.get(found.unit..)) else {
        return Cow::Borrowed(written);
    };
    let blank = if unit == "°" { "" } else { " " };
    let figure = figure.trim_end();
    if written.len() == figure.len() + blank.len() + unit.len()
        && written.get(figure.len()..found.unit) == Some(blank)
    {
        return Cow::Borrowed(written);
    }
    Cow::Owned(format!("{figure}{blank}{unit}"))
}

/// Says of each atom whether a blank is before it.
fn glue(atoms: &mut [Atom<'_>]) {
    let mut glued: Vec<bool> = (0..atoms.len()).map(|at| is_glued(atoms, at)).collect();
    for at in 0..atoms.len() {
        if is_tolerance(atoms, at) {
            for sign in glued.iter_mut().skip(at + 1).take(4) {
                *sign = true;
            }
        }
    }
    for (atom, glued) in atoms.iter_mut().zip(glued) {
        atom.glued = glued;
    }
}

fn is_glued(atoms: &[Atom<'_>], at: usize) -> bool {
    let before = |back: usize| at.checked_sub(back).and_then(|at| atoms.get(at));
    let (Some(atom), Some(last)) = (atoms.get(at), before(1)) else { return true };
    match (last.kind, atom.kind) {
        (Kind::Open | Kind::Before, _) | (_, Kind::Close | Kind::Comma | Kind::Colon) => true,
        (Kind::Word, Kind::Open) => {
            let of_limit =
                matches!(&*last.text, "least" | "most") && before(2).is_some_and(|word| word.is("at"));
            !of_limit && !is_reserved(&last.text)
        }
        _ => false,
    }
}

/// Whether the `+` of a tolerance such as `+5/-0 Nm` is at this place.
fn is_tolerance(atoms: &[Atom<'_>], at: usize) -> bool {
    let Some([plus, above, stroke, minus, below]) = atoms.get(at..at + 5) else { return false };
    let amount = |atom: &Atom<'_>| matches!(atom.kind, Kind::Number | Kind::Word);
    let sign = plus.kind == Kind::Between && plus.text == "+" && stroke.text == "/";
    sign && amount(above) && amount(below) && minus.text.chars().all(is_minus)
}
