//! The names of files as reports show them: names that are not UTF-8 stay apart, and each leads back to its file.

use std::path::{Path, PathBuf};

use crate::report::locate::is_file;

/// Stands for a byte that is no text, which follows in two digits.
const NO_TEXT: char = char::REPLACEMENT_CHARACTER;

/// The name of a path. Each byte of it that is no text is shown as `�` and its two digits, such as `�FF`. One that is called
/// like a text of the program itself is named from its folder, so that it is not taken for that.
pub(super) fn named(path: &Path) -> String {
    let name = in_letters(path);
    if is_file(&name) && !name.starts_with(OWN) { name } else { format!("./{name}") }
}

/// What the names of the texts of the program begin with.
const OWN: &str = "witnessmark:";

/// The same of a part of a path.
pub(super) fn in_letters(path: &Path) -> String {
    match path.to_str().filter(|name| !name.contains(NO_TEXT)) {
        Some(name) => name.to_owned(),
        None => shown(path.as_os_str().as_encoded_bytes()),
    }
}

fn shown(bytes: &[u8]) -> String {
    let mut name = String::with_capacity(bytes.len());
    for part in bytes.utf8_chunks() {
        for letter in part.valid().chars() {
            match letter {
                // One that is written so would be taken for a byte.
                NO_TEXT => {
                    letter.encode_utf8(&mut [0; 4]).bytes().for_each(|byte| push_byte(&mut name, byte))
                }
                letter => name.push(letter),
            }
        }
        part.invalid().iter().for_each(|byte| push_byte(&mut name, *byte));
    }
    name
}

fn push_byte(name: &mut String, byte: u8) {
    name.push_str(&format!("{NO_TEXT}{byte:02X}"));
}

/// The path that has this name.
pub(super) fn path_of(name: &str) -> PathBuf {
    match name.contains(NO_TEXT) {
        true => from_bytes(bytes_of(name)),
        false => PathBuf::from(name),
    }
}

fn bytes_of(name: &str) -> Vec<u8> {
    let mut parts = name.split(NO_TEXT);
    let mut bytes = parts.next().unwrap_or_default().as_bytes().to_vec();
    for part in parts {
        let digits = part.get(..2).and_then(|digits| u8::from_str_radix(digits, 16).ok());
        bytes.extend(digits);
        bytes.extend_from_slice(part.get(2..).unwrap_or_default().as_bytes());
    }
    bytes
}

/// The path of these bytes.
#[cfg(unix)]
pub(super) fn from_bytes(bytes: Vec<u8>) -> PathBuf {
    use std::os::unix::ffi::OsStringExt as _;
    PathBuf::from(std::ffi::OsString::from_vec(bytes))
}

/// The path of these bytes.
#[cfg(not(unix))]
pub(super) fn from_bytes(bytes: Vec<u8>) -> PathBuf {
    PathBuf::from(String::from_utf8_lossy(&bytes).into_owned())
}

#[cfg(all(test, unix))]
mod tests {
    use std::os::unix::ffi::OsStrExt as _;
    use std::path::Path;

    use super::{named, path_of};

    #[test]
    fn names_that_are_no_text_stay_apart_and_lead_back() {
        let names: [&[u8]; 7] = [
            b"jobs/a.yaml",
            b"jobs/\xff.yaml",
            b"jobs/\xfe.yaml",
            b"\xf0\x9f",
            "jobs/\u{2028}\u{fffd}.yaml".as_bytes(),
            "jobs/\u{fffd}FF.yaml".as_bytes(),
            b"\xe2\x80",
        ];
        let mut shown = std::collections::BTreeSet::new();
        for bytes in names {
            let path = Path::new(std::ffi::OsStr::from_bytes(bytes));
            let name = named(path);
            assert_eq!(path_of(&name), path, "{name}");
            assert!(shown.insert(name));
        }
        assert_eq!(named(Path::new(std::ffi::OsStr::from_bytes(b"jobs/\xff.yaml"))), "jobs/\u{fffd}FF.yaml");
    }
}
