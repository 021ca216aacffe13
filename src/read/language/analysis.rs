//! What the rules of a program read of a document and what they ask of single fields, told from the
//! rules alone, before there is a document.
//!
//! Fields are named by patterns: `fluid.drained.volume`, `fastenings[].torque`, where `[]` stands for
//! each element of a list.

mod conditions;
mod decide;
mod names;
mod several;

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::sync::Arc;

use self::decide::Decision;
use self::names::Entered;
use crate::document::path::Every;
use crate::document::{Link, PathPattern, Target};
use crate::language::ast::{Comparison, Count, Logic};
use crate::language::builtins::Tells;
use crate::language::ids::ParameterId;
use crate::language::typed::{Concerns, Each, Expr, ExprKind, Part, Program, Rule, Standard};
use crate::language::types::Type;
use crate::metrology::conformity::DecisionRule;
use crate::quantity::Range;
use crate::source::Place;
use crate::value::Value;

/// Texts that are known of the document itself, by the path of their field: `unit.kind`.
pub type Facts = BTreeMap<PathPattern, String>;

/// What is known of a document that is still to be written. Fields are asked for by their patterns, for
/// one element of each list on the way.
#[derive(Clone, Copy)]
pub struct Known<'k> {
    /// The text of a field, where it is settled; of a truth `yes` or `no`.
    pub text: &'k dyn Fn(&PathPattern) -> Option<String>,
    /// Whether a field can be recorded at all.
    pub present: &'k dyn Fn(&PathPattern) -> bool,
}

/// A field that a rule reads.
#[derive(Clone, Debug)]
pub struct Read<'p> {
    /// The pattern of the field.
    pub path: PathPattern,
    /// The conditions under which it is read.
    pub guards: Vec<Guard<'p>>,
    /// The rule; none for the condition of a standard.
    pub rule: Option<&'p Rule>,
}

/// A condition on the elements through which a field is reached, or on the whole document.
#[derive(Clone, Debug)]
pub enum Guard<'p> {
    /// What a rule says.
    Holds {
        /// The condition.
        condition: &'p Expr,
        /// The patterns of the variables on the way.
        scope: Scope,
    },
    /// What a rule says must not be so.
    Fails {
        /// The condition.
        condition: &'p Expr,
        /// The patterns of the variables on the way.
        scope: Scope,
    },
    /// A list is there: a rule for each of its elements asks for none.
    Present(PathPattern),
}

/// The patterns for which variables stand, by their numbers.
pub type Scope = BTreeMap<usize, PathPattern>;

/// Something that a rule asks of one field.
#[derive(Clone, Debug)]
pub struct Wanted<'p> {
    /// The rule.
    pub rule: &'p Rule,
    /// The pattern of the field.
    pub path: PathPattern,
    /// The conditions under which it is asked.
    pub guards: Vec<Guard<'p>>,
    /// What is asked.
    pub limit: Limit,
    /// By which rule readings with an uncertainty are decided, where the demand says so.
    pub decision: Option<&'p DecisionRule>,
}

/// What one field must be.
#[derive(Clone, Debug, PartialEq)]
pub enum Limit {
    /// A quantity within a range.
    Within(Arc<Range>),
    /// One of these texts, or none of them.
    Words {
        /// The texts.
        words: Vec<String>,
        /// Whether the field must not be one of them.
        refused: bool,
    },
    /// Yes or no.
    Truth(bool),
    /// A text of this pattern, as the builtin `follows_pattern` has it.
    Pattern(String),
}

/// A pattern in words, with what each sign in it stands for.
#[must_use]
pub fn pattern_in_words(pattern: &str) -> String {
    const SIGNS: [(char, &str); 3] = [('#', "a digit"), ('@', "a letter"), ('~', "anything")];
    let used = SIGNS.iter().filter(|(sign, _)| pattern.contains(*sign));
    let said: Vec<String> = used.map(|(sign, what)| format!("{sign} {what}")).collect();
    match said.is_empty() {
        true => format!("written {pattern}"),
        false => format!("written like {pattern} ({})", said.join(", ")),
    }
}

/// A list in which a rule asks for a number of elements.
#[derive(Clone, Debug)]
pub struct Asked<'p> {
    /// The rule.
    pub rule: &'p Rule,
    /// The pattern of the list.
    pub list: PathPattern,
    /// Which elements are meant.
    pub which: Option<Guard<'p>>,
    /// What such an element is known to hold: the field below it and its text.
    pub holds: Option<(String, String)>,
    /// The conditions under which they are asked for.
    pub guards: Vec<Guard<'p>>,
}

