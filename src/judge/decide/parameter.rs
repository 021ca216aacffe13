//! What a parameter comes to for a document or an entry of it: the field that goes before, what is stated for the
//! keys at hand, the default.

use std::collections::BTreeSet;

use super::compute::{Computed, Operand, are_one};
use super::links::UnresolvedLink;
use super::{Evaluator, Missing, NodeRef, Reason};
use crate::diagnostic::surely;
use crate::language::ids::ParameterId;
use crate::language::naming::fields_of;
use crate::language::typed::{Expr, ExprKind, Parameter, Stated, StatedByKey};
use crate::language::types::Type;
use crate::source::Place;
use crate::value::Value;

/// From where the value of a parameter is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// From a field of a document.
    Field(NodeRef),
    /// Stated in the settings, on the command line or by a trial, where that is known.
    Stated(Option<Place>),
    /// The default of its declaration.
    Default(Place),
}

/// What a document says of a parameter that does not agree with what is stated for it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Clash {
    /// A field and the settings state different values.
    Values {
        /// The parameter.
        parameter: ParameterId,
        /// The field, whose value counts.
        field: NodeRef,
        /// Where the other value is stated.
        stated: Place,
    },
    /// A value of the document is none of the keys, and nearly one of them.
    Key {
        /// The parameter.
        parameter: ParameterId,
        /// The value.
        field: NodeRef,
        /// The key that it nearly is.
        near: String,
    },
    /// A value of the whole document is no key of any parameter that has such keys.
    NoKey {
        /// The parameter.
        parameter: ParameterId,
        /// The value.
        field: NodeRef,
    },
}

/// Whether a field is one of the whole document, and not of an entry.
fn is_of_document(field: &Expr) -> bool {
    match &field.kind {
        ExprKind::Field { base, .. } => is_of_document(base),
        ExprKind::Root => true,
        _ => false,
    }
}

impl<'x> Evaluator<'x> {
    /// The value of a parameter, of an entry where it has one of each.
    pub(super) fn parameter(
        &mut self,
        number: ParameterId,
        entry: Option<&'x Expr>,
    ) -> Computed<'x, Operand<'x>> {
        self.parameter_from(number, entry).map(|(value, _)| value)
    }

