//! What an editor asks of records and rules while they are typed, answered over texts in memory. Pure: files, other documents
//! and the editor itself are the business of `command::editor`.

pub mod colours;
pub mod complete;
pub mod complete_rules;
pub mod cursor;
pub mod diagnostics;
pub mod fixes;
pub mod hints;
pub mod hover;
pub mod hover_rules;
pub mod layout;
pub mod lens;
pub mod names;
pub mod outline;
pub mod protocol;
pub mod readable;
pub mod rows;
pub mod symbols;
pub mod text;

use self::protocol::Markup;

/// Words for people, in which nothing is hidden and nothing but our own marks means anything.
fn markdown(value: String) -> Markup {
    let lines: Vec<String> =
        value.lines().map(|line| crate::report::text::shown(line).into_owned()).collect();
    Markup { kind: "markdown", value: lines.join("\n") }
}
