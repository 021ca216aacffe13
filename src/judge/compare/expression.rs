//! What an expression of the rule language is worth, whatever its layout, brackets, units and the names
//! of its variables.

use std::collections::{BTreeSet, HashMap};

use super::tree::{Worth, one_line};
use crate::language::ast::{
    Concerns, Each, Entries, Expr, ExprKind, Message, Name, Part, RangeForm, Timed, When,
};
use crate::quantity::Quantity;

/// Reads the expressions of one file.
#[derive(Debug, Default)]
pub(super) struct Expressions {
    /// Names of the new text that stand for a figure which had another name in the old one.
    aliases: HashMap<String, String>,
    /// The variables in sight, innermost last.
    variables: Vec<String>,
    /// The names of figures and fields that were met.
    met: BTreeSet<String>,
}

impl Expressions {
    /// With other names for some figures.
    pub(super) fn with(aliases: HashMap<String, String>) -> Expressions {
        Expressions { aliases, ..Expressions::default() }
    }

    /// The names that were met since the last call.
    pub(super) fn take_met(&mut self) -> BTreeSet<String> {
        std::mem::take(&mut self.met)
    }

    /// Forgets the variables of a rule or a let.
    pub(super) fn end_of_item(&mut self) {
        self.variables.clear();
    }

    /// What the clause `concerns` is worth; its variables are in sight from here to the end of the rule.
    pub(super) fn concerns(&mut self, concerns: &Concerns) -> Worth {
        let mut parts: Vec<Worth> = concerns.subjects.iter().map(|each| self.each(each)).collect();
        parts.extend(concerns.condition.as_ref().map(|condition| self.worth(condition)));
        Worth::Of("concerns", parts)
    }

    fn each(&mut self, each: &Each) -> Worth {
        let mut parts = vec![self.worth(&each.list)];
        parts.extend(each.message.as_ref().map(|message| self.message(message)));
        self.variables.push(each.variable.node.clone());
        if let Some(group) = &each.group {
            parts.extend(group.keys.iter().map(|key| Worth::Of("by", vec![self.worth(key)])));
        }
        parts
            .extend(each.condition.as_ref().map(|condition| Worth::Of("where", vec![self.worth(condition)])));
        parts.extend(each.count.as_ref().map(|count| Worth::Words(count.node.to_string())));
        if let Some(group) = &each.group {
            self.variables.pop();
            self.variables.push(group.name.node.clone());
        }
        Worth::Of("each", parts)
    }

    /// What a message is worth.
    pub(super) fn message(&mut self, message: &Message) -> Worth {
        let parts = message.parts.iter().map(|part| match part {
            Part::Words(words) => Worth::Of("words", vec![Worth::Words(words.clone())]),
            Part::Value(expr) => self.worth(expr),
        });
        Worth::Of("message", parts.collect())
    }

    /// What an expression is worth. Its depth is bounded by the parser.
    pub(super) fn worth(&mut self, expr: &Expr) -> Worth {
        match &expr.kind {
            ExprKind::Number(number) => Worth::Number(number.clone()),
            ExprKind::Quantity(quantity) => Worth::quantity(quantity),
            ExprKind::Text(text) => Worth::Of("text", vec![Worth::Words(text.clone())]),
            ExprKind::Truth(truth) => Worth::Of(if *truth { "yes" } else { "no" }, Vec::new()),
            ExprKind::Day(day) => Worth::Words(day.to_string()),
            ExprKind::WordList(words) => {
                // Their order says nothing.
                let words: BTreeSet<&str> = words.iter().map(|word| word.node.as_str()).collect();
                let word = |word: &str| Worth::Of("text", vec![Worth::Words(word.to_owned())]);
                Worth::Of("one of", words.into_iter().map(word).collect())
            }
            ExprKind::EntriesOf(lists) => {
                Worth::Of("entries of", lists.iter().map(|list| self.worth(list)).collect())
            }
            ExprKind::Path(names) => self.path(names),
            ExprKind::Lookup { table, keys } => {
                let mut parts = vec![self.figure(&table.node)];
                parts.extend(keys.iter().map(|key| self.worth(key)));
                Worth::Of("for", parts)
            }
            ExprKind::Of { name, entry } => {
                let parts = vec![self.named(&name.node), self.worth(entry)];
                Worth::Of("of", parts)
            }
            ExprKind::Cases(cases) => {
                let cases = cases.iter().map(|case| {
                    let parts = case.parts().map(|part| self.worth(part));
                    Worth::Of("case", parts.collect())
                });
                Worth::Of("cases", cases.collect())
            }
            ExprKind::Call { function, arguments } => {
                let mut parts = vec![Worth::Words(function.node.clone())];
                parts.extend(arguments.iter().map(|argument| self.worth(argument)));
                Worth::Of("call", parts)
            }
            ExprKind::Range(range) => self.range(range),
            ExprKind::Not(of) => self.of("not", &[of]),
            ExprKind::Minus(of) => self.of("minus", &[of]),
            ExprKind::Logic(logic, left, right) => self.of(logic.word(), &[left, right]),
            ExprKind::Arithmetic(arithmetic, left, right) => {
                let sign = Worth::Words(arithmetic.sign().to_string());
                Worth::Of("computed", vec![sign, self.worth(left), self.worth(right)])
            }
            ExprKind::Compare(comparison, left, right) => self.of(comparison.words(), &[left, right]),
            ExprKind::Within(value, range) => self.of("within", &[value, range]),
            ExprKind::OneOf { value, negated, options } => {
                let mut parts = vec![self.worth(value)];
                parts.extend(options.iter().map(|option| self.worth(option)));
                Worth::Of(if *negated { "is not one of" } else { "is one of" }, parts)
            }
            ExprKind::Recorded(of) => self.of("recorded", &[of]),
            ExprKind::Rate(of) => self.of("rate of", &[of]),
            ExprKind::Timed(timed) => self.timed(timed),
            ExprKind::Decided(rule, of) => {
                Worth::Of("decided", vec![Worth::Words(rule.to_string()), self.worth(of)])
            }
            ExprKind::Quantified { quantifier, variable, list, condition, body } => {
                self.over(quantifier.word(), Some(variable), list, condition.as_deref(), Some(body))
            }
            ExprKind::Aggregate { aggregate, value, variable, list, condition } => {
                self.over(aggregate.words(), variable.as_ref(), list, condition.as_deref(), value.as_deref())
            }
        }
    }

