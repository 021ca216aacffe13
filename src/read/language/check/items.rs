//! Standards and rules.

use super::comparability::short;
use super::{Checker, Scope};
use crate::code::{LEFT_OUT, MESSAGE_VALUE, NAME_TAKEN, STANDARD_MISSING, UNKNOWN_NAME};
use crate::diagnostic::{Diagnostic, nearest};
use crate::edition::Edition;
use crate::language::ast::{self, Item, Unrecorded};
use crate::language::typed::{Concerns, Each, Expr, ExprKind, Part, Rule, Standard};
use crate::language::types::Type;
use crate::letters::{look, look_alike, said};
use crate::source::Place;

impl<'a> Checker<'a> {
    /// Checks the standard of a unit and its rules.
    pub(super) fn standard(&mut self, unit: usize) {
        let Some(head) = self.only_standard(unit) else { return };
        let Some(file) = self.units.get(unit).map(|unit| &unit.file) else { return };
        let place = |span| Place { source: file.source, span };
        let edition = head.edition.as_ref().map_or(Edition::FIRST, |edition| edition.node);
        let same = |known: &&Standard| known.name == head.name.node && known.edition == edition;
        if let Some(taken) = self.standards.iter().find(same) {
            let diagnostic = Diagnostic::error(
                NAME_TAKEN,
                place(head.name.span),
                format!("`{}` edition {edition} is there twice in this run", head.name.node),
            )
            .and_at(taken.place, "the other")
            .help("give one of them another name or edition, or leave one out of the run");
            self.report(diagnostic);
            return;
        }
        let looks = |known: &&Standard| look_alike(&known.name, &head.name.node);
        if let Some(other) = self.standards.iter().find(looks) {
            let message = format!("`{}` looks like another standard of this run", head.name.node);
            let diagnostic = Diagnostic::error(NAME_TAKEN, place(head.name.span), message)
                .and_at(other.place, "the other")
                .help(said(&head.name.node, &other.name));
            self.report(diagnostic);
            return;
        }
        let Some(form) = self.judged_form(head, place(head.span)) else { return };
        let before = self.wrong();
        let mut scope = self.scope(unit);
        let condition = head.condition.as_ref().map(|written| self.truth(&mut scope, written, "`where`"));
        if self.wrong() > before {
            return;
        }
        let before = self.rules.all().len();
        for item in &file.items {
            if let Item::Rule(rule) = item {
                if self.has_enough() {
                    break;
                }
                self.rule(unit, head, rule);
            }
        }
        self.standards.push(Standard {
            name: head.name.node.clone(),
            edition,
            from: head.from.as_ref().map(|day| day.node),
            in_force: self.units.get(unit).is_some_and(|unit| unit.in_force),
            title: head.title.as_ref().map(|title| title.node.clone()).unwrap_or_default(),
            form,
            place: condition.as_ref().map_or(place(head.name.span), |condition| condition.place),
            condition,
            rules: self.rules.since(before),
        });
    }

    fn judged_form(&mut self, head: &ast::Standard, whole: Place) -> Option<String> {
        let Some(judges) = &head.judges else {
            let names = self.forms.names().collect::<Vec<_>>().join("`, `");
            self.report(
                Diagnostic::error(STANDARD_MISSING, whole, "the standard does not say what it judges")
                    .help(format!("add a line `judges job`; the forms are `{names}`")),
            );
            return None;
        };
        if self.forms.get(&judges.node).is_some() {
            return Some(judges.node.clone());
        }
        let place = Place { span: judges.span, ..whole };
        let names: Vec<&str> = self.forms.names().collect();
        let diagnostic = Diagnostic::error(
            UNKNOWN_NAME,
            place,
            format!("there is no form of document called `{}`", judges.node),
        );
        let help = match nearest(&judges.node, names.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("the forms are `{}`", names.join("`, `")),
        };
        self.report(diagnostic.help(help));
        None
    }

    /// Refuses a rule with the name of another, or with one that looks the same.
    fn rule_name(&mut self, unit: usize, name: &'a str, place: Place) {
        let Some((other, first)) = self.rule_names.insert((unit, look(name)), (name, place)) else { return };
        let diagnostic = if other == name {
            let message = format!("two rules of this standard are called `{name}`");
            Diagnostic::error(NAME_TAKEN, place, message)
        } else {
            let message = format!("`{name}` looks like another rule of this standard");
            Diagnostic::error(NAME_TAKEN, place, message).help(said(name, other))
        };
        self.report(diagnostic.and_at(first, "the first"));
    }

