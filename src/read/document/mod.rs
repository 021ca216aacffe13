//! Documents: YAML trees in which every piece knows its place, the forms they follow, and the
//! check of a document against its form.

pub mod amend;
mod bind;
mod build;
pub mod changed;
pub mod deprecated;
pub mod edit;
mod editor;
pub mod everyday;
mod extend;
pub mod fields;
pub mod forms;
mod judged;
pub mod link;
pub mod log;
mod made;
mod mixed;
pub mod names;
pub mod path;
mod placeholder;
pub mod places;
pub mod quick;
mod reader;
mod schema;
mod shape;
mod syntax;
pub mod tree;
mod wording;
pub mod words;
pub mod yaml;

pub use bind::bind;
pub use forms::{Form, Forms, read, read_part, read_partial, read_values};
pub use judged::{NodeSet, ToJudge};
pub use link::{Earlier, Link, Target};
pub use log::{Logs, NoLogs};
pub use made::{Made, MadeKind, make};
pub use mixed::{EntriesAt, Member};
pub use path::{DocPath, PathPattern};
pub use placeholder::{is_no_name, says_nothing};
pub use reader::ReaderChoice;
pub use shape::{Field, Judged, Record, Shape};
pub use tree::{Bound, Document, Entry, Node, NodeId, NodeKind, UNKNOWN};
pub use yaml::{Undecoded, decode};