/// All that the standards in force want of documents of one form.
#[derive(Debug, Default)]
pub struct Reading<'p> {
    /// What is read, each field once for each rule that reads it.
    pub reads: Vec<Read<'p>>,
    /// What is asked of single fields.
    pub wanted: Vec<Wanted<'p>>,
    /// The lists that must not be empty.
    pub asked: Vec<Asked<'p>>,
}

/// The standards that apply to a document of this form of which these facts are known, and that it will have these
/// fields.
pub fn in_force<'p>(
    program: &'p Program,
    form: &'p str,
    facts: &'p Facts,
    fields: &BTreeSet<PathPattern>,
) -> impl Iterator<Item = &'p Standard> {
    program.standards().iter().filter(move |standard| {
        let present =
            |path: &PathPattern| fields.contains(path) || facts.keys().any(|known| known.is_within(path));
        let known = Known { text: &|path| facts.get(path).cloned(), present: &present };
        standard.form == form
            && standard.condition.as_ref().is_none_or(|condition| {
                let guard = Guard::Holds { condition, scope: Scope::new() };
                guard.decide(program, known) != Some(false)
            })
    })
}

impl<'p> Reading<'p> {
    /// What the standards in force read of documents of this form, and ask of them.
    #[must_use]
    pub fn of(
        program: &'p Program,
        form: &'p str,
        facts: &'p Facts,
        fields: &BTreeSet<PathPattern>,
    ) -> Reading<'p> {
        let mut reading = Reading::default();
        for standard in in_force(program, form, facts, fields) {
            let mut walk = Walk::new(program, facts, &mut reading);
            if let Some(condition) = &standard.condition {
                walk.expr(condition);
            }
            for (_, rule) in program.rules_of(standard) {
                Walk::new(program, facts, &mut reading).rule(rule);
            }
        }
        reading
    }
}

impl Guard<'_> {
    /// Where the condition is written; of a list that must be there, nowhere.
    fn place(&self) -> Option<Place> {
        match self {
            Guard::Holds { condition, .. } | Guard::Fails { condition, .. } => Some(condition.place),
            Guard::Present(_) => None,
        }
    }

    /// Whether the condition holds, as far as the known texts tell.
    #[must_use]
    pub fn decide(&self, program: &Program, known: Known<'_>) -> Option<bool> {
        match self {
            Guard::Holds { condition, scope } => Decision::new(program, scope, known).of(condition),
            Guard::Fails { condition, scope } => {
                Decision::new(program, scope, known).of(condition).map(|truth| !truth)
            }
            Guard::Present(list) => {
                if (known.present)(list) {
                    None
                } else {
                    Some(false)
                }
            }
        }
    }
}

/// A variable that stands for an element of a list.
#[derive(Clone)]
struct Bound<'p> {
    /// The pattern of the element.
    path: PathPattern,
    /// The variables through which it is reached, its own last.
    scope: Scope,
    guards: Vec<Guard<'p>>,
}

/// A path into the document.
#[derive(Clone)]
struct Reached<'p> {
    path: PathPattern,
    scope: Scope,
    guards: Vec<Guard<'p>>,
}

struct Walk<'p, 'r> {
    program: &'p Program,
    /// The rule that is gone through.
    rule: Option<&'p Rule>,
    facts: &'p Facts,
    reading: &'r mut Reading<'p>,
    /// The conditions of the rule as a whole.
    whole: Vec<Guard<'p>>,
    /// The conditions of the part of an expression that is gone through.
    here: Vec<Guard<'p>>,
    variables: BTreeMap<usize, Bound<'p>>,
    /// The lets that were gone through: one set for the whole, and one for each of the conditions `here`. What was read under
    /// fewer conditions need not be read again.
    lets: Vec<HashSet<Entered>>,
    /// How many lets were gone through.
    entered: usize,
    /// How many of several lists were gone through.
    lists: usize,
    decision: Option<&'p DecisionRule>,
}

impl<'p, 'r> Walk<'p, 'r> {
    fn new(program: &'p Program, facts: &'p Facts, reading: &'r mut Reading<'p>) -> Self {
        Walk {
            program,
            rule: None,
            facts,
            reading,
            whole: Vec::new(),
            here: Vec::new(),
            variables: BTreeMap::new(),
            lets: vec![HashSet::new()],
            entered: 0,
            lists: 0,
            decision: None,
        }
    }

