//! Reads the items of a rule file but rules.

use std::borrow::Cow;

use crate::code;
use crate::language::ast::{Case, Entries, Expr, ExprKind, Let, Parameter, Row, Standard, Table, Use};
use crate::language::read::clauses::Reader;
use crate::language::read::cut::{ClauseCut, ClauseKind, ItemCut};
use crate::language::read::grammar::{Node, Rule};
use crate::language::read::rules;
use crate::language::read::scan::Tokens;
use crate::language::read::words::ClauseWord;
use crate::letters::composed;
use crate::source::{Span, Spanned};

impl Reader<'_, '_> {
    /// Reads the item.
    pub(crate) fn standard(&mut self, item: &ItemCut) -> Option<Standard> {
        let (head, clauses) = item.clauses.split_first()?;
        let read_head = self.clause(Rule::standard, head).map(|head| self.standard_head(item, &head));
        let mut standard = read_head.flatten();
        let mut seen = Vec::new();
        for clause in clauses {
            let ClauseKind::Clause(word) = clause.kind else { continue };
            let good = !self.repeats(&mut seen, word, clause)
                && self.standard_clause(&mut standard, word, clause).is_some();
            standard = standard.filter(|_| good);
        }
        standard
    }

    fn standard_head(&mut self, item: &ItemCut, head: &Node<'_>) -> Option<Standard> {
        let title = self.title_in(head, "standard");
        let edition = head.part(Rule::edition).map(|edition| self.builder.edition(edition)).transpose();
        let edition = self.mistakes.keep(edition)?;
        let name = self.name_in(head)?;
        Some(Standard {
            span: item.span(),
            name,
            edition,
            title: Some(title?),
            judges: None,
            condition: None,
            from: None,
            basis: None,
            concession: None,
        })
    }

    /// Reads a clause even when the head is bad, so that its mistakes are seen.
    fn standard_clause(
        &mut self,
        standard: &mut Option<Standard>,
        word: ClauseWord,
        clause: &ClauseCut,
    ) -> Option<()> {
        match word {
            ClauseWord::Judges => {
                let node = self.clause(Rule::judges, clause)?;
                let form = self.name_in(&node)?;
                standard.as_mut()?.judges = Some(form);
            }
            ClauseWord::From => {
                let day = rules::day(self, Rule::counts_from, clause)?;
                standard.as_mut()?.from = Some(day);
            }
            ClauseWord::Basis => {
                let basis = rules::quoted(self, Rule::basis, clause)?;
                standard.as_mut()?.basis = Some(basis);
            }
            ClauseWord::Concession => {
                let concession = rules::concession(self, clause)?;
                standard.as_mut()?.concession = Some(concession);
            }
            _ => {
                let node = self.clause(Rule::applies, clause)?;
                let condition = node.part(Rule::condition)?;
                let condition = self.expression_in(condition)?;
                standard.as_mut()?.condition = Some(condition);
            }
        }
        Some(())
    }

    /// Reads the item.
    pub(crate) fn use_file(&mut self, item: &ItemCut) -> Option<Use> {
        let node = self.clause(Rule::use_file, item.clauses.first()?)?;
        Some(Use { path: self.text_in(&node)? })
    }

    /// Reads the item.
    pub(crate) fn let_value(&mut self, item: &ItemCut) -> Option<Let> {
        self.let_clause(item.clauses.first()?)
    }

    /// Reads a name for a value, which can be an item or a clause of a rule.
    pub(crate) fn let_clause(&mut self, clause: &ClauseCut) -> Option<Let> {
        let node = self.clause(Rule::let_value, clause)?;
        let name = self.name_in(&node)?;
        let entries = self.entries_in(&node)?;
        let value = match node.part(Rule::case) {
            Some(_) => self.cases(&node, name.span)?,
            None => self.expression_in(&node)?,
        };
        Some(Let { span: clause.span, name, entries, value })
    }

    /// The entries of which something has a value each, where it has; nothing after a mistake in them.
    #[expect(clippy::option_option, reason = "a mistake is not the same as no entries")]
    fn entries_in(&mut self, node: &Node<'_>) -> Option<Option<Entries>> {
        let Some(part) = node.part(Rule::of_entries) else { return Some(None) };
        let path = self.builder.needed(part, Rule::path);
        let list = self.builder.path(self.mistakes.keep(path)?);
        Some(Some(Entries { variable: self.name_in(part)?, list }))
    }

