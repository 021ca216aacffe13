//! Where reports go: standard output or a file that is replaced in one step.

use std::borrow::Cow;
use std::ffi::OsString;
use std::fs::Permissions;
use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};

use super::bounds::{absolute, unlinked};
use super::context::ENDINGS;
use super::files::{self, RULE_ENDING, plainly};
use super::likeness::{form_of, names_a_form};
use super::scratch::{Scratch, clear_up, folder_of};
use super::walk::GIT;
use super::{Colour, Failure, OutputOptions, Screen};
use crate::diagnostic::Diagnostic;
use crate::report::text::harmless;
use crate::report::{self, Audience, Format, FormatRow, Style};
use crate::source::Sources;
use crate::trade::form;

/// The widest report, far wider than any screen.
pub(super) const MOST_COLUMNS: i64 = 10_000;

/// Narrower screens get the plain form.
const NARROW: usize = 60;

impl OutputOptions {
    /// Those of a page that is for people whatever its form.
    pub(super) fn to(output: Option<PathBuf>) -> OutputOptions {
        OutputOptions {
            format: None,
            output,
            screen: Screen { colour: Colour::Never, width: None, ascii: false },
        }
    }

    /// The form of report that was asked for, or that suits where it goes.
    pub(super) fn form(&self) -> &'static FormatRow {
        let screen = || self.output.is_none() && io::stdout().is_terminal();
        match self.format.as_deref().and_then(report::find) {
            Some(asked) => asked,
            None if screen() && self.screen.columns() >= NARROW => &report::TERMINAL,
            None => &report::PLAIN,
        }
    }

    pub(super) fn format(&self) -> &'static dyn Format {
        self.form().format
    }

    /// Whether the report is read by a program.
    pub(super) fn is_for_programs(&self) -> bool {
        self.form().audience != Audience::People
    }

    /// How a report for people looks.
    pub(super) fn style(&self) -> Style {
        self.screen.style(self.output.is_none())
    }

    /// Makes way for the report of a run over these inputs: an old one is gone from now on, so that none survives a run that
    /// fails. What is no report is left as it is.
    ///
    /// # Errors
    /// The file is an input, a record, a rule file or a folder, or is reached through a link.
    pub(super) fn make_way<'p>(&self, inputs: impl IntoIterator<Item = &'p Path>) -> Result<Place, Failure> {
        self.make_way_for(inputs, !self.is_for_programs())
    }

    /// The same for a report of another form, which is for people or not.
    pub(super) fn make_way_for<'p>(
        &self,
        inputs: impl IntoIterator<Item = &'p Path>,
        for_people: bool,
    ) -> Result<Place, Failure> {
        let place = Place { path: self.output.clone(), permissions: None, for_people };
        let Some(path) = self.output.as_deref().filter(|path| !is_screen(path) && !is_device(path)) else {
            return Ok(place);
        };
        unlinked_folder(path)?;
        let cannot =
            |what: &str| Failure(format!("`{}` {what}; name another file for the report", path.display()));
        if let Some(why) = says_what_is_read(path) {
            return Err(cannot(why));
        }
        let Ok(there) = std::fs::symlink_metadata(path) else {
            // The next run would read it.
            return match would_be_read(path) {
                true => Err(cannot("would be taken for a record or a rule file")),
                false => Ok(place),
            };
        };
        if there.is_dir() {
            return Err(cannot("is a folder"));
        }
        if there.is_symlink() && would_be_read(path) {
            return Err(cannot("is a link that would be taken for a record or a rule file"));
        }
        if there.is_file() {
            if inputs.into_iter().any(|input| files::same(input, path)) {
                return Err(cannot("is read by this run"));
            }
            if let Some(what) = kept(path) {
                return Err(cannot(what));
            }
        }
        if there.is_file() || there.is_symlink() {
            match std::fs::remove_file(path) {
                // Another run has just made way for its own report.
                Err(error) if error.kind() != io::ErrorKind::NotFound => {
                    return Err(cannot(&format!("cannot be replaced: {}", plainly(&error))));
                }
                _ => {}
            }
        }
        let permissions = there.is_file().then(|| there.permissions());
        Ok(Place { permissions, ..place })
    }
}

