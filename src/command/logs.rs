//! The files of logs: beside the record that names them, or in a folder below it.

use std::io::{BufRead, BufReader};
use std::path::{Component, Path};

use super::files::{Links, is_special, open};
use crate::code::LOG_FILE;
use crate::diagnostic::Fault;
use crate::document::Logs;

/// The largest file of a log, in bytes.
const LARGEST: u64 = 512 << 20;

/// Opens the files of logs that lie in the folder of their record or below it.
#[derive(Debug)]
pub(super) struct Beside;

impl Logs for Beside {
    fn open(&self, document: &str, file: &str) -> Result<Box<dyn BufRead>, Fault> {
        let fault = |what: String| Fault::new(LOG_FILE, what);
        let inside = |component: Component<'_>| matches!(component, Component::Normal(_) | Component::CurDir);
        if !Path::new(document).is_file() {
            return Err(fault(format!("`{document}` is in no folder in which the log `{file}` could be"))
                .help("inspect the record as a file"));
        }
        let folder = Path::new(document).parent().unwrap_or(Path::new(""));
        let path = folder.join(file);
        if file.is_empty() || !Path::new(file).components().all(inside) {
            return Err(fault(format!("`{file}` leads out of the folder of the record"))
                .help("put the log beside the record and give its name alone"));
        }
        let missing = |error: std::io::Error| {
            let words = super::files::plainly(&error);
            fault(format!("the log `{}` cannot be read: {words}", path.display()))
                .help("put the log beside the record, under this name")
        };
        let (home, real) = (real(folder).map_err(missing)?, real(&path).map_err(missing)?);
        if !real.starts_with(&home) {
            // A link can point anywhere.
            return Err(fault(format!("`{file}` is a link that leads out of the folder of the record"))
                .help("put the log itself beside the record"));
        }
        let special = || fault(format!("`{}` is no ordinary file", path.display()));
        if is_special(&real) {
            return Err(special());
        }
        let opened = open(&real, Links::Refused, false).map_err(missing)?;
        let kind = opened.metadata().map_err(missing)?;
        if !kind.is_file() {
            return Err(special());
        }
        if kind.len() > LARGEST {
            let megabytes = kind.len() >> 20;
            return Err(fault(format!(
                "the log `{}` has {megabytes} MiB, and 512 are allowed",
                path.display()
            ))
            .help("keep the stretch of time that matters"));
        }
        Ok(Box::new(BufReader::with_capacity(256 << 10, opened)))
    }
}

/// A path without links.
fn real(path: &Path) -> std::io::Result<std::path::PathBuf> {
    let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    path.canonicalize()
}
