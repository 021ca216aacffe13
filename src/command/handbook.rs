//! `handbook`: whole standards as a page for people.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::git::Revision;
use super::known::KnownFiles;
use super::output::{complain, refusal};
use super::sides::{Given, Side, Then, open_alone};
use super::standards::{Ready, standard_named};
use super::{Exit, Failure, OutputOptions, RuleOptions, RunOptions};
use crate::compare;
use crate::diagnostic::{Level, nearest};
use crate::handbook::{self, Handbook as Book, Since};
use crate::language::ast::Severity;
use crate::library::came_with_it;

/// Writes standards as a page for people: each rule in words with its figures in metric and imperial units, why it is there, what
/// to do, and its trials as examples. The page is one file that loads nothing, for a screen of any size and for paper.
#[derive(Debug, Args)]
pub(super) struct Handbook {
    /// Names of shipped standards, rule files or folders of them. Without any, the standards that `inspect` would use here.
    #[arg(value_name = "STANDARD")]
    standards: Vec<String>,
    /// Write to this file instead of standard output. The file is replaced in one step.
    #[arg(long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Form of the page.
    #[arg(long, value_name = "FORM", default_value = "html")]
    format: Form,
    /// Say what changed since an earlier edition: a rule file, or a revision of Git.
    #[arg(long, value_name = "FILE|REVISION", allow_hyphen_values = true)]
    since: Option<String>,
    #[command(flatten)]
    run: RunOptions,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Form {
    Html,
    Markdown,
}

impl Handbook {
    pub(super) fn run(self) -> Result<Exit, Failure> {
        let since = self.since.as_deref().map(Path::new);
        let inputs = self.standards.iter().map(Path::new).chain(since);
        let output = OutputOptions::to(self.output);
        let place = output.make_way(inputs.chain(self.run.workshop.settings.as_deref()))?;
        let near = self.standards.first().map(PathBuf::from).filter(|path| path.exists());
        let options = RuleOptions { standards: self.standards, run: self.run, swap: None, clauses: None };
        let ready = options.open(near.as_deref(), &KnownFiles::default())?;
        let run = ready.run(Severity::Hold);
        if run.diagnostics.iter().any(|found| found.level == Level::Error) {
            let why = "the rules or settings have errors; no handbook is written".to_owned();
            return Err(refusal(&run.diagnostics, &run.sources, why));
        }
        if run.rules.is_empty() {
            return Err(Failure("there is no rule in these files to write a handbook of".to_owned()));
        }
        let since = self.since.map_or(Ok(Vec::new()), |since| earlier(&ready, &since))?;
        let book = Book::of(&ready.session, &since);
        let text = match self.format {
            Form::Html => handbook::html(&book),
            Form::Markdown => handbook::markdown(&book),
        };
        let mut sink = place.sink()?;
        sink.write(text.as_bytes())?;
        sink.finish()?;
        Ok(Exit::Clean)
    }
}

/// What changed since what was named: a file, or a revision of the repository in which the standards are.
fn earlier(ready: &Ready, since: &str) -> Result<Vec<Since>, Failure> {
    let path = Path::new(since);
    if path.is_dir() {
        return Err(Failure(format!("`{since}` is a folder; name a rule file or a revision of Git")));
    }
    if path.exists() {
        return Ok(vec![since_file(ready, path)?]);
    }
    let sources = ready.session.sources();
    let standards = ready.session.program().standards().iter().filter(|standard| standard.in_force);
    let own: Vec<_> = standards
        .map(|standard| (standard, sources.name(standard.place.source)))
        .filter(|(_, name)| came_with_it(name).is_none())
        .collect();
    let Some((_, first)) = own.first() else {
        return Err(Failure(format!(
            "`{since}` is no file here, and shipped standards are in no repository of yours; name the file of the earlier edition"
        )));
    };
    let revision = Revision::read(since, Path::new(first))
        .map_err(|Failure(why)| Failure(format!("`{since}` is no file here, nor a revision: {why}")))?;
    let mut found = Vec::new();
    for (standard, name) in own {
        let library = Then { revision: Some(&revision), disk: ready.disk() };
        match Side::Then(Path::new(name), &revision).read(Path::new("")) {
            Ok(given) => found.push(compared(ready, &given, &standard.name, &library)?),
            Err(Failure(why)) => complain(&format!("all of `{name}` counts as unchanged: {why}")),
        }
    }
    Ok(found)
}

fn since_file(ready: &Ready, path: &Path) -> Result<Since, Failure> {
    let given = Side::Now(path, ready.bounds.links_of_named()).read(Path::new(""))?;
    let name = &given.name;
    let Some((standard, _)) = standard_named(&given.text) else {
        return Err(Failure(format!("`{name}` is no standard, so nothing is compared with it")));
    };
    let known: Vec<&str> = ready.session.program().standards().iter().map(|one| one.name.as_str()).collect();
    if !known.contains(&standard.as_str()) {
        let near = nearest(&standard, known.iter().copied());
        let help = near.map_or_else(String::new, |near| format!("; did you mean an edition of `{near}`?"));
        return Err(Failure(format!(
            "`{name}` is an edition of `{standard}`, which is not in this book{help}"
        )));
    }
    let library = Then { revision: None, disk: ready.disk() };
    compared(ready, &given, &standard, &library)
}

/// The edition of the run compared with an earlier one.
fn compared(ready: &Ready, earlier: &Given, standard: &str, library: &Then<'_>) -> Result<Since, Failure> {
    let session = &ready.session;
    let standards = session.program().standards();
    let source =
        standards.iter().find(|one| one.name == standard && one.in_force).map(|one| one.place.source);
    let text = source.and_then(|source| session.sources().get(source));
    let Some(text) = text else { return Err(Failure(format!("there is no standard `{standard}`"))) };
    let now = Given { name: text.name().to_owned(), text: text.text().to_owned(), is_rules: true };
    let (new, id) = open_alone(&now, ready, library);
    let (old, other) = open_alone(earlier, ready, library);
    if old.is_faulty() {
        let why = format!("`{}` has errors, so what changed since is not known", earlier.name);
        return Err(refusal(old.diagnostics(), old.sources(), why));
    }
    let comparison = compare::standards((&old, other), (&new, id));
    Ok(Since { standard: standard.to_owned(), name: earlier.name.clone(), comparison })
}
