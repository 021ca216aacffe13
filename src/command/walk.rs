//! Finding files in folders: what is there, what is hidden there, and what is no file.

use std::collections::HashSet;
use std::io::Read;
use std::path::{Path, PathBuf};

use super::bounds::absolute;
use super::files::{self, Links, tidy};
use super::likeness::{begins_as_document, names_a_form};
use super::scratch::is_being_written;

/// What of a folder is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Reach {
    /// What neither ignore files nor leading dots hide; the rest is gathered by itself.
    Visible,
    /// What leading dots do not hide.
    Undotted,
    /// Everything.
    Everything,
    /// Everything but what Git keeps for itself.
    Kept,
}

/// The files by which files are hidden.
const IGNORING: [&str; 3] = [".gitignore", ".ignore", ".git/info/exclude"];

/// How many bytes they may have together: what they say takes a thousand times as many.
const MOST_IGNORING: u64 = 1 << 18;

/// Where Git keeps its own files.
pub(super) const GIT: &str = ".git";

/// A file to read.
#[derive(Debug)]
pub(super) struct Found {
    /// Its path.
    pub(super) path: PathBuf,
    /// Whether the user named it, rather than its folder.
    pub(super) named: bool,
    /// Why it or its folder could not be looked at.
    pub(super) fault: Option<String>,
}

/// Something in a folder that is not read, and may be a document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Unseen {
    pub(super) path: PathBuf,
    pub(super) why: Why,
}

/// Why something is not read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Why {
    /// Its name, or that of a folder on the way to it, begins with a dot.
    Dot,
    /// An ignore file names it.
    Ignored,
    /// It is a link to something else than what the run reads anyway.
    Link,
    /// It is neither a file nor a folder nor a link.
    Special,
    /// A hidden folder that cannot be looked at.
    Closed,
}

impl Why {
    /// In words, behind the name of the file.
    pub(super) fn words(self) -> &'static str {
        match self {
            Why::Dot => "by a leading dot",
            Why::Ignored => "by an ignore file",
            Why::Link => LINK,
            Why::Special => "no ordinary file",
            Why::Closed => "a folder that cannot be looked at",
        }
    }
}

const LINK: &str = "a link, which is not followed";

/// What was found below some paths.
#[derive(Debug, Default)]
pub(super) struct Walked {
    /// The files to read.
    pub(super) files: Vec<Found>,
    /// Links to what is read anyway, and files that begin like a document and do not
    /// end like one; each with what it is. Of other names with other endings nothing is said.
    pub(super) passed_over: Vec<String>,
    /// What is hidden, links to elsewhere, and what is neither a file nor a folder.
    pub(super) unseen: Vec<Unseen>,
    /// The files that begin like a document and do not end like one, and the links: what is said of them is said once.
    told: HashSet<PathBuf>,
}

/// The files with one of these endings under the given paths, in a fixed order, whatever ignore files say. A path
/// that is not a folder is taken whatever its ending, even if reading will show that there is no such file; links
/// in a folder are not followed.
pub(super) fn find(paths: &[PathBuf], endings: &[&str]) -> Vec<Found> {
    look_for(paths, endings, Reach::Kept).files
}

/// The same within this reach, with what lies in the folders and is not read.
pub(super) fn look_for(paths: &[PathBuf], endings: &[&str], reach: Reach) -> Walked {
    let mut walked = Walked::default();
    let roots: Vec<PathBuf> = paths.iter().filter_map(|path| path.canonicalize().ok()).collect();
    for path in paths {
        if path.is_dir() {
            Walk { folder: path, endings, reach, roots: &roots }.all(&mut walked);
        } else {
            walked.files.push(Found { path: path.clone(), named: true, fault: None });
        }
    }
    // Below one path no file is met twice.
    if paths.len() > 1 {
        let mut seen = HashSet::new();
        walked.files.retain(|file| seen.insert(tidy(&file.path)));
        // What is hidden from one path is read where it is named.
        walked.unseen.retain(|unseen| seen.insert(tidy(&unseen.path)));
    }
    walked.passed_over.dedup();
    walked
}

/// Every file of a folder, whatever its ending.
pub(super) fn look_for_all(folder: &Path, reach: Reach) -> Vec<PathBuf> {
    let walk = Walk { folder, endings: &[], reach, roots: &[] };
    let files =
        walk.walker(reach).flatten().filter(|entry| entry.file_type().is_some_and(|kind| kind.is_file()));
    files.map(|entry| tidy(entry.path())).collect()
}

fn ends_in(path: &Path, endings: &[&str]) -> bool {
    path.extension().is_some_and(|ending| endings.iter().any(|known| ending.eq_ignore_ascii_case(known)))
}

/// The way through one folder.
struct Walk<'w> {
    folder: &'w Path,
    endings: &'w [&'w str],
    reach: Reach,
    /// The paths of the run, without links.
    roots: &'w [PathBuf],
}