    fn cases(&mut self, node: &Node<'_>, name: Span) -> Option<Expr> {
        let written: Vec<&Node<'_>> = node.all(Rule::case).collect();
        let first = written.first().and_then(|case| case.part(Rule::expression));
        let last = written.last().map_or(name, |case| case.span);
        let span = first.map_or(last, |first| first.span.to(last));
        let mut cases = Vec::with_capacity(written.len());
        for case in &written {
            let condition = match case.part(Rule::condition) {
                Some(condition) => Some(self.expression_in(condition)?),
                None => None,
            };
            cases.push(Case { condition, value: self.expression_in(case)? });
        }
        let last = cases.iter().position(|case| case.condition.is_none());
        if last.map(|last| last + 1) == Some(cases.len()) {
            return Some(Expr { kind: ExprKind::Cases(cases), span });
        }
        let (span, message, help) = match last.and_then(|last| written.get(last + 1)) {
            Some(never) => (
                never.span,
                "this case is never reached",
                "the case with `otherwise` comes last: it counts wherever no case above does",
            ),
            None => (
                name,
                "the last case has a condition",
                "end the cases with one for all that is left: `= … otherwise`",
            ),
        };
        let mistake = self.mistakes.error(code::CLAUSE_FORM, span, message);
        self.mistakes.push(mistake.help(help));
        None
    }

    /// Reads the item.
    pub(crate) fn parameter(&mut self, item: &ItemCut) -> Option<Parameter> {
        let node = self.clause(Rule::parameter, item.clauses.first()?)?;
        let kind = self.builder.needed(&node, Rule::kind);
        let kind = self.mistakes.keep(kind)?;
        // A field stands without a gap, a kind can have comments and line ends between its words.
        let words = match kind.text.contains('.') {
            true => composed(Cow::Borrowed(kind.text)).into_owned(),
            false => Tokens::new(kind.text).map(|token| token.text).collect::<Vec<_>>().join(" "),
        };
        let default = match node.part(Rule::expression) {
            Some(_) => Some(self.expression_in(&node)?),
            None => None,
        };
        let entries = self.entries_in(&node)?;
        let paths = |part: &Node<'_>| part.all(Rule::path).map(|path| self.builder.path(path)).collect();
        let keys: Vec<Expr> = node.part(Rule::by_keys).map(paths).unwrap_or_default();
        let from = node.part(Rule::from_field).and_then(|part| part.part(Rule::path));
        let from = from.map(|path| self.builder.path(path));
        Some(Parameter {
            span: item.span(),
            name: self.name_in(&node)?,
            kind: Spanned::new(words, kind.span),
            words: node.part(Rule::words_of).is_some(),
            range: node.part(Rule::ranged).is_some(),
            entries,
            keys,
            title: self.text_in(&node)?,
            from,
            default,
        })
    }

    /// Reads the item.
    pub(crate) fn table(&mut self, item: &ItemCut) -> Option<Table> {
        let (head, rows) = item.clauses.split_first()?;
        let node = self.clause(Rule::table, head);
        let keys = node.as_ref().map(|node| node.all(Rule::path).map(|key| self.builder.path(key)).collect());
        let keys: Option<Vec<Expr>> = keys;
        let wanted = keys.as_ref().map(Vec::len);
        let rows: Vec<Option<Row>> = rows.iter().map(|row| self.row(row, wanted)).collect();
        let (node, keys) = (node?, keys?);
        if rows.is_empty() {
            let name = node.part(Rule::name).map_or(head.span, |name| name.span);
            let mistake = self.mistakes.error(code::TABLE_FORM, name, "this table has no rows");
            self.mistakes.push(mistake.help(r#"a row is written like `"six speed" : 5.0 L .. 6.2 L`"#));
            return None;
        }
        let rows: Option<Vec<Row>> = rows.into_iter().collect();
        Some(Table { span: item.span(), name: self.name_in(&node)?, keys, rows: rows? })
    }

    fn row(&mut self, clause: &ClauseCut, wanted: Option<usize>) -> Option<Row> {
        let node = self.clause(Rule::row, clause)?;
        let keys = self.texts_in(&node)?;
        let value = self.expression_in(&node)?;
        if let Some(wanted) = wanted.filter(|wanted| *wanted != keys.len()) {
            let span = keys.iter().map(|key| key.span).reduce(Span::to).unwrap_or(clause.span);
            let message =
                format!("this row has {}, and the table is looked up by {wanted}", counted(keys.len()));
            let mistake = self.mistakes.error(code::TABLE_FORM, span, message);
            self.mistakes.push(mistake.help("give one quoted text for each key named behind `by`"));
            return None;
        }
        Some(Row { keys, value })
    }
}

fn counted(keys: usize) -> String {
    if keys == 1 { "1 key".to_owned() } else { format!("{keys} keys") }
}