    fn rule(&mut self, rule: &'p Rule) {
        self.rule = Some(rule);
        rule.period.iter().for_each(|period| self.expr(period));
        match &rule.concerns {
            Concerns::Document(None) => {}
            Concerns::Document(Some(condition)) => {
                self.expr(condition);
                self.whole.push(Guard::Holds { condition, scope: Scope::new() });
            }
            Concerns::Each(nested) => return self.subjects(rule, nested),
        }
        self.demands(rule);
    }

    fn demands(&mut self, rule: &'p Rule) {
        for demand in &rule.demands {
            self.expr(demand);
            self.required(demand);
            self.wants(rule, demand);
        }
        self.message(&rule.message);
    }

    fn message(&mut self, parts: &'p [Part]) {
        for part in parts {
            if let Part::Value(value) = part
                // The name of an entry is none of its fields alone.
                && !matches!((&value.kind, &value.ty), (ExprKind::Variable(_), Type::Record(_)))
            {
                self.expr(value);
            }
        }
    }

    fn each(&mut self, rule: &'p Rule, each: &'p Each) {
        let least = match each.count {
            Some((Count::AtLeast(least) | Count::Exactly(least), _)) => least,
            _ => 0,
        };
        if let Some(list) = self.reach(&each.list).filter(|_| least == 0) {
            self.whole.push(Guard::Present(list.path));
        }
        self.message(each.message.as_deref().unwrap_or_default());
        self.bind(each.slot, &each.list, each.condition.as_ref());
        let Some(list) = self.reach(&each.list).filter(|_| least > 0) else { return };
        let scope = self.variables.get(&each.slot).map(|bound| bound.scope.clone()).unwrap_or_default();
        let which = each.condition.as_ref().map(|condition| Guard::Holds { condition, scope });
        let holds = each.condition.as_ref().and_then(|condition| self.holds(each.slot, condition));
        let guards = self.whole.iter().chain(&list.guards).cloned().collect();
        self.reading.asked.push(Asked { rule, list: list.path, which, holds, guards });
    }

    /// What an element must hold for `x.field is "word"`.
    fn holds(&self, slot: usize, condition: &Expr) -> Option<(String, String)> {
        let ExprKind::Compare(Comparison::Is, left, right) = &condition.kind else { return None };
        let ExprKind::Field { base, name, .. } = &left.kind else { return None };
        match (&base.kind, self.worth(right)?) {
            (ExprKind::Variable(variable), Value::Text(text)) if *variable == slot => {
                Some((name.to_string(), text.into_owned()))
            }
            _ => None,
        }
    }

    /// Lets a variable stand for each element of a list, and goes through what that reads.
    fn bind(&mut self, slot: usize, list: &'p Expr, condition: Option<&'p Expr>) {
        self.expr(list);
        self.variables.remove(&slot);
        let Some(Reached { path, mut scope, guards }) = self.reach(list) else {
            // A list of another document: what is said of its elements can still read this one.
            condition.into_iter().for_each(|condition| self.expr(condition));
            return;
        };
        let path = if matches!(list.ty, Type::Record(_)) { path } else { path.entry(Every) };
        scope.insert(slot, path.clone());
        self.variables.insert(slot, Bound { path, scope: scope.clone(), guards });
        if let Some(condition) = condition {
            self.narrowed(slot, condition, &scope);
        }
    }

    /// Goes through a condition on an element: what stands behind an `and` is read only where the part
    /// before it may hold.
    fn narrowed(&mut self, slot: usize, condition: &'p Expr, scope: &Scope) {
        if let ExprKind::Logic(Logic::And, left, right) = &condition.kind {
            self.narrowed(slot, left, scope);
            return self.narrowed(slot, right, scope);
        }
        self.expr(condition);
        if let Some(bound) = self.variables.get_mut(&slot) {
            bound.guards.push(Guard::Holds { condition, scope: scope.clone() });
        }
    }

