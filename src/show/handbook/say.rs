//! Expressions in plain English. Names that the rules give to values stay names: what they mean is said once in the book,
//! so that no sentence is longer than what somebody wrote. What has no words of its own is quoted as it is written.

use super::sentence::Sentence;
use crate::document::Target;
use crate::explain::describe;
use crate::language::ast::{Aggregate, Arithmetic, RangeForm};
use crate::language::builtins::Words;
use crate::language::typed::{Each, Expr, ExprKind, Figure, Of, Program, VARIABLES};
use crate::language::types::{Type, with_article};
use crate::source::Sources;
use crate::value::Value;

/// Says expressions.
#[derive(Clone, Debug)]
pub(super) struct Say<'s> {
    pub(super) program: &'s Program,
    sources: &'s Sources,
    /// What the variables in sight are called.
    nouns: [Option<Noun>; VARIABLES],
}

/// How a variable is said.
#[derive(Clone, Debug)]
struct Noun {
    /// What one is called: `fastening`.
    title: String,
    /// The words for it; none where it is what the rule is about, and `it` says which one is meant.
    words: Option<String>,
}

/// What an entry of a list is called.
pub(super) fn title(list: &Expr) -> String {
    let entry = match &list.ty {
        Type::List(shape) => match &**shape {
            crate::document::Shape::Record(record) if !record.title.is_empty() => record.title.clone(),
            _ => "entry".to_owned(),
        },
        _ => "entry".to_owned(),
    };
    spoken(&entry)
}

/// A name of a field in words.
fn spoken(name: &str) -> String {
    name.replace('_', " ")
}