impl Walk<'_> {
    fn walker(&self, reach: Reach) -> ignore::Walk {
        let mut builder = ignore::WalkBuilder::new(self.folder);
        builder.require_git(false).sort_by_file_path(std::cmp::Ord::cmp);
        match reach {
            // The ignore file of a user would make the verdict another one on each machine.
            Reach::Visible => builder.git_global(false),
            Reach::Undotted => builder.standard_filters(false).hidden(true),
            Reach::Everything => builder.standard_filters(false),
            Reach::Kept => builder
                .standard_filters(false)
                .filter_entry(|entry| entry.depth() == 0 || entry.file_name() != GIT),
        };
        builder.build()
    }

    fn all(&self, walked: &mut Walked) {
        let first = walked.files.len();
        let mut is_whole = true;
        let reach = match (self.reach, self.unfit_to_ignore()) {
            (Reach::Visible, Some(fault)) => {
                walked.files.push(Found { path: self.folder.to_owned(), named: false, fault: Some(fault) });
                Reach::Undotted
            }
            (reach, _) => reach,
        };
        for entry in self.walker(reach) {
            match entry {
                Ok(entry) if self.is_wanted(&entry) => {
                    let mut path = tidy(entry.path());
                    path.shrink_to_fit();
                    walked.files.push(Found { path, named: false, fault: None });
                }
                Ok(entry) => self.aside(&entry, walked),
                // Of a folder that cannot be looked at in several places it is said once.
                Err(error) if std::mem::take(&mut is_whole) => {
                    let fault = Some(error.to_string());
                    walked.files.push(Found { path: self.folder.to_owned(), named: false, fault });
                }
                Err(_) => {}
            }
        }
        if self.reach == Reach::Visible {
            let seen = walked.files.get(first..).unwrap_or_default().iter();
            let seen = seen.filter(|file| file.fault.is_none()).map(|file| file.path.clone()).collect();
            self.unseen(&seen, is_whole, walked);
        }
    }

    /// Why the ignore files in force are not followed: who sent a folder can make one of them a link to anywhere, a pipe
    /// that never ends, or so long that nobody can hold what it says.
    fn unfit_to_ignore(&self) -> Option<String> {
        if self.reach != Reach::Visible {
            return None;
        }
        // Above the folder a link may be the user's own: only where it leads counts.
        let above = absolute(self.folder);
        let above = above.ancestors().skip(1).flat_map(|folder| IGNORING.map(|name| folder.join(name)));
        let above = above.map(|path| (std::fs::metadata(&path), path));
        let is_one = |path: &PathBuf| IGNORING.iter().any(|name| path.ends_with(name));
        let below = self.walker(Reach::Everything).flatten().map(ignore::DirEntry::into_path).filter(is_one);
        let below = below.map(|path| (std::fs::symlink_metadata(&path), path));
        let mut total: u64 = 0;
        for (found, path) in above.chain(below) {
            let Ok(found) = found else { continue };
            if found.is_dir() {
                continue;
            }
            let name = super::names::named(&tidy(&path));
            if !found.is_file() {
                return Some(format!(
                    "the ignore file `{name}` is a link or no ordinary file, and no ignore file is followed"
                ));
            }
            total = total.saturating_add(found.len());
            if total > MOST_IGNORING {
                return Some(format!(
                    "the ignore files, `{name}` among them, have more than {MOST_IGNORING} bytes together, and none is followed"
                ));
            }
        }
        None
    }

    fn is_wanted(&self, entry: &ignore::DirEntry) -> bool {
        entry.file_type().is_some_and(|kind| kind.is_file()) && ends_in(entry.path(), self.endings)
    }

    /// Takes note of a file whose name is not that of a document, where it begins like one: `K-2041.yaml.bak`. `why` says
    /// why it is hidden besides. What another run of ours is just writing is nobody's record yet.
    fn of_another_ending(&self, path: PathBuf, why: Option<Why>, walked: &mut Walked) {
        if self.reach == Reach::Kept || !holds_a_document(&path) || is_being_written(&path) {
            return;
        }
        if self.reach == Reach::Everything {
            return walked.files.push(Found { path, named: false, fault: None });
        }
        let endings: Vec<String> = self.endings.iter().map(|ending| format!(".{ending}")).collect();
        let hidden = why.map_or_else(String::new, |why| format!("; hidden {}", why.words()));
        let told =
            format!("begins like a record, and its name does not end in {}{hidden}", endings.join(" or "));
        walked.told.insert(path.clone());
        walked.passed_over.push(format!("{} ({told})", super::names::named(&path)));
    }

    /// Takes note of something in a folder that is not read.
    fn aside(&self, entry: &ignore::DirEntry, walked: &mut Walked) {
        let Some(kind) = entry.file_type().filter(|_| entry.depth() > 0) else { return };
        if kind.is_dir() {
            return;
        }
        let path = tidy(entry.path());
        if kind.is_file() {
            return self.of_another_ending(path, None, walked);
        }
        let is_link = kind.is_symlink();
        let may_be_wanted = ends_in(&path, self.endings) || (is_link && path.is_dir());
        if !may_be_wanted {
            return;
        }
        walked.told.insert(path.clone());
        if is_link && is_mark(&path) {
            let told = "a link to nothing, hidden by a leading dot";
            return walked.passed_over.push(format!("{} ({told})", super::names::named(&path)));
        }
        if is_link && !self.is_read_anyway(&path) {
            return walked.unseen.push(Unseen { path, why: Why::Link });
        }
        if !is_link {
            return walked.unseen.push(Unseen { path, why: Why::Special });
        }
        walked.passed_over.push(format!("{} ({LINK})", super::names::named(&path)));
    }

    /// Whether a link leads to something below the paths of the run that is looked for there too.
    fn is_read_anyway(&self, link: &Path) -> bool {
        let Ok(real) = link.canonicalize() else { return false };
        let is_looked_for = real.is_dir() || ends_in(&real, self.endings);
        is_looked_for && self.roots.iter().any(|root| real.starts_with(root))
    }

    /// The files that a walk with the ignore files in force did not come by.
    fn unseen(&self, seen: &HashSet<PathBuf>, is_whole: bool, walked: &mut Walked) {
        for entry in self.walker(Reach::Everything) {
            match entry {
                Ok(entry) if self.is_wanted(&entry) => {
                    let path = tidy(entry.path());
                    if !seen.contains(&*path) {
                        walked.unseen.push(Unseen { why: self.why(entry.path()), path });
                    }
                }
                Ok(entry) if entry.depth() > 0 && entry.file_type().is_some_and(|kind| kind.is_file()) => {
                    let path = tidy(entry.path());
                    if !walked.told.contains(&path) {
                        self.of_another_ending(path, Some(self.why(entry.path())), walked);
                    }
                }
                // Where a hidden link leads to something below the paths of the run, that is named itself.
                Ok(entry) if !entry.path_is_symlink() || !self.is_read_anyway(entry.path()) => {
                    if !walked.told.contains(&tidy(entry.path())) {
                        self.aside(&entry, walked);
                    }
                }
                Ok(_) => {}
                // That a folder which is not hidden cannot be looked at is said with the files.
                Err(error) => walked.unseen.extend(
                    place_of(&error)
                        .filter(|_| is_whole)
                        .map(|path| Unseen { path: tidy(path), why: Why::Closed }),
                ),
            }
        }
    }

    fn why(&self, path: &Path) -> Why {
        let below = path.strip_prefix(self.folder).unwrap_or(path);
        let is_dotted = below.iter().any(|name| name.as_encoded_bytes().starts_with(b"."));
        if is_dotted { Why::Dot } else { Why::Ignored }
    }
}

