//! `why`: a rule or a figure in plain words, how a rule judged a record, or what a code means.

use std::path::PathBuf;

use clap::Args;

use super::ask::ask;
use super::context::ENDINGS;
use super::known::KnownFiles;
use super::names::named as name_of;
use super::output::Place;
use super::{Exit, Failure, OutputOptions, RuleOptions, files, walk};
use crate::code::CODES;
use crate::diagnostic::nearest;
use crate::document::fields::fields;
use crate::language::ast::Severity;
use crate::report::{self, why};

/// Explains a rule: what it demands, its figures and where they come from. With a record, how each
/// subject came to its outcome and, where something is wrong, the least work for it to be met. Parameters and the other figures, standards, codes of messages, builtins,
/// units and kinds are explained too.
#[derive(Debug, Args)]
pub(super) struct Why {
    /// A rule by its full or short name; or a parameter, a let, a table, a standard, a code, a builtin, a
    /// unit, a kind of quantity or a word of the reports, such as `hold` or `undecided`. With a record, also an
    /// expression of the rule language, such as `reached of s`.
    #[arg(value_name = "RULE")]
    name: String,
    /// A record to judge by that rule.
    #[arg(value_name = "RECORD")]
    record: Option<PathBuf>,
    /// Tells each element of a list, also those that came out like one before them.
    #[arg(long)]
    in_full: bool,
    #[command(flatten)]
    rules: RuleOptions,
    #[command(flatten)]
    output: OutputOptions,
}

impl Why {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        if self.output.is_for_programs() {
            return Err(Failure("`why` is for people: its forms are terminal and plain".to_owned()));
        }
        let place = self.output.make_way(self.record.as_deref())?;
        let style = self.output.style();
        let mut out = Vec::new();
        let is_word = why::word(&self.name, &style, &mut out);
        let mut ready = self.rules.open(self.record.as_deref(), &KnownFiles::default())?;
        ready.bounds.allow_ways(self.record.as_deref())?;
        let named = self.record.iter().cloned().collect::<Vec<_>>();
        ready.load_context(&walk::find(&named, &ENDINGS), named.len());
        let session = &ready.session;
        let rules: Vec<_> = session.rules_called(&self.name).collect();
        let named = session.named(&self.name);
        if rules.is_empty()
            && named.is_empty()
            && (is_word || why::field(&self.name, session.forms(), &style, &mut out))
        {
            return write(&place, &out);
        }
        if rules.is_empty()
            && named.is_empty()
            && let Some(record) = &self.record
            && !ready.unsettled
            && ask(&ready, &self.rules, &self.name, record, &style, &mut out)?
        {
            return write(&place, &out);
        }
        if rules.is_empty() && named.is_empty() {
            let fields = session.forms().iter().flat_map(|form| fields(form.record()));
            let fields: Vec<String> = fields.map(|one| one.path.replace("[]", "")).collect();
            let names = session.names().chain(fields.iter().map(String::as_str));
            return Err(Failure(unknown(&self.name, names)));
        }
        let text = match &self.record {
            Some(path) => {
                let text = files::read_by(path, ready.bounds.links_of_named());
                Some((path, text.map_err(|unread| Failure(unread.fault.message))?))
            }
            None => None,
        };
        let text = text.filter(|_| !ready.unsettled);
        if self.record.is_some() && ready.unsettled {
            super::output::complain("the workshop's settings have errors, so the record is not judged");
        }
        if is_word {
            // A kind such as `torque` and a rule of that name are both meant.
            out.push(b'\n');
        }
        let run = ready.run(Severity::Hold);
        self.output.format().diagnostics(&run.diagnostics, &run.sources, &style, &mut out);
        for named in &named {
            why::named(named, session.sources(), &style, &mut out);
        }
        // A parameter and the field that it is about can have one name.
        let mut meant = Vec::new();
        if why::field(&self.name, session.forms(), &style, &mut meant) {
            out.push(b'\n');
            out.append(&mut meant);
        }
        if !named.is_empty() && !rules.is_empty() {
            out.push(b'\n');
        }
        for rule in rules {
            let record = text.as_ref().map(|(_, text)| &**text);
            why::story(&session.story(rule), record, session.sources(), &style, &mut out);
            if let Some((path, text)) = &text {
                for trace in session.trace(rule, &name_of(path), text) {
                    why::trace(&trace, self.in_full, &style, &mut out);
                }
            }
        }
        write(&place, &out)?;
        let faulty = run.diagnostics.iter().any(|found| found.level == crate::diagnostic::Level::Error);
        Ok(if faulty { Exit::Failed } else { Exit::Clean })
    }
}

fn write(place: &Place, out: &[u8]) -> Result<Exit, Failure> {
    let mut sink = place.sink()?;
    sink.write(out)?;
    sink.finish()?;
    Ok(Exit::Clean)
}

fn unknown<'a>(name: &str, names: impl Iterator<Item = &'a str>) -> String {
    let names: Vec<&str> = names.collect();
    let short = names.iter().filter_map(|full| full.rsplit_once('.')).map(|(_, short)| short);
    let codes = CODES.iter().map(|row| row.code.as_str());
    let terms = report::terms::all().map(|term: &str| term);
    let near = nearest(name, names.iter().copied().chain(short).chain(codes).chain(terms));
    let hint = near.map_or_else(
        || "name a rule as `standard.rule`, or a field as `fastenings.torque`; `inspect`, `prove` and `words fields` print the names".to_owned(),
        |near| format!("did you mean `{near}`?"),
    );
    format!("nothing in this run, no field and no code is called `{name}`; {hint}")
}
