//! The handbook as one file of HTML: no scripts, and nothing that is loaded from elsewhere.

use maud::{Markup, PreEscaped, html};

use super::examples::Example;
use super::figures::FigureRow;
use super::line::drawing;
use super::sentence::{Run, Sentence, capital};
use super::{Chapter, Handbook, NamePage, ParameterPage, RulePage, shared};
use crate::language::ast::{Severity, TrialOutcome};
use crate::language::ids::Id;
use crate::language::typed::Figure;
use crate::quantity::{Range, Unit};
use crate::report::{one_file, text};

/// The page.
#[must_use]
pub fn html(book: &Handbook) -> String {
    let several = book.chapters.len() > 1;
    let body = html! {
        header {
            h1 { (clean(&book.title)) }
            p class="quiet" { "Handbook of the rules by which records are checked, made on " (book.made) " by witnessmark " (env!("CARGO_PKG_VERSION")) "." }
            section class="cautions" aria-label="Cautions" {
                @for caution in shared::CAUTIONS { p { (caution) } }
            }
        }
        (contents(book))
        main {
            @for chapter in &book.chapters { (self::chapter(chapter, book, several)) }
            @if !book.names.is_empty() {
                section id="names" {
                    h2 { "What the names mean" }
                    @for name in &book.names { (self::name(name, book)) }
                }
            }
            @if !book.parameters.is_empty() {
                section id="parameters" {
                    h2 { "What maker and workshop state" }
                    p { (shared::PARAMETERS) }
                    @for parameter in &book.parameters { (self::parameter(parameter, book)) }
                }
            }
            @if !book.index.is_empty() { (index(book)) }
        }
        footer { p class="quiet" { (shared::FIGURES) } }
    };
    one_file::page(&clean(&book.title), include_str!("handbook.css"), &body)
}

/// A text for a page: what could hide or turn the direction of writing is written out.
fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    text.chars().for_each(|c| text::put(c, " ", &mut out));
    out
}

fn anchor(figure: Figure) -> String {
    match figure {
        Figure::Let(id) => format!("let-{}", id.place()),
        Figure::Parameter(id) => format!("parameter-{}", id.place()),
        Figure::Table(id) => format!("table-{}", id.place()),
    }
}

fn sentence(sentence: &Sentence, book: &Handbook) -> Markup {
    html! {
        @for run in sentence.runs() {
            @match run {
                Run::Words(words) => { (clean(words)) }
                Run::Name(name, figure) if book.explains(*figure) => a class="name" href={ "#" (anchor(*figure)) } { (clean(name)) }
                Run::Name(name, _) => i { (clean(name)) }
            }
        }
    }
}

fn contents(book: &Handbook) -> Markup {
    html! {
        nav class="contents" aria-label="Contents" {
            @for chapter in &book.chapters {
                details open[book.chapters.len() == 1] {
                    summary { (clean(&capital(&chapter.title))) " (" (text::count(chapter.rules.len() as u64, "rule")) ")" }
                    @if book.chapters.len() > 1 { p { a href={ "#" (clean(&chapter.name)) } { "To the standard" } } }
                    ol {
                        @for rule in &chapter.rules {
                            li { a href={ "#" (clean(&rule.name)) } { (clean(&rule.title)) } }
                        }
                    }
                }
            }
            p class="quiet" {
                @if !book.names.is_empty() { a href="#names" { "What the names mean" } " · " }
                @if !book.parameters.is_empty() { a href="#parameters" { "What maker and workshop state" } " · " }
                @if !book.index.is_empty() { a href="#index" { "Index" } }
            }
        }
    }
}

fn chapter(chapter: &Chapter, book: &Handbook, several: bool) -> Markup {
    let changed = chapter.changed();
    html! {
        section id=(clean(&chapter.name)) {
            h2 { @if several { (clean(&capital(&chapter.title))) } @else { "The rules" } }
            p class="quiet" { code { (clean(&chapter.name)) } ", " (chapter.edition) }
            @for remark in &chapter.remarks {
                @if remark.starts_with("   ") { pre { (clean_lines(remark)) } } @else { p { (clean(remark)) } }
            }
            p { (sentence(&chapter.applies, book)) }
            @if let Some(changes) = &chapter.changes {
                section class="changed" {
                    h3 { "What changed since " (clean(&changes.since)) }
                    @if changes.list.is_empty() { p { "Nothing changed in meaning." } }
                    ul {
                        @for (rules, words) in &changes.list {
                            li {
                                (clean(words))
                                @for rule in rules { " · " a href={ "#" (clean(rule)) } { (clean(book.title_of(rule))) } }
                            }
                        }
                    }
                }
            }
            @for rule in &chapter.rules { (self::rule(rule, chapter, book, changed.contains(rule.name.as_str()))) }
        }
    }
}

