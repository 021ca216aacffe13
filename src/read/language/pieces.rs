//! The pieces of a rule file as the parser cuts it, for those who lay it out or read it line by line.

use crate::code;
use crate::diagnostic::{Diagnostic, nearest};
use crate::language::LARGEST_FILE;
use crate::language::read::{ITEMS, Mistakes, clause_row, cut, item};
use crate::source::{SourceId, Span};

pub(crate) use crate::language::read::{
    ClauseCut, ClauseKind, ClauseWord, ItemCut, ItemWord, Kind, Tokens, is_reserved, word_length,
};

/// The items of a rule file and their clauses.
///
/// # Errors
/// What is wrong with it, where they cannot be told apart.
pub(crate) fn pieces(source: SourceId, text: &str) -> Result<Vec<ItemCut>, Vec<Diagnostic>> {
    let mut mistakes = Mistakes::new(source);
    if text.len() > LARGEST_FILE {
        let message =
            format!("this rule file has {} bytes; the most that is read is {LARGEST_FILE}", text.len());
        let mistake =
            mistakes.error(code::TEXT_TOO_LARGE, Span::new(0, 0), message).help("split it with `use`");
        return Err(vec![mistake]);
    }
    let items = cut(text, &mut mistakes);
    let wrong = mistakes.into_list();
    if wrong.is_empty() { Ok(items) } else { Err(wrong) }
}

/// Whether a text is one record, up to its end.
pub(crate) fn is_whole_record(text: &str) -> bool {
    let given = format!("given x {text}");
    let whole = |clause: &ClauseCut| clause.record.is_some_and(|record| record.end as usize == given.len());
    pieces(SourceId::FIRST, &given).is_ok_and(|items| match items.as_slice() {
        [item] => matches!(item.clauses.as_slice(), [clause] if whole(clause)),
        _ => false,
    })
}

/// Whether a word at the head of a line begins an item or a clause there, or is taken for a misspelt one. `where` begins a
/// clause once in a file, behind the head of its standard.
pub(crate) fn begins_something(word: &str) -> bool {
    let known = || item(word).is_some() || clause_row(word).is_some();
    let near = || !is_reserved(word) && nearest(word, ITEMS.iter().map(|row| row.word)).is_some();
    word != "where" && (known() || near())
}
