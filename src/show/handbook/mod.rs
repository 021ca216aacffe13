//! Whole standards as a page for people: each rule in words, its figures in both systems of units, its trials as examples,
//! an index, and what changed since an earlier edition. Pure, without input or output.

mod clauses;
mod examples;
mod figures;
mod index;
mod line;
mod markdown;
mod page;
mod say;
mod sentence;
mod shared;
mod told;

use std::collections::{BTreeSet, HashSet};

pub use examples::Example;
pub use figures::FigureRow;
pub use index::IndexEntry;
pub use markdown::markdown;
pub use page::html;
pub use sentence::{Run, Sentence};

use crate::compare::Comparison;
use crate::language::ast::Severity;
use crate::language::typed::{Figure, Rule, Standard};
use crate::language::types::with_article;
use crate::session::{DeclaredParameter, Session};
use sentence::capital;
use told::{applies, changes, names, parameters, remarks, rule_page};

/// Standards as people read them.
#[derive(Clone, Debug)]
pub struct Handbook {
    /// Its name: the title of the only standard, or how many there are.
    pub title: String,
    /// The day on which it was made.
    pub made: String,
    /// A standard each.
    pub chapters: Vec<Chapter>,
    /// What the names in the rules mean.
    pub names: Vec<NamePage>,
    /// The parameters.
    pub parameters: Vec<ParameterPage>,
    /// Where what is spoken of.
    pub index: Vec<IndexEntry>,
}

/// A standard.
#[derive(Clone, Debug)]
pub struct Chapter {
    /// Its name, as settings write it.
    pub name: String,
    /// Its title.
    pub title: String,
    /// Its edition, and from when it holds.
    pub edition: String,
    /// What it judges, and where.
    pub applies: Sentence,
    /// What is said of it on the lines before it, paragraph by paragraph.
    pub remarks: Vec<String>,
    /// Its rules.
    pub rules: Vec<RulePage>,
    /// What changed since an earlier edition, where one was given.
    pub changes: Option<Changes>,
}

/// What changed in a standard.
#[derive(Clone, Debug)]
pub struct Changes {
    /// Since when: `edition 5 (old.standard)`.
    pub since: String,
    /// Each change, with the full names of the rules that it is in or that use what changed.
    pub list: Vec<(Vec<String>, String)>,
}

/// A rule.
#[derive(Clone, Debug)]
pub struct RulePage {
    /// Its full name.
    pub name: String,
    /// Its title.
    pub title: String,
    /// How severe it is.
    pub severity: Severity,
    /// Why the settings leave it out.
    pub left_out: Option<String>,
    /// When it counts.
    pub counts: Option<Sentence>,
    /// What it is about.
    pub concerns: Sentence,
    /// What it demands.
    pub demands: Vec<Sentence>,
    /// What is said where it is broken.
    pub message: String,
    /// What the names mean that only this rule has.
    pub own_names: Vec<(String, Vec<Sentence>)>,
    /// Its figures.
    pub figures: Vec<FigureRow>,
    /// What missing data counts as.
    pub unrecorded: &'static str,
    /// What to do.
    pub remedy: Option<String>,
    /// Why it matters.
    pub because: Option<String>,
    /// The source of its figures.
    pub basis: Option<String>,
    /// Who may grant a concession.
    pub concession: String,
    /// The rules that it takes the place of.
    pub replaces: Vec<String>,
    /// Its trials.
    pub examples: Vec<Example>,
}

/// A name that rules give to a value.
#[derive(Clone, Debug)]
pub struct NamePage {
    /// Which one.
    pub figure: Figure,
    /// Its name in words.
    pub name: String,
    /// Of what it is a value each: `fastening`.
    pub of: Option<String>,
    /// The standards in which it means this, where it means something else in others.
    pub within: Vec<String>,
    /// What it is: each case of it.
    pub meaning: Vec<Sentence>,
    /// Its figures.
    pub figures: Vec<FigureRow>,
    /// Whether each of its cases is a known figure.
    pub are_all: bool,
    /// Whether the first of its cases that fits counts.
    pub is_by_cases: bool,
    /// The rules that use it.
    pub used_by: Vec<String>,
}

