//! Reading rule files: every construct, every mistake at its place, and hostile input.

mod again;
mod constructs;
mod hostile;
mod mistakes;
mod plain;
mod show;

use witnessmark::diagnostic::Diagnostic;
use witnessmark::language::ast::File;
use witnessmark::language::parse;
use witnessmark::source::Sources;

/// A file in the look of the language, as its handbook shows it.
pub const SAMPLE: &str = include_str!("sample.standard");

/// Reads a text under the name `t`.
pub fn read(text: &str) -> (File, Vec<Diagnostic>) {
    parse(Sources::new().add("t", text), text)
}

/// Reads a text that has no mistakes.
pub fn good(text: &str) -> File {
    let (file, mistakes) = read(text);
    assert!(mistakes.is_empty(), "{text}\n{mistakes:#?}");
    file
}