    fn expr(&mut self, expr: &'p Expr) {
        match &expr.kind {
            // The entries of a group were bound with it.
            ExprKind::Constant(_) | ExprKind::AsOf | ExprKind::Root | ExprKind::Group(_) => {}
            ExprKind::Parameter(number, entry) => self.parameter(*number, entry.as_deref()),
            ExprKind::Field { base, name, .. } => match self.reach(expr) {
                Some(reached) => self.read(reached),
                None if self.lacks(base, name) => {}
                // A field of another document; the way to it begins in this one.
                None => self.expr(base),
            },
            ExprKind::Variable(_) => {
                if let Some(reached) = self.reach(expr) {
                    self.read(reached);
                }
            }
            ExprKind::Link { base, link, .. } => match self.reach(base) {
                Some(_) if self.lacks(base, &link.name) => {}
                Some(from) => self.keys(&from, link),
                None => self.expr(base),
            },
            ExprKind::Let(number, entry) => self.named(*number, entry.as_deref()),
            ExprKind::Cases(cases) => self.cases(cases),
            ExprKind::Lookup { keys, .. } => self.all(keys),
            ExprKind::Call { arguments, .. } => self.all(arguments),
            ExprKind::Range(form) => form.operands().for_each(|operand| self.expr(operand)),
            ExprKind::Not(inner)
            | ExprKind::Minus(inner)
            | ExprKind::Rate(inner)
            | ExprKind::Decided(_, inner) => self.expr(inner),
            ExprKind::Timed(timed) => timed.operands().for_each(|operand| self.expr(operand)),
            // Whether a field is recorded can be told without it.
            ExprKind::Recorded(_) => {}
            ExprKind::Logic(logic, left, right) => self.joined(*logic, left, right),
            ExprKind::Arithmetic(_, left, right)
            | ExprKind::Compare(_, left, right)
            | ExprKind::InOrder(_, left, right)
            | ExprKind::Within(left, right) => {
                self.expr(left);
                self.expr(right);
            }
            ExprKind::OneOf { value, options, .. } => {
                self.expr(value);
                self.all(options);
            }
            ExprKind::Entries(lists) => self.all(lists),
            ExprKind::Quantified { slot, list, condition, body, .. } => {
                self.of_each(*slot, list, condition.as_deref(), Some(body));
            }
            ExprKind::Aggregate { value, slot: Some(slot), list, condition, .. } => {
                self.of_each(*slot, list, condition.as_deref(), value.as_deref());
            }
            ExprKind::Aggregate { slot: None, list, .. } => self.expr(list),
        }
    }

    fn read(&mut self, Reached { path, guards, .. }: Reached<'p>) {
        let guards = self.whole.iter().chain(&self.here).cloned().chain(guards).collect();
        self.reading.reads.push(Read { path, guards, rule: self.rule });
    }

    /// A link is followed by fields of where it begins.
    fn keys(&mut self, from: &Reached<'p>, link: &Link) {
        for (own, _) in &link.by {
            self.read(Reached { path: from.path.clone().key(own), ..from.clone() });
        }
    }

    fn all(&mut self, list: &'p [Expr]) {
        for expr in list {
            self.expr(expr);
        }
    }

    /// A parameter whose value differs by fields needs them.
    fn parameter(&mut self, number: ParameterId, entry: Option<&'p Expr>) {
        let parameter = &self.program.parameters()[number];
        let outer = self.scope_of(&parameter.of, entry);
        self.all(&parameter.keys);
        parameter.from.iter().for_each(|from| self.expr(from));
        self.variables = outer;
    }

