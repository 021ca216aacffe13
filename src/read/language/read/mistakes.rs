//! The list of what is wrong with one rule file while it is read.

use crate::code::{self, Code};
use crate::diagnostic::Diagnostic;
use crate::source::{Place, SourceId, Span};

/// More than these in one file are no help to anybody, and would let a hostile file fill the memory.
const MOST: usize = 100;

/// What is wrong with a file, up to a bound.
#[derive(Debug)]
pub(crate) struct Mistakes {
    source: SourceId,
    list: Vec<Diagnostic>,
}

impl Mistakes {
    /// Nothing is wrong yet.
    pub(crate) fn new(source: SourceId) -> Self {
        Mistakes { source, list: Vec::new() }
    }

    /// A place in the file.
    pub(crate) fn place(&self, span: Span) -> Place {
        Place { source: self.source, span }
    }

    /// An error at a span, not yet on the list.
    pub(crate) fn error(&self, code: Code, span: Span, message: impl Into<String>) -> Diagnostic {
        Diagnostic::error(code, self.place(span), message)
    }

    /// Whether there are so many that reading on is of no use.
    pub(crate) fn is_full(&self) -> bool {
        self.list.len() > MOST
    }

    /// Puts one on the list.
    pub(crate) fn push(&mut self, diagnostic: Diagnostic) {
        if self.list.len() < MOST {
            self.list.push(diagnostic);
        } else if self.list.len() == MOST {
            let message = format!("there are more than {MOST} mistakes, so the rest of the file is not read");
            let place = diagnostic.place();
            self.list.extend(place.map(|place| Diagnostic::error(code::MANY_MISTAKES, place, message)));
        }
    }

    /// Keeps what was read, or puts the mistake on the list.
    pub(crate) fn keep<T>(&mut self, read: Result<T, Diagnostic>) -> Option<T> {
        read.map_err(|mistake| self.push(mistake)).ok()
    }

    /// The list in the order of the file.
    pub(crate) fn into_list(mut self) -> Vec<Diagnostic> {
        self.list.sort_by_key(|mistake| mistake.place().map(|place| place.span.start));
        self.list
    }
}
