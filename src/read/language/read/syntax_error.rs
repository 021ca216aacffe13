//! Says in plain words why a clause could not be read.

use crate::code;
use crate::diagnostic::{Diagnostic, nearest, surely};
use crate::language::read::bounds;
use crate::language::read::cut::shown;
use crate::language::read::grammar::{Rule, SyntaxError, is_reserved};
use crate::language::read::hints;
use crate::language::read::rewrite::{SIGNS, rewritten};
use crate::language::read::scan::{Kind, Token, Tokens};
use crate::language::read::words;
use crate::source::{Place, SourceId, Span};

/// The words that can stand between values, for near names.
const JOINING_WORDS: &[&str] = &[
    "and", "or", "implies", "within", "above", "below", "at least", "at most", "is", "before", "after",
    "where", "over", "for", "until",
];

/// Words that stand before a value.
const LEADING_WORDS: &[&str] = &["recorded", "every", "some", "count", "duration", "throughout", "rate"];

const A_VALUE: &str = "a value";
const A_LIST: &str = "a list such as `fastenings`";
const A_NAME: &str = "a name";
const AT_LEAST_OR_MOST: &str = "`least` or `most`";
const A_FIELD: &str = "a field such as `unit.serial`";

/// What is wanted, as messages say it. The first row that fits is said.
const WANTED: &[(&[Rule], &str)] = &[
    (&[Rule::list], A_LIST),
    (&[Rule::expression, Rule::number, Rule::bracketed, Rule::truth, Rule::quantified, Rule::key], A_VALUE),
    (&[Rule::severity], "a severity (`hold`, `advice` or `note`)"),
    (&[Rule::consequence], "`hold`, `advice`, `note` or `pass`"),
    (&[Rule::outcome], "an outcome (`met`, `broken`, `undecided` or `not concerned`)"),
    (&[Rule::each, Rule::word_each], "`each` or `where`"),
    (&[Rule::day], "a day such as `2026-07-01`"),
    (&[Rule::kind], "a kind such as `torque`"),
    (&[Rule::subject, Rule::name], A_NAME),
    (&[Rule::path], A_FIELD),
    (&[Rule::never], "`never` or `by` with a role in quotes"),
    (&[Rule::word_least, Rule::word_most], AT_LEAST_OR_MOST),
    (&[Rule::equals], "`=`"),
    (&[Rule::word_in], "`in`"),
    (&[Rule::word_by], "`by`"),
    (&[Rule::word_of], "`of`"),
    (&[Rule::word_moment], "`moment`"),
    (&[Rule::word_gaps], "`gaps`"),
    (&[Rule::word_is], "`is`"),
    (&[Rule::word_unrecorded], "`unrecorded`"),
    (&[Rule::place], "a path such as `fastenings[0].torque`"),
    (&[Rule::whole, Rule::edition], "a whole number"),
    (&[Rule::colon], "`:`"),
    (&[Rule::text], "a text in quotes"),
];

/// The diagnostic for a clause that stands `base` bytes into its file.
pub(crate) fn explain(
    source: SourceId,
    form: Rule,
    text: &str,
    base: u32,
    syntax_error: &SyntaxError,
) -> Diagnostic {
    let before = text.get(..syntax_error.at).unwrap_or_default();
    let stop = Stop {
        place: |span: Span| Place { source, span: span.shifted(base) },
        previous: Tokens::new(before).last(),
        found: text
            .get(syntax_error.at..)
            .and_then(|rest| Tokens::new(rest).next())
            .map(|token| Token { span: token.span.shifted(Span::new(syntax_error.at, 0).start), ..token }),
        rest: text.get(syntax_error.at..).unwrap_or_default(),
        form,
        syntax_error,
    };
    if syntax_error.wanted.is_empty() {
        return bounds::too_deep((stop.place)(stop.span()));
    }
    let tokens: Vec<Token<'_>> = Tokens::new(text).collect();
    let at = tokens.iter().take_while(|token| (token.span.start as usize) < syntax_error.at).count();
    if let Some(diagnostic) = stop.equals_in_row() {
        return diagnostic;
    }
    let missing_title = stop.missing_title();
    let special =
        missing_title.or_else(|| stop.foreign_words(&tokens, at, text)).or_else(|| stop.foreign_sign());
    let special = special.or_else(|| stop.reserved_name()).or_else(|| stop.sign_in_name());
    let special = special.or_else(|| stop.several_lists(tokens.get(..at).unwrap_or_default()));
    let diagnostic = special.unwrap_or_else(|| stop.misplaced());
    match rewritten(&tokens, at, text) {
        Some(offer) => diagnostic.help(format!("write `{offer}`")),
        None => diagnostic,
    }
}

/// The place where reading stopped.
struct Stop<'t, P> {
    place: P,
    previous: Option<Token<'t>>,
    found: Option<Token<'t>>,
    rest: &'t str,
    form: Rule,
    syntax_error: &'t SyntaxError,
}