    /// The path that an expression is, if it is one.
    fn reach(&self, expr: &Expr) -> Option<Reached<'p>> {
        match &expr.kind {
            ExprKind::Root => {
                Some(Reached { path: PathPattern::root(), scope: Scope::new(), guards: Vec::new() })
            }
            ExprKind::Group(slot) => self.variables.get(slot).map(|bound| Reached {
                path: bound.path.list(),
                scope: bound.scope.clone(),
                guards: bound.guards.clone(),
            }),
            ExprKind::Variable(slot) => self.variables.get(slot).map(|bound| Reached {
                path: bound.path.clone(),
                scope: bound.scope.clone(),
                guards: bound.guards.clone(),
            }),
            ExprKind::Field { base, name, .. } if !self.lacks(base, name) => {
                let base = self.reach(base)?;
                Some(Reached { path: base.path.key(name), ..base })
            }
            // The entry before is one of the same list; every other link leads out of the document.
            ExprKind::Link { base, link, .. } if link.to == Target::EntryBefore => self.reach(base),
            ExprKind::Let(number, None) => self.reach(&self.program.lets()[*number].value),
            _ => None,
        }
    }

    /// Notes what a demand asks of single fields; where it is not that simple, nothing.
    fn wants(&mut self, rule: &'p Rule, demand: &'p Expr) {
        match &demand.kind {
            ExprKind::Logic(Logic::And, left, right) => {
                self.wants(rule, left);
                self.wants(rule, right);
            }
            // What may be otherwise where a further field is recorded is asked of whatever has none.
            ExprKind::Logic(Logic::Or, usual, other) if matches!(other.kind, ExprKind::Recorded(_)) => {
                self.wants(rule, usual);
            }
            ExprKind::Decided(decision, inner) => {
                let outer = self.decision.replace(decision);
                self.wants(rule, inner);
                self.decision = outer;
            }
            ExprKind::Not(inner) => self.wish(rule, inner, Some(Limit::Truth(false))),
            ExprKind::Field { .. } | ExprKind::Variable(_) => {
                self.wish(rule, demand, Some(Limit::Truth(true)));
            }
            ExprKind::Within(value, range) => {
                let range = match self.worth(range) {
                    Some(Value::Range(range)) => Some(Limit::Within(range)),
                    _ => None,
                };
                self.wish(rule, value, range);
            }
            ExprKind::Compare(comparison, value, with) => {
                let limit = self.worth(with).and_then(|with| compared(*comparison, with));
                self.wish(rule, value, limit);
            }
            ExprKind::OneOf { value, negated, options } => {
                let text = |option| match self.worth(option) {
                    Some(Value::Text(text)) => Some(text.into_owned()),
                    _ => None,
                };
                let words: Option<Vec<String>> = options.iter().map(text).collect();
                let limit = words.map(|words| Limit::Words { words, refused: *negated });
                self.wish(rule, value, limit);
            }
            ExprKind::Call { builtin, arguments } if builtin.tells == Tells::Pattern => {
                if let [text, pattern] = arguments.as_slice()
                    && let Some(Value::Text(pattern)) = self.worth(pattern)
                {
                    self.wish(rule, text, Some(Limit::Pattern(pattern.into_owned())));
                }
            }
            _ => {}
        }
    }

    fn wish(&mut self, rule: &'p Rule, field: &'p Expr, limit: Option<Limit>) {
        if !matches!(field.kind, ExprKind::Field { .. } | ExprKind::Variable(_)) {
            return;
        }
        let (Some(limit), Some(Reached { path, guards, .. })) = (limit, self.reach(field)) else { return };
        let guards = self.whole.iter().cloned().chain(guards).collect();
        self.reading.wanted.push(Wanted { rule, path, guards, limit, decision: self.decision });
    }

    /// The value of an expression that needs nothing of the document but the facts.
    fn worth(&self, expr: &Expr) -> Option<Value<'static>> {
        match &expr.kind {
            ExprKind::Constant(value) => Some(value.clone()),
            ExprKind::Parameter(number, _) => self.program.parameters()[*number].value().cloned(),
            ExprKind::Let(number, None) => self.worth(&self.program.lets()[*number].value),
            ExprKind::Lookup { table, keys } => {
                let key = |key: &Expr| self.facts.get(&self.reach(key)?.path).cloned();
                let keys: Option<Vec<String>> = keys.iter().map(key).collect();
                self.program.tables()[*table].rows.get(&keys?).cloned()
            }
            ExprKind::Range(form) => {
                let limit = |limit: &Expr| match self.worth(limit) {
                    Some(Value::Quantity(quantity)) => Ok(quantity),
                    _ => Err(()),
                };
                let range = form.try_map(limit).ok()?.range().ok()?;
                Some(Value::Range(Arc::new(range)))
            }
            _ => None,
        }
    }
}

/// What a comparison with a known value asks.
fn compared(comparison: Comparison, with: Value<'static>) -> Option<Limit> {
    let range = match with {
        Value::Text(text) => {
            let refused = match comparison {
                Comparison::Is => false,
                Comparison::IsNot => true,
                _ => return None,
            };
            return Some(Limit::Words { words: vec![text.into_owned()], refused });
        }
        Value::Words(words) => {
            let refused = match comparison {
                Comparison::Is => false,
                Comparison::IsNot => true,
                _ => return None,
            };
            let words = words.iter().map(|word| word.to_string()).collect();
            return Some(Limit::Words { words, refused });
        }
        Value::Quantity(limit) => match comparison {
            Comparison::AtLeast => Range::at_least(limit),
            Comparison::AtMost => Range::at_most(limit),
            Comparison::Above => Range::above(limit),
            Comparison::Below => Range::below(limit),
            Comparison::Is => Range::between(limit.clone(), limit),
            Comparison::IsNot | Comparison::Before | Comparison::After => return None,
        },
        _ => return None,
    };
    range.ok().map(|range| Limit::Within(Arc::new(range)))
}
