//! A condition in the notation of another language, written anew in the words of rules, with the names and figures that
//! were written: what messages offer.

use crate::language::read::grammar::{self, Rule, is_reserved};
use crate::language::read::scan::{Kind, Token};
use crate::quantity::Literal;

/// Signs that other languages use, with our words for them; longer ones first.
pub(crate) const SIGNS: &[(&str, &str)] = &[
    ("===", "is"),
    ("...", ".."),
    ("<=", "at most"),
    ("=<", "at most"),
    (">=", "at least"),
    ("==", "is"),
    ("=>", "implies"),
    ("!=", "is not"),
    ("<>", "is not"),
    ("&&", "and"),
    ("||", "or"),
    ("≤", "at most"),
    ("≥", "at least"),
    ("≠", "is not"),
    ("…", ".."),
    ("—", ".."),
    ("‒", ".."),
    ("<", "below"),
    (">", "above"),
    ("=", "is"),
    ("!", "not"),
    ("&", "and"),
    ("|", "or"),
];

/// Our own signs of more than one character, and those that are refused by other messages.
const OWN_SIGNS: &[&str] = &["+/-", "+/−", "+/–", ".."];

/// Words for which there is one of ours, whatever stands beside them.
const PHRASES: &[(&[&str], &str)] = &[
    (&["is", "equal", "to"], "is"),
    (&["equal", "to"], "is"),
    (&["equals"], "is"),
    (&["isnt"], "is not"),
    (&["isnot"], "is not"),
    (&["plus", "/", "minus"], "±"),
    (&["plus", "minus"], "±"),
    (&["+", "-"], "±"),
    (&["-", "+"], "±"),
    (&["tolerance"], "±"),
    (&["is", "within"], "within"),
];

/// Words that compare, where `than` may follow, and `or equal to` behind that: alone and with equality.
const COMPARING: &[(&[&str], [&str; 2])] = &[
    (&["greater", "more", "larger", "higher", "bigger", "exceeds", "over"], ["above", "at least"]),
    (&["less", "fewer", "smaller", "lower"], ["below", "at most"]),
];

/// Words before a value that make it a limit.
const LIMITS: &[(&[&str], &str)] = &[(&["min", "minimum"], "at least"), (&["max", "maximum"], "at most")];

/// The words behind and before which a condition of its own stands.
const EDGES: &[&str] =
    &["where", "demands", "concerns", "otherwise", "with", "over", "by", "until", "for", ":", ",", "{", "}"];

/// The longest text that is offered.
const LONGEST: usize = 120;

