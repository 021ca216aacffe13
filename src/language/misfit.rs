//! Says in plain words why a clause could not be read.

use crate::code;
use crate::diagnostic::{Diagnostic, nearest};
use crate::language::bounds;
use crate::language::cut::shown;
use crate::language::parse::{Misfit, Rule, is_reserved};
use crate::language::scan::{Kind, Token, Tokens};
use crate::language::words;
use crate::source::{Place, SourceId, Span};

/// Signs that other languages use, with our words for them; longer ones first.
const FOREIGN_SIGNS: &[(&str, &str)] = &[
    ("<=", "at most"),
    (">=", "at least"),
    ("==", "is"),
    ("!=", "is not"),
    ("<>", "is not"),
    ("&&", "and"),
    ("||", "or"),
    ("≤", "at most"),
    ("≥", "at least"),
    ("≠", "is not"),
    ("<", "below"),
    (">", "above"),
    ("=", "is"),
    ("!", "not"),
    ("&", "and"),
    ("|", "or"),
    ("->", "implies"),
    ("=>", "implies"),
];

/// The words that can stand between values, for near names.
const JOINING_WORDS: &[&str] = &[
    "and", "or", "implies", "within", "above", "below", "at least", "at most", "is", "before", "after",
    "where", "over", "for",
];

/// What is wanted, as messages say it. The first row that fits is said.
const WANTED: &[(&[Rule], &str)] = &[
    (&[Rule::list], "a list such as `fastenings`"),
    (
        &[
            Rule::expression,
            Rule::number,
            Rule::bracketed,
            Rule::reference,
            Rule::truth,
            Rule::quantified,
            Rule::minus,
            Rule::not,
            Rule::key,
        ],
        "a value",
    ),
    (&[Rule::options], "a list in brackets such as `(\"A\", \"B\")`"),
    (&[Rule::severity], "a severity, `hold`, `advise` or `note`,"),
    (&[Rule::consequence], "`hold`, `advise`, `note` or `pass`"),
    (&[Rule::outcome, Rule::choice], "an outcome, `met`, `broken`, `undecided` or `not concerned`,"),
    (&[Rule::each, Rule::word_each], "`each` or `where`"),
    (&[Rule::kind], "a kind such as `torque`"),
    (&[Rule::subject, Rule::name], "a name"),
    (&[Rule::path], "a field such as `unit.serial`"),
    (&[Rule::never], "`never`, or `by` and a role in quotes,"),
    (&[Rule::equals], "`=`"),
    (&[Rule::word_in], "`in`"),
    (&[Rule::word_by], "`by`"),
    (&[Rule::word_of], "`of`"),
    (&[Rule::word_is], "`is`"),
    (&[Rule::word_over], "`over`"),
    (&[Rule::word_unrecorded], "`unrecorded`"),
    (&[Rule::place], "a path such as `fastenings[0].torque`"),
    (&[Rule::whole], "a whole number"),
    (&[Rule::colon], "`:`"),
    (&[Rule::text], "a text in quotes"),
    (&[Rule::close], "`)`"),
];

/// The diagnostic for a clause that stands `base` bytes into its file.
pub(crate) fn explain(source: SourceId, rule: Rule, text: &str, base: u32, misfit: &Misfit) -> Diagnostic {
    let before = text.get(..misfit.at).unwrap_or_default();
    let stop = Stop {
        place: |span: Span| Place { source, span: span.shifted(base) },
        previous: Tokens::new(before).last(),
        found: text
            .get(misfit.at..)
            .and_then(|rest| Tokens::new(rest).next())
            .map(|token| Token { span: token.span.shifted(Span::new(misfit.at, 0).start), ..token }),
        rest: text.get(misfit.at..).unwrap_or_default(),
        misfit,
    };
    if misfit.wanted.is_empty() {
        return bounds::too_deep((stop.place)(stop.span()));
    }
    let diagnostic = stop.foreign_sign().or_else(|| stop.reserved_name()).unwrap_or_else(|| stop.misplaced());
    match (&diagnostic.help, sample(rule)) {
        (None, Some(sample)) => diagnostic.help(format!("it is written like `{sample}`")),
        _ => diagnostic,
    }
}

/// The place where reading stopped.
struct Stop<'t, P> {
    place: P,
    previous: Option<Token<'t>>,
    found: Option<Token<'t>>,
    rest: &'t str,
    misfit: &'t Misfit,
}