fn clean_lines(text: &str) -> String {
    text.lines().map(clean).collect::<Vec<_>>().join("\n")
}

/// The words of a severity, and its class.
fn severity(severity: Severity) -> Markup {
    html! { span class={ "mark " (severity.word()) } { (shared::severity(severity)) } }
}

fn rule(rule: &RulePage, chapter: &Chapter, book: &Handbook, is_changed: bool) -> Markup {
    html! {
        article class={ "rule " (rule.severity.word()) } id=(clean(&rule.name)) {
            h3 { (clean(&rule.title)) }
            p class="quiet" { (severity(rule.severity)) " · " code { (clean(&rule.name)) } }
            @if let Some(reason) = &rule.left_out { p { strong { "Left out in this workshop: " } (clean(reason)) } }
            dl {
                dt { "It concerns" } dd { (sentence(&rule.concerns, book)) }
                @if let Some(counts) = &rule.counts { dt { "It counts" } dd { (sentence(counts, book)) } }
                dt { "It demands" }
                dd class="demand" {
                    @match rule.demands.as_slice() {
                        [only] => (sentence(only, book)),
                        several => ul { @for demand in several { li { (sentence(demand, book)) } } }
                    }
                }
                @for (name, meaning) in &rule.own_names {
                    dt { i { (clean(name)) } " is" } dd { (cases(meaning, book)) }
                }
                @if !rule.figures.is_empty() { dt { "Figures" } dd { (figures(&rule.figures, book)) } }
                @for (lead, words) in [("What to do", &rule.remedy), ("Because", &rule.because), ("Basis", &rule.basis)] {
                    @if let Some(words) = words { dt { (lead) } dd { (clean(&capital(words))) } }
                }
                dt { "Not recorded" } dd { (rule.unrecorded) }
                dt { "Concession by" } dd { (clean(&rule.concession)) }
                @if !rule.replaces.is_empty() { dt { "In place of" } dd class="quiet" { (clean(&rule.replaces.join(", "))) } }
            }
            @if is_changed && let Some(changes) = &chapter.changes {
                div class="changed" {
                    "Changed since " (clean(&changes.since)) ":"
                    ul {
                        @for (_, words) in changes.list.iter().filter(|(of, _)| of.contains(&rule.name)) { li { (clean(words)) } }
                    }
                }
            }
            @if !rule.examples.is_empty() {
                details {
                    summary { (text::count(rule.examples.len() as u64, "example")) }
                    @for example in &rule.examples { (self::example(example)) }
                }
            }
        }
    }
}

fn cases(meaning: &[Sentence], book: &Handbook) -> Markup {
    html! {
        @match meaning {
            [only] => (sentence(only, book)),
            several => ul { @for case in several { li { (sentence(case, book)) } } }
        }
    }
}

fn example(example: &Example) -> Markup {
    let class = match example.outcome {
        TrialOutcome::Met => "met",
        TrialOutcome::Broken => "broken",
        TrialOutcome::Undecided => "undecided",
        TrialOutcome::NotConcerned => "other",
    };
    html! {
        div class="example" {
            span class=(class) { (shared::outcome(example.outcome)) }
            ul {
                @for line in &example.recorded { li { (clean(line)) } }
                @for line in &example.with { li class="quiet" { (clean(line)) } }
                @for line in &example.said { li { "→ " (clean(line)) } }
            }
        }
    }
}

