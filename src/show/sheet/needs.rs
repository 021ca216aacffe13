//! What the standards in force add to a draft: the fields that they read, the entries that they ask
//! for, and their limits.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::safe;
use crate::document::path::{Every, Step};
use crate::document::{PathPattern, Record, Shape};
use crate::language::analysis::{Asked, Facts, Guard, Known, Limit, Reading, Wanted};
use crate::language::typed::Program;
use crate::metrology::conformity::DecisionRule;
use crate::quantity::Range;
use crate::session::Session;
use crate::trade::blank::{Draft, Group, Plan};
use crate::trade::form::JOB;

/// The elements of lists through which a place in the draft is reached: the pattern of each, such as
/// `fastenings[]`, and what is known of it.
#[derive(Clone, Default)]
pub(super) struct Trail<'d>(Vec<(PathPattern, &'d Group)>);

impl<'d> Trail<'d> {
    /// The same, one element further.
    pub(super) fn and(&self, pattern: &PathPattern, element: &'d Group) -> Trail<'d> {
        let mut trail = self.0.clone();
        trail.push((pattern.clone(), element));
        Trail(trail)
    }

    /// The text that is settled for a field, by its pattern; or planned, where that is as good.
    fn known(&self, facts: &Facts, path: &PathPattern, planned: bool) -> Option<String> {
        let of_element = self.0.iter().rev().find_map(|(pattern, element)| {
            let Some([Step::Key(field)]) = path.below(pattern) else { return None };
            match element.get(field)? {
                Draft::Stated(text) | Draft::Recorded(text) => Some(text.clone()),
                Draft::Blank(Plan::Text(text)) if planned => Some(text.clone()),
                Draft::Blank(Plan::Truth(truth)) if planned => Some(yes_or_no(*truth).to_owned()),
                _ => None,
            }
        });
        of_element.or_else(|| facts.get(path).cloned())
    }
}

/// The standards in force, asked about places of a draft.
pub(super) struct Needs<'p> {
    pub(super) session: &'p Session,
    pub(super) program: &'p Program,
    pub(super) facts: &'p Facts,
    reading: Reading<'p>,
    /// The patterns of all fields of the record.
    present: BTreeSet<PathPattern>,
}

impl<'p> Needs<'p> {
    pub(super) fn new(session: &'p Session, facts: &'p Facts, fields: &BTreeSet<PathPattern>) -> Self {
        let program = session.program();
        let reading = Reading::of(program, JOB, facts, fields);
        Needs { session, program, facts, reading, present: BTreeSet::new() }
    }

    /// The same for a record with these fields, which is not completed.
    pub(super) fn with_fields(self, fields: &BTreeSet<PathPattern>) -> Self {
        Needs { present: fields.clone(), ..self }
    }

