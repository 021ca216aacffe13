//! From the text of a rule file to its syntax tree.
//!
//! The files in the order in which they build on each other: `words` (reserved words), `scan` (what a
//! file is cut by), `mark` (where units stand), `grammar` (the pest side), `mistakes` (the list of them), `cut` (a file into items
//! and clauses), `bounds` (nesting), `foreign` (words of other
//! languages), `rewrite` (other notations in our words), `syntax_error` (why a clause cannot be read), `texts`, `operators` and
//! `expressions` (values), `plain` (the plainest of it without the grammar), `again` (what was read before), `clauses`, `items`, `rules`, and `reader`, which does it all.

mod again;
mod bounds;
mod clauses;
mod cut;
mod expressions;
pub(super) mod hints;
mod grammar;
mod items;
mod mark;
mod syntax_error;
mod mistakes;
mod operators;
mod plain;
mod reader;
mod rewrite;
mod rules;
mod scan;
mod texts;
mod trials;
mod words;

pub(crate) use cut::{ClauseCut, ClauseKind, ItemCut, cut};
pub(crate) use grammar::is_reserved;
pub(crate) use mistakes::Mistakes;
pub(crate) use scan::{Kind, Tokens, word_length};
pub(crate) use words::{ClauseWord, ITEMS, ItemWord, clause_row, item};

pub use again::Clauses;
pub use bounds::{MOST_NESTED, MOST_OPERATORS};
pub use clauses::{LARGEST_FILE, parse_expression};
pub use reader::{Wanted, parse, parse_again, parse_declarations, parse_without_trials};
pub use words::looks_like_rules;
