//! Patterns such as `jobs/*.yaml`, which most shells replace by the files that they mean and some hand on as they are.

use std::path::{Component, Path, PathBuf};

use globset::GlobBuilder;

use super::Failure;
use super::walk::{Reach, look_for_all};

/// The signs by which a pattern is known.
const SIGNS: [char; 4] = ['*', '?', '[', '{'];

/// The same paths with the files in the place of each pattern, in their order. A path that leads anywhere is no pattern.
pub(super) fn expanded(paths: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut all = Vec::new();
    for path in paths {
        match path.to_str().filter(|text| text.contains(SIGNS)) {
            Some(pattern) if std::fs::symlink_metadata(path).is_err() => all.extend(matching(pattern)?),
            _ => all.push(path.clone()),
        }
    }
    Ok(all)
}

fn matching(pattern: &str) -> Result<Vec<PathBuf>, Failure> {
    let pattern = Path::new(pattern);
    let whole: PathBuf = pattern.components().filter(|part| *part != Component::CurDir).collect();
    let whole = whole.to_str().unwrap_or_default();
    let wanted = GlobBuilder::new(whole).literal_separator(true).build();
    let wanted = wanted.map_err(|error| {
        Failure(format!("`{}` is no pattern of files: {}", pattern.display(), error.kind()))
    })?;
    let wanted = wanted.compile_matcher();
    let plain = |part: &Component<'_>| !part.as_os_str().to_string_lossy().contains(SIGNS);
    let folder: PathBuf = pattern.components().take_while(plain).collect();
    let folder = if folder.as_os_str().is_empty() { PathBuf::from(".") } else { folder };
    let found: Vec<PathBuf> =
        look_for_all(&folder, Reach::Kept).into_iter().filter(|path| wanted.is_match(path)).collect();
    if found.is_empty() {
        return Err(Failure(format!("no file matches the pattern `{}`", pattern.display())));
    }
    Ok(found)
}
