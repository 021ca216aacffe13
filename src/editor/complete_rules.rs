//! What can be written at a place of a rule file: clauses, fields, variables, lets, parameters, tables, builtins with their
//! documents, words of closed lists, units; in the record of a trial what a record can have there.

use std::sync::Arc;

use super::complete::{self, Offer, in_words};
use super::cursor::Reading;
use super::protocol::{Completion, kind};
use super::symbols::{Symbols, What, below};
use super::text::Text;
use crate::document::{Form, Forms, Record, Shape};
use crate::language::ast::{Item, Severity};
use crate::language::builtins::{self, Builtin};
use crate::library::{LENT, SHIPPED};
use crate::quantity::{KINDS, UNITS};
use crate::session::Session;
use crate::source::Span;
use crate::trade::form;

/// The grammar of the language, whose comments say what each clause is.
const GRAMMAR: &str = include_str!("../../grammar/standard.pest");

/// The words that begin an item, and the production that says what they are.
const ITEMS: [(&str, &str); 7] = [
    ("standard", "standard"),
    ("use", "use_file"),
    ("let", "let_value"),
    ("parameter", "parameter"),
    ("table", "table"),
    ("given", "given"),
    ("rule", "rule_head"),
];

/// Those that begin a clause of the head.
const OF_HEAD: [(&str, &str); 5] = [
    ("judges", "judges"),
    ("where", "applies"),
    ("from", "counts_from"),
    ("basis", "basis"),
    ("concession", "concession"),
];

/// Those that begin a clause of a rule.
const OF_RULE: [(&str, &str); 13] = [
    ("concerns", "concerns"),
    ("let", "let_value"),
    ("demands", "demands"),
    ("otherwise", "otherwise"),
    ("remedy", "remedy"),
    ("because", "because"),
    ("basis", "basis"),
    ("concession", "concession"),
    ("if unrecorded", "if_unrecorded"),
    ("from", "counts_from"),
    ("until", "counts_until"),
    ("replaces", "replaces"),
    ("trial", "trial"),
];

/// Words within expressions, and the production that says what they are.
const IN_EXPRESSIONS: [(&str, &str); 27] = [
    ("is", "is_one_of"),
    ("is not", "is_not_one_of"),
    ("is one of", "is_one_of"),
    ("within", "demands"),
    ("at least", "count"),
    ("at most", "count"),
    ("above", "expression"),
    ("below", "expression"),
    ("before", "expression"),
    ("after", "expression"),
    ("and", "expression"),
    ("or", "expression"),
    ("not", "expression"),
    ("implies", "expression"),
    ("recorded", "recorded"),
    ("every", "quantified"),
    ("some", "quantified"),
    ("no", "quantified"),
    ("each", "each"),
    ("where", "condition"),
    ("count of", "count_of"),
    ("sum of", "total"),
    ("least of", "total"),
    ("greatest of", "total"),
    ("all of", "total"),
    ("duration of", "duration_of"),
    ("throughout", "timed"),
];

/// What a production is, by the comment above it, with an example where it has one.
#[must_use]
pub fn meaning(production: &str) -> Option<String> {
    let head = format!("{production} = ");
    let lines: Vec<&str> = GRAMMAR.lines().collect();
    let at = lines.iter().position(|line| line.starts_with(&head))?;
    let above = lines.get(..at)?.iter().rev().map_while(|line| line.strip_prefix("///"));
    let mut said: Vec<&str> = above.collect();
    said.reverse();
    let (mut words, mut example) = (String::new(), Vec::new());
    for line in said {
        match line.trim_start().split_once("    ") {
            _ if line.starts_with("     ") => example.push(line.trim()),
            Some((text, sample)) => {
                words.push_str(text);
                example.push(sample.trim());
            }
            None => words.push_str(&format!("{} ", line.trim())),
        }
    }
    let example = example.join("\n");
    Some(if example.is_empty() { words } else { format!("{}\n\n```standard\n{example}\n```", words.trim()) })
}