fn figures(rows: &[FigureRow], book: &Handbook) -> Markup {
    let has_imperial = rows.iter().any(|row| row.imperial.is_some());
    html! {
        div class="scroll" {
            table {
                thead {
                    tr {
                        th scope="col" { "What" }
                        th scope="col" { @if has_imperial { "Metric" } @else { "Figure" } }
                        @if has_imperial { th scope="col" { "Imperial" } }
                    }
                }
                tbody {
                    @for (number, row) in rows.iter().enumerate() {
                        tr {
                            td { @if rows.len() > 1 { (number + 1) ". " } (sentence(&row.of, book)) }
                            td { (clean(&row.metric)) }
                            @if has_imperial { td { (clean(row.imperial.as_deref().unwrap_or("the same"))) } }
                        }
                    }
                }
            }
        }
        @for picture in pictures(rows) { (PreEscaped(picture)) }
    }
}

/// Pictures of ranges, one for each unit in which some are stated.
fn pictures(rows: &[FigureRow]) -> Vec<String> {
    let unit_of = |range: &Range| range.high().or(range.low()).and_then(|limit| limit.value.unit());
    let mut units: Vec<&'static Unit> = Vec::new();
    for unit in rows.iter().filter_map(|row| unit_of(&row.range)) {
        if !units.contains(&unit) {
            units.push(unit);
        }
    }
    let picture = |unit: &&'static Unit| {
        let of_unit = || (1..).zip(rows).filter(|(_, row)| unit_of(&row.range) == Some(*unit));
        let bars: Vec<(usize, &Range)> = of_unit().map(|(number, row)| (number, &row.range)).collect();
        let ranges: Vec<&Range> = bars.iter().map(|(_, range)| *range).collect();
        let words: Vec<&str> = of_unit().map(|(_, row)| row.metric.as_str()).collect();
        drawing(&bars, unit, super::figures::beside(unit, &ranges), &clean(&words.join("; ")))
    };
    units.iter().filter_map(picture).collect()
}

fn used_by(rules: &[String], book: &Handbook) -> Markup {
    html! {
        p class="quiet" {
            "Used by "
            @for (number, name) in rules.iter().enumerate() {
                @if number > 0 { ", " }
                a href={ "#" (clean(name)) } { (clean(book.title_of(name))) }
            }
            "."
        }
    }
}

fn name(name: &NamePage, book: &Handbook) -> Markup {
    html! {
        section class="term" id=(anchor(name.figure)) {
            h3 { (clean(&name.heading())) }
            @if name.meaning.len() > 1 && name.is_by_cases { p class="quiet" { (shared::CASES) } }
            @if !name.is_told_by_figures() { div { (cases(&name.meaning, book)) } }
            @if !name.figures.is_empty() { (figures(&name.figures, book)) }
            (used_by(&name.used_by, book))
        }
    }
}

fn parameter(parameter: &ParameterPage, book: &Handbook) -> Markup {
    let declared = &parameter.declared;
    html! {
        section class="term" id=(anchor(parameter.figure)) {
            h3 { (clean(&capital(&declared.title))) }
            p { code { (clean(&declared.name)) } ", " (clean(&shared::parameter(declared))) }
            p { "Stated in the settings under " code { "parameters" } " as " code { (clean(&parameter.setting)) } "." }
            @if parameter.stated.is_empty() && parameter.words.is_empty() { p { (shared::UNSTATED) } }
            @if !parameter.stated.is_empty() {
                div class="scroll" {
                    table {
                        thead { tr { th scope="col" { "For" } th scope="col" { "Metric" } th scope="col" { "Imperial" } th scope="col" { "Where" } } }
                        tbody {
                            @for (row, at) in &parameter.stated {
                                tr {
                                    td { (sentence(&row.of, book)) } td { (clean(&row.metric)) }
                                    td { (clean(row.imperial.as_deref().unwrap_or("the same"))) } td class="wrap" { (clean(at)) }
                                }
                            }
                        }
                    }
                }
            }
            @if !parameter.words.is_empty() { ul { @for words in &parameter.words { li { (clean(words)) } } } }
            (used_by(&parameter.used_by, book))
        }
    }
}

fn index(book: &Handbook) -> Markup {
    html! {
        section id="index" class="index" {
            h2 { "Index" }
            ul {
                @for entry in &book.index {
                    li {
                        strong { (clean(&entry.word)) } " "
                        @for (number, (name, title)) in entry.rules.iter().enumerate() {
                            @if number > 0 { "; " }
                            a href={ "#" (clean(name)) } { (clean(title)) }
                        }
                    }
                }
            }
        }
    }
}