    fn may_hold(&self, guards: &[Guard<'_>], trail: &Trail<'_>, planned: bool) -> bool {
        let text = |path: &PathPattern| trail.known(self.facts, path, planned);
        let known = Known { text: &text, present: &|path| self.present.contains(path) };
        guards.iter().all(|guard| guard.decide(self.program, known) != Some(false))
    }

    /// The limits of the standards for a field.
    pub(super) fn limits(&self, path: &PathPattern, trail: &Trail<'_>) -> Vec<&Wanted<'p>> {
        let fitting = self.reading.wanted.iter().filter(|wanted| wanted.path == *path);
        fitting.filter(|wanted| self.may_hold(&wanted.guards, trail, true)).collect()
    }

    /// By which rule a reading is decided: that of the demand, else that of the settings.
    pub(super) fn decision(&self, wanted: Option<&Wanted<'p>>) -> &'p DecisionRule {
        wanted.and_then(|wanted| wanted.decision).unwrap_or(&self.session.setting().decision)
    }

    /// Where readings of a range are safe with the tools of the register, by the rule of the settings.
    pub(super) fn safe_with_tools(&self, measured: &str, range: &Range) -> Option<String> {
        safe::with_tools(self.session, measured, range, self.decision(None))
    }

    /// Where readings are safe, in words of the record: by the settings, and by each rule that says otherwise.
    pub(super) fn safe_readings(&self) -> Vec<String> {
        let usual = safe::words(self.decision(None)).into_iter();
        let ruled = self.reading.wanted.iter().filter(|wanted| matches!(wanted.limit, Limit::Within(_)));
        let ruled = ruled.filter_map(|wanted| {
            Some(format!("{} (for the rule: {})", safe::words(wanted.decision?)?, wanted.rule.title))
        });
        let mut words: Vec<String> = Vec::new();
        for word in usual.chain(ruled) {
            if !words.contains(&word) {
                words.push(word);
            }
        }
        words
    }

    /// Plans what the procedure leaves open as the standards in force ask for it, where that is one value or
    /// one range.
    pub(super) fn plan(&self, group: &mut Group, path: &PathPattern, above: &Trail<'_>) {
        let own = group.clone();
        let trail = if let Some(Step::In(Every)) = path.steps().last() {
            above.and(path, &own)
        } else {
            above.clone()
        };
        for (name, draft) in &mut group.fields {
            let path = path.clone().key(name);
            match draft {
                Draft::Blank(plan @ Plan::Open) => {
                    if let [wanted] = self.limits(&path, &trail).as_slice() {
                        *plan = planned(&wanted.limit);
                    }
                }
                Draft::Group(inner) => self.plan(inner, &path, &trail),
                Draft::List(elements, _) => {
                    for element in elements {
                        if let Draft::Group(element) = element {
                            self.plan(element, &path.clone().entry(Every), &trail);
                        }
                    }
                }
                Draft::Blank(_) | Draft::Stated(_) | Draft::Recorded(_) => {}
            }
        }
    }

    /// Adds to a draft what the standards in force read and ask for. What is added can make further rules
    /// apply, those for what is recorded.
    pub(super) fn complete(&mut self, record: &mut Group, form: &Record) {
        loop {
            let before = std::mem::replace(&mut self.present, fields_of(record));
            if self.present == before {
                record.leave_out_of_fastenings();
                return;
            }
            for asked in &self.reading.asked {
                if self.may_hold(&asked.guards, &Trail::default(), false) {
                    self.ask(record, asked);
                }
            }
            let reads = self.reading.reads.iter();
            let reads: Vec<Wish<'_>> =
                reads.map(|read| Wish { steps: read.path.steps(), guards: &read.guards }).collect();
            self.fields(record, form, &PathPattern::root(), &reads, &[]);
        }
    }

    /// Sees to it that a list has an element of the sort that a rule asks for.
    fn ask(&self, record: &mut Group, asked: &Asked<'p>) {
        let mut at = record;
        let Some((Step::Key(last), steps)) = asked.list.steps().split_last() else { return };
        for step in steps {
            // A list within the elements of another is as its elements have it.
            let Step::Key(step) = step else { return };
            let Some(Draft::Group(inner)) = at.entry(step, || Draft::Group(Group::default())) else { return };
            at = inner;
        }
        let Some(Draft::List(elements, _)) = at.entry(last, || Draft::List(Vec::new(), None)) else { return };
        let pattern = asked.list.clone().entry(Every);
        let fits = |element: &Draft| match (element, &asked.which) {
            (Draft::Group(group), Some(which)) => {
                self.may_hold(std::slice::from_ref(which), &Trail::default().and(&pattern, group), false)
            }
            _ => true,
        };
        if !elements.iter().any(fits) {
            let holds = asked.holds.iter().map(|(field, text)| (field.clone(), Draft::Stated(text.clone())));
            let asked_by = Some(asked.rule.name.clone());
            elements.push(Draft::Group(Group { fields: holds.collect(), asked_by, ..Group::default() }));
        }
    }

    /// Leaves blank what is wished for in a group and is not there yet. `above` are the elements of lists
    /// in which the group stands, with what is known of them.
    fn fields(
        &self,
        group: &mut Group,
        form: &Record,
        path: &PathPattern,
        wishes: &[Wish<'_>],
        above: &[(PathPattern, Group)],
    ) {
        let trail = Trail(above.iter().map(|(pattern, element)| (pattern.clone(), element)).collect());
        let wishes: Vec<&Wish<'_>> =
            wishes.iter().filter(|wish| self.may_hold(wish.guards, &trail, false)).collect();
        for field in &form.fields {
            let below: Vec<Wish<'_>> = wishes.iter().filter_map(|wish| wish.below(&field.name)).collect();
            if below.is_empty() {
                continue;
            }
            let path = path.clone().key(&field.name);
            match &field.shape {
                Shape::Record(inner) => {
                    let nested = group.entry(&field.name, || Draft::Group(Group::default()));
                    if let Some(Draft::Group(nested)) = nested {
                        self.fields(nested, inner, &path, &below, above);
                    }
                }
                Shape::List(element) => match element.as_ref() {
                    Shape::Record(inner) if inner.shorthand.is_none() => {
                        self.elements(group, &field.name, inner, &path, &below, above)
                    }
                    _ => drop(group.entry(&field.name, || Draft::Blank(Plan::Open))),
                },
                _ => drop(group.entry(&field.name, || Draft::Blank(Plan::Open))),
            }
        }
    }

    fn elements(
        &self,
        group: &mut Group,
        name: &str,
        form: &Record,
        path: &PathPattern,
        wishes: &[Wish<'_>],
        above: &[(PathPattern, Group)],
    ) {
        let new = || Draft::List(vec![Draft::Group(Group::default())], None);
        let Some(Draft::List(elements, _)) = group.entry(name, new) else { return };
        for element in elements {
            let Draft::Group(element) = element else { continue };
            let mut above = above.to_vec();
            let path = path.clone().entry(Every);
            above.push((path.clone(), element.clone()));
            self.fields(element, form, &path, wishes, &above);
        }
    }
}

/// A field that a rule reads: the steps that are left of its path, and when it is read.
struct Wish<'r> {
    steps: &'r [Step<Every>],
    guards: &'r [Guard<'r>],
}

impl<'r> Wish<'r> {
    /// What is left of it below a field.
    fn below(&self, field: &str) -> Option<Wish<'r>> {
        let (step, rest) = self.steps.split_first()?;
        let steps = if let [Step::In(Every), below @ ..] = rest { below } else { rest };
        (*step == Step::Key(field.into())).then_some(Wish { steps, guards: self.guards })
    }
}

/// The patterns of all fields of a record.
pub(super) fn fields_of(record: &Group) -> BTreeSet<PathPattern> {
    let mut fields = BTreeSet::new();
    note(record, &PathPattern::root(), &mut fields);
    fields
}

/// Notes the patterns of all fields of a group.
fn note(group: &Group, path: &PathPattern, patterns: &mut BTreeSet<PathPattern>) {
    for (name, draft) in &group.fields {
        let path = path.clone().key(name);
        match draft {
            Draft::Group(inner) => note(inner, &path, patterns),
            Draft::List(elements, _) => {
                for element in elements {
                    if let Draft::Group(inner) = element {
                        note(inner, &path.clone().entry(Every), patterns);
                    }
                }
            }
            Draft::Blank(_) | Draft::Stated(_) | Draft::Recorded(_) => {}
        }
        patterns.insert(path);
    }
}

/// As a record writes a truth.
pub(super) fn yes_or_no(truth: bool) -> &'static str {
    if truth { "yes" } else { "no" }
}

/// A limit as something to plan by.
fn planned(limit: &Limit) -> Plan {
    match limit {
        Limit::Within(range) => Plan::Within(Arc::clone(range)),
        Limit::Truth(truth) => Plan::Truth(*truth),
        Limit::Words { words, refused: false } => match words.as_slice() {
            [word] => Plan::Text(word.clone()),
            _ => Plan::Open,
        },
        Limit::Words { .. } | Limit::Pattern(_) => Plan::Open,
    }
}

pub(super) fn standard_of(rule: &str) -> &str {
    rule.rsplit_once('.').map_or(rule, |(standard, _)| standard)
}
