//! A rule file in its one layout, as `tidy` writes it.

use super::fixes::difference;
use super::protocol::TextEdit;
use super::text::Text;
use crate::language::layout::laid_out;
use crate::source::SourceId;

/// What has to be changed for it; nothing where it cannot be told which clauses the file has.
#[must_use]
pub fn of_rules(text: &Text) -> Option<Vec<TextEdit>> {
    let laid = laid_out(SourceId::FIRST, text.text()).ok()?;
    Some(difference(text, &laid).into_iter().collect())
}
