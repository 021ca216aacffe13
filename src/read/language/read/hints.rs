//! Words that people bring along from other languages, and from plain English, with our words for them.

use crate::code;
use crate::diagnostic::Diagnostic;
use crate::language::read::cut::shown;
use crate::language::read::grammar::is_reserved;
use crate::language::read::scan::{Kind, Token};
use crate::source::{Place, Span};

/// Words that stand between values or before them, and what is written instead.
const FOREIGN_WORDS: &[(&str, &str)] = &[
    ("between", "`x within a .. b`"),
    ("to", "`a .. b`, such as `40 Nm .. 50 Nm`"),
    ("greater", "`above`"),
    ("more", "`above`"),
    ("larger", "`above`"),
    ("higher", "`above`"),
    ("exceeds", "`above`"),
    ("over", "`above`"),
    ("less", "`below`"),
    ("fewer", "`below`"),
    ("smaller", "`below`"),
    ("lower", "`below`"),
    ("under", "`below`"),
    ("equals", "`is`"),
    ("equal", "`is`"),
    ("isnt", "`is not`"),
    ("isn", "`is not`"),
    ("isnot", "`is not`"),
    ("contains", "`follows_pattern(text, \"~part~\")`"),
    ("matches", "`follows_pattern(text, \"K-####\")`"),
    ("like", "`follows_pattern(text, \"K-####\")`"),
    ("in", "`is one of (…)`, or `within` before a range"),
    ("exists", "`recorded` before the field"),
    (
        "if",
        "`where` behind `concerns`; one condition that brings another is `a implies b`, as in `s.new implies recorded s.torque`",
    ),
    ("then", "`a implies b`, as in `s.new implies recorded s.torque`"),
    ("unless", "`or`: `demands a or b`"),
    ("except", "`or`: `demands a or b`"),
    ("later", "`after`"),
    ("earlier", "`before`"),
    ("empty", "`not recorded …`, or `count of … is 0`"),
    ("all", "`every`"),
    ("any", "`some`"),
    ("none", "`no x in LIST: …`"),
    ("where", "`implies`: `demands s.disturbed implies s.renewed`; or put the condition behind `concerns`"),
];

/// Words before `of` with which people begin an aggregate, and ours.
const FOREIGN_AGGREGATES: &[(&[&str], &str)] = &[
    (&["max", "maximum", "largest", "highest", "biggest"], "greatest of"),
    (&["min", "minimum", "smallest", "lowest"], "least of"),
    (&["total"], "sum of"),
    (&["number", "length", "size"], "count of"),
];

/// Pairs of words between values, and ours.
const FOREIGN_PAIRS: &[([&str; 2], &str)] = &[
    (["should", "be"], "is"),
    (["must", "be"], "is"),
    (["shall", "be"], "is"),
    (["has", "to"], "is"),
    (["not", "in"], "is not one of"),
    (["not", "more"], "at most"),
    (["not", "less"], "at least"),
    (["not", "later"], "not … after …"),
    (["not", "earlier"], "not … before …"),
    (["there", "is"], "some x in LIST: …"),
    (["there", "are"], "some x in LIST: …"),
];

/// The words that begin an aggregate, before `of`.
pub(crate) const AGGREGATES: [&str; 4] = ["count", "sum", "least", "greatest"];

/// What is written in the place of an aggregate with a foreign word: `length of`.
pub(crate) fn aggregate(word: &str) -> Option<&'static str> {
    FOREIGN_AGGREGATES.iter().find(|(foreign, _)| foreign.contains(&word)).map(|(_, ours)| *ours)
}

/// The row of a foreign word.
fn row(word: &str) -> Option<&'static (&'static str, &'static str)> {
    FOREIGN_WORDS.iter().find(|(foreign, _)| *foreign == word)
}

/// What is said of a word at `place` if it is one of another language.
pub(crate) fn word(word: &str, place: Place) -> Option<Diagnostic> {
    row(word).map(|(foreign, ours)| refused(foreign, ours, place))
}

