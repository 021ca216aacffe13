//! Reads a rule file: cuts it, reads each clause alone, and keeps the items that are wholly good.

use crate::code;
use crate::diagnostic::Diagnostic;
use crate::language::ast::{File, Item};
use crate::language::read::again::Clauses;
use crate::language::read::clauses::{LARGEST_FILE, Reader};
use crate::language::read::cut::{ItemCut, cut};
use crate::language::read::expressions::Builder;
use crate::language::read::mistakes::Mistakes;
use crate::language::read::rules;
use crate::language::read::scan::{Kind, Tokens};
use crate::language::read::trials;
use crate::language::read::words::ItemWord;
use crate::source::{SourceId, Span, Spanned};

/// Reads a rule file. Good items are kept beside bad ones; every mistake is reported at its place.
#[must_use]
pub fn parse(source: SourceId, text: &str) -> (File, Vec<Diagnostic>) {
    parse_again(source, text, Wanted::All, None)
}

/// Reads a rule file but for the trials of its rules, of which nothing is known then.
#[must_use]
pub fn parse_without_trials(source: SourceId, text: &str) -> (File, Vec<Diagnostic>) {
    parse_again(source, text, Wanted::NoTrials, None)
}

/// Reads what a rule file declares beside its rules: the head of its standard, lets, parameters, tables, and what it uses.
#[must_use]
pub fn parse_declarations(source: SourceId, text: &str) -> (File, Vec<Diagnostic>) {
    parse_again(source, text, Wanted::Declarations, None)
}

/// What of a rule file is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// All of it.
    All,
    /// All but trials and the records that they share.
    NoTrials,
    /// All but rules.
    Declarations,
}

impl Wanted {
    fn holds(self, word: ItemWord) -> bool {
        match word {
            ItemWord::Given => self == Wanted::All,
            ItemWord::Rule => self != Wanted::Declarations,
            ItemWord::Standard | ItemWord::Use | ItemWord::Let | ItemWord::Parameter | ItemWord::Table => {
                true
            }
        }
    }
}

/// Reads so much of a rule file. Where it is read again and again while it is typed, only those clauses are read by the
/// grammar that are not known from before, and what can be read is kept for the next time.
#[must_use]
pub fn parse_again(
    source: SourceId,
    text: &str,
    wanted: Wanted,
    known: Option<&Clauses>,
) -> (File, Vec<Diagnostic>) {
    let mut mistakes = Mistakes::new(source);
    let mut file = File { source, items: Vec::new(), mistaken: Vec::new(), standard_mistaken: false };
    if text.len() > LARGEST_FILE {
        let message =
            format!("this rule file has {} bytes; the most that is read is {LARGEST_FILE}", text.len());
        mistakes
            .push(mistakes.error(code::TEXT_TOO_LARGE, Span::new(0, 0), message).help("split it with `use`"));
        file.standard_mistaken = true;
        return (file, mistakes.into_list());
    }
    for item in cut(text, &mut mistakes) {
        if mistakes.is_full() {
            break;
        }
        if !wanted.holds(item.word) {
            continue;
        }
        let trials = wanted == Wanted::All;
        let builder = Builder { source };
        let mut reader = Reader { text, builder, trials, known, mistakes: &mut mistakes };
        match read_item(&mut reader, &item).filter(|_| !item.broken) {
            Some(good) => file.items.push(good),
            None => remember(&mut file, &item, text),
        }
    }
    (file, mistakes.into_list())
}

fn read_item(reader: &mut Reader<'_, '_>, item: &ItemCut) -> Option<Item> {
    match item.word {
        ItemWord::Standard => reader.standard(item).map(Item::Standard),
        ItemWord::Use => reader.use_file(item).map(Item::Use),
        ItemWord::Let => reader.let_value(item).map(Item::Let),
        ItemWord::Parameter => reader.parameter(item).map(Item::Parameter),
        ItemWord::Table => reader.table(item).map(Item::Table),
        ItemWord::Rule => rules::rule(reader, item).map(|rule| Item::Rule(Box::new(rule))),
        ItemWord::Given => trials::base(reader, item).map(Item::Base),
    }
}

/// Remembers the name of an item that could not be read.
fn remember(file: &mut File, item: &ItemCut, text: &str) {
    match item.word {
        ItemWord::Standard => file.standard_mistaken = true,
        ItemWord::Let | ItemWord::Parameter | ItemWord::Table | ItemWord::Given => {
            let Some(head) = item.clauses.first() else { return };
            let rest = text.get(head.head.end as usize..head.span.end as usize).unwrap_or_default();
            let named = Tokens::new(rest).next().filter(|token| token.kind == Kind::Word);
            let name =
                named.map(|token| Spanned::new(token.text.to_owned(), token.span.shifted(head.head.end)));
            file.mistaken.extend(name);
        }
        ItemWord::Use | ItemWord::Rule => {}
    }
}
