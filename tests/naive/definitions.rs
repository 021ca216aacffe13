//! Names for values, of the whole document, of an entry, of a rule; and values by cases.

use witnessmark::language::ast::{Case, Expr, ExprKind, Item};

use super::evaluate::{Naive, Scope};
use super::mutation::Mutation;
use super::value::{Known, Truth, Why};

impl<'n> Naive<'n> {
    /// The value that a name has, and the variables that it sees; nothing for what is no name of a value.
    pub fn definition(&self, expr: &'n Expr, scope: &Scope<'n>) -> Option<Known<(&'n Expr, Scope<'n>)>> {
        match &expr.kind {
            ExprKind::Path(names) => {
                if let [name] = names.as_slice()
                    && let Some(own) = self.lets.iter().find(|own| own.name.node == name.node)
                {
                    return Some(Ok((&own.value, scope.clone())));
                }
                match self.named(names, scope)? {
                    Item::Let(named) => Some(Ok((&named.value, Scope::new()))),
                    _ => None,
                }
            }
            ExprKind::Of { name, entry } => {
                let Item::Let(named) = self.named(std::slice::from_ref(name), &Scope::new())? else {
                    return None;
                };
                let variable = &named.entries.as_ref().expect("entries").variable.node;
                let place = self.place(entry, scope);
                let mut entry = place.variable(variable);
                if self.is(Mutation::EntryIsForgotten) {
                    entry.node = None;
                }
                Some(place.known(self).map(|_| (&named.value, vec![entry])))
            }
            _ => None,
        }
    }

    /// What the first case gives whose condition holds; where that cannot be told, what all give that it can be.
    pub fn by_cases<T>(
        &self,
        cases: &'n [Case<Expr>],
        scope: &Scope<'n>,
        value: impl Fn(&'n Expr) -> Known<T>,
        agree: impl Fn(&T, &T) -> bool,
    ) -> Known<T> {
        if self.is(Mutation::CaseConditionIsForgotten) {
            return value(&cases[0].value);
        }
        let (mut open, mut found): (Option<Why>, Option<T>) = (None, None);
        for case in cases {
            let told = case.condition.as_ref().map(|condition| self.truth(condition, scope).told());
            let (truth, why) = told.map_or((Truth::Yes, None), |told| (told.truth, told.why));
            if truth == Truth::No || truth == Truth::Unknown && self.is(Mutation::OpenCaseIsPassedOver) {
                continue;
            }
            if truth == Truth::Unknown {
                open = open.max(why);
            }
            match value(&case.value) {
                Err(why) => return Err(open.map_or(why, |open| open.max(why))),
                Ok(one) if found.as_ref().is_none_or(|first| agree(first, &one)) => found = Some(one),
                Ok(_) => return Err(open.expect("a case that is open")),
            }
            if truth == Truth::Yes {
                break;
            }
        }
        Ok(found.expect("the last case has no condition"))
    }
}
