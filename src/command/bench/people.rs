//! Who may write at the bench: people with a role and a PIN of their own. Of a PIN only its Argon2id hash is kept.

use std::borrow::Cow;
use std::collections::HashMap;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use argon2::{Argon2, PasswordHasher, PasswordVerifier};
use clap::ValueEnum;
use serde::{Deserialize, Serialize};

use super::guard::{now, random_bytes};
use crate::command::bounds::Bounds;
use crate::command::files;
use crate::command::replace::{create, replace};
use crate::command::{Exit, Failure};
use crate::letters::{Separators, composed, folded};
use crate::report::text::shown;

/// The file in the folder. It begins with a dot, and holds no record.
const FILE: &str = ".bench-people.json";

/// So many wrong PINs of one person are taken in [`WINDOW`].
const MOST_WRONG: usize = 5;

/// For how long wrong PINs are counted.
const WINDOW: Duration = Duration::from_secs(5 * 60);

/// The longest name.
const LONGEST_NAME: usize = 80;

/// What a person may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Role {
    /// Fills in records, and closes jobs that are in order.
    Technician,
    /// Also lets findings stand, as far as the rules allow it, and opens closed jobs again.
    Foreman,
}

impl Role {
    /// The name of its text on the page.
    pub(super) fn key(self) -> &'static str {
        match self {
            Role::Technician => "role-technician",
            Role::Foreman => "role-foreman",
        }
    }
}

/// A person.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct Person {
    pub(super) name: String,
    pub(super) role: Role,
    /// The Argon2id hash of the PIN, with its salt and costs.
    pin: String,
}

/// Those who may sign in.
#[derive(Debug, Default)]
pub(super) struct People {
    all: Vec<Person>,
    wrong: Mutex<HashMap<String, Vec<Instant>>>,
}

/// Why somebody is not let in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NotIn {
    Wrong,
    TooOften,
}

/// How every hash of a PIN begins that was made here: Argon2id (RFC 9106) with the parameters of the library.
const COST: &str = "$argon2id$v=19$m=19456,t=2,p=1$";

fn file(folder: &Path) -> PathBuf {
    folder.join(FILE)
}

fn read(folder: &Path) -> Result<(String, Vec<Person>), Failure> {
    let path = file(folder);
    if std::fs::symlink_metadata(&path).is_err() {
        return Ok((String::new(), Vec::new()));
    }
    // Also before somebody is added to it, who would make it one of this program's.
    if is_open_to_others(&path) {
        return Err(Failure(format!(
            "`{}` can be read by others, as one that came with the folder from elsewhere; look who is in it, and take the permissions of all others away (`chmod 600`)",
            path.display()
        )));
    }
    let text = files::read_unlinked(&path).map_err(|unread| Failure(unread.fault.message))?;
    let people: Vec<Person> = serde_json::from_str(&text)
        .map_err(|error| Failure(format!("`{}` is not a list of people: {error}", path.display())))?;
    // Another cost would be somebody else's: it says how much work and memory a sign-in takes.
    if let Some(other) = people.iter().find(|person| !person.pin.starts_with(COST)) {
        let (file, name) = (path.display(), shown(&other.name));
        return Err(Failure(format!(
            "the PIN of `{name}` in `{file}` was not made by this program; give a new one with `--person`, after taking this one out"
        )));
    }
    Ok((text, people))
}

/// Whether a text can be the name of a person: nothing in it can be taken for anything else on a page or in a trail.
fn is_name(name: &str) -> bool {
    let is_part = |c: char| c.is_alphanumeric() || " -.'’".contains(c);
    name.chars().count() <= LONGEST_NAME && name.chars().all(is_part) && name.chars().any(char::is_alphabetic)
}