impl<P: Fn(Span) -> Place> Stop<'_, P> {
    /// The token that does not fit; at the end of the clause, its last token.
    fn span(&self) -> Span {
        let end = Span::new(self.syntax_error.at, self.syntax_error.at);
        self.found.or(self.previous).map_or(end, |token| token.span)
    }

    fn wants(&self, rules: &[Rule]) -> bool {
        self.syntax_error.wanted.iter().any(|rule| rules.contains(rule))
    }

    /// Whether reading stopped behind a whole value.
    fn is_behind_value(&self) -> bool {
        self.wants(&[Rule::and, Rule::is, Rule::plus, Rule::times, Rule::within, Rule::is_one_of])
    }

    fn follows(&self, words: &[&str]) -> bool {
        self.previous.is_some_and(|token| words.contains(&token.text))
    }

    fn finds(&self, words: &[&str]) -> bool {
        self.found.is_some_and(|token| words.contains(&token.text))
    }

    /// What is wanted. The grammar names only the smallest thing where several stand for one another,
    /// so what stands before decides as well.
    fn wanted(&self) -> Option<&'static str> {
        if self.is_behind_value() {
            let rows = [(Rule::word_over, "`over`"), (Rule::word_in, "`in`"), (Rule::colon, "`:`")];
            return rows.into_iter().find(|(form, _)| self.wants(&[*form])).map(|(_, words)| words);
        }
        match self.form {
            Rule::otherwise if self.wants(&[Rule::choice]) => {
                return Some("a severity (`hold`, `advice` or `note`)");
            }
            Rule::if_unrecorded if self.wants(&[Rule::choice]) => {
                return Some("`hold`, `advice`, `note` or `pass`");
            }
            // What can come before its title is left out more often than not.
            Rule::parameter if self.wants(&[Rule::text]) => return Some("a text in quotes"),
            Rule::trial if self.wants(&[Rule::choice]) => {
                return Some("an outcome (`met`, `broken`, `undecided` or `not concerned`)");
            }
            _ => {}
        }
        if self.wants(&[Rule::open]) && self.follows(&["of"]) {
            return Some("a list in brackets such as `(\"A\", \"B\")`");
        }
        if self.wants(&[Rule::comma]) && self.finds(&["at", "exactly", "each"]) {
            return Some("`,`");
        }
        let words = WANTED.iter().find(|(forms, _)| self.wants(forms)).map(|(_, words)| *words)?;
        Some(match words {
            AT_LEAST_OR_MOST if !self.wants(&[Rule::word_most]) => "`least`",
            AT_LEAST_OR_MOST if !self.wants(&[Rule::word_least]) => "`most`",
            A_NAME if self.follows(&["in", "of"]) => A_LIST,
            A_NAME if self.follows(&["recorded", "by"]) => A_FIELD,
            A_NAME if self.follows(&["is"]) && self.form == Rule::parameter => "a kind such as `torque`",
            _ => words,
        })
    }

    /// `entries of fastenings, readings`, or with the word misspelt.
    fn several_lists(&self, before: &[Token<'_>]) -> Option<Diagnostic> {
        let is_meant = |pair: &[Token<'_>]| match pair {
            [word, of] => of.text == "of" && nearest(word.text, ["entries"]).is_some(),
            _ => false,
        };
        let meant = self.form == Rule::let_value && before.windows(2).any(is_meant);
        meant.then(|| {
            Diagnostic::error(code::CLAUSE_FORM, (self.place)(self.span()), self.message())
                .help("the entries of several lists are `entries of (fastenings, readings)`")
        })
    }

    /// `"six speed" = 5 L`: the row of a table has a colon.
    fn equals_in_row(&self) -> Option<Diagnostic> {
        let found = self.found.filter(|found| found.text == "=" && self.form == Rule::row)?;
        let message = "a row of a table has `:` between its keys and its value";
        Some(
            Diagnostic::error(code::CLAUSE_FORM, (self.place)(found.span), message)
                .help("write `:` instead of `=`"),
        )
    }

    /// `parameter x is torque = 9 Nm`: the value stands where the title should.
    fn missing_title(&self) -> Option<Diagnostic> {
        let found = self.found.filter(|found| found.text == "=")?;
        (self.form == Rule::parameter && self.wants(&[Rule::text])).then(|| {
            let message = "the title of the parameter is missing before `=`";
            Diagnostic::error(code::CLAUSE_FORM, (self.place)(found.span), message).help(
                "say in quotes what it means: `parameter wheel_nut is torque range \"Torque of the wheel nuts\" = …`",
            )
        })
    }

    fn foreign_words(&self, tokens: &[Token<'_>], at: usize, text: &str) -> Option<Diagnostic> {
        // Behind the value of a `sum of`, `over` is wanted whatever stands there; so is `of` behind `is words`.
        let of_words = self.form == Rule::parameter && self.wants(&[Rule::word_of]);
        if of_words || self.wants(&[Rule::word_over]) {
            None
        } else {
            hints::phrase(tokens, at, text, &self.place)
        }
    }

    fn foreign_sign(&self) -> Option<Diagnostic> {
        let (sign, word) = SIGNS.iter().find(|(sign, _)| self.rest.starts_with(sign))?;
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
        let wants_name = matches!(self.wanted(), Some(A_NAME | A_FIELD | A_LIST));
        wants_name.then(|| {
            let message = format!("`{}` is a word of the rule language and cannot be a name", found.text);
            Diagnostic::error(code::CLAUSE_FORM, (self.place)(found.span), message)
                .help(format!("choose another name, such as `the_{}`", found.text))
        })
    }

    /// `wheel-nut` where a name is wanted: the name has ended before the sign.
    fn sign_in_name(&self) -> Option<Diagnostic> {
        let (found, previous) = (self.found?, self.previous?);
        let heads = [Rule::standard, Rule::rule_head, Rule::let_value, Rule::parameter, Rule::table];
        let joined =
            found.kind == Kind::Sign && previous.kind == Kind::Word && previous.span.end == found.span.start;
        (joined && heads.contains(&self.form) && !self.is_behind_value()).then(|| {
            let message = format!("{} cannot be part of a name", shown(found.text));
            Diagnostic::error(code::CLAUSE_FORM, (self.place)(found.span), message)
                .help("a name has letters, digits and underscores: `wheel_nut`")
        })
    }

    fn misplaced(&self) -> Diagnostic {
        let diagnostic = Diagnostic::error(code::CLAUSE_FORM, (self.place)(self.span()), self.message());
        let before =
            self.misspelt_before().filter(|_| self.is_behind_value() && self.found.is_some_and(is_operand));
        if let Some((written, meant)) = before {
            return diagnostic.help(format!("did you mean `{meant}` instead of `{written}`?"));
        }
        let aggregate =
            self.previous.filter(|word| hints::AGGREGATES.contains(&word.text) && self.is_behind_value());
        if let Some(word) = aggregate.filter(|_| self.found.is_some_and(is_operand)) {
            return diagnostic.help(format!("write `{} of x in LIST`", word.text));
        }
        if let Some(near) = self.near_word() {
            return diagnostic.help(format!("did you mean `{near}`?"));
        }
        if self.is_behind_value() {
            let can_be_joined = self.found.is_some_and(is_operand);
            let help = "join values with a word such as `and`, `is` or `within`";
            return if can_be_joined { diagnostic.help(help) } else { diagnostic };
        }
        // Deep in an expression a sample of the whole clause says nothing.
        let at_head = self
            .previous
            .is_none_or(|token| words::item(token.text).is_some() || words::clause_row(token.text).is_some());
        match sample(self.form).filter(|_| at_head || self.wanted() != Some(A_VALUE)) {
            Some(sample) => diagnostic.help(format!("it is written like `{sample}`")),
            None => diagnostic,
        }
    }

    fn message(&self) -> String {
        let after = self.previous.map_or(String::new(), |token| format!(" after {}", shown(token.text)));
        let wanted = match self.wanted() {
            Some(A_VALUE) if self.follows(&["within"]) => Some("a limit such as `9 Nm ± 10 %`"),
            wanted => wanted,
        };
        match (wanted, self.found) {
            (Some(wanted), Some(found)) => format!("{wanted} is wanted{after}, not {}", shown(found.text)),
            (Some(wanted), None) => format!("{wanted} is wanted{after}, but the clause ends"),
            (None, Some(found)) if after.is_empty() => format!("{} cannot stand here", shown(found.text)),
            (None, Some(found)) => format!("{} cannot stand{after}", shown(found.text)),
            (None, None) => format!("something is missing{after}"),
        }
    }

    /// A word before a value that was probably meant, where a misspelt one was taken for a field.
    fn misspelt_before(&self) -> Option<(&str, &'static str)> {
        let before = self.previous.filter(|word| word.kind == Kind::Word && !is_reserved(word.text))?;
        let meant = surely(before.text, LEADING_WORDS.iter().copied())?;
        (meant != before.text).then_some((before.text, meant))
    }

    /// The word that was probably meant by a misspelt one.
    fn near_word(&self) -> Option<&'static str> {
        let found = self.found.filter(|found| found.kind == Kind::Word && !is_reserved(found.text))?;
        let joining = JOINING_WORDS.iter().copied().filter(|_| self.is_behind_value());
        let joining = joining.chain(self.wants(&[Rule::word_where]).then_some("where"));
        // The words in back quotes of what is wanted.
        let named = self.wanted().into_iter().flat_map(|words| words.split('`').skip(1).step_by(2));
        nearest(found.text, joining.chain(named.filter(|word| word.chars().all(char::is_alphabetic))))
    }
}

fn is_operand(token: Token<'_>) -> bool {
    matches!(token.kind, Kind::Word | Kind::Number | Kind::Text | Kind::Open)
}

/// How the clause is written.
fn sample(form: Rule) -> Option<&'static str> {
    let word = match form {
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
        Rule::counts_from => "from",
        Rule::counts_until => "until",
        Rule::replaces => "replaces",
        Rule::trial => "trial",
        _ => return None,
    };
    words::item(word).map(|row| row.sample).or_else(|| words::clause_row(word).map(|row| row.sample))
}