#[derive(Clone, Debug)]
struct Word {
    text: String,
    /// Whether white space stands before it.
    spaced: bool,
    kind: WordKind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum WordKind {
    /// A number, with its unit.
    Value,
    /// A name with its fields, or a text.
    Name,
    /// Anything else.
    Other,
}

/// The condition around the token `at`, as rules write it; nothing where it cannot be read then either.
pub(crate) fn rewritten(tokens: &[Token<'_>], at: usize, text: &str) -> Option<String> {
    let part = condition_around(tokens, at.min(tokens.len().checked_sub(1)?))?;
    let (first, last) = (part.first()?, part.last()?);
    let span = first.span.to(last.span);
    if span.len() > LONGEST {
        return None;
    }
    let written = words(part, text);
    let mut words: Vec<Word> = written.clone();
    translate(&mut words);
    ranges(&mut words);
    chains(&mut words);
    let (before, offer) = (joined(&written), joined(&words));
    (offer != before && offer.len() <= LONGEST && grammar::read(Rule::alone, &offer, 0).is_ok())
        .then_some(offer)
}

/// The tokens between the edges on both sides; brackets are not crossed outwards.
fn condition_around<'p, 't>(tokens: &'p [Token<'t>], at: usize) -> Option<&'p [Token<'t>]> {
    let edge = |index: usize, token: &Token<'_>| {
        let compares = || tokens.get(index + 1).is_some_and(|next| next.kind == Kind::Number);
        EDGES.contains(&token.text) && !(token.text == "over" && compares())
    };
    let opens = |token: &Token<'_>| token.kind == Kind::Open || token.text == "[";
    let closes = |token: &Token<'_>| token.kind == Kind::Close || token.text == "]";
    let mut depth = 0_i32;
    let mut begin = 0;
    for (index, token) in tokens.iter().enumerate().take(at).rev() {
        depth += i32::from(closes(token)) - i32::from(opens(token));
        if depth < 0 || depth == 0 && edge(index, token) {
            begin = index + 1;
            break;
        }
    }
    // In `let x = 5` the first sign belongs to the item.
    let item = tokens.first().is_some_and(|token| matches!(token.text, "let" | "parameter" | "trial"));
    if let Some(equals) = tokens.iter().position(|token| token.text == "=").filter(|sign| item && *sign < at)
    {
        begin = begin.max(equals + 1);
    }
    depth = 0;
    let ends = tokens.iter().enumerate().skip(begin).find(|(index, token)| {
        depth += i32::from(opens(token)) - i32::from(closes(token));
        depth < 0 || depth == 0 && edge(*index, token)
    });
    tokens.get(begin..ends.map_or(tokens.len(), |(index, _)| index)).filter(|part| !part.is_empty())
}

