//! Where rule files come from: those shipped with the program, and those that a front end can open.

use crate::code::USE_UNREADABLE;
use crate::diagnostic::{Fault, did_you_mean, nearest};
use crate::edition::Edition;
use crate::quantity::Number;

/// A standard that is shipped with the program.
#[derive(Clone, Copy, Debug)]
pub struct Shipped {
    /// The name under which it can be asked for, the same as in its head.
    pub name: &'static str,
    /// The name under which reports show its text; a URI, because it is no file of the user's.
    pub file: &'static str,
    /// Its text.
    pub text: &'static str,
}

impl Shipped {
    fn head(&self) -> &'static str {
        self.text.lines().find(|line| line.starts_with("standard ")).unwrap_or_default()
    }

    /// Its title, from the head of its text.
    #[must_use]
    pub fn title(&self) -> &'static str {
        self.head().split('"').nth(1).unwrap_or_default()
    }

    /// Its edition, from the head of its text.
    #[must_use]
    pub fn edition(&self) -> Edition {
        let mut words = self.head().split_whitespace().skip_while(|word| *word != "edition").skip(1);
        let number = words.next().and_then(|edition| Number::parse(edition).ok());
        number.and_then(|number| Edition::new(&number)).unwrap_or(Edition::FIRST)
    }
}

macro_rules! shipped {
    ($($name:literal),* $(,)?) => {
        &[$(Shipped {
            name: $name,
            file: concat!("witnessmark:", $name),
            text: include_str!(concat!("../../rules/", $name, ".standard")),
        }),*]
    };
}

/// Every shipped standard. A new one is a file under `rules/` and its name here.
pub const SHIPPED: &[Shipped] = shipped![
    "job_basics",
    "oil_service",
    "level",
    "fastenings",
    "seals_and_filters",
    "brake_fluid",
    "cooling_system",
    "wheel_refit",
    "order_of_work",
    "procedure_basics",
    "by_procedure",
    "tool_register",
    "calibrated_tools",
    "vehicle_history",
    "logbooks"
];

/// What several standards share: a file with names to lend, which judges nothing itself. Any rule file can use it, as
/// `use "witnessmark:shared"`.
pub const LENT: &[Shipped] = shipped!["shared"];

/// The text of this name that came with the program: a standard, or what standards share.
#[must_use]
pub fn came_with_it(file: &str) -> Option<&'static Shipped> {
    SHIPPED.iter().chain(LENT).find(|shipped| shipped.file == file)
}

/// The shipped standard of this name.
#[must_use]
pub fn shipped(name: &str) -> Option<&'static Shipped> {
    SHIPPED.iter().find(|shipped| shipped.name == name)
}

/// How the name of a text begins that came with the program.
pub const OF_THE_PROGRAM: &str = "witnessmark:";

/// Opens the files that rule files name with `use`. The core does no input of its own.
pub trait Library: Sync {
    /// The name and text of the file that `path` leads to from the rule file `from`.
    ///
    /// # Errors
    /// The file cannot be read, in words for its user.
    fn open(&self, from: &str, path: &str) -> Result<(String, String), Fault>;
}

/// The name and text of what a rule file uses: of a file, or of a text that came with the program.
///
/// # Errors
/// There is no such text, or the file cannot be read.
pub fn used(library: &dyn Library, from: &str, path: &str) -> Result<(String, String), Fault> {
    let Some(name) = path.strip_prefix(OF_THE_PROGRAM) else { return library.open(from, path) };
    if let Some(shipped) = came_with_it(path) {
        return Ok((shipped.file.to_owned(), shipped.text.to_owned()));
    }
    let fault = Fault::new(USE_UNREADABLE, format!("nothing called `{name}` came with the program"));
    let names = || LENT.iter().chain(SHIPPED).map(|shipped| shipped.name);
    Err(match nearest(name, names()) {
        Some(near) => fault.help(did_you_mean(name, near)),
        None => fault.help(format!("there are {}", names().collect::<Vec<_>>().join(", "))),
    })
}

/// A library without files, for rules that stand alone.
#[derive(Clone, Copy, Debug)]
pub struct NoLibrary;

impl Library for NoLibrary {
    fn open(&self, _from: &str, path: &str) -> Result<(String, String), Fault> {
        Err(Fault::new(USE_UNREADABLE, format!("there is no file `{path}` to use here")))
    }
}

/// Opens earlier jobs again when a later one on the same vehicle is judged.
pub trait Archive: Send + Sync {
    /// The text of the document with this name.
    ///
    /// # Errors
    /// It cannot be read, in words for its user.
    fn open(&self, name: &str) -> Result<String, Fault>;
}

/// No earlier jobs.
#[derive(Clone, Copy, Debug)]
pub struct NoArchive;

impl Archive for NoArchive {
    fn open(&self, name: &str) -> Result<String, Fault> {
        Err(Fault::new(crate::code::FILE_UNREADABLE, format!("there is no `{name}` here")))
    }
}
