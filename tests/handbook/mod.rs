//! Standards as a page for people.

use std::collections::HashSet;

use witnessmark::handbook::{FigureRow, Handbook, html, markdown};
use witnessmark::language::typed::{Concerns, Expr, ExprKind};
use witnessmark::library::SHIPPED;
use witnessmark::quantity::Range;
use witnessmark::session::Session;
use witnessmark::value::Value;

use crate::support::{Folder, root, session, text};

const PLUGS: &str = "tests/handbook/plugs.standard";
const GOLDEN: &str = "tests/handbook/plugs.md";

fn shipped() -> Session {
    let files: Vec<(&str, &str)> = SHIPPED.iter().map(|one| (one.file, one.text)).collect();
    session(&files)
}

fn made_from(rules: &str) -> Handbook {
    let session = session(&[("plugs.standard", rules)]);
    assert!(!session.is_faulty(), "{:?}", session.diagnostics());
    Handbook::of(&session, &[])
}

#[test]
fn a_whole_standard_is_told_in_words() {
    let found = markdown(&made_from(&text(PLUGS)));
    if std::env::var("WITNESSMARK_BLESS").is_ok_and(|value| value == "1") {
        std::fs::write(root().join(GOLDEN), &found).unwrap();
    }
    let kept = std::fs::read_to_string(root().join(GOLDEN)).unwrap_or_default();
    assert!(
        kept == found,
        "{GOLDEN} differs: {}",
        similar::TextDiff::from_lines(&kept, &found).unified_diff()
    );
}

/// The values of an attribute in a page.
fn attributes<'p>(page: &'p str, name: &str) -> Vec<&'p str> {
    let lead = format!(" {name}=\"");
    page.split(&lead).skip(1).map(|rest| rest.split('"').next().unwrap()).collect()
}

#[test]
fn a_page_needs_nothing_else_and_each_link_leads_somewhere() {
    let session = shipped();
    let page = html(&Handbook::of(&session, &[]));
    for word in ["<script", "http:", "https:", "url(", "@import", " src=", "onload", "javascript"] {
        assert!(!page.contains(word), "it holds `{word}`");
    }
    let ids = attributes(&page, "id");
    let unique: HashSet<&str> = ids.iter().copied().collect();
    assert_eq!(unique.len(), ids.len(), "something stands twice");
    let links = attributes(&page, "href");
    assert!(links.len() > 2_000, "{}", links.len());
    for link in links {
        assert!(link.strip_prefix('#').is_some_and(|id| unique.contains(id)), "{link} leads nowhere");
    }
    for rule in session.program().rules().all() {
        assert!(unique.contains(rule.name.as_str()), "{}", rule.name);
    }
}

#[test]
fn the_cautions_stand_before_everything_else() {
    let book = made_from(&text(PLUGS));
    for page in [html(&book), markdown(&book)] {
        let caution = page.find("Work on vehicles can kill").unwrap();
        assert!(caution < page.find("Each plug is tightened").unwrap());
        assert!(page.contains("come before every rule in this book"));
    }
}

/// Every figure of a book.
fn rows(book: &Handbook) -> Vec<&FigureRow> {
    let rules = book.chapters.iter().flat_map(|chapter| &chapter.rules).flat_map(|rule| &rule.figures);
    let names = book.names.iter().flat_map(|name| &name.figures);
    let parameters = book.parameters.iter().flat_map(|one| one.stated.iter().map(|(row, _)| row));
    rules.chain(names).chain(parameters).collect()
}

/// The range that a converted figure is, read as anybody would write it.
fn read(words: &str) -> Range {
    let written = words.replace(" to ", " .. ");
    Range::parse(&written, None).unwrap_or_else(|fault| panic!("{words}: {}", fault.message))
}

/// Whether a figure is a limit within what a name means, which can be used either way.
fn is_of_name(book: &Handbook, row: &FigureRow) -> bool {
    let names = book.names.iter().filter(|name| !name.are_all);
    names.flat_map(|name| &name.figures).any(|known| std::ptr::eq(known, row))
}

