//! What is looked at before a clause is read: that its brackets are closed, and that it is neither
//! nested nor chained so far that reading, checking or judging it could exhaust the stack.

use crate::code;
use crate::diagnostic::Diagnostic;
use crate::language::read::scan::{Kind, Tokens};
use crate::source::{Place, SourceId, Span};

/// How deep brackets, conditions and quantifiers may be nested.
pub const MOST_NESTED: usize = 64;
/// How many operators one clause may have.
pub const MOST_OPERATORS: usize = 200;

/// Checks a clause that stands `base` bytes into its file.
pub(crate) fn check(source: SourceId, text: &str, base: u32) -> Result<(), Diagnostic> {
    let place = |span: Span| Place { source, span: span.shifted(base) };
    let mut opened: Vec<(Span, usize)> = Vec::new();
    let (mut nested, mut operators) = (0, 0);
    let mut previous = "";
    for token in Tokens::new(text) {
        match token.kind {
            Kind::Open => {
                opened.push((token.span, nested));
                nested += 1;
            }
            Kind::Close => match opened.pop() {
                Some((_, before)) => nested = before,
                None => {
                    let message = "this bracket closes nothing";
                    return Err(Diagnostic::error(code::UNCLOSED, place(token.span), message)
                        .help("take it out, or put `(` before what it closes"));
                }
            },
            Kind::Word | Kind::Sign if nests(previous, token.text) => nested += 1,
            Kind::Word | Kind::Sign if operates(token.text) => operators += 1,
            _ => {}
        }
        if nested > MOST_NESTED {
            return Err(too_deep(place(token.span)));
        }
        if operators > MOST_OPERATORS {
            return Err(too_long(place(token.span)));
        }
        previous = token.text;
    }
    match opened.pop() {
        Some((span, _)) => {
            let message = "this bracket is not closed";
            Err(Diagnostic::error(code::UNCLOSED, place(span), message)
                .help("put `)` at the end of what it holds"))
        }
        None => Ok(()),
    }
}

/// The words and signs behind which a whole expression stands. A question over a stretch of time has two of
/// them, one before its colon.
fn nests(previous: &str, text: &str) -> bool {
    match text {
        "where" | ":" => true,
        "of" => matches!(previous, "sum" | "least" | "greatest" | "all"),
        "throughout" => previous != ".",
        "for" => previous == "held",
        "moment" => previous == "some",
        _ => false,
    }
}

/// The words and signs of operators, which make a long expression a deep tree.
fn operates(text: &str) -> bool {
    matches!(
        text,
        "and"
            | "or"
            | "implies"
            | "not"
            | "is"
            | "within"
            | "above"
            | "below"
            | "at"
            | "before"
            | "after"
            | "+"
            | "-"
            | "−"
            | "–"
            | "×"
            | "*"
            | "÷"
            | "/"
            | "±"
    )
}

/// What is said of an expression that is nested too deep.
pub(crate) fn too_deep(place: Place) -> Diagnostic {
    let message = format!("this is nested more than {MOST_NESTED} deep");
    Diagnostic::error(code::NESTED_TOO_DEEP, place, message).help("give the inner part a name with `let`")
}

fn too_long(place: Place) -> Diagnostic {
    let message = format!("this expression has more than {MOST_OPERATORS} operators");
    Diagnostic::error(code::NESTED_TOO_DEEP, place, message)
        .help("give parts of it a name with `let`, or make several demands of it")
}