    /// The same, and from where it is.
    pub(crate) fn parameter_from(
        &mut self,
        number: ParameterId,
        entry: Option<&'x Expr>,
    ) -> Computed<'x, (Operand<'x>, Origin)> {
        let parameter = &self.program.parameters()[number];
        self.with_own_scope(|inner| {
            inner.bind_entry(entry)?;
            let stated = match inner.prescribed(parameter)? {
                Some((value, field)) => {
                    inner.note_clash((number, parameter), value.get(), field);
                    return Ok((value, Origin::Field(field)));
                }
                None => inner.stated(number, parameter, true),
            };
            stated.map(|(value, origin)| (Operand::lent(value, None), origin))
        })
    }

    /// The differences between a document and what is stated that were met since the last call.
    pub fn take_clashes(&mut self) -> Vec<Clash> {
        self.clashes_met.clear();
        std::mem::take(&mut self.clashes)
    }

    /// The value of the field that goes before, where it is recorded.
    fn prescribed(&mut self, parameter: &'x Parameter) -> Computed<'x, Option<(Operand<'x>, NodeRef)>> {
        let Some(from) = &parameter.from else { return Ok(None) };
        match self.node(from) {
            Ok(node) => self.value(from).map(|value| Some((value, node))),
            Err(Missing { reason: Reason::NotRecorded(..), .. }) => Ok(None),
            Err(Missing { reason: Reason::UnresolvedLink(lost), at }) => match *lost {
                // A procedure that is named and not among those that are there may say anything.
                UnresolvedLink::Absent(_) if self.around.lacks_the_procedure() => {
                    Err(Missing { at, reason: Reason::UnresolvedLink(lost) })
                }
                UnresolvedLink::Several(_) => Err(Missing { at, reason: Reason::UnresolvedLink(lost) }),
                UnresolvedLink::Absent(_) | UnresolvedLink::Unnamed(_) | UnresolvedLink::First => Ok(None),
            },
            Err(missing) => Err(missing),
        }
    }

    /// What is stated for a parameter: by a trial, or for this run, for the keys at hand. `counts` where no field goes
    /// before it.
    fn stated(
        &mut self,
        number: ParameterId,
        parameter: &'x Parameter,
        counts: bool,
    ) -> Result<(&'x Value<'x>, Origin), Missing<'x>> {
        let stated = match self.given {
            None => &parameter.stated,
            Some(given) => match given.iter().find(|given| given.parameter == number) {
                Some(own) => return Ok((&own.value, Origin::Stated(None))),
                None => &parameter.declared,
            },
        };
        let root = self.root();
        let missing = |reason| Missing { at: root, reason };
        let stated = match stated {
            Stated::ByKey(rows) => {
                let mut keys = Vec::with_capacity(parameter.keys.len());
                for (at, key) in parameter.keys.iter().enumerate() {
                    keys.push(if rows.asks(at) { Some(self.key(key)?) } else { None });
                }
                self.note_near_key((number, parameter), rows, &keys, counts);
                rows.row(&keys).unwrap_or(&parameter.declared)
            }
            stated => stated,
        };
        match stated {
            Stated::Default(value) => Ok((value, Origin::Default(parameter.place))),
            Stated::Given(value, place) => Ok((value, Origin::Stated(Some(*place)))),
            Stated::Faulty(faulty) => Err(missing(Reason::FaultyParameter(number, faulty))),
            // Rows hold no rows.
            Stated::Nothing | Stated::ByKey(_) => Err(missing(Reason::NoParameter(number))),
        }
    }

    fn key(&mut self, key: &'x Expr) -> Computed<'x, String> {
        let operand = self.value(key)?;
        match operand.get() {
            Value::Text(text) => Ok(text.to_string()),
            _ => Err(self.unreadable(operand.at)),
        }
    }

    /// Keeps that the settings state another value than a field that goes before.
    fn note_clash(
        &mut self,
        (number, parameter): (ParameterId, &'x Parameter),
        value: &Value<'x>,
        field: NodeRef,
    ) {
        if self.given.is_some() {
            return;
        }
        if let Ok((other, Origin::Stated(Some(stated)))) = self.stated(number, parameter, false)
            && !are_one(other, value)
        {
            self.note_once(Clash::Values { parameter: number, field, stated });
        }
    }

    /// Keeps that a value of the document is nearly a key for which something is stated, and none.
    fn note_near_key(
        &mut self,
        (number, parameter): (ParameterId, &'x Parameter),
        rows: &'x StatedByKey,
        keys: &[Option<String>],
        counts: bool,
    ) {
        if self.given.is_some() {
            return;
        }
        let is_open = counts && rows.row(keys).is_none();
        for (at, (key, field)) in keys.iter().zip(&parameter.keys).enumerate() {
            // A word of a closed list is none that is misspelt: another one has an error of its own.
            let Some(key) = key.as_ref().filter(|_| !matches!(field.ty, Type::Word(_))) else { continue };
            let known: BTreeSet<&str> = rows.keys(at).collect();
            if known.contains(key.as_str()) {
                continue;
            }
            let Ok(node) = self.node(field) else { continue };
            if let Some(near) = surely(key, known.iter().copied()) {
                self.note_once(Clash::Key { parameter: number, field: node, near: near.to_owned() });
            } else if is_open
                && !self.around.has_procedure()
                && is_of_document(field)
                && !self.is_a_key(field, key)
            {
                self.note_once(Clash::NoKey { parameter: number, field: node });
            }
        }
    }

    /// Whether anything is stated for a value of a field, of whatever parameter.
    fn is_a_key(&self, field: &Expr, value: &str) -> bool {
        let name = fields_of(field);
        self.program.parameters().all().iter().any(|parameter| match &parameter.stated {
            Stated::ByKey(rows) => {
                let keys = parameter.keys.iter().enumerate();
                keys.filter(|(_, key)| fields_of(key) == name)
                    .any(|(at, _)| rows.keys(at).any(|key| key == value))
            }
            _ => false,
        })
    }

    fn note_once(&mut self, clash: Clash) {
        if self.clashes_met.insert(clash.clone()) {
            self.clashes.push(clash);
        }
    }
}
