//! A rule file in its one layout, as `tidy` writes it.

use super::fixes::difference;
use super::protocol::TextEdit;
use super::text::Text;
use crate::language::layout::laid_out;
use crate::source::SourceId;

/// What has to be changed for it.
///
/// # Errors
/// It cannot be told which clauses the file has; why, and in which line.
pub fn of_rules(text: &Text) -> Result<Vec<TextEdit>, String> {
    match laid_out(SourceId::FIRST, text.text()) {
        Ok(laid) => Ok(difference(text, &laid).into_iter().collect()),
        Err(found) => {
            let first = found.into_iter().next();
            let said = first.map(|first| {
                let place = first.place().map(|place| text.range(place.span).start.line + 1);
                let line = place.map(|line| format!("line {line}: ")).unwrap_or_default();
                format!("; {line}{}", first.message)
            });
            Err(format!("not laid out, because the rules have a mistake{}", said.unwrap_or_default()))
        }
    }
}