/// Removes the old report of a run whose arguments have a mistake, as far as they tell which file that is.
pub(super) fn remove_old(words: &[OsString]) {
    const OUTPUT: &str = "--output";
    // Each with how many of the words it is itself.
    let behind = words.windows(2).filter_map(|pair| match pair {
        [option, path] if option == OUTPUT => Some((Path::new(path), 1)),
        _ => None,
    });
    let joined = words.iter().filter_map(|word| word.to_str()?.strip_prefix(OUTPUT)?.strip_prefix('='));
    for (path, own) in behind.chain(joined.map(|path| (Path::new(path), 0))) {
        let is_input = words.iter().filter(|word| files::same(Path::new(word), path)).count() > own;
        let there = std::fs::symlink_metadata(path).is_ok_and(|kind| kind.is_file() || kind.is_symlink());
        let is_kept = || says_what_is_read(path).or_else(|| kept(path)).is_some();
        if there && !is_input && !is_device(path) && unlinked_folder(path).is_ok() && !is_kept() {
            // Where it cannot be removed, the mistake in the arguments is what is told.
            let _ = std::fs::remove_file(path);
        }
    }
}

/// Where a report goes, with the permissions of the one that was there.
pub(super) struct Place {
    path: Option<PathBuf>,
    permissions: Option<Permissions>,
    for_people: bool,
}

impl Place {
    /// Begins the report.
    pub(super) fn sink(&self) -> Result<Sink, Failure> {
        let begins = self.for_people.then_some(true);
        match &self.path {
            Some(path) if !is_screen(path) => {
                Ok(Sink { begins, ..Sink::file(path, self.permissions.as_ref())? })
            }
            _ => Ok(Sink { begins, ..Sink::exact() }),
        }
    }
}

/// Whether a run over its folder would read a file of this name.
fn would_be_read(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default().to_lowercase();
    ending == RULE_ENDING || ENDINGS.contains(&&*ending)
}

/// Why no report and no sheet is written to a file of this name, whether it is there or not: it says which records are read.
pub(super) fn says_what_is_read(path: &Path) -> Option<&'static str> {
    let name = path.file_name()?.as_encoded_bytes();
    let is_of_git = path.components().any(|part| part.as_os_str() == GIT);
    (name.starts_with(b".") || is_of_git).then_some(
        "may say which records are read, as files do whose names begin with a dot and those of Git",
    )
}

/// Whether a path means standard output.
fn is_screen(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// Whether a path is that of a stream or device of the system, such as `/dev/stdout`, which has links of its own.
fn is_device(path: &Path) -> bool {
    path.starts_with("/dev") || path.starts_with("/proc/self/fd")
}

/// Refuses a file whose folder is reached through a link below the working folder: it would be written elsewhere.
fn unlinked_folder(path: &Path) -> Result<(), Failure> {
    let (here, folder) = (Path::new(""), folder_of(path));
    let is_below = absolute(folder).starts_with(absolute(here));
    match unlinked(here, folder) {
        Err(fault) if is_below => {
            Err(Failure(format!("cannot write `{}`: {}", path.display(), fault.message)))
        }
        _ => Ok(()),
    }
}

/// What a file is that no report takes the place of. By its ending where it has one, because anybody can write into a report
/// what makes it look like something else.
pub(super) fn kept(path: &Path) -> Option<&'static str> {
    const REPORTS: [&str; 4] = ["sarif", "xml", "html", "htm"];
    const TEXTS: [&str; 6] = ["txt", "json", "md", "log", "out", "diff"];
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default().to_lowercase();
    match ending.as_str() {
        ending if REPORTS.contains(&ending) => None,
        ending if ENDINGS.contains(&ending) => Some("may be a record"),
        RULE_ENDING => Some("is a rule file"),
        "csv" => Some("may be a log"),
        _ => {
            let text = match files::read_unlinked(path) {
                Ok(text) => text,
                Err(_) if std::fs::symlink_metadata(path).is_ok_and(|there| there.is_file()) => {
                    return Some("is no text that can be read");
                }
                Err(_) => String::new(),
            };
            let names_form = form_of(&text).is_some_and(|form| form::called(form).is_some());
            let known = [
                (is_schema(&text), "is a schema"),
                (names_a_standard(&text), "is a rule file"),
                (names_form || names_a_form(&text), "is a record"),
                (is_table(&text), "may be a log"),
                (
                    !TEXTS.contains(&ending.as_str()) && !text.is_empty(),
                    "does not end like a report, as `.txt` does",
                ),
            ];
            known.into_iter().find(|(is_one, _)| *is_one).map(|(_, what)| what)
        }
    }
}