    fn rule(&mut self, unit: usize, head: &ast::Standard, written: &'a ast::Rule) {
        let standard = head.name.node.as_str();
        let (before, errors) = (self.wrong(), self.errors());
        self.figures.clear();
        let mut scope = self.scope(unit);
        let place = scope.place(written.span);
        let name = format!("{standard}.{}", written.name.node);
        let name_place = scope.place(written.name.span);
        self.rule_name(unit, &written.name.node, name_place);
        let concerns = self.concerns(&mut scope, written.concerns.as_ref());
        written.lets.iter().for_each(|named| self.let_of_rule(&mut scope, named));
        let demands: Vec<Expr> =
            written.demands.iter().map(|demand| self.truth(&mut scope, demand, "`demands`")).collect();
        if let Concerns::Each(nested) = &concerns {
            let all: Vec<&Expr> = demands.iter().collect();
            for each in nested.iter().filter(|each| each.keys.is_empty()) {
                self.asked_of_all((&each.variable, each.slot, &each.list), each.condition.as_ref(), &all);
            }
        }
        let Some(otherwise) = &written.otherwise else { return };
        let message = self.message(&mut scope, &otherwise.message);
        let trials = written.trials.iter().map(|trial| self.trial(unit, trial)).collect();
        let period = self.period(unit, written);
        let replaces = self.replaced(unit, standard, written);
        let accepted = self.accepted(unit, written);
        if self.wrong() > before {
            if self.errors() == errors {
                let message =
                    format!("the rule `{name}` is left out, because it uses something that has a mistake");
                self.report(Diagnostic::advice(LEFT_OUT, name_place, message));
            }
            return;
        }
        let text = |text: Option<&ast::Text>| text.map(|text| text.node.clone());
        self.rules.push(Rule {
            name,
            title: text(written.title.as_ref()).unwrap_or_default(),
            concerns,
            demands,
            severity: otherwise.severity.node,
            message,
            remedy: text(written.remedy.as_ref()),
            because: text(written.because.as_ref()),
            basis: text(head.basis_of(written)),
            concession: head.concession_of(written).map(roles_of),
            says_again: said_again(head, written),
            unrecorded: written
                .if_unrecorded
                .as_ref()
                .map_or(Unrecorded::As(otherwise.severity.node), |unrecorded| unrecorded.node),
            unrecorded_at: written.if_unrecorded.as_ref().map(|clause| scope.place(clause.span)),
            accepted,
            period,
            replaces,
            changed: None,
            left_out: None,
            trials,
            judges: false,
            figures: std::mem::take(&mut self.figures),
            place,
            name_place,
        });
    }

    fn concerns(&mut self, scope: &mut Scope, written: Option<&ast::Concerns>) -> Concerns {
        let Some(written) = written else { return Concerns::Document(None) };
        if written.subjects.is_empty() {
            let condition =
                written.condition.as_ref().map(|condition| self.truth(scope, condition, "`where`"));
            return Concerns::Document(condition);
        }
        let mut subjects = Vec::new();
        for each in &written.subjects {
            let (list, element) = self.list(scope, &each.list);
            // A wrong number is one of the whole list: no element is meant.
            let message = each.message.as_ref().map(|message| self.message(scope, message));
            self.new_variable(scope, &each.variable);
            let slot = scope.open(&each.variable.node, element.clone());
            let condition = each.condition.as_ref().map(|condition| self.truth(scope, condition, "`where`"));
            let (variable, keys) = match &each.group {
                Some(group) => (&group.name, self.group(scope, (slot, element), group, &list.ty)),
                None => (&each.variable, Vec::new()),
            };
            subjects.push(Each {
                variable: variable.node.clone(),
                slot,
                list,
                condition,
                keys,
                count: each.count.as_ref().map(|count| (count.node, count.span)),
                message,
                span: each.span,
            });
        }
        Concerns::Each(subjects)
    }

    fn message(&mut self, scope: &mut Scope, written: &ast::Message) -> Vec<Part> {
        let mut parts = Vec::new();
        for part in &written.parts {
            match part {
                ast::Part::Words(words) => parts.push(Part::Words(words.clone())),
                ast::Part::Value(expression) => {
                    let value = short(self.expr(scope, expression));
                    // An entry is shown by what it is called.
                    let is_entry =
                        matches!((&value.kind, &value.ty), (ExprKind::Variable(_), Type::Record(_)));
                    if matches!(value.ty, Type::Record(_) | Type::List(_)) && !is_entry {
                        let message = format!("a message can show a single value, and this is {}", value.ty);
                        self.report(
                            Diagnostic::error(MESSAGE_VALUE, value.place, message)
                                .help("name a field of it, or say `count of …`"),
                        );
                    }
                    parts.push(Part::Value(value));
                }
            }
        }
        parts
    }
}

/// Who may grant a concession; nobody where the list is empty.
fn roles_of(concession: &ast::Concession) -> Vec<String> {
    match concession {
        ast::Concession::Never(_) => Vec::new(),
        ast::Concession::By(roles) => roles.iter().map(|role| role.node.clone()).collect(),
    }
}

/// The clauses without which a rule would say the same, by the head of its standard.
fn said_again(head: &ast::Standard, written: &ast::Rule) -> Vec<&'static str> {
    let own_basis = written.basis.as_ref().map(|text| &text.node);
    let basis = own_basis.is_some() && own_basis == head.basis.as_ref().map(|text| &text.node);
    let own_roles = written.concession.as_ref().map(roles_of);
    let concession = own_roles.is_some() && own_roles == head.concession_for(written).map(roles_of);
    [("basis", basis), ("concession", concession)]
        .into_iter()
        .filter_map(|(clause, again)| again.then_some(clause))
        .collect()
}
