//! Standards, rules, names and parameters as they are told.

use std::collections::{BTreeSet, HashMap};

use super::figures::{self, FigureRow};
use super::say::{Say, constant, short};
use super::sentence::{Sentence, capital};
use super::{Changes, NamePage, ParameterPage, RulePage, Since};
use crate::compare::{Change, Side};
use crate::language::ast::{Logic, Severity, Unrecorded};
use crate::language::ids::RuleId;
use crate::language::typed::{Concerns, Expr, ExprKind, Figure, Of, Part, Rule, Standard, Stated};
use crate::language::types::Type;
use crate::session::Session;
use crate::trade::form;
use crate::value::Value;

pub(super) fn applies(session: &Session, standard: &Standard) -> Sentence {
    let say = Say::new(session.program(), session.sources());
    let form = form::called(&standard.form).map_or(standard.form.as_str(), |form| form.called);
    let every = Sentence::from(format!("This standard judges every {form}"));
    match &standard.condition {
        Some(condition) => every.and(" where ").and(say.truth(condition, false)).whole(),
        None => every.whole(),
    }
}

/// The comment at the head of the file of a standard, up to its first blank line without one.
pub(super) fn remarks(session: &Session, standard: &Standard) -> Vec<String> {
    let text = session.sources().get(standard.place.source).map_or("", |source| source.text());
    let lines = text.lines().map_while(|line| line.strip_prefix('#'));
    let mut paragraphs = vec![String::new()];
    for line in lines {
        // What is indented is an example of settings, and is laid out by its line ends.
        let is_laid_out = line.starts_with("   ");
        match (line.trim().is_empty(), paragraphs.last_mut()) {
            (true, _) => paragraphs.push(String::new()),
            (false, Some(last)) => {
                if !last.is_empty() {
                    last.push(if is_laid_out { '\n' } else { ' ' });
                }
                last.push_str(if is_laid_out { line } else { line.trim() });
            }
            (false, None) => {}
        }
    }
    paragraphs.retain(|paragraph| !paragraph.is_empty());
    paragraphs
}

/// The demands that one `and` joins are several.
fn demands_in<'e>(expr: &'e Expr, found: &mut Vec<&'e Expr>) {
    match &expr.kind {
        ExprKind::Logic(Logic::And, left, right) => {
            demands_in(left, found);
            demands_in(right, found);
        }
        _ => found.push(expr),
    }
}

pub(super) fn rule_page(session: &Session, rule: &Rule) -> RulePage {
    let program = session.program();
    let mut say = Say::new(program, session.sources());
    let concerns = match &rule.concerns {
        Concerns::Document(None) => Sentence::from("the whole document"),
        Concerns::Document(Some(condition)) => {
            Sentence::from("the whole document, where ").and(say.truth(condition, false))
        }
        Concerns::Each(nested) => {
            let each = nested.iter().map(|each| {
                let said = say.each(each);
                match each.count {
                    Some((count, _)) => said.and(format!("; there must be {count} of them")),
                    None => said,
                }
            });
            Sentence::joined(each.collect(), ", and for it ", ", and for it ")
        }
    };
    let mut demands = Vec::new();
    rule.demands.iter().for_each(|demand| demands_in(demand, &mut demands));
    let mut rows: Vec<FigureRow> =
        rule.demands.iter().flat_map(|demand| figures::of_demand(&say, demand)).collect();
    let mut own_names = Vec::new();
    for figure in &rule.figures {
        let Figure::Let(id) = *figure else { continue };
        let found = &program.lets()[id];
        if matches!(found.of, Of::Rule) {
            let inner = say.clone();
            own_names.push((short(&found.name), meaning(&inner, &found.value)));
            rows.extend(figures_of(&inner, &found.value, &short(&found.name)));
        }
    }
    rows.retain(FigureRow::says_more);
    rows.dedup();
    RulePage {
        name: rule.name.clone(),
        title: rule.title.clone(),
        severity: rule.severity,
        left_out: rule.left_out.as_ref().map(|left_out| left_out.reason.clone()),
        counts: rule
            .period
            .as_ref()
            .map(|period| Sentence::from("where ").and(say.truth(period, false)).whole()),
        concerns: concerns.whole(),
        demands: demands.into_iter().map(|demand| say.truth(demand, false).whole()).collect(),
        message: message(&say, &rule.message),
        own_names,
        figures: rows,
        unrecorded: unrecorded(rule),
        remedy: rule.remedy.clone(),
        because: rule.because.clone(),
        basis: rule.basis.clone(),
        concession: match rule.concession.as_deref() {
            None => "Nobody: the rule does not say who.".to_owned(),
            Some([]) => "Nobody, ever.".to_owned(),
            Some(roles) => format!("{}.", capital(&roles.join(" or "))),
        },
        replaces: rule.replaces.clone(),
        examples: Vec::new(),
    }
}