/// Gives somebody a new PIN and says it once.
pub(super) fn add(folder: &Path, name: &str, role: Role) -> Result<Exit, Failure> {
    let name = composed(Cow::Borrowed(name.trim()));
    let name = &*name;
    if !is_name(name) {
        let why = format!(
            "`{}` is no name: one has 1 to {LONGEST_NAME} letters, digits, blanks, hyphens, points and apostrophes",
            shown(name)
        );
        return Err(Failure(why));
    }
    let (before, mut people) = read(folder)?;
    let key = |name: &str| folded(name, Separators::None);
    if let Some(twin) = people.iter().find(|person| person.name != name && key(&person.name) == key(name)) {
        let why = format!(
            "`{name}` would be taken for `{}`, who is there already; write the name like that, or another one",
            twin.name
        );
        return Err(Failure(why));
    }
    let pin = new_pin()?;
    let salt = random_bytes()?;
    let hash = Argon2::default().hash_password_with_salt(pin.as_bytes(), &salt);
    let hash = hash.map_err(|error| Failure(format!("the PIN cannot be kept: {error}")))?;
    people.retain(|person| person.name != name);
    people.push(Person { name: name.to_owned(), role, pin: hash.to_string() });
    let text = serde_json::to_string_pretty(&people).map_err(|error| Failure(error.to_string()))?;
    let bounds = Bounds { folder: folder.to_owned(), named: false };
    let written = match before.is_empty() {
        true => create(&file(folder), text.as_bytes()),
        false => replace(&file(folder), &before, &text, &bounds),
    };
    written.map_err(|why| Failure(format!("`{}` is left as it is: {why}", file(folder).display())))?;
    only_for_its_owner(&file(folder));
    let mut out = std::io::stdout().lock();
    let said = writeln!(
        out,
        "{name} signs in with the PIN {pin}. It is not shown again; a new one takes its place. A bench that runs goes by it once it is started again."
    );
    said.map_err(|error| Failure(error.to_string()))?;
    Ok(Exit::Clean)
}

#[cfg(unix)]
fn only_for_its_owner(path: &Path) {
    // Where that cannot be, the hashes are all that others can read.
    let permissions: std::fs::Permissions = std::os::unix::fs::PermissionsExt::from_mode(0o600);
    let _ = std::fs::set_permissions(path, permissions);
}

#[cfg(not(unix))]
fn only_for_its_owner(_: &Path) {}

/// Whether others may read a file: one that this program wrote is for its owner alone.
#[cfg(unix)]
fn is_open_to_others(path: &Path) -> bool {
    std::fs::metadata(path).is_ok_and(|found| std::os::unix::fs::MetadataExt::mode(&found) & 0o077 != 0)
}

#[cfg(not(unix))]
fn is_open_to_others(_: &Path) -> bool {
    false
}

/// Six digits, each as likely as any other.
fn new_pin() -> Result<String, Failure> {
    const ALIKE: u32 = u32::MAX - u32::MAX % 1_000_000;
    loop {
        let [one, two, three, four, ..] = random_bytes()?;
        let number = u32::from_be_bytes([one, two, three, four]);
        if number < ALIKE {
            return Ok(format!("{:06}", number % 1_000_000));
        }
    }
}

impl People {
    pub(super) fn read(folder: &Path) -> Result<People, Failure> {
        Ok(People { all: read(folder)?.1, wrong: Mutex::default() })
    }

    pub(super) fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    pub(super) fn names(&self) -> impl Iterator<Item = &str> {
        self.all.iter().map(|person| person.name.as_str())
    }

    /// The person whose PIN this is.
    ///
    /// # Errors
    /// It is not, or there were too many wrong ones.
    pub(super) fn sign_in(&self, name: &str, pin: &str) -> Result<Person, NotIn> {
        let now = now();
        {
            let mut wrong = self.wrong.lock().unwrap_or_else(PoisonError::into_inner);
            wrong.retain(|_, times| {
                times.retain(|at| now.duration_since(*at) < WINDOW);
                !times.is_empty()
            });
            if wrong.get(name).is_some_and(|times| times.len() >= MOST_WRONG) {
                return Err(NotIn::TooOften);
            }
            // Counted before it is known, so that many at once are not let through.
            if self.all.iter().any(|person| person.name == name) {
                wrong.entry(name.to_owned()).or_default().push(now);
            }
        }
        let person = self.all.iter().find(|person| person.name == name).ok_or(NotIn::Wrong)?;
        let argon = Argon2::default();
        let is_right = PasswordVerifier::<str>::verify_password(&argon, pin.trim().as_bytes(), &person.pin);
        is_right.map_err(|_| NotIn::Wrong)?;
        self.wrong.lock().unwrap_or_else(PoisonError::into_inner).remove(name);
        Ok(person.clone())
    }
}