#[test]
fn a_limit_that_is_forbidden_or_a_condition_is_rounded_the_other_way() {
    let book = made_from(&text(PLUGS));
    let rows = rows(&book);
    let row = |of: &str| *rows.iter().find(|row| row.of.plain().starts_with(of)).unwrap();
    // 100 Nm are 73.7562 lbf·ft (NIST SP 811, B.8: 1 lbf·ft = 1.355818 Nm).
    let forbidden = row("the torque of the fastening");
    assert_eq!(forbidden.of.plain(), "the torque of the fastening, which may not be");
    assert_eq!(forbidden.imperial.as_deref(), Some("above 73.75 lbf·ft"));
    let condition = row("its x");
    assert_eq!(condition.of.plain(), "its x, in a condition");
    // 10 mm are 0.393701 in.
    assert_eq!(condition.imperial.as_deref(), Some("above 0.3937 in"));
    // 10 lbf·ft are 13.55818 Nm.
    assert_eq!(row("its torque").metric, "at least 13.56 Nm");
}

#[test]
fn who_keeps_to_a_converted_figure_keeps_to_the_rule() {
    let mut looked = 0;
    for book in [Handbook::of(&shipped(), &[]), made_from(&text(PLUGS))] {
        for row in rows(&book) {
            let Some(imperial) = &row.imperial else { continue };
            let is_one = row
                .range
                .low()
                .zip(row.range.high())
                .is_some_and(|(low, high)| low.value.compare(&high.value).is_eq());
            if is_one {
                continue;
            }
            let of = row.of.plain();
            if of.contains("in a condition") || of.contains("may not be") || is_of_name(&book, row) {
                continue;
            }
            // One of the two is as the rule writes it, perhaps with its limits behind it.
            for words in [&row.metric, imperial].into_iter().filter(|words| !words.contains('(')) {
                let shown = read(words);
                assert!(shown.lies_within(&row.range), "{words} goes beyond {}", row.range);
                looked += 1;
            }
        }
    }
    assert!(looked > 60, "{looked}");
}

#[test]
fn what_cannot_be_converted_into_four_digits_is_still_shown() {
    let rules = text(PLUGS).replace("1 Nm .. 400 Nm otherwise", "400.001 Nm .. 400.002 Nm otherwise");
    let page = markdown(&made_from(&rules));
    assert!(
        page.contains("295.02564 lbf·ft to 295.026377 lbf·ft")
            || page.contains("| 400.001 Nm to 400.002 Nm | 295.0"),
        "{page}"
    );
}

/// What the rules quote is quoted; nothing of a demand is left as it is written.
#[test]
fn every_part_of_the_shipped_rules_has_words() {
    let session = shipped();
    let book = Handbook::of(&session, &[]);
    let mut quoted = 0;
    for rule in book.chapters.iter().flat_map(|chapter| &chapter.rules) {
        let demands = rule.demands.iter().map(|demand| demand.plain());
        for said in demands.chain([rule.concerns.plain()]) {
            for sign in ["_", " implies ", "recorded s.", "{", "}"] {
                assert!(!said.contains(sign), "{}: {said}", rule.name);
            }
            quoted += usize::from(said.contains('“'));
        }
    }
    assert!(quoted > 100);
}

/// The texts with which rules compare are in what is said of them.
#[test]
fn each_word_that_a_rule_compares_with_is_said() {
    fn words(expr: &Expr, found: &mut Vec<String>) {
        if let ExprKind::Constant(value) = &expr.kind {
            match value {
                Value::Text(text) => found.push(text.to_string()),
                Value::Words(words) => found.extend(words.iter().map(|word| word.to_string())),
                Value::Quantity(quantity) => found.push(quantity.to_string()),
                Value::Range(range) => found.push(range.to_string().replace(" .. ", " to ")),
                _ => {}
            }
        }
        expr.for_each_part(&mut |part| words(part, found));
    }
    let session = shipped();
    let book = Handbook::of(&session, &[]);
    let pages = book.chapters.iter().flat_map(|chapter| &chapter.rules);
    let mut looked = 0;
    for (rule, page) in session.program().rules().all().iter().zip(pages) {
        assert_eq!(rule.name, page.name);
        let mut found = Vec::new();
        rule.demands.iter().for_each(|demand| words(demand, &mut found));
        match &rule.concerns {
            Concerns::Document(condition) => {
                condition.iter().for_each(|condition| words(condition, &mut found))
            }
            Concerns::Each(nested) => {
                nested
                    .iter()
                    .filter_map(|each| each.condition.as_ref())
                    .for_each(|condition| words(condition, &mut found));
            }
        }
        let said: String = page.demands.iter().chain([&page.concerns]).map(|said| said.plain()).collect();
        for word in found {
            assert!(said.contains(&word), "{}: `{word}` is not in: {said}", rule.name);
            looked += 1;
        }
    }
    assert!(looked > 500, "{looked}");
}