impl<'s> Say<'s> {
    pub(super) fn new(program: &'s Program, sources: &'s Sources) -> Say<'s> {
        Say { program, sources, nouns: Default::default() }
    }

    pub(super) fn written(&self, expr: &Expr) -> Sentence {
        let words = self.sources.text_at(expr.place).split_whitespace().collect::<Vec<_>>().join(" ");
        format!("“{words}”").into()
    }

    /// Says a variable by a name of its own: by what one is called or, where something in sight is called so, by the name that
    /// the rule gives it.
    pub(super) fn bind(&mut self, slot: usize, title: &str, variable: &str) -> String {
        let is_taken = self
            .nouns
            .iter()
            .enumerate()
            .any(|(at, known)| at != slot && known.as_ref().is_some_and(|known| known.title == title));
        let (called, words) = match is_taken && !variable.is_empty() {
            true => (format!("{title} “{}”", spoken(variable)), format!("“{}”", spoken(variable))),
            false => (title.to_owned(), format!("the {title}")),
        };
        self.set(slot, Noun { title: title.to_owned(), words: Some(words) });
        called
    }

    /// Says a variable by `it`.
    fn bind_as_it(&mut self, slot: usize, title: &str) {
        self.set(slot, Noun { title: title.to_owned(), words: None });
    }

    fn set(&mut self, slot: usize, noun: Noun) {
        if let Some(known) = self.nouns.get_mut(slot) {
            *known = Some(noun);
        }
    }

    /// Whether an expression is what `it` stands for.
    fn is_it(&self, expr: &Expr) -> bool {
        let (ExprKind::Variable(slot) | ExprKind::Group(slot)) = &expr.kind else { return false };
        self.nouns.get(*slot).and_then(Option::as_ref).is_some_and(|noun| noun.words.is_none())
    }

    /// What a let of an entry is about: the variable of the number 0. Gives back what one is called.
    pub(super) fn about_entry(&mut self, record: &crate::document::Record) -> String {
        let title = if record.title.is_empty() { "entry".to_owned() } else { spoken(&record.title) };
        self.bind_as_it(0, &title);
        title
    }

    /// `each fastening where …`, and from then on `it` for the first of them.
    pub(super) fn each(&mut self, each: &'s Each) -> Sentence {
        let title = title(&each.list);
        let list = self.list(&each.list);
        let is_first = self.nouns.iter().all(Option::is_none);
        let called = match is_first {
            true => {
                self.bind_as_it(each.slot, &title);
                title
            }
            false => self.bind(each.slot, &title, &each.variable),
        };
        let condition = each.condition.as_ref().map(|condition| self.truth(condition, false));
        if each.keys.is_empty() {
            let from =
                if is_whole_list(&each.list) { "".into() } else { Sentence::from(" among ").and(list) };
            let each = Sentence::from(format!("each {called}")).and(from);
            return condition.map_or(each.clone(), |condition| each.and(" where ").and(condition));
        }
        let keys = each.keys.iter().map(|key| match &key.kind {
            ExprKind::Field { name, .. } => Sentence::from(spoken(name)),
            _ => self.value(key),
        });
        let keys: Vec<Sentence> = keys.collect();
        let all = Sentence::from("each group of ").and(list.without_article()).and(" with the same ");
        let all = all.and(Sentence::joined(keys, ", ", " and "));
        let all = condition.map_or(all.clone(), |condition| {
            all.and(format!("; {} is in one where ", with_article(&called))).and(condition)
        });
        self.set(
            each.slot,
            Noun { title: "group".to_owned(), words: (!is_first).then(|| "the group".to_owned()) },
        );
        all
    }

    pub(super) fn list(&self, list: &'s Expr) -> Sentence {
        match &list.kind {
            ExprKind::Entries(lists) => {
                let lists = lists.iter().map(|list| self.list(list)).collect();
                Sentence::joined(lists, ", ", " and ")
            }
            _ => self.value(list),
        }
    }

    /// A value as a noun.
    pub(super) fn value(&self, expr: &'s Expr) -> Sentence {
        match &expr.kind {
            ExprKind::Constant(value) => constant(value).into(),
            ExprKind::Root => "the document".into(),
            ExprKind::AsOf => "the day of the run".into(),
            ExprKind::Variable(slot) | ExprKind::Group(slot) => match self.nouns.get(*slot) {
                Some(Some(noun)) => noun.words.clone().unwrap_or_else(|| "it".to_owned()).into(),
                _ => self.written(expr),
            },
            ExprKind::Field { base, name, .. } => self.field(expr, base, name),
            ExprKind::Link { base, link } => self.link(base, link),
            ExprKind::Let(id, entry) => {
                let found = &self.program.lets()[*id];
                let name = Sentence::name(&short(&found.name), Figure::Let(*id));
                match &found.of {
                    Of::Rule => name,
                    _ => self.named("", name, entry.as_deref()),
                }
            }
            ExprKind::Parameter(id, entry) => {
                let name = short(&self.program.parameters()[*id].name);
                self.named("stated ", Sentence::name(&name, Figure::Parameter(*id)), entry.as_deref())
            }
            ExprKind::Lookup { table, keys } => {
                let name = Sentence::name(&short(&self.program.tables()[*table].name), Figure::Table(*table));
                let keys = keys.iter().map(|key| self.value(key)).collect();
                Sentence::from("the value of the table ")
                    .and(name)
                    .and(" for ")
                    .and(Sentence::joined(keys, ", ", " and "))
            }
            ExprKind::Call { builtin, arguments } => match builtin.words {
                Words::Value(words) => Sentence::from("the ").and(self.filled(words, arguments)),
                Words::Count(one) => {
                    let of = arguments.first().map_or_else(Sentence::default, |first| self.value(first));
                    Sentence::from(format!("the number of {one}s of ")).and(of)
                }
                Words::Demand(..) => Sentence::from("whether ").and(self.truth(expr, false)),
            },
            ExprKind::Cases(cases) => {
                let cases = cases.iter().map(|case| {
                    let value = self.value_or_truth(&case.value);
                    match &case.condition {
                        Some(condition) => value.and(" where ").and(self.truth(condition, false)),
                        None => value.and(" otherwise"),
                    }
                });
                Sentence::joined(cases.collect(), "; ", "; ")
            }
            ExprKind::Range(form) => self.range(form),
            ExprKind::Minus(inner) => Sentence::from("minus ").and(self.part(inner)),
            ExprKind::Arithmetic(Arithmetic::Elapsed, later, earlier) => {
                Sentence::from("the time from ").and(self.value(earlier)).and(" to ").and(self.value(later))
            }
            ExprKind::Arithmetic(arithmetic, left, right) => {
                self.part(left).and(format!(" {} ", arithmetic.sign())).and(self.part(right))
            }
            ExprKind::Rate(inner) => Sentence::from("the rate of ").and(self.value(inner)),
            ExprKind::Entries(lists) => {
                let lists = lists.iter().map(|list| self.value(list)).collect();
                Sentence::joined(lists, ", ", " and ")
            }
            ExprKind::Aggregate { aggregate, value, slot, list, condition } => {
                self.aggregate(expr, *aggregate, (value.as_deref(), *slot), list, condition.as_deref())
            }
            _ => Sentence::from("whether ").and(self.truth(expr, false)),
        }
    }

    fn value_or_truth(&self, expr: &'s Expr) -> Sentence {
        match (&expr.ty, &expr.kind) {
            (Type::Truth, ExprKind::Constant(_)) => self.value(expr),
            (Type::Truth, _) => self.truth(expr, false),
            _ => self.value(expr),
        }
    }

    /// A value that is part of a computation.
    fn part(&self, expr: &'s Expr) -> Sentence {
        match &expr.kind {
            ExprKind::Arithmetic(arithmetic, ..) if *arithmetic != Arithmetic::Elapsed => {
                Sentence::from("(").and(self.value(expr)).and(")")
            }
            _ => self.value(expr),
        }
    }

    /// A field: `its torque`, `the kind of the unit`, `“opened” of the job`. A group goes by what its form calls it.
    fn field(&self, whole: &Expr, base: &'s Expr, name: &str) -> Sentence {
        let own = spoken(name);
        if let Type::Record(record) = &whole.ty
            && !record.title.is_empty()
        {
            let title = spoken(&record.title);
            let which = if title.contains(&own) { String::new() } else { format!(" “{own}”") };
            let article = if self.is_it(base) { "its" } else { "the" };
            return format!("{article} {title}{which}").into();
        }
        let of = |words: String| Sentence::from(format!("{words} of ")).and(self.value(base));
        match (&base.kind, is_no_noun(&own)) {
            (ExprKind::Root, false) => format!("the {own}").into(),
            (ExprKind::Root, true) => format!("“{own}”").into(),
            (_, false) if self.is_it(base) => format!("its {own}").into(),
            (_, true) if self.is_it(base) => format!("its “{own}”").into(),
            (_, false) => of(format!("the {own}")),
            (_, true) => of(format!("“{own}”")),
        }
    }

    /// A field that says yes or no: `“removed” is yes for the pan`.
    pub(super) fn marked(&self, base: &'s Expr, name: &str, is: &str) -> Sentence {
        let said = Sentence::from(format!("“{}” {is}", spoken(name)));
        match base.kind {
            ExprKind::Root => said,
            _ => said.and(" for ").and(self.value(base)),
        }
    }

    /// A named value, of an entry where it has one of each.
    fn named(&self, stated: &str, name: Sentence, entry: Option<&'s Expr>) -> Sentence {
        match entry {
            Some(entry) if self.is_it(entry) => Sentence::from(format!("its {stated}")).and(name),
            Some(entry) => {
                Sentence::from(format!("the {stated}")).and(name).and(" of ").and(self.value(entry))
            }
            None => Sentence::from(format!("the {stated}")).and(name),
        }
    }

    /// A named truth: `it is last`, `it has no torque`, `“closed” holds`.
    pub(super) fn named_truth(
        &self,
        name: &str,
        figure: Figure,
        entry: Option<&'s Expr>,
        negated: bool,
    ) -> Sentence {
        let short = short(name);
        let verbs = [("is ", "is ", "is not "), ("has ", "has ", "has no "), ("was ", "was ", "was not ")];
        let verb = verbs.into_iter().find_map(|(verb, yes, no)| {
            let rest = short.strip_prefix(verb)?;
            Some((if negated { no } else { yes }, rest))
        });
        match (entry, verb) {
            (Some(entry), Some((verb, rest))) => {
                self.value(entry).and(format!(" {verb}")).and(Sentence::name(rest, figure))
            }
            (entry, _) => {
                let name = Sentence::from("“").and(Sentence::name(&short, figure)).and("”");
                let holds = if negated { " does not hold" } else { " holds" };
                let holds = name.and(holds);
                entry.map_or(holds.clone(), |entry| holds.and(" for ").and(self.value(entry)))
            }
        }
    }

    fn link(&self, base: &'s Expr, link: &'s crate::document::Link) -> Sentence {
        let of = |words: &str| match base.kind {
            ExprKind::Root => Sentence::from(words),
            _ => Sentence::from(format!("{words} for ")).and(self.value(base)),
        };
        match &link.to {
            Target::Procedure => "the procedure".into(),
            Target::AnyProcedure => "any procedure".into(),
            Target::Register => "the tool register".into(),
            Target::InProcedure(_) | Target::Alongside(_) => of("what the procedure says"),
            Target::InRegister(_) => of("the entry of the tool register"),
            Target::Earlier(earlier) => {
                let unit = if earlier.on_unit { "unit" } else { "vehicle" };
                format!("the last job on the {unit}").into()
            }
            Target::EntryBefore => Sentence::from("the entry before ").and(self.value(base)),
        }
    }

    /// Whether a link leads to something.
    pub(super) fn linked(&self, base: &'s Expr, link: &'s crate::document::Link, negated: bool) -> Sentence {
        match (&link.to, negated) {
            (Target::InProcedure(_) | Target::Alongside(_), false) => {
                Sentence::from("the procedure says something for ").and(self.value(base))
            }
            (Target::InProcedure(_) | Target::Alongside(_), true) => {
                Sentence::from("the procedure says nothing for ").and(self.value(base))
            }
            (_, false) => Sentence::from("there is ").and(self.link(base, link)),
            (_, true) => self.link(base, link).and(" is not there"),
        }
    }

    /// The words of a builtin with its arguments in their places.
    pub(super) fn filled(&self, words: &str, arguments: &'s [Expr]) -> Sentence {
        let mut said = Sentence::default();
        for (number, piece) in words.split('{').enumerate() {
            let Some((digits, rest)) = piece.split_once('}').filter(|_| number > 0) else {
                said = said.and(piece);
                continue;
            };
            let argument = digits.parse::<usize>().ok().and_then(|at| arguments.get(at));
            said =
                said.and(argument.map_or_else(Sentence::default, |argument| self.value(argument))).and(rest);
        }
        said
    }

    fn range(&self, form: &'s RangeForm<Expr>) -> Sentence {
        let value = |expr: &'s Expr| self.part(expr);
        match form {
            RangeForm::Between(low, high) => value(low).and(" to ").and(value(high)),
            RangeForm::PlusMinus(nominal, part) => value(nominal).and(" ± ").and(value(part)),
            RangeForm::PlusAndMinus(nominal, plus, minus) => {
                value(nominal).and(" + ").and(value(plus)).and(" / − ").and(value(minus))
            }
            RangeForm::AtLeast(limit) => Sentence::from("at least ").and(value(limit)),
            RangeForm::AtMost(limit) => Sentence::from("at most ").and(value(limit)),
            RangeForm::Above(limit) => Sentence::from("above ").and(value(limit)),
            RangeForm::Below(limit) => Sentence::from("below ").and(value(limit)),
        }
    }

    fn aggregate(
        &self,
        whole: &'s Expr,
        aggregate: Aggregate,
        (value, slot): (Option<&'s Expr>, Option<usize>),
        list: &'s Expr,
        condition: Option<&'s Expr>,
    ) -> Sentence {
        let noun = title(list);
        let mut inner = self.clone();
        let called = slot.map(|slot| inner.bind(slot, &noun, &self.variable_of(whole)));
        // One that has a name of its own is said by it.
        let own = called.and_then(|called| called.strip_prefix(&noun).map(str::to_owned)).unwrap_or_default();
        let which = condition.map_or_else(Sentence::default, |condition| {
            Sentence::from(format!("{own} where ")).and(inner.truth(condition, false))
        });
        let among = || Sentence::from(" among ").and(self.list(list)).and(which.clone());
        let lead = match (aggregate, value) {
            (Aggregate::Count, _) => {
                let of = self.list(list).without_article();
                return Sentence::from("the number of ").and(of).and(which);
            }
            (_, None) => return self.written(whole),
            (Aggregate::Sum, _) => "the sum of ",
            (Aggregate::Least, _) => "the least ",
            (Aggregate::Greatest, _) => "the greatest ",
            (Aggregate::All, _) => "each ",
        };
        let value = value.map_or_else(Sentence::default, |value| match &value.kind {
            // A field of the entry itself goes without saying whose it is.
            ExprKind::Field { base, name, .. } if base.variable() == slot && base.element().is_some() => {
                spoken(name).into()
            }
            _ => inner.value(value),
        });
        Sentence::from(lead).and(value.without_article()).and(among())
    }

    /// The name of the variable that a quantifier or an aggregate binds, as it is written: the word before ` in `.
    pub(super) fn variable_of(&self, whole: &Expr) -> String {
        let text = self.sources.text_at(whole.place);
        let words: Vec<&str> = text.split_whitespace().collect();
        let at = words.iter().position(|word| *word == "in").and_then(|at| at.checked_sub(1));
        at.and_then(|at| words.get(at)).map_or_else(String::new, |word| (*word).to_owned())
    }

    /// The same within a quantifier or an aggregate, where its variable has a noun.
    pub(super) fn inside(&self, whole: &Expr) -> Say<'s> {
        let mut inner = self.clone();
        let (slot, list) = match &whole.kind {
            ExprKind::Quantified { slot, list, .. } => (Some(*slot), list),
            ExprKind::Aggregate { slot, list, .. } => (*slot, list),
            _ => return inner,
        };
        if let Some(slot) = slot {
            inner.bind(slot, &title(list), &self.variable_of(whole));
        }
        inner
    }
}

/// Whether a list is one of the document as a whole.
fn is_whole_list(list: &Expr) -> bool {
    matches!(&list.kind, ExprKind::Field { base, .. } if matches!(base.kind, ExprKind::Root))
}

/// The last part of a full name, in words.
pub(super) fn short(name: &str) -> String {
    spoken(name.rsplit('.').next().unwrap_or(name))
}

pub(super) fn quoted(words: &[impl AsRef<str>]) -> String {
    words.iter().map(|word| format!("“{}”", word.as_ref())).collect::<Vec<_>>().join(", ")
}

/// A known value: texts in quotes.
pub(super) fn constant(value: &Value<'_>) -> String {
    match value {
        Value::Text(text) => format!("“{text}”"),
        Value::Words(words) => quoted(words),
        Value::Range(range) => range.to_string().replace(" .. ", " to "),
        other => describe(other),
    }
}

/// Whether the name of a field is no noun: it says what was done, or how it stands to something.
fn is_no_noun(name: &str) -> bool {
    const OTHERS: [&str; 11] =
        ["of", "at", "by", "in", "to", "from", "before", "after", "read", "done", "worn"];
    OTHERS.contains(&name) || name.ends_with("ed") || name.ends_with(" by")
}
