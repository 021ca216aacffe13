//! What several tests need: sessions on texts, the files of this repository, folders to work in and
//! the program itself.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use witnessmark::decide::Setting;
use witnessmark::document::Forms;
use witnessmark::edition::Edition;
use witnessmark::language::check::Given;
use witnessmark::library::{Library, NoLibrary};
use witnessmark::quantity::{Number, Quantity, Range};
use witnessmark::session::{Request, Session};
use witnessmark::source::Sources;

/// The folder of this repository.
pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The text of a file of this repository.
pub fn text(path: impl AsRef<Path>) -> String {
    let path = root().join(path);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Every file below a folder of this repository, by its path from the root, in a fixed order.
pub fn files_below(folder: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut open = vec![root().join(folder)];
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => open.push(path),
                false => found.push(path.strip_prefix(root()).unwrap().to_str().unwrap().to_owned()),
            }
        }
    }
    found.sort();
    found
}

/// Every file of a shipped standard, by its path from the root.
pub fn rule_files() -> Vec<String> {
    files_below("rules").into_iter().filter(|path| path.ends_with(".standard")).collect()
}

/// The setting of a run on a day in a zone.
pub fn setting(as_of: &str, zone: &str) -> Setting {
    Setting {
        as_of: as_of.parse().unwrap(),
        zone: jiff::tz::TimeZone::get(zone).unwrap(),
        decision: witnessmark::metrology::conformity::DecisionRule::Simple,
    }
}

/// A session on rule files, each a name and a text.
pub fn session(files: &[(&str, &str)]) -> Session {
    session_with(files, Vec::new(), setting("2026-03-02", "UTC"), &NoLibrary)
}

/// A session on rule files, with parameters, a setting and the files that `use` can open.
pub fn session_with(
    files: &[(&str, &str)],
    givens: Vec<Given>,
    setting: Setting,
    library: &dyn Library,
) -> Session {
    let mut sources = Sources::new();
    let standards = files.iter().map(|(name, text)| sources.add(*name, *text)).collect();
    let request =
        Request { sources, standards, earlier: Vec::new(), forms: Forms::builtin(), givens, setting };
    Session::open(request, library)
}

/// An edition.
pub fn edition(number: u32) -> Edition {
    Edition::new(&Number::from(i64::from(number))).unwrap()
}

/// A number.
pub fn number(text: &str) -> Number {
    Number::parse(text).unwrap_or_else(|fault| panic!("{text}: {}", fault.message))
}

/// A quantity with its unit.
pub fn quantity(text: &str) -> Quantity {
    Quantity::parse(text, None).unwrap_or_else(|fault| panic!("{text}: {}", fault.message))
}

/// A range.
pub fn range(text: &str) -> Range {
    Range::parse(text, None).unwrap_or_else(|fault| panic!("{text}: {}", fault.message))
}

/// A folder that is gone when the test ends.
pub struct Folder(tempfile::TempDir);

impl Folder {
    pub fn new() -> Self {
        Folder(tempfile::tempdir().unwrap())
    }

    pub fn path(&self) -> &Path {
        self.0.path()
    }

    /// Writes a file, with the folders above it.
    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, content).unwrap();
        path
    }

    pub fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path().join(name)).unwrap()
    }

    pub fn has(&self, name: &str) -> bool {
        self.path().join(name).exists()
    }

    /// Runs the program in this folder, with its arguments parted by blanks.
    pub fn run(&self, arguments: &str) -> Ran {
        self.run_with(arguments.split_whitespace(), "")
    }

    /// Runs the program in a folder below this one.
    pub fn run_in(&self, below: &str) -> impl Fn(&str) -> Ran {
        let folder = self.path().join(below);
        move |arguments| {
            let mut command = program(&folder);
            command.args(arguments.split_whitespace());
            finish(command, "")
        }
    }

    /// Runs the program in this folder with a text on standard input.
    pub fn run_with<'a>(&self, arguments: impl IntoIterator<Item = &'a str>, input: &str) -> Ran {
        let mut command = program(self.path());
        command.args(arguments);
        finish(command, input)
    }
}

/// The program, ready to run in a folder, with nothing in its environment that changes its reports.
pub fn program(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_witnessmark"));
    command.current_dir(folder).stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    for name in ["NO_COLOR", "COLUMNS", "TERM", "CLICOLOR_FORCE"] {
        command.env_remove(name);
    }
    command
}

/// Runs a command to its end with a text on standard input.
pub fn finish(mut command: Command, input: &str) -> Ran {
    use std::io::Write;
    command.stdin(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let input = input.to_owned();
    // A program that does not read its input closes the pipe.
    let feeder = std::thread::spawn(move || drop(stdin.write_all(input.as_bytes())));
    let output = child.wait_with_output().unwrap();
    feeder.join().unwrap();
    Ran::of(output)
}

/// How a run of the program ended.
#[derive(Debug)]
pub struct Ran {
    /// The exit code; 255 when a signal ended it.
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Ran {
    pub fn of(output: Output) -> Ran {
        Ran {
            code: output.status.code().unwrap_or(255),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    /// The same run, which must have ended with this code and said nothing on the error stream.
    #[track_caller]
    pub fn quietly(self, code: i32) -> Ran {
        assert_eq!((self.code, self.err.as_str()), (code, ""), "{self:#?}");
        self
    }

    /// The same run, which must have failed with a message and without a report.
    #[track_caller]
    pub fn refused(self, message: &str) -> Ran {
        assert_eq!((self.code, self.out.as_str()), (2, ""), "{self:#?}");
        assert!(self.err.contains(message), "`{message}` is not in {self:#?}");
        self
    }

    /// The same run, whose report holds all of these.
    #[track_caller]
    pub fn says(self, wanted: &[&str]) -> Ran {
        for wanted in wanted {
            assert!(self.out.contains(wanted), "`{wanted}` is not in {self:#?}");
        }
        self
    }
}
