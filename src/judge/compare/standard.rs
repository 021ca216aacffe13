//! Rule files as trees. Comments, trials, the order of items and the names of variables mean nothing.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use super::Comparison;
use super::difference::Difference;
use super::expression::{Expressions, written};
use super::pairs::pair;
use super::tree::{Body, Field, Item, List, Piece, Worth, one_line};
use crate::edition::Edition;
use crate::language::ast::{self, Concession, File, Unrecorded};
use crate::language::parse;
use crate::session::Session;
use crate::source::{Place, SourceId, Sources, Span};

/// What changed between two editions of a standard, or between two files of figures. Each session was
/// opened with one rule file, named here, and is not faulty; the figures of the files that it uses
/// belong to it.
#[must_use]
pub fn standards(old: (&Session, SourceId), new: (&Session, SourceId)) -> Comparison {
    let (old, new) = (EditionText::read(old.0, old.1), EditionText::read(new.0, new.1));
    let ours = old.tree(HashMap::new());
    let theirs = new.tree(aliases(&ours.whole, &new.tree(HashMap::new()).whole));
    let Difference { mut changes, mut spellings, .. } = Difference::between(&ours.whole, &theirs.whole);
    let mut users = (Users::of(&ours.users), Users::of(&theirs.users), HashMap::new());
    for change in changes.iter_mut().chain(&mut spellings).filter(|change| is_of_figure(&change.part)) {
        let (ours, theirs, known) = &mut users;
        let from = change.from.as_ref().and_then(|side| ours.of_path(&side.path));
        let to = change.to.as_ref().and_then(|side| theirs.of_path(&side.path));
        // Figures that are built on each other are used by the same rules.
        let both = [from, to].map(|rules| rules.map(|rules| std::ptr::from_ref(&**rules)));
        let used_by = known.entry(both).or_insert_with(|| {
            let rules: BTreeSet<&str> =
                [from, to].into_iter().flatten().flat_map(|rules| rules.iter().copied()).collect();
            rules.into_iter().map(str::to_owned).collect()
        });
        change.used_by = Arc::clone(used_by);
    }
    let renamed_rules = renamed_rules((&old, &ours), (&new, &theirs));
    Comparison {
        changes,
        spellings,
        editions: (old.number(), new.number()),
        renamed_rules,
        strictness: Vec::new(),
    }
}

/// The names of the fields of the tree.
const HEAD: &str = "standard";
const LETS: &str = "lets";
const PARAMETERS: &str = "parameters";
const TABLES: &str = "tables";
const RULES: &str = "rules";

/// Whether a part of the text is a figure, or all of one sort.
fn is_of_figure(part: &str) -> bool {
    ["let", "parameter", "table"].iter().any(|noun| part.starts_with(noun))
}

/// Figures of the new text that had another name in the old one, by their new name.
fn aliases(old: &Piece, new: &Piece) -> HashMap<String, String> {
    let mut aliases = HashMap::new();
    for figures in [LETS, PARAMETERS, TABLES] {
        let (Some(ours), Some(theirs)) = (items(old, figures), items(new, figures)) else { continue };
        for pair in pair(ours, theirs).renamed {
            if let (Some(old), Some(new)) = (ours.get(pair.old), theirs.get(pair.new)) {
                aliases.insert(new.label.clone(), old.label.clone());
            }
        }
    }
    aliases
}

fn items<'p>(whole: &'p Piece, name: &str) -> Option<&'p [Item]> {
    match &whole.fields().iter().find(|field| field.name == name)?.piece.body {
        Body::List(list) => Some(&list.items),
        _ => None,
    }
}

/// The rules that are the same and have another full name.
fn renamed_rules(old: (&EditionText<'_>, &Tree), new: (&EditionText<'_>, &Tree)) -> Vec<(String, String)> {
    let (Some(ours), Some(theirs)) = (items(&old.1.whole, RULES), items(&new.1.whole, RULES)) else {
        return Vec::new();
    };
    let pairs = pair(ours, theirs);
    let both = pairs.together.iter().chain(&pairs.renamed);
    let names = both.filter_map(|pair| {
        let (ours, theirs) = (ours.get(pair.old)?, theirs.get(pair.new)?);
        Some((old.0.full_name(&ours.label), new.0.full_name(&theirs.label)))
    });
    names.filter(|(old, new)| old != new).collect()
}

