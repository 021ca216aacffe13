//! Goes through an expression with all that its names come to, and with what its variables stand for.

use std::collections::HashSet;

use super::encode::{Encoder, Env};
use super::term::{Node, Sort};
use crate::language::ids::LetId;
use crate::language::typed::{Expr, ExprKind, Program};

/// What is called with each part.
type See<'s, 'p> = dyn FnMut(&mut Encoder<'p>, &'p Expr, &Env) + 's;

/// Calls `see` with each part of an expression and of the names in it; each name once for the same variables.
pub(super) fn walk<'p>(encoder: &mut Encoder<'p>, expr: &'p Expr, env: &Env, see: &mut See<'_, 'p>) {
    go(encoder, expr, env, 0, &mut HashSet::new(), see);
}

fn go<'p>(
    encoder: &mut Encoder<'p>,
    expr: &'p Expr,
    env: &Env,
    depth: u32,
    seen: &mut HashSet<(LetId, Env)>,
    see: &mut See<'_, 'p>,
) {
    if !encoder.step() {
        return;
    }
    see(encoder, expr, env);
    let mut inner = *env;
    match &expr.kind {
        ExprKind::Let(id, entry) => {
            let scope = encoder.inside(*id, entry.as_deref(), env);
            if seen.insert((*id, scope)) {
                let program: &'p Program = encoder.program;
                go(encoder, &program.lets()[*id].value, &scope, depth, seen, see);
            }
        }
        ExprKind::Quantified { slot, list, .. } | ExprKind::Aggregate { slot: Some(slot), list, .. } => {
            let list = encoder.term(list, env);
            let entry = encoder.terms.add(Node::Entry(list, 300 + depth), Sort::Group);
            inner.set(*slot, entry);
        }
        _ => {}
    }
    let mut parts = Vec::new();
    expr.for_each_part(&mut |part| parts.push(part));
    for part in parts {
        go(encoder, part, &inner, depth + 1, seen, see);
    }
}
