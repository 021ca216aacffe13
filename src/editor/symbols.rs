//! What each name in a rule file refers to, told from the file as it was read: it need not be right to be gone through.

use std::sync::Arc;

use crate::document::{Form, Forms, Record, Shape};
use crate::language::ast::{
    self, Base, Concerns, Each, Entries, Expr, ExprKind, File, Item, Let, Name, Parameter, Part, Rule, Start,
    Table, Trial,
};
use crate::language::builtins::{self, Builtin};
use crate::language::{Clauses, Wanted, parse_again};
use crate::source::{SourceId, Span};
use crate::trade::form;

/// What a definition defines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A standard.
    Standard,
    /// A rule.
    Rule,
    /// A named value.
    Let,
    /// A limit that maker or workshop state.
    Parameter,
    /// Keyed rows.
    Table,
    /// A record that trials share.
    Base,
    /// A name for an entry of a list.
    Variable,
}

impl What {
    /// It in a word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            What::Standard => "standard",
            What::Rule => "rule",
            What::Let => "let",
            What::Parameter => "parameter",
            What::Table => "table",
            What::Base => "given record",
            What::Variable => "variable",
        }
    }
}

/// A name that the file defines.
#[derive(Clone, Debug)]
pub struct Definition {
    /// What it is.
    pub what: What,
    /// The name.
    pub name: String,
    /// Where the name is.
    pub at: Span,
    /// All of it.
    pub whole: Span,
    /// Its title, where it has one.
    pub title: Option<String>,
    /// For an entry of a list, its fields.
    record: Option<Arc<Record>>,
}

/// What a name refers to.
#[derive(Clone, Debug)]
pub enum Target {
    /// A definition of the file, by its number.
    Own(usize),
    /// A builtin.
    Builtin(&'static Builtin),
    /// A field or link of a group.
    Field(Arc<Record>, String),
    /// A rule of another standard.
    OtherRule(String),
    /// What this file does not define: a name of a file that it uses, or one that nothing has.
    Elsewhere(String),
}

/// A name where it is used.
#[derive(Clone, Debug)]
pub struct Use {
    /// Where.
    pub at: Span,
    /// What it refers to.
    pub target: Target,
}

/// All names of a rule file.
#[derive(Debug)]
pub struct Symbols {
    /// The file as it was read.
    pub file: File,
    /// What it defines.
    pub definitions: Vec<Definition>,
    /// The names in it, those of definitions among them.
    pub uses: Vec<Use>,
}

impl Symbols {
    /// Those of a text, of which some may have been read before.
    #[must_use]
    pub fn of(text: &str, forms: &Forms, known: Option<&Clauses>) -> Symbols {
        let (file, _) = parse_again(SourceId::FIRST, text, Wanted::All, known);
        let judged = file.items.iter().find_map(|item| match item {
            Item::Standard(standard) => Some(standard.judges.as_ref()?.node.clone()),
            _ => None,
        });
        let form = forms.get(judged.as_deref().unwrap_or(form::JOB)).map(|form| &**form);
        let mut walk = Walk {
            forms,
            root: form.map(Form::record).cloned(),
            definitions: Vec::new(),
            uses: Vec::new(),
            scope: Vec::new(),
        };
        walk.declare(&file);
        file.items.iter().for_each(|item| walk.item(item));
        let Walk { definitions, mut uses, .. } = walk;
        uses.sort_by_key(|one| one.at);
        Symbols { file, definitions, uses }
    }

    /// The name at an offset.
    #[must_use]
    pub fn at(&self, offset: u32) -> Option<&Use> {
        self.uses.iter().find(|one| one.at.start <= offset && offset <= one.at.end)
    }

    /// The definition of this name that other rule files can use.
    #[must_use]
    pub fn lent(&self, name: &str) -> Option<usize> {
        (0..self.definitions.len()).find(|number| {
            self.definitions.get(*number).is_some_and(|one| one.name == name) && self.is_lent(*number)
        })
    }

    /// Whether other rule files can use a definition: a name of the whole file.
    #[must_use]
    pub fn is_lent(&self, number: usize) -> bool {
        let what = self.definitions.get(number).map(|one| one.what);
        matches!(what, Some(What::Let | What::Parameter | What::Table | What::Base))
            && !is_hidden(&self.definitions, number)
    }

