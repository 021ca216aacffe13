//! What Git keeps of files at a revision, asked of its program.
//!
//! Only what is stored is asked for: no index is refreshed, no filter, hook, pager or driver runs, and nothing is fetched.
//! The files may be a stranger's, so a file is compared by its content, not by what the index or the clock says of it.

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Output, Stdio};
use std::sync::{Mutex, PoisonError};

use super::Failure;
use super::files::{LONGEST, plainly};
use super::names::from_bytes;
use crate::diagnostic::nearest;
use crate::report::text::shown;

/// What the environment says of another repository, or of what else a name stands for.
const ELSEWHERE: [&str; 14] = [
    "GIT_ALTERNATE_OBJECT_DIRECTORIES",
    "GIT_CEILING_DIRECTORIES",
    "GIT_COMMON_DIR",
    "GIT_CONFIG",
    "GIT_DIR",
    "GIT_GRAFT_FILE",
    "GIT_IMPLICIT_WORK_TREE",
    "GIT_INDEX_FILE",
    "GIT_NAMESPACE",
    "GIT_OBJECT_DIRECTORY",
    "GIT_PREFIX",
    "GIT_REPLACE_REF_BASE",
    "GIT_SHALLOW_FILE",
    "GIT_WORK_TREE",
];

/// The files of a repository as they were at a revision.
pub(super) struct Revision {
    /// As the user wrote it.
    pub(super) name: String,
    /// The commit that it means.
    pub(super) commit: String,
    /// The folder of the repository, without links.
    top: PathBuf,
    /// By its path from there, what is kept of each file.
    files: BTreeMap<PathBuf, String>,
    contents: Mutex<Option<Contents>>,
}

/// What became of a file since a revision.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Since {
    Same,
    Changed,
    /// There was no such file.
    New,
    /// It is in another place than the repository.
    Outside,
}

impl Revision {
    /// The revision of this name in the repository that holds a path.
    pub(super) fn read(name: &str, near: &Path) -> Result<Revision, Failure> {
        let near = if near.is_dir() { near } else { super::scratch::folder_of(near) };
        let top = top_of(near)?;
        let commit = commit(name, &top)?;
        let listed = stored(&top, &["ls-tree", "-r", "-z", "--full-tree", &commit])?;
        let files = listed.split(|byte| *byte == 0).filter_map(file_of_tree).collect();
        Ok(Revision { name: name.to_owned(), commit, top, files, contents: Mutex::default() })
    }

    /// Whether a path is in this repository.
    pub(super) fn holds(&self, path: &Path) -> bool {
        self.path_of(path).is_some()
    }

    /// The files that were there, each by its path from the working folder.
    pub(super) fn files(&self) -> impl Iterator<Item = PathBuf> {
        self.files.keys().map(|path| super::bounds::nearer(&self.top.join(path)))
    }

    /// The files that were there below a folder or were what it is now, by their paths from it.
    pub(super) fn below(&self, folder: &Path) -> Vec<PathBuf> {
        let Some(folder) = self.path_of(folder) else { return Vec::new() };
        self.files.keys().filter_map(|path| path.strip_prefix(&folder).ok().map(Path::to_owned)).collect()
    }

    /// What became of a file, as it is now.
    pub(super) fn since(&self, path: &Path, now: &mut dyn Read) -> Result<Since, Failure> {
        let Some(within) = self.path_of(path) else { return Ok(Since::Outside) };
        let Some(object) = self.files.get(&within) else { return Ok(Since::New) };
        let same = self.with_content(object, |then, _| Ok(is_same(then, now)))?;
        Ok(if same { Since::Same } else { Since::Changed })
    }

    /// The text of a file as it was; nothing where there was none.
    pub(super) fn text(&self, path: &Path) -> Result<Option<String>, Failure> {
        let Some(object) = self.path_of(path).and_then(|within| self.files.get(&within)) else {
            return Ok(None);
        };
        self.with_content(object, |then, length| {
            if length > LONGEST {
                let most = LONGEST >> 20;
                return Err(Failure(format!(
                    "`{}` was longer than {most} MiB at `{}`",
                    path.display(),
                    self.name
                )));
            }
            let mut bytes = Vec::new();
            then.read_to_end(&mut bytes)?;
            Ok(Some(String::from_utf8_lossy(&bytes).into_owned()))
        })
    }

    /// The path of a file from the top of the repository. Links on the way to it are followed, one at its end is not.
    fn path_of(&self, path: &Path) -> Option<PathBuf> {
        let whole = super::bounds::absolute(path);
        if whole == self.top {
            return Some(PathBuf::new());
        }
        let folder = whole.parent()?;
        // A folder that is gone has no links.
        let folder = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
        let real = folder.join(whole.file_name()?);
        Some(real.strip_prefix(&self.top).ok()?.to_owned())
    }

