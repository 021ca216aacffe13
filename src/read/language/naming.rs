//! Which values a rule names, of those that some rule must judge: told from the rules alone.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::document::{Judged, Link, Record, Target};
use crate::language::ast::Comparison;
use crate::language::builtins::MENTIONS;
use crate::language::ids::{Arena, Id, LetId, RuleId};
use crate::language::typed::{Concerns, Each, Expr, ExprKind, Let, Program, Rule};
use crate::language::types::Type;
use crate::value::Value;

/// What an expression names.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Names {
    /// A value that must be looked at.
    pub value: bool,
    /// One of which it is enough that somebody asks for it.
    pub recorded: bool,
    /// Something of a tool in the register. A value that is compared with it is not judged by that: what a tool can
    /// measure says nothing about the work.
    pub tool: bool,
}

impl Names {
    /// Whether it names any of them.
    #[must_use]
    pub fn any(self) -> bool {
        self.value || self.recorded
    }

    fn and(self, other: Names) -> Names {
        Names {
            value: self.value || other.value,
            recorded: self.recorded || other.recorded,
            tool: self.tool || other.tool,
        }
    }
}

/// What a field asks for, of the type of its group.
#[must_use]
pub fn judged(base: &Expr, index: u16) -> Option<Judged> {
    let Type::Record(record) = &base.ty else { return None };
    record.fields.get(usize::from(index))?.judged
}

/// What the fields ask for by which a link finds its way.
fn keys(record: &Record, link: &Link) -> Names {
    let judged = link.by.iter().filter_map(|(own, _)| record.field(own)?.1.judged);
    judged.fold(Names::default(), |names, _| Names { recorded: true, ..names })
}

/// What an expression names; `of_let` knows what the lets do.
fn named(expr: &Expr, of_let: &mut dyn FnMut(LetId) -> Names) -> Names {
    let mut own = match &expr.kind {
        ExprKind::Field { base, index, .. } => match judged(base, *index) {
            Some(Judged::Value) => Names { value: true, ..Names::default() },
            Some(Judged::Recorded) => Names { recorded: true, ..Names::default() },
            None => Names::default(),
        },
        ExprKind::Link { base, link, .. } => match &base.ty {
            Type::Record(record) => {
                let tool = matches!(link.to, Target::Register | Target::InRegister(_));
                Names { tool, ..keys(record, link) }
            }
            _ => Names::default(),
        },
        ExprKind::Let(number, _) => of_let(*number),
        _ => Names::default(),
    };
    expr.for_each_part(&mut |part| own = own.and(named(part, of_let)));
    match expr.kind {
        ExprKind::Recorded(_) => Names { value: false, ..own },
        ExprKind::Compare(..) | ExprKind::Within(..) if own.tool => Names { value: false, ..own },
        _ => own,
    }
}

/// What each let names. One that names another comes to it whichever is declared first.
pub(super) fn of_lets(lets: &Arena<LetId, Let>) -> Arena<LetId, Names> {
    let mut known = vec![None; lets.all().len()];
    let mut names = Arena::default();
    for id in lets.ids() {
        names.push(of_let(lets, &mut known, id));
    }
    names
}

fn of_let(lets: &Arena<LetId, Let>, known: &mut Vec<Option<Names>>, id: LetId) -> Names {
    if let Some(Some(names)) = known.get(id.place()) {
        return *names;
    }
    let names = named(&lets[id].value, &mut |other| of_let(lets, known, other));
    if let Some(known) = known.get_mut(id.place()) {
        *known = Some(names);
    }
    names
}

/// Whether a demand of a rule, or a number of subjects that it wants, names any value that must be judged.
pub(super) fn judges(rule: &Rule, lets: &Arena<LetId, Names>) -> bool {
    let any = |expr: &Expr| named(expr, &mut |id| lets[id]).any();
    let counted = |each: &Each| each.count.is_some() && each.condition.as_ref().is_some_and(any);
    let counts = match &rule.concerns {
        Concerns::Each(nested) => nested.iter().any(counted),
        Concerns::Document(_) => false,
    };
    counts || rule.demands.iter().any(any)
}

impl Program {
    /// What an expression names of the values that some rule must judge.
    #[must_use]
    pub fn names(&self, expr: &Expr) -> Names {
        named(expr, &mut |id| self.named_by_lets[id])
    }
}

/// A field of a group, by the title of the group.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct FieldOf {
    /// The title of the group.
    pub group: String,
    /// The name of the field.
    pub field: Arc<str>,
}

/// What a rule, or the condition of a standard, says in words that a document can be compared with.
#[derive(Clone, Debug, Default)]
pub struct Said {
    /// The values that it judges.
    pub judges: BTreeSet<FieldOf>,
    /// The words with which it compares fields, in favour of them.
    pub words: BTreeSet<(FieldOf, String)>,
    /// The words that it looks for within a field.
    pub mentions: BTreeSet<(FieldOf, String)>,
    /// The fields that it compares with words, in favour of them or against.
    pub compares: BTreeSet<FieldOf>,
    /// Whether it goes through entries of the procedure that a job names, or demands something of it.
    pub follows_procedure: bool,
}

impl Program {
    /// What each rule says.
    #[must_use]
    pub fn said(&self) -> Arena<RuleId, Said> {
        let mut said = Arena::default();
        for rule in self.rules.all() {
            said.push(self.said_by(rule));
        }
        said
    }