#[test]
fn texts_of_strangers_are_shown_as_texts() {
    let hostile = "</title><script>alert(1)</script> ##vso[x] \u{202e}turned | `a` *b*";
    let rules = text(PLUGS)
        .replace("A loose plug leaks.", hostile)
        .replace("Screws of a pan are alike", hostile)
        .replace("\"filter cap\"", "\"<b>cap\"");
    let book = made_from(&rules);
    let page = html(&book);
    assert!(!page.contains("<script") && !page.contains("<b>cap") && !page.contains('\u{202e}'), "{page}");
    assert!(page.contains("&lt;script&gt;") && page.contains("\\u{202e}"));
    let page = markdown(&book);
    assert!(!page.replace("\\<", "").contains("<script") && !page.contains('\u{202e}'), "{page}");
    assert!(page.contains("\\| \\`a\\` \\*b\\*") && page.contains("\\#\\#vso"), "{page}");
}

#[test]
fn a_handbook_says_what_changed() {
    let folder = Folder::new();
    folder.write("plugs.standard", text(PLUGS));
    let old = text(PLUGS)
        .replace("edition 2", "edition 1")
        .replace("35 Nm .. 50 Nm", "35 Nm .. 55 Nm")
        .replace("5° .. 90°", "5° .. 80°");
    folder.write("old.standard", &old);
    let page = folder.run("handbook plugs.standard --since old.standard --format markdown").quietly(0).out;
    for wanted in [
        "What changed since edition 1, old.standard",
        "from “35 Nm .. 55 Nm where",
        "to “35 Nm .. 50 Nm where",
        "5° .. 80°",
    ] {
        assert!(page.contains(&plainly(wanted)) || page.contains(wanted), "{wanted}: {page}");
    }
    let page = folder.run("handbook plugs.standard --since old.standard").quietly(0).out;
    let rule = page.split("id=\"plugs.torque\"").nth(1).unwrap().split("</article>").next().unwrap();
    assert!(
        rule.contains("Changed since") && rule.contains("35 Nm .. 55 Nm") && rule.contains("80°"),
        "{rule}"
    );
    let rule = page.split("id=\"plugs.window\"").nth(1).unwrap().split("</article>").next().unwrap();
    assert!(!rule.contains("Changed since"), "{rule}");
    folder.write("other.standard", old.replace("standard plugs", "standard plugz"));
    folder
        .run("handbook plugs.standard --since other.standard")
        .refused("did you mean an edition of `plugs`?");
    folder.run("handbook plugs.standard --since no-such-thing").refused("no-such-thing");
    folder
        .run("handbook fastenings --without-settings --since HEAD")
        .refused("shipped standards are in no repository");
}

fn plainly(words: &str) -> String {
    words.replace('-', "\\-")
}

#[test]
fn a_handbook_of_faulty_rules_is_not_written() {
    let folder = Folder::new();
    folder
        .write("plugs.standard", text(PLUGS).replace("s.role is \"filter cap\"", "s.rol is \"filter cap\""));
    folder.write("page.html", "<!DOCTYPE html>");
    let ran = folder.run("handbook plugs.standard --output page.html").refused("no handbook is written");
    assert!(ran.err.contains("s.rol") || ran.err.contains("rol"), "{}", ran.err);
    assert!(!folder.has("page.html"), "an earlier page survives");
}
