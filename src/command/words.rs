//! `words`: what a rule or a record can say, from the tables that the program itself works by.

use std::collections::HashSet;

use clap::builder::PossibleValue;
use clap::{Args, ValueEnum};

use super::known::KnownFiles;
use super::output::{Sink, refusal};
use super::{Exit, Failure, RuleOptions, RunOptions};
use crate::code::CODES;
use crate::diagnostic::Level;
use crate::document::Form;
use crate::document::everyday::Everyday;
use crate::document::fields::{FieldAt, fields};
use crate::edition::Digest;
use crate::language::ast::Severity;
use crate::language::builtins;
use crate::library::{SHIPPED, Shipped};
use crate::quantity::{KINDS, UNITS};
use crate::report::text;
use crate::session::DeclaredParameter;

/// Lists the words that rules and records can use.
#[derive(Debug, Args)]
pub(super) struct Words {
    /// Of what.
    #[arg(value_name = "OF")]
    of: Of,
    #[command(flatten)]
    rules: RuleOptions,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Of {
    /// Units with their spellings, one a line.
    Units,
    /// Kinds of quantity, as parameters and schemas name them.
    Kinds,
    /// Builtins of the rule language.
    Builtins,
    /// Names of the trade that the shipped rules know, by the field, each with the everyday words that are read as it.
    Names,
    /// Codes of messages.
    Codes,
    /// Standards that are shipped with the program: name, edition, content hash and title.
    Standards,
    /// Parameters of the standards of a run, or of all that are shipped: name, kind, keys, default and title.
    Parameters,
    /// Fields of the documents of a run: form, path, what it holds and what it means.
    Fields,
}

impl Words {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        if !matches!(self.of, Of::Parameters | Of::Fields)
            && (!self.rules.standards.is_empty() || self.rules.run != RunOptions::default())
        {
            let of = self.of.to_possible_value();
            let of = of.as_ref().map_or("", PossibleValue::get_name);
            let why = "only `words parameters` and `words fields` have options";
            return Err(Failure(format!("`words {of}` is the same for every run; {why}")));
        }
        let lines: Vec<String> = match self.of {
            Of::Units => UNITS
                .iter()
                .map(|unit| format!("{}\t{}\t{}", unit.symbol, unit.kind(), unit.spellings.join(" | ")))
                .collect(),
            Of::Kinds => KINDS.iter().map(|row| format!("{}\t{}", row.words, row.meaning)).collect(),
            Of::Builtins => {
                builtins::all().map(|builtin| format!("{}\t{}", builtin.call(), builtin.doc)).collect()
            }
            Of::Names => names(),
            Of::Codes => CODES.iter().map(|row| format!("{}\t{}", row.code.as_str(), row.title)).collect(),
            Of::Standards => {
                let line = |shipped: &Shipped| {
                    let (edition, digest) = (shipped.edition(), Digest::of(shipped.text));
                    format!("{}\tedition {edition}\t{}\t{}", shipped.name, digest.short(), shipped.title())
                };
                SHIPPED.iter().map(line).collect()
            }
            Of::Parameters => parameters(&self.rules)?,
            Of::Fields => fields_of_forms(&self.rules)?,
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

fn names() -> Vec<String> {
    let everyday = Everyday::shipped();
    let words = everyday.vocabularies().flat_map(|(vocabulary, words)| {
        words.iter().map(move |(word, others)| format!("{vocabulary}\t{word}\t{}", others.join(" | ")))
    });
    words.collect()
}

/// A line for each field of the documents of a run.
fn fields_of_forms(rules: &RuleOptions) -> Result<Vec<String>, Failure> {
    let ready = rules.open_to_judge(None, &KnownFiles::default())?;
    let line = |form: &str, one: FieldAt<'_>| {
        let columns = [form, &one.path, &one.holds(), &one.field.doc];
        columns.map(|column| text::shown(column).into_owned()).join("\t")
    };
    let of =
        |form: &Form| fields(form.record()).into_iter().map(|one| line(form.name(), one)).collect::<Vec<_>>();
    Ok(ready.session.forms().iter().flat_map(of).collect())
}

/// A line for each parameter of a run. One that an earlier edition declares in the same words is listed once.
fn parameters(rules: &RuleOptions) -> Result<Vec<String>, Failure> {
    let ready = rules.open_to_judge(None, &KnownFiles::default())?;
    let run = ready.run(Severity::Hold);
    if run.diagnostics.iter().any(|found| found.level == Level::Error) {
        let why = "the rules or settings have errors; no parameters are listed".to_owned();
        return Err(refusal(&run.diagnostics, &run.sources, why));
    }
    let mut lines: Vec<String> = ready.session.parameters().iter().map(parameter).collect();
    let mut listed = HashSet::new();
    lines.retain(|line| listed.insert(line.clone()));
    Ok(lines)
}

fn parameter(one: &DeclaredParameter) -> String {
    let differs = one.differs_by().map_or_else(|| "one value".to_owned(), |differs| format!("by {differs}"));
    let default =
        one.default.as_ref().map_or_else(|| "no default".to_owned(), |default| format!("default {default}"));
    let from = one.from.as_ref().map_or_else(String::new, |from| format!("from {from}, "));
    let columns = [one.name.as_str(), &one.kind, &differs, &format!("{from}{default}"), &one.title];
    columns.map(|column| text::shown(column).into_owned()).join("\t")
}