/// Completions at an offset of a rule file.
#[must_use]
pub fn at(
    text: &Text,
    offset: usize,
    session: Option<&Session>,
    forms: &Forms,
    symbols: &Symbols,
) -> Vec<Completion> {
    let forms = session.map_or(forms, Session::forms);
    let Some(here) = Here::of(text, offset, forms, symbols) else { return Vec::new() };
    if let Some(own) = here.in_trial(text, session) {
        return own;
    }
    let offers = here.offers(session);
    let range = text.range(here.typed);
    offers.into_iter().enumerate().map(|(number, offer)| offer.completion(number, range)).collect()
}

/// A place in a rule file, and what stands before it.
struct Here<'t> {
    forms: &'t Forms,
    root: Option<Arc<Record>>,
    form: Option<&'t Form>,
    symbols: &'t Symbols,
    /// The text before the place.
    before: &'t str,
    /// From the beginning of the item to the place.
    item: &'t str,
    /// From the beginning of the line to the place.
    line: &'t str,
    typed: Span,
}

impl<'t> Here<'t> {
    fn of(text: &'t Text, offset: usize, forms: &'t Forms, symbols: &'t Symbols) -> Option<Here<'t>> {
        let judged = symbols.file.items.iter().find_map(|item| match item {
            Item::Standard(standard) => Some(standard.judges.as_ref()?.node.clone()),
            _ => None,
        });
        let form = forms.get(judged.as_deref().unwrap_or(form::JOB)).map(|form| &**form);
        let before = text.text().get(..offset)?;
        let line = before.get(before.rfind('\n').map_or(0, |at| at + 1)..)?;
        let starts = before.match_indices('\n').map(|(at, _)| at + 1).chain([0]);
        let is_item = |at: &usize| {
            before.get(*at..).is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_lowercase()))
        };
        let item = before.get(starts.filter(is_item).max().unwrap_or(0)..)?;
        let word = before.len() - before.trim_end_matches(|c: char| c.is_alphanumeric() || c == '_').len();
        let root = form.map(Form::record).cloned();
        let quote = line.rfind('"').filter(|_| line.split('"').count().is_multiple_of(2));
        let typed = match quote {
            Some(quote) if in_braces(line).is_none() => Span::new(offset - (line.len() - quote - 1), offset),
            _ => Span::new(offset - word, offset),
        };
        Some(Here { forms, root, form, symbols, before, item, line, typed })
    }

    /// The word at hand.
    fn word(&self) -> &str {
        self.typed.of(self.before)
    }

    /// What stands before the word at hand, on the line.
    fn lead(&self) -> &str {
        self.line.strip_suffix(self.word()).unwrap_or(self.line)
    }

    /// Within the record of a trial.
    fn in_trial(&self, text: &Text, session: Option<&Session>) -> Option<Vec<Completion>> {
        let clause = self.item.rfind("\n  trial").or_else(|| self.item.starts_with("given").then_some(0))?;
        let clause = self.item.get(clause..)?;
        let brace = clause.find('{')?;
        let (record, begins) = (clause.get(brace..)?, self.before.len() - (clause.len() - brace));
        let depth = record.chars().fold(0_i32, |depth, c| match c {
            '{' | '[' => depth + 1,
            '}' | ']' => depth - 1,
            _ => depth,
        });
        if depth <= 0 {
            return None;
        }
        let reading = Reading { forms: self.forms, part_of: self.form };
        let rest = text.text().get(begins..)?;
        let end = rest.find('\n').unwrap_or(rest.len());
        let mut cursor = reading.cursor(rest.get(..end.max(record.len()))?, record.len())?;
        cursor.typed = cursor.typed.shifted(Span::new(begins, begins).start);
        Some(complete::of_cursor(&cursor, text, session?))
    }

    fn offers(&self, session: Option<&Session>) -> Vec<Offer> {
        let lead = self.lead();
        if lead.split('"').count().is_multiple_of(2) {
            return self.in_quotes(lead, session);
        }
        if lead.contains('#') {
            return Vec::new();
        }
        let words: Vec<&str> = lead.split_whitespace().collect();
        match words.as_slice() {
            [] => return self.heads(),
            ["parameter", _, "is"] => return kinds(),
            ["trial", .., "from"] => return self.bases().collect(),
            ["concession"] => return ["never", "by "].map(|word| Offer::new(kind::WORD, word)).into(),
            ["use"] => {
                return came_with_it().map(|name| Offer::new(kind::FILE, format!("\"{name}\""))).collect();
            }
            [.., "is"] | [.., "is", "not"] | [.., "is" | "not", "one", "of"] => {
                let words =
                    self.words_for(lead, session).into_iter().map(|word| format!("\"{}\"", word.label()));
                let words: Vec<Offer> = words.map(|word| Offer::new(kind::WORD, word)).collect();
                return words.into_iter().chain(self.names(session)).collect();
            }
            ["judges"] => return self.forms.iter().map(|form| Offer::new(kind::WORD, form.name())).collect(),
            ["otherwise"] => return severities(&[]),
            ["if", "unrecorded"] => return severities(&["pass"]),
            ["trial"] => {
                return ["met", "broken", "undecided", "not concerned"]
                    .map(|word| Offer::new(kind::WORD, word))
                    .into();
            }
            [.., number]
                if complete::is_number(number.trim_start_matches(['(', '±', '-', '−']))
                    && lead.ends_with(' ') =>
            {
                return units();
            }
            _ => {}
        }
        if lead.ends_with('.') {
            return self.fields(lead);
        }
        self.names(session)
    }

    /// The words that can begin the line.
    fn heads(&self) -> Vec<Offer> {
        let offer = |(word, production): &(&str, &str)| {
            Offer::new(kind::KEYWORD, *word)
                .writing(format!("{word} "))
                .doc(&meaning(production).unwrap_or_default())
        };
        if self.line.starts_with(' ') && self.item.starts_with("rule") {
            return OF_RULE.iter().map(offer).collect();
        }
        let head = if self.item.starts_with("standard") { &OF_HEAD[..] } else { &[] };
        head.iter().chain(&ITEMS).map(offer).collect()
    }

    /// A name or path before a sign, as it is written.
    fn path_before(text: &str) -> &str {
        let text = text.trim_end();
        let start = text.rfind(|c: char| !(c.is_alphanumeric() || c == '_' || c == '.')).map_or(0, |at| {
            at + text.get(at..).and_then(|rest| rest.chars().next()).map_or(1, char::len_utf8)
        });
        text.get(start..).unwrap_or_default()
    }

    /// The words of what a text is compared with.
    fn in_quotes(&self, lead: &str, session: Option<&Session>) -> Vec<Offer> {
        if lead.trim_start().starts_with("use ") {
            return came_with_it().map(|name| Offer::new(kind::FILE, name)).collect();
        }
        // A value in a text, between braces.
        if in_braces(lead).is_some() {
            return if lead.ends_with('.') { self.fields(lead) } else { self.names(session) };
        }
        self.words_for(lead, session)
    }

    /// The words of what the last comparison of a line compares.
    fn words_for(&self, lead: &str, session: Option<&Session>) -> Vec<Offer> {
        let Some(at) = lead.rfind(" is ") else { return Vec::new() };
        let path = Here::path_before(lead.get(..at).unwrap_or_default());
        let Some((record, name)) = self.holder(path) else { return Vec::new() };
        let Some((_, field)) = record.field(&name) else { return Vec::new() };
        match (&field.shape, &field.vocabulary) {
            (Shape::Word(words), _) => {
                words.iter().map(|word| Offer::new(kind::WORD, word.to_string())).collect()
            }
            (_, Some(vocabulary)) => {
                let forms = session.map_or(self.forms, Session::forms);
                let words = forms.everyday().vocabularies().find(|(name, _)| **name == **vocabulary);
                words
                    .into_iter()
                    .flat_map(|(_, words)| words.keys())
                    .map(|word| Offer::new(kind::WORD, *word))
                    .collect()
            }
            _ => Vec::new(),
        }
    }

    /// The records that trials share.
    fn bases(&self) -> impl Iterator<Item = Offer> {
        let bases = self.symbols.definitions.iter().filter(|one| one.what == What::Base);
        bases.map(|one| Offer::new(kind::CONSTANT, one.name.clone()).detail(one.what.word()))
    }

    /// The fields of what stands before the dot.
    fn fields(&self, lead: &str) -> Vec<Offer> {
        let path = Here::path_before(lead.strip_suffix('.').unwrap_or(lead));
        let Some(record) = self.record(path) else { return Vec::new() };
        of_record(&record)
    }

    /// The group that a path leads to.
    fn record(&self, path: &str) -> Option<Arc<Record>> {
        self.reached(path, &self.variables())
    }

    fn reached(&self, path: &str, variables: &[Variable<'_>]) -> Option<Arc<Record>> {
        let mut names = path.split('.');
        let first = names.next()?;
        let own = variables.iter().rev().find(|variable| variable.name == first);
        let mut record = match own {
            Some(own) => own.record.clone()?,
            None => below(self.root.as_ref()?, first, self.forms)??,
        };
        for name in names {
            record = below(&record, name, self.forms)??;
        }
        Some(record)
    }

    /// The group that holds the last field of a path.
    fn holder(&self, path: &str) -> Option<(Arc<Record>, String)> {
        match path.rsplit_once('.') {
            Some((outer, name)) => Some((self.record(outer)?, name.to_owned())),
            None => Some((self.root.clone()?, path.to_owned())),
        }
    }

    /// The variables of the item: `x in fastenings`. The list of one can begin with another that stands before it.
    fn variables(&self) -> Vec<Variable<'t>> {
        let is_part = |c: char| c.is_alphanumeric() || c == '_' || c == '.';
        let words: Vec<&'t str> = self.item.split(|c| !is_part(c)).filter(|word| !word.is_empty()).collect();
        let mut variables: Vec<Variable<'t>> = Vec::new();
        for three in words.windows(3) {
            if let [name, "in", list] = three {
                let record = self.reached(list, &variables);
                variables.push(Variable { name, list, record });
            }
        }
        variables
    }

    /// Everything that an expression can begin with.
    fn names(&self, session: Option<&Session>) -> Vec<Offer> {
        let mut offers: Vec<Offer> = Vec::new();
        let mut variables = self.variables();
        variables.sort_by_key(|variable| variable.name);
        variables.dedup_by_key(|variable| variable.name);
        offers.extend(variables.into_iter().map(|variable| {
            Offer::new(kind::VARIABLE, variable.name).detail(format!("each of `{}`", variable.list))
        }));
        for one in &self.symbols.definitions {
            let kind = match one.what {
                What::Let | What::Table => kind::CONSTANT,
                What::Parameter => kind::VALUE,
                What::Standard | What::Rule | What::Base | What::Variable => continue,
            };
            let about = session.and_then(|session| session.named(&one.name).into_iter().next());
            let facts = about.iter().flat_map(|about| &about.facts);
            let facts: Vec<String> = facts.take(4).map(|(lead, text)| format!("{lead}{text}")).collect();
            let title = one.title.clone().unwrap_or_default();
            offers.push(
                Offer::new(kind, one.name.clone())
                    .detail(format!("{} {title}", one.what.word()))
                    .doc(&facts.join("\n\n")),
            );
        }
        offers.extend(session.into_iter().flat_map(|session| self.used(session)));
        offers.extend(self.root.iter().flat_map(|root| of_record(root)));
        offers.extend(builtins::all().map(builtin));
        let words = IN_EXPRESSIONS.iter().map(|(word, production)| {
            Offer::new(kind::KEYWORD, *word).doc(&meaning(production).unwrap_or_default())
        });
        offers.extend(words);
        offers
    }
}