    fn timed(&mut self, timed: &Timed<Expr>) -> Worth {
        let mut parts = vec![self.worth(&timed.from), self.worth(&timed.to)];
        parts.extend(timed.gaps.as_ref().map(|gaps| self.of("with gaps at most", &[gaps])));
        let what = match &timed.when {
            When::Throughout => "throughout",
            When::AtSomeMoment => "at some moment in",
            When::HeldFor(duration) => {
                parts.push(self.worth(duration));
                "held for at least"
            }
            When::Until(then) => {
                parts.push(self.worth(then));
                "until"
            }
        };
        parts.push(self.worth(&timed.body));
        Worth::Of(what, parts)
    }

    fn of(&mut self, what: &'static str, parts: &[&Expr]) -> Worth {
        Worth::Of(what, parts.iter().map(|part| self.worth(part)).collect())
    }

    /// Something about the elements of a list, whose variable is in sight for its length.
    fn over(
        &mut self,
        what: &'static str,
        variable: Option<&Name>,
        list: &Expr,
        condition: Option<&Expr>,
        body: Option<&Expr>,
    ) -> Worth {
        let mut parts = vec![self.worth(list)];
        self.variables.extend(variable.map(|variable| variable.node.clone()));
        parts.extend(condition.map(|condition| Worth::Of("where", vec![self.worth(condition)])));
        parts.extend(body.map(|body| self.worth(body)));
        self.variables.truncate(self.variables.len() - usize::from(variable.is_some()));
        Worth::Of(what, parts)
    }

    fn path(&mut self, names: &[Name]) -> Worth {
        let Some((first, fields)) = names.split_first() else { return Worth::Of("path", Vec::new()) };
        let mut parts = vec![self.named(&first.node)];
        parts.extend(fields.iter().map(|field| Worth::Words(field.node.clone())));
        Worth::Of("path", parts)
    }

    /// A variable by its number, or a figure.
    fn named(&mut self, name: &str) -> Worth {
        match self.variables.iter().rposition(|known| known == name) {
            Some(number) => Worth::Of("variable", vec![Worth::Words(number.to_string())]),
            None => self.figure(name),
        }
    }

    /// Puts the variable that stands for an entry in sight, and tells of which list.
    pub(super) fn entries(&mut self, entries: &Entries) -> Worth {
        let worth = Worth::Of("of each", vec![self.worth(&entries.list)]);
        self.variables.push(entries.variable.node.clone());
        worth
    }

    /// Puts a name in sight that a rule gives to a value.
    pub(super) fn name_in_rule(&mut self, name: &Name) {
        self.variables.push(name.node.clone());
    }

    /// A name that is no variable: a figure, or a field of the document.
    fn figure(&mut self, name: &str) -> Worth {
        self.met.insert(name.to_owned());
        Worth::Words(self.aliases.get(name).cloned().unwrap_or_else(|| name.to_owned()))
    }

    /// A range of figures by its limits, any other by its parts.
    fn range(&mut self, range: &RangeForm<Expr>) -> Worth {
        let constant = range.try_map(|part| constant(part).ok_or(()));
        if let Some(range) = constant.ok().and_then(|constant| constant.range().ok()) {
            return Worth::range(&range);
        }
        let what = match range {
            RangeForm::Between(..) => "from to",
            RangeForm::PlusMinus(..) => "plus or minus",
            RangeForm::PlusAndMinus(..) => "plus and minus",
            RangeForm::AtLeast(_) => "at least",
            RangeForm::AtMost(_) => "at most",
            RangeForm::Above(_) => "above",
            RangeForm::Below(_) => "below",
        };
        let parts: Vec<&Expr> = range.operands().collect();
        self.of(what, &parts)
    }
}

/// A quantity that is written out.
fn constant(expr: &Expr) -> Option<Quantity> {
    match &expr.kind {
        ExprKind::Quantity(quantity) => Some(quantity.clone()),
        ExprKind::Number(number) => Some(Quantity::from(number.clone())),
        _ => None,
    }
}

/// A piece of a rule file as people read it: on one line, without its comments.
pub(super) fn written(text: &str) -> String {
    let lines: Vec<&str> = text.lines().map(without_comment).collect();
    one_line(&lines.join(" "))
}

/// A line up to the `#` that stands in no quoted text.
fn without_comment(line: &str) -> &str {
    let (mut quoted, mut escaped) = (false, false);
    for (at, c) in line.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' if quoted => escaped = true,
            '"' => quoted = !quoted,
            '#' if !quoted => return line.get(..at).unwrap_or_default(),
            _ => {}
        }
    }
    line
}
