//! Writes lines: where a line begins is decided late, so that no line ends in blanks.

/// The longest line, in characters, where a line can be broken.
pub(super) const MOST_COLUMNS: usize = 120;

/// What comes before the next piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Next {
    /// Whatever the piece says.
    Piece,
    /// Blanks up to a column, at least one.
    Column(usize),
    /// A line end, perhaps with a blank line, and blanks up to a column.
    Line { indent: usize, blank: bool },
}

/// A place in a [`Writer`] to go back to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mark {
    length: usize,
    column: usize,
    next: Next,
}

/// A text that is being written.
#[derive(Debug)]
pub(super) struct Writer {
    text: String,
    column: usize,
    next: Next,
}

impl Writer {
    pub(super) fn new(bytes: usize) -> Self {
        Writer { text: String::with_capacity(bytes), column: 0, next: Next::Piece }
    }

    /// The column at which the next piece begins, if a blank is before it where none of the other is said.
    pub(super) fn column(&self) -> usize {
        match self.next {
            Next::Piece => self.column,
            Next::Column(column) => column.max(self.column + 1),
            Next::Line { indent, .. } => indent,
        }
    }

    /// Whether the next piece begins a line or a column of its own.
    pub(super) fn is_placed(&self) -> bool {
        self.next != Next::Piece || self.text.is_empty()
    }

    /// Begins a line.
    pub(super) fn newline(&mut self, indent: usize) {
        let blank = matches!(self.next, Next::Line { blank: true, .. });
        self.next = Next::Line { indent, blank };
    }

    /// Begins a line, with an empty one before it where `blank` says so.
    pub(super) fn paragraph(&mut self, indent: usize, blank: bool) {
        self.newline(indent);
        self.next = Next::Line { indent, blank: blank && !self.text.is_empty() };
    }

    /// Puts the next piece into a column.
    pub(super) fn at_column(&mut self, column: usize) {
        self.next = Next::Column(column);
    }

    /// Writes a piece, with a blank before it unless it is glued to what is before it.
    pub(super) fn put(&mut self, piece: &str, glued: bool) {
        match std::mem::replace(&mut self.next, Next::Piece) {
            Next::Piece if glued || self.text.is_empty() => {}
            Next::Piece => self.blanks(1),
            Next::Column(column) => self.blanks(column.saturating_sub(self.column).max(1)),
            Next::Line { indent, blank } => {
                let ends = match (self.text.is_empty(), blank) {
                    (true, _) => "",
                    (false, false) => "\n",
                    (false, true) => "\n\n",
                };
                self.text.push_str(ends);
                self.column = 0;
                self.blanks(indent);
            }
        }
        self.text.push_str(piece);
        self.column = match piece.rfind('\n').and_then(|end| piece.get(end + 1..)) {
            Some(last) => last.chars().count(),
            None => self.column + piece.chars().count(),
        };
    }

    /// Writes a comment behind what is on the line.
    pub(super) fn trail(&mut self, comment: &str) {
        let next = std::mem::replace(&mut self.next, Next::Piece);
        if !self.text.is_empty() {
            self.blanks(1);
        }
        self.put(comment, false);
        if matches!(next, Next::Line { .. }) {
            self.next = next;
        }
    }

    fn blanks(&mut self, number: usize) {
        self.text.extend(std::iter::repeat_n(' ', number));
        self.column += number;
    }

    /// Where it is now.
    pub(super) fn mark(&self) -> Mark {
        Mark { length: self.text.len(), column: self.column, next: self.next }
    }

    /// Takes back what was written since.
    pub(super) fn go_back(&mut self, mark: Mark) {
        self.text.truncate(mark.length);
        (self.column, self.next) = (mark.column, mark.next);
    }

    /// What was written since.
    pub(super) fn since(&self, mark: Mark) -> &str {
        self.text.get(mark.length..).unwrap_or_default()
    }

    /// The text, whose last line ends.
    pub(super) fn finish(mut self) -> String {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
        self.text
    }
}