fn unrecorded(rule: &Rule) -> &'static str {
    match rule.unrecorded {
        Unrecorded::Pass => "It is let pass, and listed.",
        Unrecorded::As(severity) if severity == rule.severity => "It counts the same as what is wrong.",
        Unrecorded::As(Severity::Hold) => "It counts as a hold.",
        Unrecorded::As(Severity::Advice) => "It counts as an advice.",
        Unrecorded::As(Severity::Note) => "It counts as a note.",
    }
}

fn message(say: &Say<'_>, parts: &[Part]) -> String {
    let part = |part: &Part| match part {
        Part::Words(words) => words.clone(),
        Part::Value(expr) => format!("[{}]", say.clone().value(expr).plain()),
    };
    parts.iter().map(part).collect()
}

/// What a name means: each case of it.
fn meaning<'s>(say: &Say<'s>, value: &'s Expr) -> Vec<Sentence> {
    let one = |expr: &'s Expr| match (&expr.ty, &expr.kind) {
        (Type::Truth, kind) if !matches!(kind, ExprKind::Constant(_)) => say.truth(expr, false),
        _ => say.value(expr),
    };
    match &value.kind {
        ExprKind::Cases(cases) => cases
            .iter()
            .map(|case| match &case.condition {
                Some(condition) => one(&case.value).and(", where ").and(say.truth(condition, false)),
                None => one(&case.value).and(", otherwise"),
            })
            .collect(),
        _ => vec![one(value)],
    }
}

/// The figures of a name: those that its cases are, and the limits in it.
fn figures_of<'s>(say: &Say<'s>, value: &'s Expr, name: &str) -> Vec<FigureRow> {
    let mut rows = Vec::new();
    let figure = |of: Sentence, expr: &Expr| match &expr.kind {
        ExprKind::Constant(value) => FigureRow::of_value(of, value),
        _ => None,
    };
    match &value.kind {
        ExprKind::Cases(cases) => {
            for case in cases {
                let of = match &case.condition {
                    Some(condition) => Sentence::from("where ").and(say.truth(condition, false)),
                    None => "otherwise".into(),
                };
                rows.extend(figure(of, &case.value));
            }
        }
        _ => rows.extend(figure(name.into(), value)),
    }
    rows.extend(figures::of_name(say, value));
    rows.retain(FigureRow::says_more);
    rows
}

/// Whether each case of a value is a known figure.
fn are_figures(value: &Expr) -> bool {
    let ExprKind::Cases(cases) = &value.kind else { return false };
    let is_figure =
        |expr: &Expr| matches!(&expr.kind, ExprKind::Constant(Value::Range(_) | Value::Quantity(_)));
    cases.iter().all(|case| is_figure(&case.value))
}

fn users(session: &Session, rules: &[&Rule], figure: Figure) -> Vec<String> {
    let uses = |rule: &&&Rule| session.program().figures_of(rule).contains(&figure);
    rules.iter().filter(uses).map(|rule| rule.name.clone()).collect()
}

pub(super) fn names(session: &Session, figures: &[Figure], rules: &[&Rule]) -> Vec<NamePage> {
    let program = session.program();
    let mut pages = Vec::new();
    for figure in figures {
        let mut say = Say::new(program, session.sources());
        let page = match *figure {
            Figure::Let(id) => {
                let found = &program.lets()[id];
                let of = match &found.of {
                    // Those are told at their rules.
                    Of::Rule => continue,
                    Of::Entry(record) => Some(say.about_entry(record)),
                    Of::Document => None,
                };
                let name = short(&found.name);
                NamePage {
                    figure: *figure,
                    meaning: meaning(&say, &found.value),
                    figures: figures_of(&say, &found.value, &name),
                    are_all: are_figures(&found.value),
                    is_by_cases: matches!(found.value.kind, ExprKind::Cases(_)),
                    of,
                    within: Vec::new(),
                    name,
                    used_by: users(session, rules, *figure),
                }
            }
            Figure::Table(id) => {
                let table = &program.tables()[id];
                let mut rows: Vec<_> = table.rows.iter().collect();
                rows.sort_by_key(|(keys, _)| *keys);
                let of = |keys: &[String]| format!("“{}”", keys.join("”, “"));
                NamePage {
                    figure: *figure,
                    of: None,
                    within: Vec::new(),
                    name: short(&table.name),
                    meaning: rows
                        .iter()
                        .map(|(keys, value)| Sentence::from(format!("{}: {}", of(keys), constant(value))))
                        .collect(),
                    figures: rows
                        .iter()
                        .filter_map(|(keys, value)| FigureRow::of_value(of(keys).into(), value))
                        .filter(FigureRow::says_more)
                        .collect(),
                    are_all: true,
                    is_by_cases: false,
                    used_by: users(session, rules, *figure),
                }
            }
            Figure::Parameter(_) => continue,
        };
        pages.push(page);
    }
    // Several standards can have a name of their own that reads the same.
    let mut seen = HashMap::new();
    pages.iter().for_each(|page| *seen.entry(page.name.clone()).or_insert(0) += 1);
    for page in pages.iter_mut().filter(|page| seen.get(&page.name).is_some_and(|count| *count > 1)) {
        let standards: BTreeSet<&str> =
            page.used_by.iter().filter_map(|rule| rule.split('.').next()).collect();
        page.within = standards.into_iter().map(|name| name.replace('_', " ")).collect();
    }
    pages.sort_by_key(|page| page.name.to_lowercase());
    pages
}