impl Here<'_> {
    /// The names of the files that this one uses.
    fn used(&self, session: &Session) -> Vec<Offer> {
        let program = session.program();
        let lets = program.lets().all().iter().map(|one| (&one.name, one.place));
        let tables = program.tables().all().iter().map(|one| (&one.name, one.place));
        let is_own = |name: &str| self.symbols.definitions.iter().any(|one| one.name == name);
        let others = lets.chain(tables).filter(|(name, _)| !is_own(name));
        others
            .map(|(name, place)| {
                let file = session.sources().name(place.source);
                Offer::new(kind::CONSTANT, name.clone()).detail(format!("of {file}"))
            })
            .collect()
    }
}

/// What stands behind the brace that is open in the last text of a line.
fn in_braces(line: &str) -> Option<&str> {
    let (_, text) = line.rsplit_once('"')?;
    let (_, value) = text.rsplit_once('{')?;
    (!value.contains('}')).then_some(value)
}

/// The names of what came with the program and can be used.
fn came_with_it() -> impl Iterator<Item = &'static str> {
    LENT.iter().chain(SHIPPED).map(|shipped| shipped.file)
}

/// A name for the entries of a list.
struct Variable<'t> {
    name: &'t str,
    list: &'t str,
    record: Option<Arc<Record>>,
}

