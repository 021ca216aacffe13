//! Cuts a rule file into items and the items into clauses at the reserved words at the heads of
//! lines, so that each clause can be read alone. Texts and brackets are not closed by force here:
//! what is left open is reported where it was opened, and cutting goes on at the next line.

use crate::code;
use crate::diagnostic::{did_you_mean, nearest};
use crate::language::read::grammar::is_reserved;
use crate::language::read::mistakes::Mistakes;
use crate::language::read::scan::{self, Kind, RecordEnd, Token, Tokens};
use crate::language::read::words::{self, ClauseRow, ClauseWord, ITEMS, ItemWord};
use crate::letters::{look_alike, said};
use crate::source::Span;

/// A piece of a file from one item word to the next.
#[derive(Debug)]
pub(crate) struct ItemCut {
    /// What it is.
    pub(crate) word: ItemWord,
    /// Something in it was already reported: it cannot be used.
    pub(crate) broken: bool,
    /// Its clauses; the first is its head.
    pub(crate) clauses: Vec<ClauseCut>,
}

impl ItemCut {
    /// The whole item.
    pub(crate) fn span(&self) -> Span {
        self.clauses.iter().map(|clause| clause.span).reduce(Span::to).unwrap_or_default()
    }
}

/// What a clause is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ClauseKind {
    /// The item word and what stands behind it.
    Head,
    /// A clause by its word.
    Clause(ClauseWord),
    /// A row of a table.
    Row,
    /// A line that begins with no clause word; with what was probably meant.
    Unknown(Option<ClauseWord>),
}

/// A piece of an item from one clause word to the next.
#[derive(Debug)]
pub(crate) struct ClauseCut {
    /// What it is.
    pub(crate) kind: ClauseKind,
    /// Its head word.
    pub(crate) head: Span,
    /// All of it, the head word included.
    pub(crate) span: Span,
    /// The record of a trial, or one that trials share, braces included.
    pub(crate) record: Option<Span>,
    /// Groups and lists of a record that a trial puts into another, brackets included.
    pub(crate) parts: Vec<Span>,
    /// Something in it was already reported: it need not be read.
    pub(crate) broken: bool,
}

/// Cuts a file. What cannot be cut is put on the list of mistakes.
pub(crate) fn cut(text: &str, mistakes: &mut Mistakes) -> Vec<ItemCut> {
    let mut cutter =
        Cutter { text, tokens: Tokens::new(text), items: Vec::new(), previous: None, stray: false, mistakes };
    while let Some(token) = cutter.tokens.next().filter(|_| !cutter.mistakes.is_full()) {
        cutter.take(token);
        cutter.previous = Some(token);
    }
    cutter.items
}

struct Cutter<'t, 'm> {
    text: &'t str,
    tokens: Tokens<'t>,
    items: Vec<ItemCut>,
    previous: Option<Token<'t>>,
    /// Inside a run of text that belongs to no item, which was reported at its beginning.
    stray: bool,
    mistakes: &'m mut Mistakes,
}