pub(super) fn parameters(session: &Session, figures: &[Figure], rules: &[&Rule]) -> Vec<ParameterPage> {
    let program = session.program();
    let declared = session.parameters();
    let mut pages = Vec::new();
    for ((id, parameter), declared) in program.parameters().iter().zip(declared) {
        let figure = Figure::Parameter(id);
        if !figures.contains(&figure) {
            continue;
        }
        let place = |place| session.sources().line_in_words(place);
        let mut rows: Vec<(String, Option<&Value<'static>>, String)> = Vec::new();
        match &parameter.stated {
            Stated::Nothing => {}
            Stated::Default(value) => {
                rows.push(("unless stated".to_owned(), Some(value), "the default".to_owned()))
            }
            Stated::Given(value, at) => rows.push(("stated".to_owned(), Some(value), place(*at))),
            Stated::Faulty(faulty) => {
                rows.push(("stated with an error".to_owned(), None, place(faulty.place)))
            }
            Stated::ByKey(by_key) => rows.extend(by_key.rows().into_iter().map(|(keys, stated)| {
                let keys: Vec<&str> =
                    keys.iter().map(|key| key.as_deref().unwrap_or("every other")).collect();
                let at = match stated {
                    Stated::Given(_, at) => place(*at),
                    Stated::Faulty(faulty) => place(faulty.place),
                    _ => "the default".to_owned(),
                };
                (keys.join(", "), stated.value(), at)
            })),
        }
        let (mut stated, mut words) = (Vec::new(), Vec::new());
        for (of, value, at) in rows {
            match value.and_then(|value| FigureRow::of_value(of.clone().into(), value)) {
                Some(row) => stated.push((row, at)),
                None => words.push(format!("{of}: {} ({at})", value.map_or("unknown".to_owned(), constant))),
            }
        }
        pages.push(ParameterPage {
            figure,
            setting: declared.setting(),
            declared,
            stated,
            words,
            used_by: users(session, rules, figure),
        });
    }
    pages
}

pub(super) fn changes(since: &Since, standard: &[(RuleId, &Rule)]) -> Changes {
    let edition =
        since.comparison.editions.0.map_or_else(String::new, |edition| format!("edition {edition}, "));
    let one = |change: &Change| {
        let head = change.to.as_ref().and_then(|side| side.path.split(['.', '[']).next()).unwrap_or_default();
        let own = format!("{}.{head}", since.standard);
        let is_rule = standard.iter().any(|(_, rule)| rule.name == own);
        let rules = if is_rule {
            vec![own]
        } else {
            change.used_by.iter().map(|rule| format!("{}.{rule}", since.standard)).collect()
        };
        let words = |side: &Option<Side>| side.as_ref().map(|side| side.words.clone());
        let part = match change.part.split_once(' ') {
            Some(("let", name)) => format!("the name “{}”", name.replace('_', " ")),
            Some((noun @ ("rule" | "parameter" | "table"), name)) => {
                format!("the {noun} “{}”", name.replace('_', " "))
            }
            _ => change.part.clone(),
        };
        let what = match change.what.as_str() {
            "" | "let" | "value" => String::new(),
            what => format!(", {}", what.replace('_', " ")),
        };
        let mut text = format!("{}{what}: {}", capital(&part), change.kind.words());
        match (words(&change.from), words(&change.to)) {
            (Some(from), Some(to)) => {
                let [from, to] = differing(&from, &to);
                text.push_str(&format!(", from “{from}” to “{to}”"));
            }
            (Some(one), None) | (None, Some(one)) if !one.is_empty() => text.push_str(&format!(": {one}")),
            _ => {}
        }
        (rules, text)
    };
    Changes {
        since: format!("{edition}{}", since.name),
        list: since.comparison.changes.iter().map(one).collect(),
    }
}

/// Two texts without the words at both ends that they share, but for a few that show where in them they differ.
fn differing(from: &str, to: &str) -> [String; 2] {
    const SHOWN: usize = 4;
    let (from, to): (Vec<&str>, Vec<&str>) =
        (from.split_whitespace().collect(), to.split_whitespace().collect());
    let same = from.iter().zip(&to).take_while(|(from, to)| from == to).count();
    let rest = from.len().min(to.len()).saturating_sub(same);
    let behind =
        from.iter().rev().zip(to.iter().rev()).take(rest).take_while(|(from, to)| from == to).count();
    let cut = |words: Vec<&str>| {
        let (start, end) =
            (same.saturating_sub(SHOWN), words.len().saturating_sub(behind.saturating_sub(SHOWN)));
        let shown = words.get(start..end).unwrap_or_default().join(" ");
        let (before, after) = (if start > 0 { "… " } else { "" }, if end < words.len() { " …" } else { "" });
        format!("{before}{shown}{after}")
    };
    [cut(from), cut(to)]
}
