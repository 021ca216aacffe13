//! Why something cannot be told, and what to do about it.

use super::near::near_row;
use super::words::{alternatives, below, last_names};
use super::{Explainer, is_path};
use crate::decide::{About, Leaf, Missing, NodeRef, Reason, UnresolvedLink, Verdict};
use crate::document::DocPath;
use crate::document::places::pointer;
use crate::finding::Awaited;
use crate::language::typed::{ExprKind, Parameter, Rule};
use crate::metrology::uncertainty::quoted;
use crate::quantity::{Number, Which};
use crate::source::Place;

impl<'x> Explainer<'x> {
    /// The path of what is missing, and what is wrong with it.
    pub(super) fn missing_words(&mut self, missing: &Missing<'x>) -> (String, String) {
        self.missing_words_below(false, missing)
    }

    /// The same of what decides a comparison below an odd number of `not`, to which its limit is the other way round.
    pub(super) fn missing_words_below(&mut self, negated: bool, missing: &Missing<'x>) -> (String, String) {
        let at = self.path(missing.at);
        match &missing.reason {
            Reason::NotRecorded(expr, depth) => {
                let path = below(&at, &last_names(expr, *depth));
                let text = self.lacking(missing).unwrap_or_else(|| format!("`{path}` is not recorded"));
                (path, text)
            }
            Reason::Unreadable => {
                let why = self.values.doc(missing.at).why_unread(missing.at.node);
                let text = format!("`{at}` {why}");
                (at, text)
            }
            Reason::UnresolvedLink(lost) => match &**lost {
                UnresolvedLink::Unnamed(field) => {
                    let path = below(&at, field);
                    let text = format!("`{path}` is not recorded");
                    (path, text)
                }
                UnresolvedLink::Absent(words) | UnresolvedLink::Several(words) => (at, words.to_string()),
                UnresolvedLink::First => (at, "there is no entry before the first".to_owned()),
            },
            Reason::NoParameter(number) => {
                let Parameter { name, title, .. } = &self.values.program.parameters()[*number];
                (at, format!("parameter `{name}` is not stated ({title})"))
            }
            Reason::FaultyParameter(number, faulty) => {
                let Parameter { name, title, .. } = &self.values.program.parameters()[*number];
                let source = self.values.sources.name(faulty.place.source);
                let text = match name.strip_suffix(&*faulty.name) {
                    Some(before) if before.is_empty() || before.ends_with('.') => {
                        format!("parameter `{name}` has an error in {source} ({title})")
                    }
                    _ => {
                        format!(
                            "`{}` in {source} has an error and may mean parameter `{name}` ({title})",
                            faulty.name
                        )
                    }
                };
                (at, text)
            }
            Reason::NoRow(number, keys) => {
                let table = &self.values.program.tables()[*number];
                let (name, near) = (&table.name, near_row(table, keys));
                let near =
                    near.map(|row| format!("; did you mean \"{}\"?", row.join("\", \""))).unwrap_or_default();
                (at, format!("the table `{name}` has no row for \"{}\"{near}", keys.join("\", \"")))
            }
            Reason::Guarded(decision, value, by) => {
                let near = match (decision.margin.limit, negated) {
                    (Which::Low, false) | (Which::High, true) => "lower",
                    (Which::High, false) | (Which::Low, true) => "upper",
                };
                let below_zero = decision.margin.distance.magnitude() < &Number::ZERO;
                let inside = if below_zero == negated { "inside" } else { "outside" };
                let distance = match below_zero {
                    true => decision.margin.distance.opposite(),
                    false => decision.margin.distance.clone(),
                };
                let what = if is_path(value) { at.clone() } else { self.source_of(value) };
                let text = format!(
                    "`{what}` lies {distance} {inside} its {near} limit, within the guard band of {}: inside the uncertainty of the tool, decided by {by}",
                    quoted(&decision.guard)
                );
                (at, text)
            }
            Reason::Fault(fault) => (at, fault.message.clone()),
            Reason::Hole(hole, gaps) => {
                let text = self.hole_words(&at, hole, *gaps);
                (at, text)
            }
            Reason::Both(first, _) => self.missing_words_below(negated, first),
            Reason::Empty => {
                let text = format!("`{at}` has nothing of which this could be taken");
                (at, text)
            }
        }
    }

    /// That an entry of one of several lists is asked for what no entry of its list has: nobody can record it.
    fn lacking(&self, missing: &Missing<'x>) -> Option<String> {
        let Reason::NotRecorded(mut expr, depth) = missing.reason else { return None };
        for _ in 1..depth {
            let (ExprKind::Field { base, .. } | ExprKind::Link { base, .. }) = &expr.kind else {
                return None;
            };
            expr = base;
        }
        let (base, name) = match &expr.kind {
            ExprKind::Field { base, name, .. } => (base, name),
            ExprKind::Link { base, link } => (base, &link.name),
            _ => return None,
        };
        let (mixed, entry) = (base.mixed()?, self.path(missing.at));
        mixed.lacks(&entry, name).then(|| {
            let having: Vec<String> = mixed.lists_with(name).map(|list| format!("`{}`", list.path)).collect();
            let asked = self.source_of(expr);
            format!(
                "`{entry}` has no field `{name}`, only {} has one; the rule must say where it is asked for: `where recorded {asked}`",
                alternatives(&having)
            )
        })
    }