/// Whether a file holds a document: its first line names a form or, further in and however it is written, a document of it
/// does. What cannot be read holds none.
fn holds_a_document(path: &Path) -> bool {
    const HEAD: u64 = 4096;
    const ONE_IN: usize = 32;
    let Ok(mut file) = files::open(path, Links::Refused, false) else { return false };
    let mut read = |most: u64| {
        let mut bytes = Vec::new();
        let done = Read::by_ref(&mut file).take(most).read_to_end(&mut bytes);
        // Of text with two or four bytes for a letter, those of the letters of ASCII are left.
        bytes.retain(|byte| ![0, 0xfe, 0xff].contains(byte));
        done.map(|_| bytes).unwrap_or_default()
    };
    let mut bytes = read(HEAD);
    if begins_as_document(&String::from_utf8_lossy(&bytes)) {
        return true;
    }
    // Pictures and programs have many other bytes among the first ones; a text into which somebody put some is one.
    let is_strange = |byte: &&u8| **byte < b' ' && !b"\t\n\r\x0c".contains(byte);
    if bytes.iter().filter(is_strange).count() > bytes.len() / ONE_IN {
        return false;
    }
    bytes.append(&mut read(files::LONGEST));
    names_a_form(&String::from_utf8_lossy(&bytes))
}

/// Whether a link is a mark that an editor leaves while a text is not saved, `.#K-2041.yaml`: it is hidden and leads nowhere,
/// so that there is nothing behind it that could be a document.
fn is_mark(link: &Path) -> bool {
    let is_dotted = link.file_name().is_some_and(|name| name.as_encoded_bytes().starts_with(b"."));
    let leads = std::fs::metadata(link);
    is_dotted && leads.is_err_and(|error| error.kind() == std::io::ErrorKind::NotFound)
}

/// The path that could not be looked at.
fn place_of(error: &ignore::Error) -> Option<&Path> {
    match error {
        ignore::Error::WithPath { path, .. } => Some(path),
        ignore::Error::WithDepth { err, .. } | ignore::Error::WithLineNumber { err, .. } => place_of(err),
        _ => None,
    }
}
