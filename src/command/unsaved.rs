//! Texts that are open in an editor: each is in the place of its file, whoever reads that.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, PoisonError, RwLock};

use super::bounds::absolute;

/// The texts by their paths. Only `editor` puts any here.
static TEXTS: RwLock<Option<HashMap<PathBuf, Arc<str>>>> = RwLock::new(None);

/// The text that is open in the place of a file.
pub(super) fn text_of(path: &Path) -> Option<Arc<str>> {
    let texts = TEXTS.read().unwrap_or_else(PoisonError::into_inner);
    let texts = texts.as_ref().filter(|texts| !texts.is_empty())?;
    texts.get(&absolute(path)).cloned()
}

/// Puts a text in the place of a file, or takes it away.
pub(super) fn put(path: &Path, text: Option<&str>) {
    let real = std::fs::canonicalize(path).ok();
    let mut texts = TEXTS.write().unwrap_or_else(PoisonError::into_inner);
    let texts = texts.get_or_insert_default();
    let text: Option<Arc<str>> = text.map(Arc::from);
    for path in real.into_iter().chain([absolute(path)]) {
        match &text {
            Some(text) => drop(texts.insert(path, Arc::clone(text))),
            None => drop(texts.remove(&path)),
        }
    }
}