fn refused(word: &str, ours: &str, place: Place) -> Diagnostic {
    let message = format!("`{word}` cannot be said here");
    Diagnostic::error(code::CLAUSE_FORM, place, message).help(format!("write {ours}"))
}

/// Why a clause that is read up to its token `stop` may have stopped there: with what stands before
/// and behind, most of what is meant can be told. `place` gives a span of the clause its place.
pub(crate) fn phrase(
    tokens: &[Token<'_>],
    stop: usize,
    text: &str,
    place: impl Fn(Span) -> Place,
) -> Option<Diagnostic> {
    let found = tokens.get(stop);
    let before = |back: usize| stop.checked_sub(back).and_then(|at| tokens.get(at));
    let word_before = |back: usize| before(back).map_or("", |token| token.text);
    let error = |span: Span, message: String| Diagnostic::error(code::CLAUSE_FORM, place(span), message);
    if word_before(1) == "recorded" {
        let negated = word_before(2) == "not" && word_before(3) == "is";
        if negated || word_before(2) == "is" {
            let is = before(if negated { 3 } else { 2 })?;
            let field = path_before(text.get(..is.span.start as usize).unwrap_or_default());
            let not = if negated { "not " } else { "" };
            return Some(
                error(is.span.to(before(1)?.span), "`recorded` stands before its field".to_owned())
                    .help(format!("write `{not}recorded {field}`")),
            );
        }
    }
    let found = found?;
    let next = tokens.get(stop + 1).map_or("", |token| token.text);
    if matches!(word_before(1), "+" | "-" | "−" | "–") && matches!(found.text, "+" | "-" | "−" | "–")
    {
        return Some(double_sign(place(before(1)?.span.to(found.span)), A_TOLERANCE));
    }
    if let Some(diagnostic) = phrase_of_two(tokens, stop, &place) {
        return Some(diagnostic);
    }
    if found.text == "not" && matches!(next, "within" | "above" | "below" | "at" | "before" | "after") {
        return Some(
            error(found.span, format!("`not` stands before the whole comparison, not before `{next}`"))
                .help(format!("write `not x {next} …`")),
        );
    }
    if found.text == "within" && word_before(1) == "not" && word_before(2) == "is" {
        let span = before(2)?.span.to(before(1)?.span);
        return Some(
            error(span, "`is not` cannot stand before `within`".to_owned()).help("write `not x within …`"),
        );
    }
    if word_before(1) == "is" && matches!(found.text, "within" | "before" | "after") {
        return Some(
            error(before(1)?.span, format!("`is` cannot stand before `{}`", found.text))
                .help(format!("leave `is` out: `x {} …`", found.text)),
        );
    }
    if found.text == "in" && tokens.iter().take(stop).any(|token| token.text == "held") {
        return Some(
            error(found.span, "what is held is said with `for at least`".to_owned())
                .help("write `held for at least 2 s in step: …`"),
        );
    }
    // Behind what is a clause by itself.
    if stop > 1
        && matches!(
            found.text,
            "otherwise" | "remedy" | "because" | "basis" | "demands" | "concerns" | "trial"
        )
    {
        let message = format!("`{}` begins a clause, and each clause has lines of its own", found.text);
        return Some(error(found.span, message).help("put it at the beginning of the next line"));
    }
    if let Some((foreign, ours)) = row(found.text) {
        return Some(refused(foreign, ours, place(found.span)));
    }
    // `is greater than`: the word was taken for a name, and reading stopped behind it.
    if let Some((token, (foreign, ours))) = before(1).and_then(|token| Some((token, row(token.text)?)))
        && found.kind != Kind::Open
    {
        let begins = before(2).filter(|token| token.text == "is").unwrap_or(token);
        return Some(refused(foreign, ours, place(begins.span.to(token.span))));
    }
    unquoted(tokens, stop, text).map(|span| {
        let written = span.of(text);
        error(span, format!("{} is a text, and a text stands in quotes", shown(written)))
            .help(format!("write `\"{written}\"`"))
    })
}

/// What is said of two words that stand together where reading stopped, or just before.
fn phrase_of_two(tokens: &[Token<'_>], stop: usize, place: &impl Fn(Span) -> Place) -> Option<Diagnostic> {
    let error = |span: Span, message: String| Diagnostic::error(code::CLAUSE_FORM, place(span), message);
    let at = |index: usize| tokens.get(index).map_or("", |token| token.text);
    let found = tokens.get(stop)?;
    if stop == 1 && at(0) == "if" {
        let message = format!("{} cannot stand after `if`", shown(found.text));
        return Some(
            error(found.span, message)
                .help("what becomes of a missing value is `if unrecorded pass`, or `hold`, `advice`, `note`"),
        );
    }
    if found.text == "'" {
        let end = tokens
            .iter()
            .skip(stop + 1)
            .find(|token| token.text == "'")
            .map_or(found.span, |token| token.span);
        let diagnostic = error(found.span.to(end), "a text is written in double quotes".to_owned());
        return Some(diagnostic.help("write `\"…\"`"));
    }
    // `90 % of x`
    if found.text == "of" && stop > 0 && at(stop - 1) == "%" {
        let share = tokens.get(stop.checked_sub(2)?)?;
        let message = "a share is multiplied with what it is a share of".to_owned();
        return Some(error(found.span, message).help(format!("write `… × {} %`", share.text)));
    }
    // `max of s.torque over …`: the word was taken for a name.
    let of = tokens.iter().take(stop + 1).rposition(|token| token.text == "of").filter(|of| *of > 0);
    if let Some(word) = of.and_then(|of| tokens.get(of - 1))
        && let Some(ours) = aggregate(word.text)
    {
        let message = format!("`{} of` cannot be said here", word.text);
        return Some(error(word.span, message).help(format!("write `{ours} …`")));
    }
    let pairs = [stop, stop.saturating_sub(1)].into_iter().find_map(|first| {
        let row = FOREIGN_PAIRS.iter().find(|(pair, _)| *pair == [at(first), at(first + 1)])?;
        Some((tokens.get(first)?.span.to(tokens.get(first + 1)?.span), row))
    });
    let (span, ([one, two], ours)) = pairs?;
    Some(error(span, format!("`{one} {two}` cannot be said here")).help(format!("write `{ours}`")))
}

/// A tolerance, where none is written with the figures at hand.
pub(crate) const A_TOLERANCE: &str = "10 Nm ± 1 Nm";

/// What is said of two signs that stand together, such as `+-`; `example` is a tolerance.
pub(crate) fn double_sign(place: Place, example: &str) -> Diagnostic {
    let help = format!(
        "a tolerance is written `±` or `+/-`, as in `{example}`; a negative value behind a sign stands in brackets"
    );
    Diagnostic::error(code::CLAUSE_FORM, place, "two signs stand together").help(help)
}

/// The field with which `text` ends.
fn path_before(text: &str) -> &str {
    let text = text.trim_end();
    let begins =
        text.rfind(|character: char| !(character.is_alphanumeric() || matches!(character, '_' | '.')));
    text.get(begins.map_or(0, |at| at + 1)..).unwrap_or(text).trim_start()
}

/// The words of `drain plug` where only the first was read: plain words in a run behind `is`, `is not` or
/// among the choices of `is one of`.
fn unquoted(tokens: &[Token<'_>], stop: usize, text: &str) -> Option<Span> {
    let plain = |token: &Token<'_>| token.kind == Kind::Word && !is_reserved(token.text);
    let line_break = |left: &Token<'_>, right: &Token<'_>| {
        text.get(left.span.end as usize..right.span.start as usize)
            .is_none_or(|gap| gap.contains(['\n', '\r']))
    };
    let (first, found) = (tokens.get(stop.checked_sub(1)?)?, tokens.get(stop)?);
    let opener = tokens.get(stop.checked_sub(2)?)?;
    let opens = matches!(opener.text, "is" | "not" | "(" | "," | "=");
    if !plain(first) || !plain(found) || !opens || line_break(first, found) {
        return None;
    }
    let mut end = found;
    for token in tokens.get(stop + 1..)?.iter().take_while(|token| plain(token)) {
        if line_break(end, token) {
            break;
        }
        end = token;
    }
    Some(first.span.to(end.span))
}