    fn with_content<T>(
        &self,
        object: &str,
        read: impl FnOnce(&mut dyn Read, u64) -> Result<T, Failure>,
    ) -> Result<T, Failure> {
        let mut contents = self.contents.lock().unwrap_or_else(PoisonError::into_inner);
        let contents = match &mut *contents {
            Some(contents) => contents,
            none => none.insert(Contents::of(&self.top)?),
        };
        contents.read(object, read)
    }
}

/// The program, which is to look into the repository of a folder and do nothing else.
fn git(folder: &Path) -> Command {
    let mut git = Command::new("git");
    git.arg("-C").arg(folder).args([
        "--no-pager",
        "--no-optional-locks",
        "--literal-pathspecs",
        "-c",
        "core.fsmonitor=false",
        "-c",
        "core.hooksPath=/dev/null",
        "-c",
        "protocol.allow=never",
        "-c",
        // A repository without a work tree can be hidden among the files of another.
        "safe.bareRepository=explicit",
        "-c",
        // What a name means where it is the name of several things is nobody's to choose but the user's.
        "core.warnAmbiguousRefs=true",
    ]);
    for name in ELSEWHERE {
        git.env_remove(name);
    }
    git.env("GIT_NO_LAZY_FETCH", "1").env("GIT_NO_REPLACE_OBJECTS", "1").env("GIT_TERMINAL_PROMPT", "0");
    git.env("LC_ALL", "C").stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    git
}

fn not_started(error: &std::io::Error) -> Failure {
    let why = match error.kind() {
        std::io::ErrorKind::NotFound => {
            "it is not installed, or not where programs are looked for".to_owned()
        }
        _ => plainly(error),
    };
    Failure(format!("the program `git` cannot be started: {why}"))
}

fn ran(folder: &Path, words: &[&str]) -> Result<Output, Failure> {
    git(folder).args(words).output().map_err(|error| not_started(&error))
}

/// What it answers.
fn stored(folder: &Path, words: &[&str]) -> Result<Vec<u8>, Failure> {
    let output = ran(folder, words)?;
    if output.status.success() {
        return Ok(output.stdout);
    }
    Err(Failure(format!("git cannot look into `{}`: {}", folder.display(), complaint(&output.stderr))))
}

/// The first line of what git says is wrong.
fn complaint(said: &[u8]) -> String {
    let said = String::from_utf8_lossy(said);
    let line = said.lines().next().unwrap_or_default();
    shown(line.strip_prefix("fatal: ").unwrap_or(line)).into_owned()
}

/// The folder of the repository that holds a folder.
fn top_of(folder: &Path) -> Result<PathBuf, Failure> {
    let output = ran(folder, &["rev-parse", "--show-toplevel"])?;
    let line = output.stdout.strip_suffix(b"\n").unwrap_or(&output.stdout);
    if !output.status.success() || line.is_empty() {
        return Err(Failure(format!(
            "`{}` is in no Git repository whose files can be compared: {}",
            folder.display(),
            complaint(&output.stderr)
        )));
    }
    let top = from_bytes(line.to_vec());
    Ok(top.canonicalize().unwrap_or(top))
}

/// The commit that a name means. No name is taken for an option.
fn commit(name: &str, top: &Path) -> Result<String, Failure> {
    let is_name = !name.is_empty() && !name.starts_with('-') && !name.contains(['\0', '\n']);
    if !is_name {
        return Err(Failure(format!("`{name}` is not the name of a revision")));
    }
    let output = ran(top, &["rev-parse", "--verify", &format!("{name}^{{commit}}")])?;
    if String::from_utf8_lossy(&output.stderr).contains("is ambiguous") {
        let bare = name.split(['~', '^', '@', ':']).next().unwrap_or_default();
        return Err(Failure(format!(
            "`{name}` is the name of several things in this repository; write which one: `refs/heads/{bare}` for the branch, \
             `refs/tags/{bare}` for the tag, or the whole number of a commit"
        )));
    }
    let answer = String::from_utf8_lossy(&output.stdout);
    let commit = answer.trim_end();
    let is_commit = commit.len() >= 40 && commit.bytes().all(|byte| byte.is_ascii_hexdigit());
    if output.status.success() && is_commit {
        return Ok(commit.to_owned());
    }
    Err(Failure(format!("there is no revision `{name}` in this repository{}", hint(name, top))))
}

