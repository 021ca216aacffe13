//! Addresses of files, as editors write them, and the paths that they stand for.

use std::path::{Path, PathBuf};

use crate::command::bounds::absolute;
use crate::command::names::{from_bytes, path_of};
use crate::report::locate::is_file;
use crate::report::sarif;

/// What the address of a file begins with.
const FILE: &str = "file://";

/// The path of an address; nothing for what is no file of this machine.
pub(super) fn path(uri: &str) -> Option<PathBuf> {
    let rest = uri.strip_prefix(FILE)?;
    let rest = rest.strip_prefix("localhost").unwrap_or(rest);
    let bytes = decoded(rest.strip_prefix('/').map(|_| rest)?);
    (!bytes.contains(&0)).then(|| local(bytes))
}

/// The path as this system writes it.
#[cfg(not(windows))]
fn local(bytes: Vec<u8>) -> PathBuf {
    from_bytes(bytes)
}

/// The path as this system writes it: `/C:/jobs` is `C:/jobs`.
#[cfg(windows)]
fn local(bytes: Vec<u8>) -> PathBuf {
    from_bytes(bytes.strip_prefix(b"/").map(<[u8]>::to_vec).unwrap_or(bytes))
}

/// The address of a path.
pub(super) fn of(path: &Path) -> String {
    let path = absolute(path);
    let mut uri = String::from(FILE);
    for (number, part) in path.components().enumerate() {
        let bytes = part.as_os_str().as_encoded_bytes();
        if bytes == b"/" || bytes == b"\\" {
            continue;
        }
        uri.push('/');
        match number {
            // A drive.
            0 => uri.push_str(&String::from_utf8_lossy(bytes)),
            _ => encode(bytes, &mut uri),
        }
    }
    if uri == FILE {
        uri.push('/');
    }
    uri
}

/// The address of a text that reports call so; nothing for what is no file.
pub(super) fn of_name(name: &str) -> Option<String> {
    (is_file(name) && !name.starts_with("untitled:")).then(|| of(&path_of(name)))
}

fn encode(bytes: &[u8], uri: &mut String) {
    for byte in bytes {
        match std::str::from_utf8(&[*byte]) {
            Ok(letter) => uri.push_str(&sarif::uri(letter)),
            Err(_) => uri.push_str(&format!("%{byte:02X}")),
        }
    }
}

fn decoded(text: &str) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let Some((byte, behind)) = rest.split_first() {
        let digits = behind.get(..2).filter(|_| *byte == b'%');
        let read = digits.and_then(|digits| u8::from_str_radix(std::str::from_utf8(digits).ok()?, 16).ok());
        match read {
            Some(read) => {
                bytes.push(read);
                rest = behind.get(2..).unwrap_or_default();
            }
            None => {
                bytes.push(*byte);
                rest = behind;
            }
        }
    }
    bytes
}

#[cfg(all(test, unix))]
mod tests {
    use std::path::Path;

    use super::{of, path};

    #[test]
    fn addresses_lead_to_their_paths_and_back() {
        for name in ["/a/b.yaml", "/ö/ä b%.yaml", "/a/c#d?e:f.standard", "/"] {
            let uri = of(Path::new(name));
            assert_eq!(path(&uri).as_deref(), Some(Path::new(name)), "{uri}");
        }
        assert_eq!(path("file:///c%3a/x%zz%2").as_deref(), Some(Path::new("/c:/x%zz%2")));
        assert_eq!(path("file://localhost/x").as_deref(), Some(Path::new("/x")));
        for other in ["untitled:Untitled-1", "file://server/x", "https://example.org/x", "file:///a%00b", ""]
        {
            assert_eq!(path(other), None, "{other}");
        }
    }
}