/// One rule file with the files that it uses.
struct EditionText<'s> {
    sources: &'s Sources,
    /// The file itself, then those that it uses.
    files: Vec<File>,
}

/// The tree of an edition.
struct Tree {
    whole: Piece,
    /// By the name of each figure, the figures and rules that are built on it.
    users: BTreeMap<String, BTreeSet<User>>,
}

#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum User {
    Figure(String),
    Rule(String),
}

/// By the name of each figure, all rules that are built on it.
struct Users<'t>(HashMap<&'t str, Arc<BTreeSet<&'t str>>>);

impl<'t> Users<'t> {
    /// Those of figures of which it is known what is built on them. A figure on which one other is built shares the rules of
    /// that one, so that long chains take no more room than short ones.
    fn of(direct: &'t BTreeMap<String, BTreeSet<User>>) -> Users<'t> {
        let mut known: HashMap<&str, Arc<BTreeSet<&str>>> = HashMap::new();
        let mut begun: HashSet<&str> = HashSet::new();
        let mut open: Vec<&str> = direct.keys().map(String::as_str).collect();
        while let Some(&figure) = open.last() {
            let figures = direct.get(figure).into_iter().flatten().filter_map(User::figure);
            if begun.insert(figure) {
                open.extend(figures.filter(|one| !known.contains_key(one)));
                continue;
            }
            open.pop();
            if known.contains_key(figure) {
                continue;
            }
            let mut rules: BTreeSet<&str> =
                direct.get(figure).into_iter().flatten().filter_map(User::rule).collect();
            let below: Vec<&Arc<BTreeSet<&str>>> = figures.filter_map(|one| known.get(one)).collect();
            let all = match below.as_slice() {
                [only] if rules.is_subset(only) => Arc::clone(only),
                several => {
                    rules.extend(several.iter().flat_map(|rules| rules.iter().copied()));
                    Arc::new(rules)
                }
            };
            known.insert(figure, all);
        }
        Users(known)
    }

    /// The rules that use the figure to which a path leads; none for any other path.
    fn of_path(&self, path: &str) -> Option<&Arc<BTreeSet<&'t str>>> {
        self.0.get(path.split(['.', '[']).next().unwrap_or_default())
    }
}

impl User {
    fn figure(&self) -> Option<&str> {
        if let User::Figure(name) = self { Some(name) } else { None }
    }

    fn rule(&self) -> Option<&str> {
        if let User::Rule(name) = self { Some(name) } else { None }
    }
}

