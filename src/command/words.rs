//! `words`: what a rule or a record can say, from the tables that the program itself works by.

use clap::{Args, ValueEnum};

use super::output::Sink;
use super::{Exit, Failure};
use crate::code::CODES;
use crate::edition::Digest;
use crate::language::builtins;
use crate::library::{SHIPPED, Shipped};
use crate::quantity::{KINDS, UNITS};

/// Lists the words that rules and records can use.
#[derive(Debug, Args)]
pub(super) struct Words {
    /// Of what.
    #[arg(value_name = "OF")]
    of: Of,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Of {
    /// Units with their spellings, one a line.
    Units,
    /// Kinds of quantity, as parameters and schemas name them.
    Kinds,
    /// Builtins of the rule language.
    Builtins,
    /// Codes of messages.
    Codes,
    /// Standards that are shipped with the program: name, edition, content hash and title.
    Standards,
}

impl Words {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        let lines: Vec<String> = match self.of {
            Of::Units => UNITS
                .iter()
                .map(|unit| format!("{}\t{}\t{}", unit.symbol, unit.kind(), unit.spellings.join(" | ")))
                .collect(),
            Of::Kinds => KINDS.iter().map(|row| format!("{}\t{}", row.words, row.meaning)).collect(),
            Of::Builtins => {
                builtins::all().map(|builtin| format!("{}\t{}", builtin.call(), builtin.doc)).collect()
            }
            Of::Codes => CODES.iter().map(|row| format!("{}\t{}", row.code.as_str(), row.title)).collect(),
            Of::Standards => {
                let line = |shipped: &Shipped| {
                    let (edition, digest) = (shipped.edition(), Digest::of(shipped.text));
                    format!("{}\tedition {edition}\t{}\t{}", shipped.name, digest.short(), shipped.title())
                };
                SHIPPED.iter().map(line).collect()
            }
        };
        let mut sink = Sink::screen();
        for line in lines {
            sink.write(line.as_bytes())?;
            sink.write(b"\n")?;
        }
        sink.finish()?;
        Ok(Exit::Clean)
    }
}