fn of_record(record: &Record) -> Vec<Offer> {
    let fields = record.fields.iter().filter(|field| field.replaced_by.is_none());
    let fields = fields.map(|field| {
        Offer::new(kind::FIELD, field.name.to_string()).detail(in_words(&field.shape)).doc(&field.doc)
    });
    let links = record.links.iter().map(|link| {
        Offer::new(kind::FIELD, link.name.to_string())
            .detail("leads to another document or entry")
            .doc(&link.doc)
    });
    fields.chain(links).collect()
}

fn builtin(builtin: &'static Builtin) -> Offer {
    let doc = format!("{}\n\n```standard\n{}\n```", builtin.doc, builtin.example);
    Offer::new(kind::FUNCTION, builtin.name)
        .writing(format!("{}(", builtin.name))
        .detail(builtin.call())
        .doc(&doc)
}

fn severities(more: &[&str]) -> Vec<Offer> {
    let words = [Severity::Hold, Severity::Advice, Severity::Note].map(Severity::word);
    words.iter().chain(more).map(|word| Offer::new(kind::WORD, *word)).collect()
}

fn kinds() -> Vec<Offer> {
    KINDS.iter().map(|row| Offer::new(kind::WORD, row.words).doc(row.meaning)).collect()
}

fn units() -> Vec<Offer> {
    let units = UNITS.iter().filter(|unit| !unit.symbol.is_empty());
    units.map(|unit| Offer::new(kind::UNIT, unit.symbol).detail(unit.kind().to_string())).collect()
}

/// The word of the language at an offset, in a line that begins with it, and what it is.
#[must_use]
pub fn word_at(text: &str, offset: usize) -> Option<(String, Span)> {
    let start = text.get(..offset)?.rfind('\n').map_or(0, |at| at + 1);
    let line = text.get(start..)?.lines().next()?;
    let bare = line.trim_start();
    let begins = start + line.len() - bare.len();
    let is_it = |(word, _): &&(&str, &str)| {
        bare.strip_prefix(*word)
            .is_some_and(|rest| !rest.starts_with(|c: char| c.is_alphanumeric() || c == '_'))
    };
    let (word, production) = OF_RULE.iter().chain(&OF_HEAD).chain(&ITEMS).find(is_it)?;
    let span = Span::new(begins, begins + word.len());
    let is_on_it = (begins..=begins + word.len()).contains(&offset);
    is_on_it.then(|| Some((format!("**{word}**\n\n{}", meaning(production)?), span)))?
}