/// What may help where there is no such revision.
fn hint(name: &str, top: &Path) -> String {
    let answer = |words: &[&str]| stored(top, words).unwrap_or_default();
    let names = answer(&["for-each-ref", "--format=%(refname:short)"]);
    let names = String::from_utf8_lossy(&names);
    if let Some(near) = nearest(name, names.lines()) {
        return format!("; did you mean `{near}`?");
    }
    match answer(&["rev-parse", "--is-shallow-repository"]).starts_with(b"true") {
        true => "; this clone is shallow: fetch its history first (`git fetch --unshallow`)".to_owned(),
        false => "; name a commit, a branch or a tag that has been fetched".to_owned(),
    }
}

/// A file out of a listing: `MODE TYPE OBJECT<tab>PATH`. Links and other repositories are no files.
fn file_of_tree(entry: &[u8]) -> Option<(PathBuf, String)> {
    let tab = entry.iter().position(|byte| *byte == b'\t')?;
    let (head, path) = entry.split_at_checked(tab)?;
    let head = std::str::from_utf8(head).ok()?;
    let mut words = head.split(' ');
    let (mode, _, object) = (words.next()?, words.next()?, words.next()?);
    mode.starts_with("100")
        .then(|| (from_bytes(path.get(1..).unwrap_or_default().to_vec()), object.to_owned()))
}

/// Whether two texts are the same but for how their lines end.
fn is_same(then: &mut dyn Read, now: &mut dyn Read) -> bool {
    let (mut then, mut now) = (Lines::of(then), Lines::of(now));
    loop {
        match (then.next(), now.next()) {
            (None, None) => return !then.failed && !now.failed,
            (left, right) if left == right => {}
            _ => return false,
        }
    }
}

/// The bytes of a text, whose lines all end in LF.
struct Lines<'r> {
    bytes: std::iter::Peekable<std::io::Bytes<BufReader<&'r mut dyn Read>>>,
    failed: bool,
}

impl<'r> Lines<'r> {
    fn of(text: &'r mut dyn Read) -> Self {
        Lines { bytes: BufReader::new(text).bytes().peekable(), failed: false }
    }
}

impl Iterator for Lines<'_> {
    type Item = u8;

    fn next(&mut self) -> Option<u8> {
        let byte = match self.bytes.next()? {
            Ok(byte) => byte,
            Err(_) => {
                self.failed = true;
                return None;
            }
        };
        let ends = byte == b'\r' && matches!(self.bytes.peek(), Some(Ok(b'\n')));
        if ends { self.next() } else { Some(byte) }
    }
}

/// The program that hands out what files held, one after the other.
struct Contents {
    program: Child,
    ask: Option<ChildStdin>,
    answers: BufReader<ChildStdout>,
}

impl Contents {
    fn of(top: &Path) -> Result<Contents, Failure> {
        let mut git = git(top);
        git.args(["cat-file", "--batch"]).stdin(Stdio::piped()).stderr(Stdio::null());
        let mut program = git.spawn().map_err(|error| not_started(&error))?;
        let ends = (program.stdin.take(), program.stdout.take());
        let (Some(ask), Some(answers)) = ends else {
            return Err(Failure("the program `git` cannot be asked".to_owned()));
        };
        Ok(Contents { program, ask: Some(ask), answers: BufReader::new(answers) })
    }

    fn read<T>(
        &mut self,
        object: &str,
        read: impl FnOnce(&mut dyn Read, u64) -> Result<T, Failure>,
    ) -> Result<T, Failure> {
        let broken = |_| Failure("the program `git` has ended before it answered".to_owned());
        let ask = self.ask.as_mut().ok_or("the program `git` was not asked")?;
        ask.write_all(format!("{object}\n").as_bytes()).and_then(|()| ask.flush()).map_err(broken)?;
        let mut head = String::new();
        // No head of an answer is longer.
        self.answers.by_ref().take(1024).read_line(&mut head).map_err(broken)?;
        let length = match head.trim_end().split(' ').collect::<Vec<_>>().as_slice() {
            [_, "blob", length] => length.parse::<u64>().ok(),
            _ => None,
        };
        let Some(length) = length else {
            return Err(Failure(
                "git has not what a file held at that revision; fetch the whole history first".to_owned(),
            ));
        };
        let mut content = self.answers.by_ref().take(length);
        let answer = read(&mut content, length);
        // The next answer begins behind this one and the end of its line.
        std::io::copy(&mut content, &mut std::io::sink()).map_err(broken)?;
        self.answers.read_exact(&mut [0]).map_err(broken)?;
        answer
    }
}

impl Drop for Contents {
    fn drop(&mut self) {
        // Without its input the program ends by itself.
        self.ask = None;
        let _ = self.program.wait();
    }
}
