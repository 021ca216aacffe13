//! Paths: where in a document a value is, and which fields of its entries a rule means.

use std::fmt;
use std::str::FromStr;

/// A step down: to a field by its name, or into a list.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step<L> {
    /// To a field.
    Key(Box<str>),
    /// To an entry of a list, or to each.
    In(L),
}

/// A way down from the whole document; `L` says which entries of a list are meant.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Path<L>(Vec<Step<L>>);

/// Every entry of a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Every;

/// Where a value is: keys and numbers of entries.
///
/// ```
/// use witnessmark_read::document::path::DocPath;
///
/// let torque: DocPath = "fastenings[2].torque".parse()?;
/// assert_eq!(torque, DocPath::root().key("fastenings").entry(2).key("torque"));
/// assert_eq!(torque.to_string(), "fastenings[2].torque");
/// assert!(torque.is_within(&"fastenings[2]".parse()?));
/// assert!(!torque.is_within(&"fast".parse()?));
/// # Ok::<(), witnessmark_read::document::path::NoPath>(())
/// ```
pub type DocPath = Path<usize>;

/// Fields of every entry of a list.
///
/// ```
/// use witnessmark_read::document::path::{Every, PathPattern};
///
/// let torques: PathPattern = "fastenings[].torque".parse()?;
/// assert_eq!(torques, PathPattern::root().key("fastenings").entry(Every).key("torque"));
/// # Ok::<(), witnessmark_read::document::path::NoPath>(())
/// ```
pub type PathPattern = Path<Every>;

impl<L> Path<L> {
    /// The way to the whole document.
    #[must_use]
    pub const fn root() -> Path<L> {
        Path(Vec::new())
    }

    /// Its steps.
    #[must_use]
    pub fn steps(&self) -> &[Step<L>] {
        &self.0
    }

    /// Whether it leads to the whole document.
    #[must_use]
    pub fn is_root(&self) -> bool {
        self.0.is_empty()
    }

    /// The same, one field further.
    #[must_use]
    pub fn key(mut self, name: &str) -> Path<L> {
        self.0.push(Step::Key(name.into()));
        self
    }

    /// The same, one list further.
    #[must_use]
    pub fn entry(mut self, list: L) -> Path<L> {
        self.0.push(Step::In(list));
        self
    }
}

impl<L: Clone> Path<L> {
    /// The path of the list in which an entry stands; of anything else, that of what holds it.
    #[must_use]
    pub fn list(&self) -> Path<L> {
        let end = self.0.len().saturating_sub(1);
        Path(self.0.iter().take(end).cloned().collect())
    }
}

impl<L> Default for Path<L> {
    fn default() -> Path<L> {
        Path::root()
    }
}

impl<L> Path<L> {
    /// The name of its first step, where that is a field.
    #[must_use]
    pub fn first_key(&self) -> Option<&str> {
        match self.0.first() {
            Some(Step::Key(name)) => Some(name),
            _ => None,
        }
    }
}

impl<L: PartialEq> Path<L> {
    /// The steps from another one to this one; none where it does not lead through it.
    #[must_use]
    pub fn below(&self, outer: &Path<L>) -> Option<&[Step<L>]> {
        self.0.strip_prefix(outer.0.as_slice())
    }

    /// Whether it is another one or leads through it.
    #[must_use]
    pub fn is_within(&self, outer: &Path<L>) -> bool {
        self.below(outer).is_some()
    }
}

/// A text is not written as a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoPath;

impl fmt::Display for NoPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("this is not written as a path, such as `fastenings[2].torque`")
    }
}

impl std::error::Error for NoPath {}

impl fmt::Display for Every {
    fn fmt(&self, _: &mut fmt::Formatter<'_>) -> fmt::Result {
        Ok(())
    }
}

impl FromStr for Every {
    type Err = NoPath;

    fn from_str(text: &str) -> Result<Every, NoPath> {
        if text.is_empty() { Ok(Every) } else { Err(NoPath) }
    }
}

/// `key`, `["any other key"]`, and `[…]` for a list.
impl<L: fmt::Display> fmt::Display for Path<L> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (number, step) in self.0.iter().enumerate() {
            match step {
                Step::Key(key) if !is_plain(key) => write!(f, "[\"{key}\"]")?,
                Step::Key(key) if number == 0 => f.write_str(key)?,
                Step::Key(key) => write!(f, ".{key}")?,
                Step::In(list) => write!(f, "[{list}]")?,
            }
        }
        Ok(())
    }
}

fn is_plain(key: &str) -> bool {
    !key.is_empty() && key.chars().all(|c| c.is_alphanumeric() || c == '_')
}

impl<L: FromStr> FromStr for Path<L> {
    type Err = NoPath;

    fn from_str(text: &str) -> Result<Path<L>, NoPath> {
        let (mut steps, mut left) = (Vec::new(), text);
        while let Some((step, rest)) = next_step(left) {
            steps.push(match step {
                WrittenStep::Key(key) => Step::Key(key.into()),
                WrittenStep::In(list) => Step::In(list),
            });
            left = rest;
        }
        if left.is_empty() { Ok(Path(steps)) } else { Err(NoPath) }
    }
}

/// The first step of a written path, and what is left of it.
pub(super) fn next_step<L: FromStr>(path: &str) -> Option<(WrittenStep<'_, L>, &str)> {
    if let Some(quoted) = path.strip_prefix("[\"") {
        let (key, rest) = quoted.split_once("\"]")?;
        return Some((WrittenStep::Key(key), rest));
    }
    if let Some(bracketed) = path.strip_prefix('[') {
        let (list, rest) = bracketed.split_once(']')?;
        return Some((WrittenStep::In(list.parse().ok()?), rest));
    }
    let path = path.strip_prefix('.').unwrap_or(path);
    let end = path.find(['.', '[']).unwrap_or(path.len());
    let (key, rest) = path.split_at_checked(end)?;
    (!key.is_empty()).then_some((WrittenStep::Key(key), rest))
}

/// A step of a written path, whose key is a part of the text.
pub(super) enum WrittenStep<'p, L> {
    Key(&'p str),
    In(L),
}