    /// The files that a line `use` names, as it names them.
    pub fn used(&self) -> impl Iterator<Item = &str> {
        self.file.items.iter().filter_map(|item| match item {
            Item::Use(used) => Some(used.path.node.as_str()),
            _ => None,
        })
    }

    /// Where a name of another file is used.
    pub fn uses_from_elsewhere(&self, name: &str) -> impl Iterator<Item = Span> {
        let is_it = move |one: &&Use| matches!(&one.target, Target::Elsewhere(other) if other == name);
        self.uses.iter().filter(is_it).map(|one| one.at)
    }

    /// Where a definition is named, itself among them.
    pub fn uses_of(&self, number: usize) -> impl Iterator<Item = Span> {
        let is_it = move |one: &&Use| matches!(one.target, Target::Own(own) if own == number);
        self.uses.iter().filter(is_it).map(|one| one.at)
    }
}

struct Walk<'f> {
    forms: &'f Forms,
    root: Option<Arc<Record>>,
    definitions: Vec<Definition>,
    uses: Vec<Use>,
    /// The names in sight of a rule, the innermost last.
    scope: Vec<usize>,
}

impl Walk<'_> {
    fn define(&mut self, what: What, name: &Name, whole: Span, title: Option<&str>) -> usize {
        let number = self.definitions.len();
        let title = title.map(str::to_owned);
        self.definitions.push(Definition {
            what,
            name: name.node.clone(),
            at: name.span,
            whole,
            title,
            record: None,
        });
        self.uses.push(Use { at: name.span, target: Target::Own(number) });
        number
    }

    /// What can be named before it is written.
    fn declare(&mut self, file: &File) {
        for item in &file.items {
            match item {
                Item::Standard(one) => {
                    let title = one.title.as_ref().map(|title| &*title.node);
                    self.define(What::Standard, &one.name, one.span, title);
                }
                Item::Let(one) => {
                    self.define(What::Let, &one.name, one.span, None);
                }
                Item::Parameter(one) => {
                    self.define(What::Parameter, &one.name, one.span, Some(&one.title.node));
                }
                Item::Table(one) => {
                    self.define(What::Table, &one.name, one.span, None);
                }
                Item::Rule(one) => {
                    let title = one.title.as_ref().map(|title| &*title.node);
                    self.define(What::Rule, &one.name, one.span, title);
                }
                Item::Base(one) => {
                    self.define(What::Base, &one.name, one.span, None);
                }
                Item::Use(_) => {}
            }
        }
    }

    fn item(&mut self, item: &Item) {
        match item {
            Item::Standard(one) => one.condition.iter().for_each(|condition| self.expr(condition)),
            Item::Let(one) => self.named(one),
            Item::Parameter(one) => self.parameter(one),
            Item::Table(one) => self.table(one),
            Item::Rule(one) => self.rule(one),
            Item::Base(one) => self.base(one),
            Item::Use(_) => {}
        }
        self.scope.clear();
    }

    fn entries(&mut self, entries: Option<&Entries>) {
        if let Some(Entries { variable, list }) = entries {
            self.variable(variable, list);
        }
    }

    /// A name for the entries of a list.
    fn variable(&mut self, name: &Name, list: &Expr) {
        self.expr(list);
        let record = self.record_of(list);
        let number = self.define(What::Variable, name, name.span, None);
        if let Some(definition) = self.definitions.get_mut(number) {
            definition.record = record;
        }
        self.scope.push(number);
    }

    fn named(&mut self, one: &Let) {
        self.entries(one.entries.as_ref());
        self.expr(&one.value);
    }

    fn parameter(&mut self, one: &Parameter) {
        self.entries(one.entries.as_ref());
        let all = one.keys.iter().chain(&one.from).chain(&one.default);
        all.for_each(|expr| self.expr(expr));
    }

    fn table(&mut self, one: &Table) {
        one.keys.iter().for_each(|key| self.expr(key));
        one.rows.iter().for_each(|row| self.expr(&row.value));
    }

    fn base(&mut self, one: &Base) {
        self.start(&one.record);
    }

    fn start(&mut self, start: &Start) {
        if let Start::From(name) = start
            && !self.look_up(name, &[What::Base])
        {
            self.uses.push(Use { at: name.span, target: Target::Elsewhere(name.node.clone()) });
        }
    }

    fn rule(&mut self, rule: &Rule) {
        if let Some(Concerns { subjects, condition, .. }) = &rule.concerns {
            subjects.iter().for_each(|each| self.each(each));
            condition.iter().for_each(|condition| self.expr(condition));
        }
        for one in &rule.lets {
            self.expr(&one.value);
            let number = self.define(What::Let, &one.name, one.span, None);
            self.scope.push(number);
        }
        rule.demands.iter().for_each(|demand| self.expr(demand));
        rule.otherwise.iter().for_each(|said| self.message(&said.message));
        rule.replaces.iter().for_each(|name| self.replaced(name));
        rule.trials.iter().for_each(|trial| self.trial(trial));
    }

    fn replaced(&mut self, name: &Name) {
        if !self.look_up(name, &[What::Rule]) {
            self.uses.push(Use { at: name.span, target: Target::OtherRule(name.node.clone()) });
        }
    }

    fn trial(&mut self, trial: &Trial) {
        self.start(&trial.record);
        for change in &trial.changes {
            let name = ast::Name { node: change.path.node.clone(), span: change.path.span };
            let is_known = self.look_up(&name, &[What::Parameter]);
            let is_name = !name.node.contains(['.', '[']);
            let is_field =
                || self.root.as_ref().is_some_and(|root| below(root, &name.node, self.forms).is_some());
            if !is_known && is_name && !is_field() {
                self.uses.push(Use { at: name.span, target: Target::Elsewhere(name.node.clone()) });
            }
            let value = change.to.as_ref().and_then(|to| to.value.as_ref());
            value.into_iter().for_each(|value| self.expr(value));
        }
    }

    fn each(&mut self, each: &Each) {
        self.variable(&each.variable, &each.list);
        each.condition.iter().for_each(|condition| self.expr(condition));
        if let Some(group) = &each.group {
            group.keys.iter().for_each(|key| self.expr(key));
            let of = self.scope.last().and_then(|number| self.definitions.get(*number)?.record.clone());
            let number = self.define(What::Variable, &group.name, group.name.span, None);
            if let Some(definition) = self.definitions.get_mut(number) {
                definition.record = of;
            }
            self.scope.push(number);
        }
        each.message.iter().for_each(|message| self.message(message));
    }

    fn message(&mut self, message: &ast::Message) {
        for part in &message.parts {
            if let Part::Value(value) = part {
                self.expr(value);
            }
        }
    }

    /// The definition that a name in sight has.
    fn known(&self, name: &str, what: &[What]) -> Option<usize> {
        let is_it = |number: &usize| self.definitions.get(*number).is_some_and(|one| one.name == name);
        let in_sight = self.scope.iter().rev().copied().find(|number| is_it(number));
        in_sight.filter(|_| what.contains(&What::Let)).or_else(|| {
            let of_file =
                self.definitions.iter().position(|one| one.name == name && what.contains(&one.what));
            of_file.filter(|number| !is_hidden(&self.definitions, *number))
        })
    }

    fn look_up(&mut self, name: &Name, what: &[What]) -> bool {
        let found = self.known(&name.node, what);
        self.uses.extend(found.map(|number| Use { at: name.span, target: Target::Own(number) }));
        found.is_some()
    }

    fn path(&mut self, path: &[Name]) {
        let Some((first, rest)) = path.split_first() else { return };
        let known = self.known(&first.node, &VALUES);
        let mut record = match known {
            Some(number) => {
                self.uses.push(Use { at: first.span, target: Target::Own(number) });
                self.definitions.get(number).and_then(|one| one.record.clone())
            }
            None => {
                let root = self.root.clone();
                let is_field =
                    root.as_ref().is_some_and(|root| below(root, &first.node, self.forms).is_some());
                if !is_field {
                    self.uses.push(Use { at: first.span, target: Target::Elsewhere(first.node.clone()) });
                }
                self.field(root, first)
            }
        };
        for name in rest {
            record = self.field(record, name);
        }
    }

    /// A field of a group, and the group that it is, if it is one.
    fn field(&mut self, record: Option<Arc<Record>>, name: &Name) -> Option<Arc<Record>> {
        let record = record?;
        let next = below(&record, &name.node, self.forms)?;
        self.uses.push(Use { at: name.span, target: Target::Field(record, name.node.clone()) });
        next
    }

    /// The group that an entry of a list is.
    fn record_of(&self, list: &Expr) -> Option<Arc<Record>> {
        let ExprKind::Path(path) = &list.kind else { return None };
        let (first, rest) = path.split_first()?;
        let mut record = match self.known(&first.node, &VALUES) {
            Some(number) => self.definitions.get(number)?.record.clone()?,
            None => below(self.root.as_ref()?, &first.node, self.forms)??,
        };
        for name in rest {
            record = below(&record, &name.node, self.forms)??;
        }
        Some(record)
    }

    fn expr(&mut self, expr: &Expr) {
        match &expr.kind {
            ExprKind::Number(_)
            | ExprKind::Quantity(_)
            | ExprKind::Text(_)
            | ExprKind::Truth(_)
            | ExprKind::Day(_) => {}
            ExprKind::WordList(_) => {}
            ExprKind::EntriesOf(lists) => lists.iter().for_each(|list| self.expr(list)),
            ExprKind::Path(path) => self.path(path),
            ExprKind::Lookup { table, keys } => {
                if !self.look_up(table, &[What::Table]) {
                    self.uses.push(Use { at: table.span, target: Target::Elsewhere(table.node.clone()) });
                }
                keys.iter().for_each(|key| self.expr(key));
            }
            ExprKind::Of { name, entry } => {
                if !self.look_up(name, &VALUES) {
                    self.uses.push(Use { at: name.span, target: Target::Elsewhere(name.node.clone()) });
                }
                self.expr(entry);
            }
            ExprKind::Cases(cases) => {
                cases.iter().flat_map(ast::Case::parts).for_each(|part| self.expr(part))
            }
            ExprKind::Call { function, arguments } => {
                let builtin = builtins::all().find(|builtin| builtin.name == function.node);
                self.uses.extend(
                    builtin.map(|builtin| Use { at: function.span, target: Target::Builtin(builtin) }),
                );
                arguments.iter().for_each(|argument| self.expr(argument));
            }
            ExprKind::Range(form) => form.operands().for_each(|operand| self.expr(operand)),
            ExprKind::Not(inner)
            | ExprKind::Minus(inner)
            | ExprKind::Recorded(inner)
            | ExprKind::Rate(inner)
            | ExprKind::Decided(_, inner) => self.expr(inner),
            ExprKind::Logic(_, left, right)
            | ExprKind::Arithmetic(_, left, right)
            | ExprKind::Compare(_, left, right)
            | ExprKind::Within(left, right) => {
                self.expr(left);
                self.expr(right);
            }
            ExprKind::OneOf { value, options, .. } => {
                self.expr(value);
                options.iter().for_each(|option| self.expr(option));
            }
            ExprKind::Timed(timed) => timed.operands().for_each(|operand| self.expr(operand)),
            ExprKind::Quantified { variable, list, condition, body, .. } => {
                self.variable(variable, list);
                condition.iter().for_each(|condition| self.expr(condition));
                self.expr(body);
                self.scope.pop();
            }
            ExprKind::Aggregate { value, variable: Some(variable), list, condition, .. } => {
                self.variable(variable, list);
                condition.iter().chain(value).for_each(|part| self.expr(part));
                self.scope.pop();
            }
            ExprKind::Aggregate { list, .. } => self.expr(list),
        }
    }
}

/// What a path can begin with, besides fields.
const VALUES: [What; 3] = [What::Let, What::Parameter, What::Table];

/// Whether a let is one of a rule, which is in sight only there: such a one is defined behind those of the file.
fn is_hidden(definitions: &[Definition], number: usize) -> bool {
    let Some(one) = definitions.get(number) else { return true };
    let is_within = |rule: &Definition| {
        rule.what == What::Rule && rule.whole.start < one.whole.start && one.whole.end <= rule.whole.end
    };
    one.what == What::Let && definitions.iter().any(is_within)
}

/// The field or link of a group; the group that it is, if it is one. Nothing where there is none.
#[must_use]
pub fn below(record: &Arc<Record>, name: &str, forms: &Forms) -> Option<Option<Arc<Record>>> {
    if let Some((_, field)) = record.field(name) {
        let mut shape = &field.shape;
        while let Shape::List(entry) = shape {
            shape = entry;
        }
        return Some(match shape {
            Shape::Record(record) => Some(Arc::clone(record)),
            _ => None,
        });
    }
    let (_, link) = record.link(name)?;
    Some(link.record(record, forms))
}
