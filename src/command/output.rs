//! Where reports go: standard output or a file that is replaced in one step.

use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};

use super::files::plainly;
use super::replace::TEMPORARY;
use super::{Colour, Failure, OutputOptions, Screen};
use crate::diagnostic::Diagnostic;
use crate::report::{self, Audience, Format, FormatRow, Style};
use crate::source::Sources;

/// Narrower screens get the plain form.
const NARROW: usize = 60;

impl OutputOptions {
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

    /// Where the report goes.
    pub(super) fn sink(&self) -> Result<Sink, Failure> {
        Sink::to(self.output.as_deref())
    }
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
        let told = self.width.or_else(|| variable("COLUMNS").parse().ok());
        told.or_else(|| terminal_size::terminal_size().map(|(width, _)| usize::from(width.0))).unwrap_or(100)
    }
}

#[expect(clippy::disallowed_methods, reason = "the commands are where the environment is looked at")]
fn variable(name: &str) -> String {
    std::env::var(name).unwrap_or_default()
}

/// Says on the error stream what stopped a verb.
pub(super) fn complain(message: &str) {
    // There is nobody left to tell when the error stream is gone too.
    let _ = writeln!(io::stderr().lock(), "witnessmark: {}", report::text::shown(message));
}

/// Why a verb did not do its work, for what is wrong is said on the error stream.
pub(super) fn refusal(diagnostics: &[Diagnostic], sources: &Sources, why: String) -> Failure {
    let mut out = Vec::new();
    report::plain::diagnostics(diagnostics, sources, &Style::default(), &mut out);
    // There is nobody left to tell when the error stream is gone too.
    let _ = io::stderr().lock().write_all(&out);
    Failure(why)
}

/// An open report.
pub(super) enum Sink {
    /// Standard output.
    Screen(io::BufWriter<io::Stdout>),
    /// Something that is no ordinary file.
    Device(io::BufWriter<std::fs::File>),
    /// A file beside the wanted one, which takes its place when the report is whole.
    File(io::BufWriter<tempfile::NamedTempFile>, PathBuf),
    /// The reader has closed its end; the rest is not wanted.
    Closed,
}

impl Sink {
    /// Standard output.
    pub(super) fn screen() -> Sink {
        Sink::Screen(io::BufWriter::new(io::stdout()))
    }

    /// A file, or standard output for no name and for `-`.
    pub(super) fn to(path: Option<&Path>) -> Result<Sink, Failure> {
        match path {
            None => Ok(Sink::screen()),
            Some(path) if path.as_os_str() == "-" => Ok(Sink::screen()),
            Some(path) => Sink::file(path),
        }
    }

    /// A file, which is replaced in one step when all is written.
    pub(super) fn file(path: &Path) -> Result<Sink, Failure> {
        // A link leads to the file that is meant; a device or a pipe cannot be replaced, only written to.
        let path = &std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        if std::fs::metadata(path).is_ok_and(|kind| !kind.is_file()) {
            let opened = std::fs::OpenOptions::new().write(true).open(path);
            return match opened {
                Ok(file) => Ok(Sink::Device(io::BufWriter::new(file))),
                Err(error) => {
                    Err(Failure(format!("cannot write to `{}`: {}", path.display(), plainly(&error))))
                }
            };
        }
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let file = tempfile::Builder::new().prefix(TEMPORARY).tempfile_in(folder).map_err(|error| {
            Failure(format!("cannot write into `{}`: {}", folder.display(), plainly(&error)))
        })?;
        Ok(Sink::File(io::BufWriter::new(file), path.to_owned()))
    }

    /// Brings what was written before the reader's eyes.
    pub(super) fn flush(&mut self) -> Result<(), Failure> {
        let flushed = match self {
            Sink::Screen(stdout) => stdout.flush(),
            Sink::Device(device) => device.flush(),
            Sink::File(file, _) => file.flush(),
            Sink::Closed => Ok(()),
        };
        self.settle(flushed)
    }

    /// Writes a piece of the report. A reader that has gone away is no failure.
    pub(super) fn write(&mut self, bytes: &[u8]) -> Result<(), Failure> {
        let written = match self {
            Sink::Screen(stdout) => stdout.write_all(bytes),
            Sink::Device(device) => device.write_all(bytes),
            Sink::File(file, _) => file.write_all(bytes),
            Sink::Closed => Ok(()),
        };
        self.settle(written)
    }

    fn settle(&mut self, written: io::Result<()>) -> Result<(), Failure> {
        match written {
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => {
                *self = Sink::Closed;
                Ok(())
            }
            Err(error) => Err(Failure(format!("cannot write the report: {error}"))),
            Ok(()) => Ok(()),
        }
    }

    /// Ends the report: only now does a file appear under its name.
    pub(super) fn finish(mut self) -> Result<(), Failure> {
        self.flush()?;
        let Sink::File(file, path) = self else { return Ok(()) };
        let cannot = |error: &dyn std::fmt::Display| {
            Failure(format!("cannot write the report to `{}`: {error}", path.display()))
        };
        let file = file.into_inner().map_err(|error| cannot(&error))?;
        file.as_file().sync_all().map_err(|error| cannot(&error))?;
        readable_by_others(&file);
        file.persist(&path).map_err(|error| cannot(&error.error))?;
        Ok(())
    }
}

/// A temporary file is its owner's alone; a report is a file like any other.
fn readable_by_others(file: &tempfile::NamedTempFile) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // A file that only its owner can read is still a whole report.
        let _ = file.as_file().set_permissions(std::fs::Permissions::from_mode(0o644));
    }
    #[cfg(not(unix))]
    let _ = file;
}
