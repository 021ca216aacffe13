//! The files that the page loads, embedded: nothing comes from outside.

use std::sync::LazyLock;

use crate::edition::Digest;

/// A file.
#[derive(Debug)]
pub struct Asset {
    /// Its name.
    pub name: &'static str,
    /// Its type, as a server states it.
    pub kind: &'static str,
    /// What it holds.
    pub text: &'static str,
}

/// All of them.
pub const ASSETS: [Asset; 3] = [
    Asset { name: "bench.css", kind: "text/css; charset=utf-8", text: include_str!("assets/bench.css") },
    Asset { name: "bench.js", kind: "text/javascript; charset=utf-8", text: include_str!("assets/bench.js") },
    Asset { name: "mark.svg", kind: "image/svg+xml", text: include_str!("assets/mark.svg") },
];

/// The file of this name.
#[must_use]
pub fn named(name: &str) -> Option<&'static Asset> {
    ASSETS.iter().find(|asset| asset.name == name)
}

/// The address of a file. It says what is in the file, so that a browser keeps it until that changes.
#[must_use]
pub fn address(name: &str) -> String {
    static DIGESTS: LazyLock<[(&str, String); 3]> =
        LazyLock::new(|| ASSETS.map(|asset| (asset.name, Digest::of(asset.text).short())));
    let digest = DIGESTS.iter().find(|(known, _)| *known == name).map_or("", |(_, digest)| digest);
    format!("/assets/{name}?{digest}")
}