    fn said_by(&self, rule: &Rule) -> Said {
        let mut reader = Reader { program: self, said: Said::default(), lets: BTreeSet::new() };
        match &rule.concerns {
            Concerns::Document(condition) => {
                condition.iter().for_each(|condition| reader.words(condition, true))
            }
            Concerns::Each(nested) => {
                reader.said.follows_procedure = nested.iter().any(|each| leads_to_procedure(&each.list));
                for condition in nested.iter().filter_map(|each| each.condition.as_ref()) {
                    reader.words(condition, true);
                }
                let counted = nested.iter().filter(|each| each.count.is_some());
                counted
                    .filter_map(|each| each.condition.as_ref())
                    .for_each(|condition| reader.values(condition));
            }
        }
        for demand in &rule.demands {
            reader.words(demand, true);
            reader.values(demand);
        }
        reader.said
    }

    /// What a condition says.
    #[must_use]
    pub fn said_in(&self, condition: &Expr) -> Said {
        let mut reader = Reader { program: self, said: Said::default(), lets: BTreeSet::new() };
        reader.words(condition, true);
        reader.said
    }
}

struct Reader<'p> {
    program: &'p Program,
    said: Said,
    /// The lets that were gone through, in favour and against.
    lets: BTreeSet<(LetId, Option<bool>)>,
}

impl<'p> Reader<'p> {
    /// Notes the words with which fields are compared; `favoured` where the comparison is to hold.
    fn words(&mut self, expr: &'p Expr, favoured: bool) {
        match &expr.kind {
            ExprKind::Not(inner) => return self.words(inner, !favoured),
            ExprKind::Compare(comparison @ (Comparison::Is | Comparison::IsNot), left, right) => {
                let favoured = favoured == (*comparison == Comparison::Is);
                self.compared(left, right, favoured);
                self.compared(right, left, favoured);
            }
            ExprKind::OneOf { value, negated, options } => {
                options.iter().for_each(|option| self.compared(value, option, favoured != *negated));
            }
            ExprKind::Lookup { table, keys } => {
                for (number, key) in keys.iter().enumerate() {
                    let rows = self.program.tables()[*table].rows.keys();
                    let words = rows.filter_map(|row| row.get(number).cloned());
                    self.word(key, words.collect(), true);
                }
            }
            ExprKind::Call { builtin, arguments } if builtin.name == MENTIONS => {
                if let [field, words] = arguments.as_slice() {
                    let words = self.written(words);
                    for field in fields_of(field) {
                        self.said.mentions.extend(words.iter().map(|word| (field.clone(), word.clone())));
                    }
                }
            }
            ExprKind::Let(id, _) if self.lets.insert((*id, Some(favoured))) => {
                self.words(&self.program.lets()[*id].value, favoured);
            }
            _ => {}
        }
        expr.for_each_part(&mut |part| self.words(part, favoured));
    }

    fn compared(&mut self, field: &Expr, word: &Expr, favoured: bool) {
        let words = self.written(word);
        if !words.is_empty() {
            self.word(field, words, favoured);
        }
    }

    /// The words that an expression is: one, those of a list, or none where it is something else.
    fn written(&self, words: &Expr) -> Vec<String> {
        let mut at = words;
        while let ExprKind::Let(id, _) = &at.kind {
            at = &self.program.lets()[*id].value;
        }
        let value = match &at.kind {
            ExprKind::Constant(value) => Some(value),
            ExprKind::Parameter(id, _) => self.program.parameters()[*id].value(),
            _ => None,
        };
        match value {
            Some(Value::Text(text)) => vec![text.to_string()],
            Some(Value::Words(words)) => words.iter().map(ToString::to_string).collect(),
            _ => Vec::new(),
        }
    }

    fn word(&mut self, field: &Expr, words: Vec<String>, favoured: bool) {
        for field in fields_of(field) {
            if favoured {
                self.said.words.extend(words.iter().map(|word| (field.clone(), word.clone())));
            }
            self.said.compares.insert(field);
        }
    }

    /// Notes the values that an expression names, of those that some rule must judge.
    fn values(&mut self, expr: &'p Expr) {
        match &expr.kind {
            ExprKind::Field { base, index, .. } if judged(base, *index).is_some() => {
                self.said.judges.extend(fields_of(expr));
            }
            ExprKind::Link { base, link, .. } => {
                self.said.follows_procedure |= leads_to_procedure(expr);
                let Type::Record(record) = &base.ty else { return };
                self.said.judges.extend(link.by.iter().flat_map(|(own, _)| named_in(record, own)));
            }
            ExprKind::Compare(..) | ExprKind::Within(..) if self.program.names(expr).tool => {
                return expr.for_each_part(&mut |part| {
                    if self.program.names(part).tool {
                        self.values(part);
                    }
                });
            }
            ExprKind::Let(id, _) if self.lets.insert((*id, None)) => {
                self.values(&self.program.lets()[*id].value);
            }
            _ => {}
        }
        expr.for_each_part(&mut |part| self.values(part));
    }
}

/// Whether a path leads into the procedure that a job names.
fn leads_to_procedure(path: &Expr) -> bool {
    let own = match &path.kind {
        ExprKind::Link { link, .. } => {
            matches!(link.to, Target::Procedure | Target::InProcedure(_) | Target::Alongside(_))
        }
        _ => false,
    };
    let mut any = own;
    path.for_each_part(&mut |part| any |= leads_to_procedure(part));
    any
}

/// The field that an expression is: of an entry of several lists, that of each list which has it.
#[must_use]
pub fn fields_of(expr: &Expr) -> Vec<FieldOf> {
    let ExprKind::Field { base, name, .. } = &expr.kind else { return Vec::new() };
    let Type::Record(record) = &base.ty else { return Vec::new() };
    named_in(record, name)
}

fn named_in(record: &Record, name: &Arc<str>) -> Vec<FieldOf> {
    let of = |record: &Record| FieldOf { group: record.title.clone(), field: Arc::clone(name) };
    match record.is_mixed() {
        true => record.lists_with(name).map(|list| of(&list.record)).collect(),
        false => vec![of(record)],
    }
}