/// The words of a condition: values with their units, names with their fields, signs of several characters.
fn words(part: &[Token<'_>], text: &str) -> Vec<Word> {
    let mut words: Vec<Word> = Vec::new();
    let (mut done, mut before) = (0, 0);
    for (index, token) in part.iter().enumerate() {
        let start = token.span.start as usize;
        if start < done {
            continue;
        }
        let from = text.get(start..).unwrap_or_default();
        let rest = part.get(index..).unwrap_or_default();
        let (length, kind) = match token.kind {
            Kind::Number => (value_length(from), WordKind::Value),
            Kind::Word => (name_length(rest), name_kind(token.text)),
            Kind::Text => (token.span.len(), WordKind::Name),
            _ => {
                let signs = SIGNS.iter().map(|(sign, _)| sign).chain(OWN_SIGNS);
                let sign = signs.filter(|sign| from.starts_with(**sign)).map(|sign| sign.len()).max();
                (sign.unwrap_or(token.span.len()), WordKind::Other)
            }
        };
        done = start + length;
        let text = from.get(..length).unwrap_or_default().to_owned();
        words.push(Word { text, spaced: start > before, kind });
        before = done;
    }
    words
}

/// The length of the number at the head of a text, with its unit.
fn value_length(text: &str) -> usize {
    if let Some(literal) = Literal::at_head(text) {
        return literal.end;
    }
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let whole = digits(text);
    let decimals = text.get(whole..).and_then(|rest| rest.strip_prefix('.')).map_or(0, digits);
    if decimals == 0 { whole } else { whole + 1 + decimals }
}

/// The length of a name with the fields that are joined to it.
fn name_length(tokens: &[Token<'_>]) -> usize {
    let Some(first) = tokens.first() else { return 0 };
    let mut end = first.span.end;
    for pair in tokens.get(1..).unwrap_or_default().chunks(2) {
        let [dot, field] = pair else { break };
        let joined = dot.text == "." && dot.span.start == end && field.span.start == dot.span.end;
        if !joined || field.kind != Kind::Word {
            break;
        }
        end = field.span.end;
    }
    (end - first.span.start) as usize
}

fn name_kind(word: &str) -> WordKind {
    let foreign = matches!(word, "to" | "bis" | "from" | "von" | "between" | "than" | "plus" | "minus");
    if foreign || is_reserved(word) { WordKind::Other } else { WordKind::Name }
}

/// Puts our words in the place of signs and words that mean the same wherever they stand.
fn translate(words: &mut Vec<Word>) {
    let mut at = 0;
    while at < words.len() {
        let follows_value = words.get(at + 1).is_some_and(|word| word.kind == WordKind::Value);
        let after_value = at.checked_sub(1).and_then(|before| words.get(before)).is_some_and(is_value);
        let rest = words.get(at..).unwrap_or_default();
        let found = phrase(rest)
            .or_else(|| comparing(rest))
            .or_else(|| sign(rest, follows_value))
            .or_else(|| if after_value { None } else { limit(rest) })
            .or_else(|| truth(words, at));
        if let Some((length, ours)) = found {
            replace(words, at, length, ours);
        }
        at += 1;
    }
}

fn is_value(word: &Word) -> bool {
    word.kind == WordKind::Value
}

fn is_operand(word: &Word) -> bool {
    word.kind != WordKind::Other
}

fn replace(words: &mut Vec<Word>, at: usize, length: usize, ours: &str) {
    let word = Word { text: ours.to_owned(), spaced: true, kind: WordKind::Other };
    words.splice(at..at + length, [word]);
    if let Some(next) = words.get_mut(at + 1) {
        next.spaced = true;
    }
}

fn phrase(rest: &[Word]) -> Option<(usize, &'static str)> {
    let begins = |phrase: &[&str]| {
        rest.len() >= phrase.len() && rest.iter().zip(phrase).all(|(word, text)| word.text == *text)
    };
    PHRASES.iter().find(|(phrase, _)| begins(phrase)).map(|(phrase, ours)| (phrase.len(), *ours))
}

/// `is greater than or equal to`, in its longer and shorter forms.
fn comparing(rest: &[Word]) -> Option<(usize, &'static str)> {
    let text = |at: usize| rest.get(at).map_or("", |word| word.text.as_str());
    let mut at = usize::from(text(0) == "is");
    let (_, [alone, with_equality]) = COMPARING.iter().find(|(words, _)| words.contains(&text(at)))?;
    // `sum of … over x in …` compares nothing.
    if text(at) == "over" && !rest.get(at + 1).is_some_and(is_value) {
        return None;
    }
    at += 1 + usize::from(text(at + 1) == "than");
    if text(at) != "or" || !matches!(text(at + 1), "equal" | "equals") {
        return Some((at, alone));
    }
    at += 2 + usize::from(text(at + 2) == "to");
    Some((at, with_equality))
}

fn sign(rest: &[Word], before_value: bool) -> Option<(usize, &'static str)> {
    let written = &rest.first()?.text;
    let (_, ours) = SIGNS.iter().find(|(sign, _)| sign == written)?;
    // Of a value nothing can follow, so the two signs of a limit were mixed up.
    Some((1, if written == "=>" && before_value { "at least" } else { ours }))
}

/// `min. 40 Nm`
fn limit(rest: &[Word]) -> Option<(usize, &'static str)> {
    let first = rest.first()?.text.as_str();
    let (_, ours) = LIMITS.iter().find(|(words, _)| words.contains(&first))?;
    let length = 1 + usize::from(rest.get(1)?.text == ".");
    rest.get(length).filter(|word| is_value(word)).map(|_| (length, *ours))
}

fn truth(words: &[Word], at: usize) -> Option<(usize, &'static str)> {
    let compared = matches!(words.get(at.checked_sub(1)?)?.text.as_str(), "is" | "is not" | "not");
    match words.get(at)?.text.as_str() {
        "true" if compared => Some((1, "yes")),
        "false" if compared => Some((1, "no")),
        _ => None,
    }
}

/// Puts our sign between the two ends of a range, and `within` before it.
fn ranges(words: &mut Vec<Word>) {
    let mut at = 0;
    while at < words.len() {
        let text = |index: usize| words.get(index).map_or("", |word| word.text.as_str());
        let operands = [1, 3].iter().all(|ahead| words.get(at + ahead).is_some_and(is_operand));
        let values = [1, 3].iter().all(|ahead| words.get(at + ahead).is_some_and(is_value));
        let joint = text(at + 2);
        let head = text(at);
        let opens = matches!(head, "from" | "von" | "between" | "zwischen");
        if opens && operands && matches!(joint, "to" | "bis" | "and" | "und" | ".." | "-") {
            replace(words, at + 2, 1, "..");
            replace(words, at, 1, "within");
            let spare = |word: &Word| matches!(word.text.as_str(), "within" | "is");
            if at.checked_sub(1).and_then(|before| words.get(before)).is_some_and(spare) {
                words.remove(at - 1);
            }
        } else if head == "within" && operands && matches!(joint, "to" | "bis")
            || head == "within" && values && matches!(joint, "and" | "-" | "–" | "−")
        {
            replace(words, at + 2, 1, "..");
        } else if words.get(at).is_some_and(is_value)
            && matches!(text(at + 1), "to" | "bis")
            && words.get(at + 2).is_some_and(is_value)
        {
            replace(words, at + 1, 1, "..");
        } else if head == "within" && matches!(text(at + 1), "at least" | "at most" | "above" | "below") {
            words.remove(at);
            continue;
        } else if head == "within" {
            without_brackets(words, at + 1);
        }
        at += 1;
    }
}

/// `[40, 50] Nm` and `(40 .. 50) Nm` as `40 .. 50 Nm`.
fn without_brackets(words: &mut Vec<Word>, at: usize) {
    let text = |index: usize| words.get(index).map_or("", |word| word.text.as_str());
    let values = [1, 3].iter().all(|ahead| words.get(at + ahead).is_some_and(is_value));
    let brackets = matches!((text(at), text(at + 4)), ("(", ")") | ("[", "]"));
    if values && brackets && matches!(text(at + 2), "," | ";" | "..") {
        let range = format!("{} .. {}", text(at + 1), text(at + 3));
        replace(words, at, 5, &range);
    }
}

/// Two limits of one value: `40 Nm at most x at most 50 Nm`, `x at least 40 Nm and at most 50 Nm`.
fn chains(words: &mut Vec<Word>) {
    for at in 0..words.len() {
        let window: Vec<Word> = words.get(at..at + 5).unwrap_or_default().to_vec();
        let [one, first, two, second, three] = window.as_slice() else { return };
        let signs = (first.text.as_str(), second.text.as_str());
        let operands = is_operand(one) && is_operand(two) && is_operand(three);
        let of_middle =
            |low: &Word, high: &Word| format!("{} within {} .. {}", two.text, low.text, high.text);
        let offer = match signs {
            ("at most", "at most") if operands => of_middle(one, three),
            ("at least", "at least") if operands => of_middle(three, one),
            (sign, other) if operands => match turned(sign).filter(|_| turned(other).is_some()) {
                Some(turned) => {
                    format!(
                        "{two} {turned} {one} and {two} {other} {three}",
                        two = two.text,
                        one = one.text,
                        three = three.text
                    )
                }
                None => continue,
            },
            _ => match (one.text.as_str(), &first.text, two.text.as_str(), &second.text, is_operand(three)) {
                ("at least", low, "and", sign, true) if is_operand(first) && sign == "at most" => {
                    format!("within {low} .. {}", three.text)
                }
                _ => continue,
            },
        };
        replace(words, at, 5, &offer);
        return;
    }
}

/// The comparison as it reads from the other side.
fn turned(comparison: &str) -> Option<&'static str> {
    match comparison {
        "at most" => Some("at least"),
        "at least" => Some("at most"),
        "below" => Some("above"),
        "above" => Some("below"),
        _ => None,
    }
}

fn joined(words: &[Word]) -> String {
    let mut text = String::new();
    for word in words {
        if word.spaced && !text.is_empty() {
            text.push(' ');
        }
        text.push_str(&word.text);
    }
    text
}