impl<'s> EditionText<'s> {
    fn read(session: &'s Session, source: SourceId) -> EditionText<'s> {
        let program = session.program();
        let lets = program.lets().all().iter().map(|found| found.place.source);
        let parameters = program.parameters().all().iter().map(|found| found.place.source);
        let tables = program.tables().all().iter().map(|found| found.place.source);
        let mut used: Vec<SourceId> =
            lets.chain(parameters).chain(tables).filter(|id| *id != source).collect();
        used.sort_unstable();
        used.dedup();
        let sources: &Sources = session.sources();
        let read = |id: SourceId| parse(id, sources.get(id).map_or("", |source| source.text())).0;
        EditionText { sources, files: std::iter::once(source).chain(used).map(read).collect() }
    }

    fn head(&self) -> Option<&ast::Standard> {
        let own = self.files.first()?;
        own.items.iter().find_map(|item| match item {
            ast::Item::Standard(standard) => Some(standard),
            _ => None,
        })
    }

    fn number(&self) -> Option<Edition> {
        Some(self.head()?.edition.as_ref()?.node)
    }

    /// `standard.rule`.
    fn full_name(&self, rule: &str) -> String {
        self.head().map_or_else(|| rule.to_owned(), |head| format!("{}.{rule}", head.name.node))
    }

    fn tree(&self, aliases: HashMap<String, String>) -> Tree {
        let mut builder = Builder {
            sources: self.sources,
            source: SourceId::FIRST,
            reading: Expressions::with(aliases),
            users: BTreeMap::new(),
        };
        let mut lists: [(&str, &'static str, Vec<Item>); 4] = [
            (LETS, "let", Vec::new()),
            (PARAMETERS, "parameter", Vec::new()),
            (TABLES, "table", Vec::new()),
            (RULES, "rule", Vec::new()),
        ];
        let mut fields = Vec::new();
        for (number, file) in self.files.iter().enumerate() {
            builder.source = file.source;
            for item in &file.items {
                let (list, item) = match item {
                    ast::Item::Let(item) => (LETS, builder.let_value(item)),
                    ast::Item::Parameter(item) => (PARAMETERS, builder.parameter(item)),
                    ast::Item::Table(item) => (TABLES, builder.table(item)),
                    // Only the rules of the file itself judge.
                    ast::Item::Rule(item) if number == 0 => (RULES, builder.rule(item, self.head())),
                    ast::Item::Standard(head) if number == 0 => {
                        fields.push(Field { name: HEAD.to_owned(), piece: builder.head(head) });
                        continue;
                    }
                    ast::Item::Rule(_) | ast::Item::Standard(_) | ast::Item::Use(_) | ast::Item::Base(_) => {
                        continue;
                    }
                };
                if let Some((.., items)) = lists.iter_mut().find(|(name, ..)| *name == list) {
                    items.push(item);
                }
            }
        }
        let whole = Place {
            source: self.files.first().map_or(SourceId::FIRST, |file| file.source),
            span: Span::default(),
        };
        fields.extend(lists.into_iter().map(|(name, noun, items)| {
            let list = List { noun: Some(noun), ordered: false, items };
            Field { name: name.to_owned(), piece: Piece::list(whole, String::new(), list) }
        }));
        Tree { whole: Piece::group(whole, String::new(), fields), users: builder.users }
    }
}

/// Makes the pieces of one edition.
struct Builder<'s> {
    sources: &'s Sources,
    source: SourceId,
    reading: Expressions,
    users: BTreeMap<String, BTreeSet<User>>,
}

impl Builder<'_> {
    fn place(&self, span: Span) -> Place {
        Place { source: self.source, span }
    }

    fn words_at(&self, span: Span) -> String {
        written(self.sources.text_at(self.place(span)))
    }

    fn leaf(&self, path: &str, span: Span, worth: &Worth, words: String) -> Piece {
        Piece::value(self.place(span), path.to_owned(), worth, words)
    }

    fn expression(&mut self, path: &str, expr: &ast::Expr) -> Piece {
        let worth = self.reading.worth(expr);
        self.leaf(path, expr.span, &worth, self.words_at(expr.span))
    }

    /// A quoted text; runs of blanks in it mean nothing.
    fn text(&self, path: &str, text: &ast::Text) -> Piece {
        self.leaf(path, text.span, &Worth::words(&text.node), one_line(&text.node))
    }

    /// Notes what a figure or a rule was built on.
    fn note_users(&mut self, user: &User) {
        for name in self.reading.take_met() {
            self.users.entry(name).or_default().insert(user.clone());
        }
    }

    fn item(&mut self, name: &ast::Name, piece: Piece, user: Option<User>) -> Item {
        let user = user.unwrap_or_else(|| User::Figure(name.node.clone()));
        self.note_users(&user);
        Item { key: Some(Worth::words(&name.node).mark()), label: name.node.clone(), rank: None, piece }
    }

    fn head(&mut self, head: &ast::Standard) -> Piece {
        let mut fields = Fields::new(&head.name.node);
        let name = self.leaf("name", head.name.span, &Worth::words(&head.name.node), head.name.node.clone());
        fields.add("name", name);
        if let Some(edition) = &head.edition {
            let number = edition.node.to_string();
            fields.add("edition", self.leaf("edition", edition.span, &Worth::words(&number), number));
        }
        if let Some(day) = &head.from {
            let written = day.node.to_string();
            fields.add("from", self.leaf("from", day.span, &Worth::words(&written), written));
        }
        if let Some(title) = &head.title {
            fields.add("title", self.text("title", title));
        }
        if let Some(judges) = &head.judges {
            fields.add(
                "judges",
                self.leaf("judges", judges.span, &Worth::words(&judges.node), judges.node.clone()),
            );
        }
        if let Some(condition) = &head.condition {
            fields.add("where", self.expression("where", condition));
        }
        self.reading.take_met();
        Piece::group(self.place(head.span), String::new(), fields.list)
    }