impl<'t> Cutter<'t, '_> {
    fn take(&mut self, token: Token<'t>) {
        if token.kind == Kind::Word && token.heads_line && self.take_head(token) {
            return;
        }
        if self.stray || self.items.is_empty() {
            self.take_stray(token);
            return;
        }
        if token.heads_line && self.begins_row(token) {
            self.begin_clause(ClauseKind::Row, token);
        }
        self.extend(token);
    }

    /// Takes a word that begins an item or a clause; `false` for a word that goes on with what stands
    /// before it.
    fn take_head(&mut self, token: Token<'t>) -> bool {
        if self.is_let_of_rule(token) {
            self.begin_clause(ClauseKind::Clause(ClauseWord::Let), token);
        } else if self.is_let_in_unfinished_rule(token) {
            let message = "`let` is as far left as the rule above it, and so ends that rule";
            let mistake = self.mistakes.error(code::CLAUSE_FORM, token.span, message);
            self.mistakes.push(mistake.help("indent it like the other clauses of the rule"));
            self.begin_clause(ClauseKind::Clause(ClauseWord::Let), token);
        } else if let Some(row) = words::item(token.text).filter(|row| self.can_begin(row.item, token)) {
            self.begin_item(row.item, token, false);
        } else if let Some(row) = words::clause_row_in(self.item_in_hand(), token.text) {
            return self.take_clause_word(row, token);
        } else if let Some(item) = self.misspelt_item(token) {
            self.begin_item(item, token, true);
        } else if self.is_unknown_head(token) {
            self.take_unknown(token);
        } else {
            return false;
        }
        true
    }

    fn item_in_hand(&self) -> Option<ItemWord> {
        self.items.last().filter(|_| !self.stray).map(|item| item.word)
    }

    fn take_clause_word(&mut self, row: &'static ClauseRow, token: Token<'t>) -> bool {
        let item = self.item_in_hand();
        let goes_on = match row.clause {
            ClauseWord::Where => !self.can_begin_where(item),
            ClauseWord::From | ClauseWord::Until => !self.can_begin_day(item, row.clause, token),
            _ => false,
        };
        if goes_on {
            return false;
        }
        if item == Some(row.item) {
            self.begin_clause(ClauseKind::Clause(row.clause), token);
        } else if !self.stray {
            let message = format!("`{}` stands outside a {}", row.word, row.item.as_str());
            let help = format!("`{}` is a clause of a {}: begin one before it", row.word, row.item.as_str());
            self.mistakes.push(self.mistakes.error(code::OUTSIDE_ITEM, token.span, message).help(help));
            self.stray = true;
        }
        true
    }

    /// `from` begins a clause of a standard. `from` and `until` begin one of a rule where a day follows; a trial begins `from` a record, and what is asked
    /// of a log holds `until` something.
    fn can_begin_day(&self, item: Option<ItemWord>, clause: ClauseWord, token: Token<'t>) -> bool {
        let rest = self.text.get(token.span.end as usize..).unwrap_or_default();
        let day = Tokens::new(rest).next().is_some_and(|next| next.kind == Kind::Number);
        let in_trial = self.items.last().and_then(|item| item.clauses.last());
        let in_trial = in_trial.is_some_and(|clause| clause.kind == ClauseKind::Clause(ClauseWord::Trial));
        item == Some(ItemWord::Standard) && clause == ClauseWord::From
            || item == Some(ItemWord::Rule) && (day || clause == ClauseWord::From && !in_trial)
    }

    /// `given` is a word of the language only at the head of a record that trials share.
    fn can_begin(&self, item: ItemWord, token: Token<'t>) -> bool {
        let rest = self.text.get(token.span.end as usize..).unwrap_or_default();
        item != ItemWord::Given || has_item_shape(item, rest)
    }

    /// A `let` that stands further to the right than the rule above it belongs to that rule.
    fn is_let_of_rule(&self, token: Token<'t>) -> bool {
        let Some(rule) = self.items.last().filter(|item| item.word == ItemWord::Rule) else { return false };
        let column = |span: Span| {
            let before = self.text.get(..span.start as usize).unwrap_or_default();
            before.len() - before.rfind('\n').map_or(0, |end| end + 1)
        };
        let head = rule.clauses.first().map(|clause| column(clause.head));
        token.text == ItemWord::Let.as_str()
            && !self.stray
            && head.is_some_and(|head| head < column(token.span))
    }

    /// A `let` of a whole file behind a rule that has concerns and does not demand anything yet was meant to belong to it.
    fn is_let_in_unfinished_rule(&self, token: Token<'t>) -> bool {
        let Some(rule) = self.items.last().filter(|item| item.word == ItemWord::Rule) else { return false };
        let kinds = || rule.clauses.iter().map(|clause| clause.kind);
        let is = |kind: ClauseKind, word: ClauseWord| kind == ClauseKind::Clause(word);
        let is_begun = kinds().any(|kind| is(kind, ClauseWord::Concerns) || is(kind, ClauseWord::Let));
        let is_finished =
            kinds().any(|kind| is(kind, ClauseWord::Demands) || is(kind, ClauseWord::Otherwise));
        token.text == ItemWord::Let.as_str() && !self.stray && is_begun && !is_finished
    }

    /// `where` is a clause of a standard, and a part of an expression everywhere else.
    fn can_begin_where(&self, item: Option<ItemWord>) -> bool {
        let clause = self.items.last().and_then(|item| item.clauses.last()).map(|clause| clause.kind);
        item == Some(ItemWord::Standard) && clause != Some(ClauseKind::Clause(ClauseWord::Where))
    }

    /// The item that was meant by a word that is nearly an item word, on a line shaped like its head.
    fn misspelt_item(&self, token: Token<'t>) -> Option<ItemWord> {
        let rest = self.text.get(token.span.end as usize..)?;
        let near = nearest(token.text, ITEMS.iter().map(|row| row.word)).and_then(words::item);
        let near = near.map(|row| row.item).filter(|item| has_item_shape(*item, rest));
        near.or_else(|| {
            // Whatever the word, its line is the head of a rule: a name and a title, and no more.
            let line: Vec<Token<'_>> = Tokens::new(rest.lines().next().unwrap_or_default()).collect();
            let clause = nearest(token.text, words::clauses_of(ItemWord::Rule)).is_some();
            let named = line.first().is_some_and(|name| {
                !is_reserved(name.text) && !matches!(name.text, "by" | "hold" | "advice" | "note")
            });
            let is_head = line.len() == 2 && named && !clause && !is_reserved(token.text);
            (is_head && has_item_shape(ItemWord::Rule, rest)).then_some(ItemWord::Rule)
        })
    }

    /// A name at the head of a line, right after something that is already whole, fits nowhere.
    fn is_unknown_head(&self, token: Token<'t>) -> bool {
        let Some(item) = self.items.last().filter(|_| !self.stray) else { return false };
        let Some(previous) = self.previous else { return false };
        let goes_on = matches!(token.text, "by" | "edition" | "from" | "on" | "range" | "with" | "without")
            || is_reserved(token.text);
        let whole = match previous.kind {
            // The words of a kind may stand on two lines, and `at least` waits for its value.
            Kind::Word => {
                let waits = is_reserved(previous.text) || matches!(previous.text, "least" | "most");
                item.word != ItemWord::Parameter && !waits
            }
            // A brace stands for the whole record of a trial here.
            Kind::Text | Kind::OpenText | Kind::Close | Kind::Brace => true,
            Kind::Sign => matches!(previous.text, "%" | "}"),
            Kind::Open | Kind::Number => false,
        };
        whole && !goes_on && item.word != ItemWord::Table
    }

    fn take_unknown(&mut self, token: Token<'t>) {
        let item = self.items.last().map_or(ItemWord::Rule, |item| item.word);
        let word = token.text;
        let known: Vec<&str> = words::clauses_of(item).collect();
        if known.is_empty() {
            self.take_stray(token);
            return;
        }
        let foreign = words::foreign_clause(&word.to_lowercase()).filter(|row| row.item == item);
        let near = nearest(word, known.iter().copied()).or(foreign.map(|row| row.word));
        let help = match (foreign, near) {
            (Some(row), _) => format!("write `{}`, as in `{}`", row.word, row.sample),
            (None, Some(near)) => did_you_mean(word, near),
            (None, None) => format!("the clauses of a {} begin with {}", item.as_str(), listed(&known)),
        };
        let message = format!("`{word}` begins no clause of a {}", item.as_str());
        let mistake = self.mistakes.error(code::UNKNOWN_CLAUSE, token.span, message).help(help);
        self.mistakes.push(mistake);
        let meant = near.and_then(words::clause_row).map(|row| row.clause);
        self.begin_clause(ClauseKind::Unknown(meant), token);
        self.break_clause();
    }

    /// Reports text that belongs to no item, once for a run of it.
    fn take_stray(&mut self, token: Token<'t>) {
        if self.stray {
            return;
        }
        self.stray = true;
        let known: Vec<&str> = ITEMS.iter().map(|row| row.word).collect();
        let help = match nearest(token.text, known.iter().copied()).and_then(words::item) {
            Some(row) if look_alike(token.text, row.word) => said(token.text, row.word),
            Some(row) => format!("did you mean `{}`? It is written `{}`", row.word, row.sample),
            None => format!("an item begins with {}; a comment begins with `#`", listed(&known)),
        };
        let message = format!("{} begins no item of a rule file", shown(token.text));
        let mistake = self.mistakes.error(code::OUTSIDE_ITEM, token.span, message).help(help);
        self.mistakes.push(mistake);
    }

    fn begin_item(&mut self, word: ItemWord, token: Token<'t>, misspelt: bool) {
        if misspelt {
            let message = format!("`{}` begins no item of a rule file", token.text);
            let help = format!("did you mean `{}`?", word.as_str());
            let mistake = self.mistakes.error(code::OUTSIDE_ITEM, token.span, message).help(help);
            self.mistakes.push(mistake);
        }
        self.stray = false;
        self.items.push(ItemCut { word, broken: misspelt, clauses: Vec::new() });
        self.begin_clause(ClauseKind::Head, token);
        if misspelt {
            self.break_clause();
        }
    }

    fn begin_clause(&mut self, kind: ClauseKind, token: Token<'t>) {
        if let Some(item) = self.items.last_mut() {
            item.clauses.push(ClauseCut {
                kind,
                head: token.span,
                span: token.span,
                record: None,
                parts: Vec::new(),
                broken: false,
            });
        }
    }

    fn break_clause(&mut self) {
        if let Some(item) = self.items.last_mut() {
            item.broken = true;
            if let Some(clause) = item.clauses.last_mut() {
                clause.broken = true;
            }
        }
    }

    /// A row begins with the quoted text of its key; a line with a colon in it was meant to be one.
    fn begins_row(&self, token: Token<'t>) -> bool {
        let Some(item) = self.items.last().filter(|item| item.word == ItemWord::Table) else { return false };
        let after_comma = self.previous.is_some_and(|previous| previous.text == "," || previous.text == ":");
        match token.kind {
            Kind::Text | Kind::OpenText => !after_comma,
            Kind::Word if item.clauses.len() > 1 || self.previous.is_some_and(|p| !is_reserved(p.text)) => {
                let line = self.text.get(token.span.start as usize..).and_then(|rest| rest.lines().next());
                !is_reserved(token.text)
                    && !matches!(token.text, "by")
                    && Tokens::new(line.unwrap_or_default()).any(|token| token.text == ":")
            }
            _ => false,
        }
    }

    /// Adds a token to the clause in hand.
    fn extend(&mut self, token: Token<'t>) {
        let Some(clause) = self.items.last().and_then(|item| item.clauses.last()) else { return };
        let is_trial = clause.kind == ClauseKind::Clause(ClauseWord::Trial);
        let unknown_trial = clause.kind == ClauseKind::Unknown(Some(ClauseWord::Trial));
        let has_record =
            is_trial || unknown_trial || self.items.last().is_some_and(|item| item.word == ItemWord::Given);
        let assigned = self.previous.is_some_and(|previous| previous.text == "=");
        if has_record
            && clause.record.is_none()
            && (token.kind == Kind::Brace || assigned && token.text == "[")
        {
            self.take_record(token, assigned);
            return;
        }
        if clause.record.is_some() && !clause.broken {
            let message = format!("{} is behind the record", shown(token.text));
            let mistake = self.mistakes.error(code::CLAUSE_FORM, token.span, message);
            self.mistakes.push(mistake.help("the closing `}` of the record ends the clause"));
            self.break_clause();
            return;
        }
        let Some(clause) = self.items.last_mut().and_then(|item| item.clauses.last_mut()) else { return };
        clause.span = clause.span.to(token.span);
        if token.kind == Kind::OpenText && !clause.broken {
            let message = "this quoted text is not closed on its line";
            let opening = Span::new(
                token.span.start as usize,
                token.span.start as usize + token.text.chars().next().map_or(0, char::len_utf8),
            );
            let mistake = self.mistakes.error(code::UNCLOSED, opening, message);
            let help = match self.text_without_opening(token) {
                Some(first) => format!("a text begins with `\"`: put one before `{first}`"),
                None => "put `\"` at its end; `\\n` stands for a new line in a text".to_owned(),
            };
            self.mistakes.push(mistake.help(help));
            self.break_clause();
        }
    }

    /// The first word of a text whose opening quote was left out, so that its closing one opens another: `hold Filled cold."`.
    fn text_without_opening(&self, opened: Token<'t>) -> Option<&'t str> {
        let line_ends =
            opened.text.trim_matches(['"', '\u{201c}', '\u{201d}', '\u{201e}', ' ', '\t', '\r']).is_empty();
        let clause = self.items.last().and_then(|item| item.clauses.last()).filter(|_| line_ends)?;
        let before = self.text.get(clause.head.end as usize..opened.span.start as usize)?;
        let mut words = Tokens::new(before);
        let first = words.find(|token| !matches!(token.text, "hold" | "advice" | "note" | "by"))?;
        (first.kind == Kind::Word && !before.contains('"')).then_some(first.text)
    }

    /// Takes the record of a trial as a whole, or a part of one.
    fn take_record(&mut self, token: Token<'t>, is_part: bool) {
        let start = token.span.start as usize;
        let (end, open) = match scan::record_end(self.text, start, resumes) {
            RecordEnd::Closed(end) => (end, None),
            RecordEnd::Open { resume, quote } => (resume, Some(quote)),
        };
        let written = self.text.get(start..end).unwrap_or_default().trim_end();
        let span = Span::new(start, start + written.len());
        if let Some(clause) = self.items.last_mut().and_then(|item| item.clauses.last_mut()) {
            match is_part {
                true => clause.parts.push(span),
                false => clause.record = Some(span),
            }
            clause.span = clause.span.to(span);
        }
        self.tokens.go_on_at(end, open.is_some());
        if let Some(quote) = open {
            let mut mistake = self.mistakes.error(code::UNCLOSED, token.span, "this record is not closed");
            if let Some(at) = quote {
                let place = self.mistakes.place(Span::new(at, at + 1));
                mistake =
                    mistake.and_at(place, "this text runs over the end of its line; is its quote missing?");
            }
            let closing = if token.text == "[" { "]" } else { "}" };
            self.mistakes.push(mistake.help(format!("put `{closing}` at its end")));
            self.break_clause();
        }
    }
}

