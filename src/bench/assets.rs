//! The files that the page loads, embedded: nothing comes from outside.

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