    fn let_value(&mut self, item: &ast::Let) -> Item {
        let Some(entries) = &item.entries else {
            let piece = self.expression(&item.name.node, &item.value);
            return self.item(&item.name, piece, None);
        };
        let mut fields = Fields::new(&item.name.node);
        let worth = self.reading.entries(entries);
        let words = self.words_at(entries.list.span);
        fields.add("of", self.leaf(&fields.path("of"), entries.list.span, &worth, words));
        fields.add("value", self.expression(&fields.path("value"), &item.value));
        self.reading.end_of_item();
        let piece = fields.piece(self.place(item.span));
        self.item(&item.name, piece, None)
    }

    fn parameter(&mut self, item: &ast::Parameter) -> Item {
        let mut fields = Fields::new(&item.name.node);
        let range = if item.range { " range" } else { "" };
        let kind = format!("{}{range}", item.kind.node);
        fields.add("kind", self.leaf(&fields.path("kind"), item.kind.span, &Worth::words(&kind), kind));
        if let Some(entries) = &item.entries {
            let worth = self.reading.entries(entries);
            let words = self.words_at(entries.list.span);
            fields.add("of", self.leaf(&fields.path("of"), entries.list.span, &worth, words));
        }
        if let Some(spans) = item.keys.iter().map(|key| key.span).reduce(Span::to) {
            let keys = Worth::Of("keys", item.keys.iter().map(|key| self.reading.worth(key)).collect());
            fields.add("by", self.leaf(&fields.path("by"), spans, &keys, self.words_at(spans)));
        }
        fields.add("title", self.text(&fields.path("title"), &item.title));
        if let Some(from) = &item.from {
            fields.add("from", self.expression(&fields.path("from"), from));
        }
        self.reading.end_of_item();
        if let Some(default) = &item.default {
            fields.add("default", self.expression(&fields.path("default"), default));
        }
        let piece = fields.piece(self.place(item.span));
        self.item(&item.name, piece, None)
    }

    fn table(&mut self, item: &ast::Table) -> Item {
        let mut fields = Fields::new(&item.name.node);
        let spans = item.keys.iter().map(|key| key.span).reduce(Span::to).unwrap_or(item.name.span);
        let keys = Worth::Of("keys", item.keys.iter().map(|key| self.reading.worth(key)).collect());
        fields.add("by", self.leaf(&fields.path("by"), spans, &keys, self.words_at(spans)));
        let rows = item.rows.iter().enumerate().map(|(number, row)| {
            let texts: Vec<&str> = row.keys.iter().map(|key| key.node.as_str()).collect();
            let key = Worth::Of("key", texts.iter().map(|text| Worth::Words((*text).to_owned())).collect());
            let piece = self.expression(&fields.path(&format!("rows[{number}]")), &row.value);
            Item { key: Some(key.mark()), label: format!("\"{}\"", texts.join("\", \"")), rank: None, piece }
        });
        let list = List { noun: None, ordered: false, items: rows.collect() };
        let rows = Piece::list(self.place(item.span), fields.path("rows"), list);
        fields.add("row", rows);
        let piece = fields.piece(self.place(item.span));
        self.item(&item.name, piece, None)
    }

