//! What the targets are given besides their input: files of this repository, rules and sessions.

use std::cell::RefCell;
use std::io::{BufRead, Cursor};
use std::path::{Path, PathBuf};
use std::sync::{Arc, LazyLock};

use witnessmark::code::LOG_FILE;
use witnessmark::decide::Setting;
use witnessmark::diagnostic::Fault;
use witnessmark::document::{Forms, Logs};
use witnessmark::language::check::Given;
use witnessmark::library::{NoArchive, NoLibrary, SHIPPED};
use witnessmark::metrology::conformity::DecisionRule;
use witnessmark::session::{History, Request, Session};
use witnessmark::source::Sources;

/// How many steps the rules may do on one document here: many times what a record takes, and soon done.
pub const MOST_STEPS: u64 = 200_000;

/// A line of equal signs is between the texts of an input that holds several.
pub const BETWEEN: &str = "\n===\n";

/// The folder of the repository.
fn root() -> &'static Path {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().find(|folder| folder.join("grammar/standard.pest").is_file()).expect("the repository")
}

/// The text of a file of the repository.
pub fn text(path: &str) -> String {
    std::fs::read_to_string(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// The texts of the files in a folder whose names end so, in the order of their names.
pub fn texts(folder: &str, ending: &str) -> Vec<String> {
    let entries = std::fs::read_dir(root().join(folder)).unwrap_or_else(|error| panic!("{folder}: {error}"));
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.expect("an entry").path()).collect();
    paths.retain(|path| path.to_string_lossy().ends_with(ending));
    paths.sort();
    paths.iter().map(|path| std::fs::read_to_string(path).expect("a text")).collect()
}

/// As inputs.
pub fn inputs(texts: Vec<String>) -> Vec<Vec<u8>> {
    texts.into_iter().map(String::into_bytes).collect()
}

/// The bytes of an input before and behind the first line between texts.
pub fn halves(text: &str) -> (&str, &str) {
    text.split_once(BETWEEN).unwrap_or((text, ""))
}

/// The forms of the program; to make them ready takes longer than most inputs.
pub static FORMS: LazyLock<Forms> = LazyLock::new(Forms::builtin);

/// A session on rule texts.
pub fn opened(files: &[(&str, &str)], forms: Forms, givens: Vec<Given>) -> Session {
    let mut sources = Sources::new();
    let standards = files.iter().map(|(name, text)| sources.add(*name, *text)).collect();
    let setting = Setting {
        as_of: jiff::civil::date(2026, 3, 31),
        zone: jiff::tz::TimeZone::get("Europe/Vienna").expect("a zone"),
        decision: DecisionRule::Simple,
    };
    let request = Request { sources, standards, earlier: Vec::new(), forms, givens, setting };
    Session::open(request, &NoLibrary).within_steps(MOST_STEPS)
}

/// Documents around those that are judged.
pub fn surrounded(mut session: Session, texts: Vec<String>) -> Session {
    let named = texts.into_iter().enumerate().map(|(number, text)| (format!("around-{number}.yaml"), text));
    session.load_context(named.collect(), History::default(), Arc::new(NoArchive));
    session
}

fn shipped(wanted: impl Fn(&str) -> bool) -> Session {
    let files: Vec<(&str, &str)> =
        SHIPPED.iter().filter(|one| wanted(one.name)).map(|one| (one.file, one.text)).collect();
    opened(&files, FORMS.clone(), Vec::new())
}

/// All shipped standards, with the procedures and the register of the examples around.
pub static ALL: LazyLock<Session> = LazyLock::new(|| {
    let mut around = texts("examples/grauwasser/procedures", ".yaml");
    around.push(text("examples/grauwasser/tools.yaml"));
    surrounded(shipped(|_| true), around)
});

/// The standards that ask for logs, with the log of the input.
pub static LOGGED: LazyLock<Session> =
    LazyLock::new(|| shipped(|name| ["job_basics", "level"].contains(&name)).with_logs(Arc::new(LogOfInput)));

thread_local! {
    static LOG: RefCell<Vec<u8>> = const { RefCell::new(Vec::new()) };
}

/// The log that every record of this thread finds under the name `log.csv`.
pub fn set_log(bytes: &[u8]) {
    LOG.set(bytes.to_vec());
}

#[derive(Debug)]
struct LogOfInput;

impl Logs for LogOfInput {
    fn open(&self, _document: &str, file: &str) -> Result<Box<dyn BufRead>, Fault> {
        if file.ends_with(".csv") {
            return Ok(Box::new(Cursor::new(LOG.with_borrow(Clone::clone))));
        }
        Err(Fault::new(LOG_FILE, format!("there is no file `{file}` here")))
    }
}

/// Rules that follow links to procedures and tools and take a figure from the settings.
pub const RULES: &str = r#"standard fuzzed edition 2 "Rules for made-up input"
judges job

parameter wanted is torque range of s in fastenings by s.role
  "Torque of a fastening"
  from s.prescribed.torque

let limit = 9 Nm ± 10 %

rule screw_torque "Sump screws are tightened to their torque"
  concerns  each s in fastenings where s.role is "sump screw", at least 1
  demands   s.torque within limit
  otherwise hold "Sump screw {s.place}: {s.torque} recorded, {limit} required."

rule by_figure "Each fastening is tightened to the figure of the workshop"
  concerns  each s in fastenings
  demands   s.torque within wanted of s
  otherwise advice "{s.role}: {s.torque} recorded."

rule by_a_tool "Each fastening is tightened with a tool of the register that covers it"
  concerns  each s in fastenings where recorded s.torque
  demands   s.torque within s.instrument.torque.range
  otherwise note "{s.role}: the tool does not cover it."

rule pan_sealed "The pan is fitted with a new gasket"
  demands   recorded seals
  otherwise note "No gasket is recorded."
"#;

/// A record that those rules judge.
pub const RECORD: &str = "form: job/1
job: {number: K-1, opened: 2026-03-02T08:15, state: closed, procedure: {name: P, edition: 1}}
vehicle: {plate: GW 1}
unit: {kind: engine}
fastenings:
  - {role: sump screw, place: A1, torque: 9.8 Nm, tool: T-1}
  - {role: sump screw, place: A2, torque: 12 Nm, tool: T-01}
  - {role: drain plug, torque: 45,5 Nm}
";