    /// What is waited for, where that is one value or figure.
    pub(super) fn awaited(&self, missing: &Missing<'x>) -> Option<Awaited> {
        if self.lacking(missing).is_some() {
            return None;
        }
        let at = self.path(missing.at);
        let home = self.around_home(missing.at);
        let (document, node) = (self.values.doc(home), home.node);
        let own = document.span(node);
        let span = document.key_span(node).map_or(own, |key| key.to(own));
        let whole = Place { source: document.source, span };
        let awaited = |what: String, field: Option<&str>| {
            let at = if field.is_some() { pointer(document, node) } else { whole };
            Some(Awaited { what, at, field: field.map(str::to_owned) })
        };
        let lacks = |field: &str| awaited(below(&at, &DocPath::root().key(field)), Some(field));
        match &missing.reason {
            Reason::NotRecorded(expr, depth) => match last_names(expr, *depth).first_key() {
                Some(field) => lacks(field),
                None => awaited(at, None),
            },
            Reason::Unreadable => awaited(at, None),
            Reason::UnresolvedLink(lost) => match &**lost {
                UnresolvedLink::Unnamed(field) => field.first_key().and_then(lacks),
                UnresolvedLink::Absent(_) | UnresolvedLink::Several(_) => awaited(at, None),
                UnresolvedLink::First => None,
            },
            Reason::NoParameter(number) | Reason::FaultyParameter(number, _) => {
                awaited(self.parameter(*number).to_owned(), None)
            }
            Reason::Both(first, _) => self.awaited(first),
            Reason::NoRow(..) | Reason::Guarded(..) | Reason::Fault(_) | Reason::Hole(..) | Reason::Empty => {
                None
            }
        }
    }

    /// What to do about a value that is not there.
    pub(super) fn remedy(&self, leaf: &Leaf<'x>, about: About<'x>, rule: &Rule) -> Option<String> {
        let missing = leaf.missing.as_ref()?;
        if self.lacking(missing).is_some() {
            return Some("Correct the rule; nothing is missing in the record.".to_owned());
        }
        // Of what nobody may let stand it is said what to do before anybody only writes something down.
        let is_grave =
            rule.concession.as_ref().is_some_and(Vec::is_empty) && matches!(about, About::Demand(_));
        let text = match &missing.reason {
            Reason::NotRecorded(..) if is_grave && rule.remedy.is_some() => {
                return rule.remedy.as_ref().map(|own| format!("If it was done, record it. If not: {own}"));
            }
            // Nobody asks for a value that only chooses what is judged.
            Reason::Guarded(..) if matches!(about, About::Concern(_)) => {
                "Measure again with a tool of less uncertainty."
            }
            Reason::NotRecorded(..) if self.is_left_blank(missing.at) => {
                "Record it; where the unit has none, take it out of the record. If the work was not done, do it first."
            }
            Reason::NotRecorded(..) => "Record it. If the work was not done, do it first.",
            Reason::Unreadable => "Correct the value; see the error above.",
            Reason::UnresolvedLink(lost) => match **lost {
                UnresolvedLink::Unnamed(_) => "Record it. If the work was not done, do it first.",
                UnresolvedLink::Absent(_) | UnresolvedLink::Several(_) => {
                    "Correct the name in the record, or see to it that what it names is there, once."
                }
                UnresolvedLink::First => return None,
            },
            Reason::NoParameter(number) => {
                let name = &self.values.program.parameters()[*number].name;
                return Some(format!(
                    "State it as `{name}` under `parameters` in the workshop's settings, or with `--parameter {name}=VALUE`."
                ));
            }
            Reason::FaultyParameter(..) => "Correct it there; what is wrong is reported at its line.",
            Reason::NoRow(..) => "Correct the value in the record, or add a row to the table.",
            Reason::Guarded(..) => {
                "Measure again with a tool of less uncertainty, or bring the value away from the limit."
            }
            Reason::Hole(..) => {
                "Add the log of the whole stretch of time, with entries close enough, or measure again."
            }
            Reason::Fault(_) | Reason::Empty | Reason::Both(..) => return None,
        };
        Some(text.to_owned())
    }

    /// Whether a value is missing in a part of a record of which nothing was filled in.
    fn is_left_blank(&self, spot: NodeRef) -> bool {
        let document = self.values.doc(spot);
        let group = if document.is_empty(spot.node) { document.parent(spot.node) } else { Some(spot.node) };
        spot.is_own() && group.is_some_and(|group| document.is_left_blank(group))
    }

    /// The words of why a verdict is undecided, with the path and the place.
    pub fn why_undecided(&mut self, verdict: &Verdict<'x>) -> Option<(String, Place, String)> {
        let missing = verdict.leaf.as_ref()?.missing.as_ref()?;
        let (path, text) = self.missing_words(missing);
        let at = self.around_home(missing.at);
        Some((path, self.place(at), text))
    }
}