    /// What the head of the standard says for a rule is a part of it.
    fn rule(&mut self, rule: &ast::Rule, head: Option<&ast::Standard>) -> Item {
        let basis = head.map_or(rule.basis.as_ref(), |head| head.basis_of(rule));
        let concession = head.map_or(rule.concession.as_ref(), |head| head.concession_of(rule));
        let mut fields = Fields::new(&rule.name.node);
        if let Some(title) = &rule.title {
            fields.add("title", self.text(&fields.path("title"), title));
        }
        if let Some(concerns) = &rule.concerns {
            let worth = self.reading.concerns(concerns);
            let words = self.words_at(concerns.span);
            fields.add("concerns", self.leaf(&fields.path("concerns"), concerns.span, &worth, words));
        }
        let lets = rule.lets.iter().map(|item| {
            let piece = self.expression(&fields.path(&item.name.node), &item.value);
            self.reading.name_in_rule(&item.name);
            let key = Some(Worth::words(&item.name.node).mark());
            Item { key, label: item.name.node.clone(), rank: None, piece }
        });
        let list = List { noun: Some("let"), ordered: false, items: lets.collect() };
        fields.add("let", Piece::list(self.place(rule.span), fields.path("lets"), list));
        let demands = rule.demands.iter().enumerate().map(|(number, demand)| {
            let piece = self.expression(&fields.path(&format!("demands[{number}]")), demand);
            Item { key: None, label: String::new(), rank: None, piece }
        });
        let list = List { noun: None, ordered: false, items: demands.collect() };
        fields.add("demand", Piece::list(self.place(rule.span), fields.path("demands"), list));
        self.otherwise(rule, &mut fields);
        for (name, text) in
            [("remedy", rule.remedy.as_ref()), ("because", rule.because.as_ref()), ("basis", basis)]
        {
            if let Some(text) = text {
                fields.add(name, self.text(&fields.path(name), text));
            }
        }
        for (name, day) in [("from", &rule.from), ("until", &rule.until)] {
            if let Some(day) = day {
                let words = day.node.to_string();
                fields.add(name, self.leaf(&fields.path(name), day.span, &Worth::words(&words), words));
            }
        }
        if let Some(span) = rule.replaces.iter().map(|name| name.span).reduce(Span::to) {
            let names: Vec<&str> = rule.replaces.iter().map(|name| name.node.as_str()).collect();
            let words = names.join(", ");
            fields.add("replaces", self.leaf(&fields.path("replaces"), span, &Worth::words(&words), words));
        }
        if let Some(concession) = concession {
            fields.add("concession", self.concession(&fields.path("concession"), concession));
        }
        self.reading.end_of_item();
        let piece = fields.piece(self.place(rule.span));
        self.item(&rule.name, piece, Some(User::Rule(rule.name.node.clone())))
    }

    /// Severity, message, and what missing data counts as.
    fn otherwise(&mut self, rule: &ast::Rule, fields: &mut Fields) {
        let Some(otherwise) = &rule.otherwise else { return };
        let severity = otherwise.severity.node;
        let word = severity.word();
        let span = otherwise.severity.span;
        fields
            .add("severity", self.leaf(&fields.path("severity"), span, &Worth::words(word), word.to_owned()));
        let worth = self.reading.message(&otherwise.message);
        let span = otherwise.message.span;
        fields.add("message", self.leaf(&fields.path("message"), span, &worth, self.words_at(span)));
        // Without a word of its own, missing data counts as what is broken: the same, said or not.
        let (span, words) = match &rule.if_unrecorded {
            Some(said) => match said.node {
                Unrecorded::Pass => (said.span, "pass"),
                Unrecorded::As(own) if own != severity => (said.span, own.word()),
                Unrecorded::As(_) => (said.span, AS_BROKEN),
            },
            None => (otherwise.severity.span, AS_BROKEN),
        };
        let piece = self.leaf(&fields.path("if_unrecorded"), span, &Worth::words(words), words.to_owned());
        fields.add("if_unrecorded", piece);
    }

    fn concession(&self, path: &str, concession: &Concession) -> Piece {
        match concession {
            Concession::Never(span) => {
                self.leaf(path, *span, &Worth::Of("never", Vec::new()), "never".to_owned())
            }
            Concession::By(roles) => {
                let span = roles.iter().map(|role| role.span).reduce(Span::to).unwrap_or_default();
                let names: BTreeSet<&str> = roles.iter().map(|role| role.node.as_str()).collect();
                let worth = Worth::Of("by", names.iter().map(|name| Worth::words(name)).collect());
                let names: Vec<&str> = names.into_iter().collect();
                self.leaf(path, span, &worth, format!("by {}", names.join(" or ")))
            }
        }
    }
}

/// What missing data counts as where the rule says nothing else.
const AS_BROKEN: &str = "as when broken";

/// The fields of an item, and its path.
struct Fields {
    of: String,
    list: Vec<Field>,
}

impl Fields {
    fn new(of: &str) -> Fields {
        Fields { of: of.to_owned(), list: Vec::new() }
    }

    fn path(&self, name: &str) -> String {
        format!("{}.{name}", self.of)
    }

    fn add(&mut self, name: &str, piece: Piece) {
        self.list.push(Field { name: name.to_owned(), piece });
    }

    fn piece(self, place: Place) -> Piece {
        Piece::group(place, self.of, self.list)
    }
}