/// A parameter.
#[derive(Clone, Debug)]
pub struct ParameterPage {
    /// Which one.
    pub figure: Figure,
    /// As it is declared.
    pub declared: DeclaredParameter,
    /// How it is stated in the settings.
    pub setting: String,
    /// What is stated in this run: for which keys, and where.
    pub stated: Vec<(FigureRow, String)>,
    /// The same of what is no quantity.
    pub words: Vec<String>,
    /// The rules that use it.
    pub used_by: Vec<String>,
}

/// An earlier edition of a standard, compared with the one of the run.
#[derive(Clone, Debug)]
pub struct Since {
    /// The name of the standard.
    pub standard: String,
    /// What the earlier one is called.
    pub name: String,
    /// What changed.
    pub comparison: Comparison,
}

impl Handbook {
    /// The standards of a session that were named to judge, with what changed in some of them.
    #[must_use]
    pub fn of(session: &Session, since: &[Since]) -> Handbook {
        let program = session.program();
        let standards: Vec<&Standard> = program.standards().iter().filter(|one| one.in_force).collect();
        let tried = examples::tried(session);
        let chapters: Vec<Chapter> = standards
            .iter()
            .map(|standard| {
                let rules = program.all_rules_of(standard);
                Chapter {
                    name: standard.name.clone(),
                    title: standard.title.clone(),
                    edition: match standard.from {
                        Some(day) => format!("edition {}, in force from {day}", standard.edition),
                        None => format!("edition {}", standard.edition),
                    },
                    applies: applies(session, standard),
                    remarks: remarks(session, standard),
                    rules: rules
                        .map(|(_, rule)| RulePage {
                            examples: examples::of_rule(session, standard, rule, &tried),
                            ..rule_page(session, rule)
                        })
                        .collect(),
                    changes: since
                        .iter()
                        .find(|since| since.standard == standard.name)
                        .map(|since| changes(since, &program.all_rules_of(standard).collect::<Vec<_>>())),
                }
            })
            .collect();
        let title = match chapters.as_slice() {
            [only] if !only.title.is_empty() => only.title.clone(),
            [only] => only.name.clone(),
            more => format!("{} standards", more.len()),
        };
        let rules: Vec<&Rule> =
            standards.iter().flat_map(|one| program.all_rules_of(one)).map(|(_, rule)| rule).collect();
        let mut figures: Vec<Figure> = Vec::new();
        let mut seen = HashSet::new();
        for rule in &rules {
            figures.extend(program.figures_of(rule).into_iter().filter(|figure| seen.insert(*figure)));
        }
        Handbook {
            title,
            made: session.setting().as_of.to_string(),
            names: names(session, &figures, &rules),
            parameters: parameters(session, &figures, &rules),
            index: index::of(&rules),
            chapters,
        }
    }
}

impl NamePage {
    /// Whether its figures say all that its cases do.
    pub(super) fn is_told_by_figures(&self) -> bool {
        self.meaning.len() > 1 && self.figures.len() == self.meaning.len() && self.are_all
    }

    /// Its name with what tells it from others: `Checks of a step, in order of work`.
    pub(super) fn heading(&self) -> String {
        let of = self.of.as_ref().map_or_else(String::new, |of| format!(" of {}", with_article(of)));
        let within =
            if self.within.is_empty() { String::new() } else { format!(", in {}", self.within.join(", ")) };
        format!("{}{of}{within}", capital(&self.name))
    }
}

impl Chapter {
    /// The rules that changed since the earlier edition.
    pub(super) fn changed(&self) -> BTreeSet<&str> {
        let list = self.changes.iter().flat_map(|changes| &changes.list);
        list.flat_map(|(rules, _)| rules).map(String::as_str).collect()
    }
}
