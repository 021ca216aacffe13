//! The files that a record names, logs and photographs: beside it, or in a folder below it.

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::{Component, Path};

use super::files::{Links, is_special, open};
use crate::code::{Code, LOG_FILE, PHOTOGRAPH};
use crate::diagnostic::Fault;
use crate::document::Logs;
use crate::edition::Digest;

/// The largest file of a log, in bytes.
const LARGEST: u64 = 512 << 20;

/// The largest file of a photograph, in bytes.
pub(super) const LARGEST_PHOTOGRAPH: u64 = 64 << 20;

/// Opens the files that lie in the folder of their record or below it.
#[derive(Debug)]
pub(super) struct Beside;

/// What a record can name a file for.
struct Kind {
    /// What it is called.
    name: &'static str,
    /// Under which code it is told what is wrong with it.
    code: Code,
    /// The most bytes that it may have.
    largest: u64,
    /// What to do about one that is longer.
    shorten: &'static str,
}

const LOG: Kind =
    Kind { name: "log", code: LOG_FILE, largest: LARGEST, shorten: "keep the stretch of time that matters" };

const PHOTO: Kind = Kind {
    name: "photograph",
    code: PHOTOGRAPH,
    largest: LARGEST_PHOTOGRAPH,
    shorten: "keep it in fewer pixels",
};

impl Logs for Beside {
    fn open(&self, document: &str, file: &str) -> Result<Box<dyn BufRead>, Fault> {
        if !Path::new(document).is_file() {
            let what = format!("`{document}` is in no folder in which the log `{file}` could be");
            return Err(Fault::new(LOG_FILE, what).help("inspect the record as a file"));
        }
        Ok(Box::new(BufReader::with_capacity(256 << 10, beside(document, file, &LOG)?)))
    }

    fn photograph(&self, document: &str, file: &str) -> Option<Result<Digest, Fault>> {
        let digest = |opened: File| {
            Digest::of_bytes(opened).map_err(|error| {
                let words = super::files::plainly(&error);
                Fault::new(PHOTOGRAPH, format!("the photograph `{file}` cannot be read: {words}"))
            })
        };
        Path::new(document).is_file().then(|| beside(document, file, &PHOTO).and_then(digest))
    }
}

/// Opens a file in the folder of a document or below it.
fn beside(document: &str, file: &str, kind: &Kind) -> Result<File, Fault> {
    let Kind { name, code, largest, shorten } = kind;
    let fault = |what: String| Fault::new(*code, what);
    let inside = |component: Component<'_>| matches!(component, Component::Normal(_) | Component::CurDir);
    let folder = Path::new(document).parent().unwrap_or(Path::new(""));
    let path = folder.join(file);
    if file.is_empty() || !Path::new(file).components().all(inside) {
        return Err(fault(format!("`{file}` leads out of the folder of the record"))
            .help(format!("put the {name} beside the record and give its name alone")));
    }
    let missing = |error: std::io::Error| {
        let words = super::files::plainly(&error);
        fault(format!("the {name} `{}` cannot be read: {words}", path.display()))
            .help(format!("put the {name} beside the record, under this name"))
    };
    let (home, real) = (real(folder).map_err(missing)?, real(&path).map_err(missing)?);
    if !real.starts_with(&home) {
        // A link can point anywhere.
        return Err(fault(format!("`{file}` is a link that leads out of the folder of the record"))
            .help(format!("put the {name} itself beside the record")));
    }
    let special = || fault(format!("`{}` is no ordinary file", path.display()));
    if is_special(&real) {
        return Err(special());
    }
    let opened = open(&real, Links::Refused, false).map_err(missing)?;
    let found = opened.metadata().map_err(missing)?;
    if !found.is_file() {
        return Err(special());
    }
    if found.len() > *largest {
        let (megabytes, most) = (found.len() >> 20, largest >> 20);
        let what = format!("the {name} `{}` has {megabytes} MiB, and {most} are allowed", path.display());
        return Err(fault(what).help(*shorten));
    }
    Ok(opened)
}

/// A path without links.
fn real(path: &Path) -> std::io::Result<std::path::PathBuf> {
    let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    path.canonicalize()
}