/// Whether a text looks like a log: below its first line, lines that begin with a number and have several columns.
fn is_table(text: &str) -> bool {
    let row = text.lines().filter(|line| !line.trim().is_empty()).nth(1).unwrap_or_default();
    let (first, rest) = row.split_once([',', ';', '\t']).unwrap_or_default();
    first.trim().trim_start_matches('"').starts_with(|c: char| c.is_ascii_digit()) && !rest.is_empty()
}

/// Whether a line of a text begins a standard.
fn names_a_standard(text: &str) -> bool {
    text.lines().any(|line| line.starts_with("standard ") && line.contains(" edition "))
}

/// Whether a text is a workshop's schema, and no report that quotes one.
fn is_schema(text: &str) -> bool {
    let value: Option<serde_json::Value> = serde_json::from_str(text).ok();
    let has = |key: &str| value.as_ref().is_some_and(|value| value.get(key).is_some());
    !has("runs") && ["allOf", "$defs", "$ref"].into_iter().any(has)
}

/// Opens a device or a pipe; one that nobody reads is not waited for.
#[cfg(unix)]
fn open_to_write(path: &Path) -> io::Result<std::fs::File> {
    use rustix::fs::{Mode, OFlags, fcntl_getfl, fcntl_setfl, open};
    use rustix::io::Errno;
    let flags = OFlags::WRONLY | OFlags::CLOEXEC | OFlags::NOCTTY | OFlags::NONBLOCK;
    let opened = open(path, flags, Mode::empty()).map_err(|error| match error {
        Errno::NXIO => io::Error::other("nobody reads from it"),
        other => other.into(),
    })?;
    // From now on a slow reader is waited for.
    fcntl_setfl(&opened, fcntl_getfl(&opened)? - OFlags::NONBLOCK)?;
    Ok(opened.into())
}

/// Opens a device.
#[cfg(not(unix))]
fn open_to_write(path: &Path) -> io::Result<std::fs::File> {
    std::fs::OpenOptions::new().write(true).open(path)
}

impl Screen {
    /// How a text for people looks that goes to standard output, or else into a file.
    pub(super) fn style(&self, to_output: bool) -> Style {
        let screen = to_output && io::stdout().is_terminal();
        let colour = match self.colour {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto => screen && variable("NO_COLOR").is_empty() && variable("TERM") != "dumb",
        };
        Style { colour, width: self.columns(), unicode: !self.ascii, ..Style::default() }
    }

    fn columns(&self) -> usize {
        let of_environment = || variable("COLUMNS").parse().ok();
        let of_terminal = || terminal_size::terminal_size().map(|(width, _)| width.0);
        let columns = self.width.or_else(of_environment).or_else(of_terminal).map_or(100, i64::from);
        usize::try_from(columns.min(MOST_COLUMNS)).unwrap_or_default()
    }
}

#[expect(clippy::disallowed_methods, reason = "the commands are where the environment is looked at")]
fn variable(name: &str) -> String {
    std::env::var(name).unwrap_or_default()
}

/// Says on the error stream what stopped a verb.
pub(super) fn complain(message: &str) {
    // There is nobody left to tell when the error stream is gone too.
    let line = format!("witnessmark: {}\n", report::text::shown(message));
    let _ = io::stderr().lock().write_all(harmless(&line, true).as_bytes());
}

/// Says on the error stream what is wrong with the arguments, which can be a stranger's: names of files in a folder.
pub(super) fn say_harmlessly(text: &str) {
    let lines: Vec<Cow<'_, str>> = text.lines().map(report::text::shown).collect();
    let text = format!("{}\n", lines.join("\n"));
    // There is nobody left to tell when the error stream is gone too.
    let _ = io::stderr().lock().write_all(harmless(&text, true).as_bytes());
}

/// Why a verb did not do its work, for what is wrong is said on the error stream.
pub(super) fn refusal(diagnostics: &[Diagnostic], sources: &Sources, why: String) -> Failure {
    diagnose(diagnostics, sources);
    Failure(why)
}

/// Says on the error stream what is wrong with rules and settings.
pub(super) fn diagnose(diagnostics: &[Diagnostic], sources: &Sources) {
    let mut out = Vec::new();
    report::plain::diagnostics(diagnostics, sources, &Style::default(), &mut out);
    // There is nobody left to tell when the error stream is gone too.
    let text = String::from_utf8_lossy(&out);
    let _ = io::stderr().lock().write_all(harmless(&text, true).as_bytes());
}