impl<P: Fn(Span) -> Place> Stop<'_, P> {
    /// The token that does not fit; at the end of the clause, its last token.
    fn span(&self) -> Span {
        let end = Span::new(self.misfit.at, self.misfit.at);
        self.found.or(self.previous).map_or(end, |token| token.span)
    }

    fn wants(&self, rules: &[Rule]) -> bool {
        self.misfit.wanted.iter().any(|rule| rules.contains(rule))
    }

    /// Whether reading stopped behind a whole value.
    fn is_behind_value(&self) -> bool {
        self.wants(&[Rule::and, Rule::is, Rule::plus, Rule::times, Rule::within, Rule::is_one_of])
    }

    fn wanted(&self) -> Option<&'static str> {
        WANTED.iter().find(|(rules, _)| self.wants(rules)).map(|(_, words)| *words)
    }

    fn foreign_sign(&self) -> Option<Diagnostic> {
        let (sign, word) = FOREIGN_SIGNS.iter().find(|(sign, _)| self.rest.starts_with(sign))?;
        let span = self.found?.span;
        let span = Span::new(span.start as usize, span.start as usize + sign.len());
        let message = format!("`{sign}` is no sign of the rule language");
        Some(
            Diagnostic::error(code::FOREIGN_SIGN, (self.place)(span), message)
                .help(format!("write `{word}`")),
        )
    }

    /// A reserved word where a name is wanted.
    fn reserved_name(&self) -> Option<Diagnostic> {
        let found = self.found.filter(|found| found.kind == Kind::Word && is_reserved(found.text))?;
        let wants_name = matches!(self.wanted(), Some("a name" | "a field such as `unit.serial`"));
        wants_name.then(|| {
            let message = format!("`{}` is a word of the rule language and cannot be a name", found.text);
            Diagnostic::error(code::CLAUSE_FORM, (self.place)(found.span), message)
                .help(format!("choose another name, such as `the_{}`", found.text))
        })
    }

    fn misplaced(&self) -> Diagnostic {
        let diagnostic = Diagnostic::error(code::CLAUSE_FORM, (self.place)(self.span()), self.message());
        match self.near_word() {
            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
            None if self.is_behind_value() && self.found.is_some_and(|found| is_operand(found)) => {
                diagnostic.help("join values with a word such as `and`, `is` or `within`")
            }
            None => diagnostic,
        }
    }

    fn message(&self) -> String {
        let after = self.previous.map_or(String::new(), |token| format!(" after {}", shown(token.text)));
        match (self.wanted(), self.found) {
            (Some("a value"), found) if self.previous.is_some_and(|token| token.text == "within") => {
                let found = found.map_or(String::new(), |found| format!(", not {}", shown(found.text)));
                format!("a limit such as `9 Nm ± 10 %` is wanted after `within`{found}")
            }
            (Some(wanted), Some(found)) => {
                format!("{} is wanted{after}, not {}", wanted.trim_end_matches(','), shown(found.text))
            }
            (Some(wanted), None) => {
                format!("{} is wanted{after}, but the clause ends", wanted.trim_end_matches(','))
            }
            (None, Some(found)) if after.is_empty() => format!("{} cannot stand here", shown(found.text)),
            (None, Some(found)) => format!("{} cannot stand{after}", shown(found.text)),
            (None, None) => format!("something is missing{after}"),
        }
    }

    /// The word that was probably meant by a misspelt one.
    fn near_word(&self) -> Option<&'static str> {
        let found = self.found.filter(|found| found.kind == Kind::Word)?;
        let joining = JOINING_WORDS.iter().copied().filter(|_| self.is_behind_value());
        let fixed = self.wanted().filter(|words| words.starts_with('`')).map(|words| words.trim_matches('`'));
        nearest(found.text, joining.chain(fixed)).filter(|near| *near != found.text)
    }
}

fn is_operand(token: Token<'_>) -> bool {
    matches!(token.kind, Kind::Word | Kind::Number | Kind::Text | Kind::Open)
}

/// How the clause is written.
fn sample(rule: Rule) -> Option<&'static str> {
    let word = match rule {
        Rule::standard => "standard",
        Rule::use_file => "use",
        Rule::let_value => "let",
        Rule::parameter => "parameter",
        Rule::table => "table",
        Rule::rule_head => "rule",
        Rule::row => return Some(r#""six speed" : 5.0 L .. 6.2 L"#),
        Rule::judges => "judges",
        Rule::applies => "where",
        Rule::concerns => "concerns",
        Rule::demands => "demands",
        Rule::otherwise => "otherwise",
        Rule::remedy => "remedy",
        Rule::because => "because",
        Rule::basis => "basis",
        Rule::concession => "concession",
        Rule::if_unrecorded => "if",
        Rule::trial => "trial",
        _ => return None,
    };
    words::item(word).map(|row| row.sample).or_else(|| words::clause_row(word).map(|row| row.sample))
}
