//! Documents: YAML trees in which every piece knows its place, the forms they follow, and the
//! check of a document against its form.

mod build;
mod syntax;
pub mod tree;
pub mod yaml;

pub use tree::{Bound, Document, Entry, Node, NodeId, NodeKind, UNKNOWN};