/// Whether a line inside an unclosed record is surely the head of an item or of the next trial.
fn resumes(line: &str) -> bool {
    let mut tokens = Tokens::new(line);
    let Some(head) = tokens.next().filter(|token| token.kind == Kind::Word) else { return false };
    let rest = line.get(head.span.end as usize..).unwrap_or_default();
    if let Some(row) = words::item(head.text) {
        return has_item_shape(row.item, rest);
    }
    let outcome = tokens.next().filter(|token| token.kind == Kind::Word);
    let next = if outcome.is_some_and(|token| token.text == "not") { tokens.nth(1) } else { tokens.next() };
    head.text == "trial"
        && outcome.is_some()
        && next.is_some_and(|token| {
            token.kind == Kind::Brace || matches!(token.text, "at" | "from" | "on" | "with")
        })
}

/// Whether what follows an item word on its line is what must follow it.
fn has_item_shape(item: ItemWord, rest: &str) -> bool {
    let line = rest.lines().next().unwrap_or_default();
    let mut tokens = Tokens::new(line);
    let (first, second) = (tokens.next(), tokens.next());
    let named = first.is_some_and(|token| token.kind == Kind::Word);
    let second_is = |words: &[&str]| second.is_some_and(|token| words.contains(&token.text));
    let second_is_text = second.is_some_and(|token| token.kind == Kind::Text);
    match item {
        ItemWord::Use => first.is_some_and(|token| token.kind == Kind::Text),
        ItemWord::Standard => named && (second_is(&["edition"]) || second_is_text),
        ItemWord::Let => named && second_is(&["="]),
        ItemWord::Parameter => named && second_is(&["is"]),
        ItemWord::Table => named && second_is(&["by"]),
        ItemWord::Rule => named && second_is_text,
        ItemWord::Given => named && second_is(&["{", "from"]),
    }
}

/// `a`, `b` and `c`, each in back quotes.
pub(crate) fn listed(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    match quoted.split_last() {
        Some((last, first)) if !first.is_empty() => format!("{} and {last}", first.join(", ")),
        _ => quoted.concat(),
    }
}

/// A piece of the file as messages show it: in back quotes and not too long.
pub(crate) fn shown(text: &str) -> String {
    let visible: String = text.chars().filter(|c| !c.is_control()).take(MOST_SHOWN).collect();
    match visible.as_str() {
        "" => "a character that cannot be seen".to_owned(),
        _ if text.chars().nth(MOST_SHOWN).is_some() => format!("`{visible}…`"),
        _ => format!("`{visible}`"),
    }
}

/// Characters of the file that a message shows at most.
const MOST_SHOWN: usize = 30;