/// An open report.
pub(super) struct Sink {
    target: Target,
    /// Of a text for people: whether the next byte begins a line. No line of it may be a command of a server.
    begins: Option<bool>,
}

enum Target {
    /// Standard output.
    Screen(io::BufWriter<io::Stdout>),
    /// Something that is no ordinary file.
    Device(io::BufWriter<std::fs::File>),
    /// A file beside the wanted one, which takes its place when the report is whole.
    File(io::BufWriter<Scratch>, PathBuf),
    /// The reader has closed its end; the rest is not wanted.
    Closed,
}

impl Sink {
    /// Standard output, for people.
    pub(super) fn screen() -> Sink {
        Sink { begins: Some(true), ..Sink::exact() }
    }

    /// Standard output, for programs: byte for byte.
    pub(super) fn exact() -> Sink {
        Sink { target: Target::Screen(io::BufWriter::new(io::stdout())), begins: None }
    }

    /// A file, which is replaced in one step when all is written; with these permissions, or those of a new one.
    pub(super) fn file(path: &Path, permissions: Option<&Permissions>) -> Result<Sink, Failure> {
        let cannot =
            |error: io::Error| Failure(format!("cannot write `{}`: {}", path.display(), plainly(&error)));
        unlinked_folder(path)?;
        // A device or a pipe cannot be replaced, only written to.
        let kind = std::fs::symlink_metadata(path).map(|found| found.file_type());
        if is_device(path) || kind.is_ok_and(|kind| !kind.is_file() && !kind.is_symlink()) {
            let opened = open_to_write(path).map_err(cannot)?;
            return Ok(Sink { target: Target::Device(io::BufWriter::new(opened)), begins: None });
        }
        let file = Scratch::beside(path, permissions).map_err(cannot)?;
        Ok(Sink { target: Target::File(io::BufWriter::new(file), path.to_owned()), begins: None })
    }

    /// Whether the reader has gone away.
    pub(super) fn is_closed(&self) -> bool {
        matches!(self.target, Target::Closed)
    }

    /// Brings what was written before the reader's eyes.
    pub(super) fn flush(&mut self) -> Result<(), Failure> {
        let flushed = match &mut self.target {
            Target::Screen(stdout) => stdout.flush(),
            Target::Device(device) => device.flush(),
            Target::File(file, _) => file.flush(),
            Target::Closed => Ok(()),
        };
        self.settle(flushed)
    }

    /// Writes a piece of the report. A reader that has gone away is no failure.
    pub(super) fn write(&mut self, bytes: &[u8]) -> Result<(), Failure> {
        let Some(begins) = self.begins else { return self.put(bytes) };
        self.begins = bytes.last().map_or(Some(begins), |last| Some(*last == b'\n'));
        let text = String::from_utf8_lossy(bytes);
        self.put(harmless(&text, begins).as_bytes())
    }

    fn put(&mut self, bytes: &[u8]) -> Result<(), Failure> {
        let written = match &mut self.target {
            Target::Screen(stdout) => stdout.write_all(bytes),
            Target::Device(device) => device.write_all(bytes),
            Target::File(file, _) => file.write_all(bytes),
            Target::Closed => Ok(()),
        };
        self.settle(written)
    }

    fn settle(&mut self, written: io::Result<()>) -> Result<(), Failure> {
        match written {
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => {
                self.target = Target::Closed;
                Ok(())
            }
            Err(error) => Err(Failure(format!("cannot write the report: {error}"))),
            Ok(()) => Ok(()),
        }
    }

    /// Ends the report: only now does a file appear under its name.
    pub(super) fn finish(mut self) -> Result<(), Failure> {
        self.flush()?;
        let Target::File(file, path) = self.target else { return Ok(()) };
        let cannot = |error: &dyn std::fmt::Display| {
            Failure(format!("cannot write the report to `{}`: {error}", path.display()))
        };
        let mut file = file.into_inner().map_err(|error| cannot(&error))?;
        file.file().sync_all().map_err(|error| cannot(&error))?;
        file.replace(&path).map_err(|error| cannot(&error))?;
        clear_up(folder_of(&path)).iter().for_each(|said| complain(said));
        Ok(())
    }
}
