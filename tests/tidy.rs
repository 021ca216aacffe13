//! The invariants of the source tree that a test can check.

use std::collections::BTreeSet;

use witnessmark::library::{LENT, SHIPPED, Shipped};

use crate::readme::HANDBOOKS;
use crate::support::{files_below, root, rule_files, text};

/// What the top level may hold besides files that begin with a dot.
const TOP_LEVEL: [&str; 10] = [
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "clippy.toml",
    "examples",
    "grammar",
    "rules",
    "rustfmt.toml",
];

/// A crate, and the only file of `src/` that may name it.
const ONE_FILE_EACH: [(&str, &str); 5] = [
    ("granit_parser", "src/read/document/yaml.rs"),
    ("jsonschema", "src/read/document/schema.rs"),
    ("pest", "src/read/language/read/grammar.rs"),
    ("csv_core", "src/base/signal/records.rs"),
    ("miette", "src/show/report/terminal.rs"),
];

/// The longest file of `src/`, in lines.
const LONGEST: usize = 600;

fn sources() -> Vec<(String, String)> {
    let files: Vec<String> = files_below("src").into_iter().filter(|path| path.ends_with(".rs")).collect();
    assert!(files.len() > 50, "the sources are not where they should be");
    files.into_iter().map(|path| (text(&path), path)).map(|(text, path)| (path, text)).collect()
}

/// The code of a file: without comments and the contents of quoted texts, as far as a line tells.
fn code(text: &str) -> String {
    let mut code = String::new();
    for line in text.lines() {
        let line = line.split("//").next().unwrap_or_default();
        code.extend(line.split('"').step_by(2));
        code.push('\n');
    }
    code
}

/// The root of each crate, in the order in which they stand on each other.
const ROOTS: [&str; 5] =
    ["src/base/lib.rs", "src/read/lib.rs", "src/judge/lib.rs", "src/show/lib.rs", "src/lib.rs"];

/// The modules of all crates, in their order.
fn modules() -> Vec<String> {
    let name = |line: &str| Some(line.strip_prefix("pub mod ")?.trim_end_matches(';').to_owned());
    ROOTS.iter().flat_map(|root| text(root).lines().filter_map(name).collect::<Vec<_>>()).collect()
}

/// The top modules that a text names as `crate::…`.
fn used(code: &str) -> BTreeSet<String> {
    let word = |text: &str| -> String {
        text.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect()
    };
    let mut used = BTreeSet::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = &code[at + "crate::".len()..];
        match rest.strip_prefix('{') {
            // One group of modules: `use crate::{a::B, c::{D, E}}`.
            Some(group) => {
                let mut depth = 1;
                let mut begins = true;
                for (at, c) in group.char_indices() {
                    match c {
                        '{' => depth += 1,
                        '}' if depth == 1 => break,
                        '}' => depth -= 1,
                        ',' if depth == 1 => begins = true,
                        c if c.is_whitespace() => {}
                        _ if begins && depth == 1 => {
                            used.insert(word(&group[at..]));
                            begins = false;
                        }
                        _ => {}
                    }
                }
            }
            None => drop(used.insert(word(rest))),
        }
    }
    used
}

#[test]
fn modules_use_only_modules_above_them() {
    let order = modules();
    assert!(order.len() > 10, "{order:?}");
    let place = |name: &str| order.iter().position(|module| module == name);
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        let Some(home) = path.split(['/', '.']).find_map(place) else {
            assert!(ROOTS.contains(&&*path) || path == "src/main.rs", "{path} belongs to no module");
            continue;
        };
        for module in used(&code(&text)) {
            if place(&module).is_some_and(|used| used > home) {
                wrong.push(format!("{path} uses {module}, which stands below it"));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn names_of_modules_are_found_in_every_form_of_use() {
    let code = "use crate::{a::B, c, d::{E, F}, g};\nuse crate::h::I;\nlet x = crate::j::k();";
    let wanted = ["a", "c", "d", "g", "h", "j"].map(str::to_owned);
    assert_eq!(used(code), BTreeSet::from(wanted));
}

#[test]
fn each_wrapped_crate_is_named_by_one_file_only() {
    for (krate, home) in ONE_FILE_EACH {
        let names = |code: &str| {
            code.match_indices(krate).any(|(at, _)| {
                let rest = &code[at + krate.len()..];
                let begins = !code[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_');
                begins && (rest.starts_with("::") || rest.starts_with("_derive") || rest.starts_with(';'))
            })
        };
        for (path, text) in sources() {
            let named = names(&code(&text));
            assert!(!named || path == home, "{path} names {krate}, which only {home} may");
            assert!(
                named || path != home,
                "{home} does not name {krate}: the test looks for the wrong thing"
            );
        }
    }
}

#[test]
fn the_core_touches_neither_files_nor_clock_nor_terminal() {
    let outside =
        ["std::fs", "std::env", "std::process", "std::net", "SystemTime", "Instant::now", "Timestamp::now"];
    for (path, text) in sources() {
        if path.starts_with("src/command/") || path == "src/main.rs" {
            continue;
        }
        for word in outside {
            assert!(!code(&text).contains(word), "{path} names {word}");
        }
    }
}

#[test]
fn files_are_short_and_take_no_short_cuts() {
    for (path, text) in sources() {
        let code = code(&text);
        assert!(text.lines().count() <= LONGEST, "{path} has more than {LONGEST} lines");
        assert!(!code.contains("use super::*"), "{path} uses all of its parent");
        for (at, _) in code.match_indices("allow(") {
            let before = code[..at].trim_end();
            let attribute = before.ends_with('[') || before.ends_with('(') || before.ends_with(',');
            assert!(!attribute, "{path} allows a lint");
        }
        assert!(text.starts_with("//!"), "{path} does not begin by saying what it is about");
    }
}

#[test]
fn the_top_level_holds_nothing_else() {
    for entry in std::fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let known = name.starts_with('.') || TOP_LEVEL.contains(&&*name);
        assert!(known || ["src", "tests", "target"].contains(&&*name), "`{name}` has no place at the top");
    }
}

/// Marks of unfinished work, and words about how this project came to be.
#[test]
fn no_file_speaks_of_unfinished_work() {
    // Put together here, so that this file does not hold them itself.
    let marks = [["TO", "DO"], ["FIX", "ME"], ["XX", "X"], ["unimple", "mented!"], ["to", "do!("]]
        .map(|parts| parts.concat());
    let origins = [["record", "ing"], ["trans", "cript"], ["/wo", "rk/"], ["../sha", "red"]]
        .map(|parts| parts.concat());
    let mut files: Vec<String> = ["src", "rules", "examples", "grammar", "tests"]
        .iter()
        .flat_map(|folder| files_below(folder))
        .collect();
    files.extend(["README.md", "DEVELOPERS.md", "Cargo.toml"].map(str::to_owned));
    let mut wrong = Vec::new();
    for path in files.iter().filter(|path| !path.contains("/schemas/") && root().join(path).exists()) {
        let Ok(text) = std::fs::read_to_string(root().join(path)) else { continue };
        for (number, line) in text.lines().enumerate() {
            let mut found = marks.iter().filter(|mark| line.contains(*mark));
            let lower = line.to_lowercase();
            let mut origin = origins.iter().filter(|word| lower.contains(*word));
            if let Some(word) = found.next().or(origin.next()) {
                wrong.push(format!("{path}:{}: {word}", number + 1));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// `unit` and `record` in three places would be three truths: each form of document has one schema.
#[test]
fn every_schema_of_a_form_is_known_to_the_program() {
    let forms = witnessmark::document::Forms::builtin();
    for path in files_below("grammar") {
        if let Some(form) = path.strip_prefix("grammar/").and_then(|name| name.strip_suffix(".schema.json")) {
            assert!(
                forms.get(form).is_some()
                    || matches!(form, "audit" | "report" | "lines" | "comparison" | "comparisons"),
                "{path} belongs to no form"
            );
        }
    }
}

#[test]
fn every_shipped_rule_file_is_in_the_program() {
    let name = |shipped: &Shipped| format!("rules/{}.standard", shipped.name);
    let shipped: BTreeSet<String> = SHIPPED.iter().chain(LENT).map(name).collect();
    assert_eq!(shipped, rule_files().into_iter().collect());
}

/// The files outside `document/` and `trade/` that show what was written. Whoever else needs a value takes it as
/// the form reads it, so that nothing is read a second time in another way.
const SHOW_WHAT_WAS_WRITTEN: [&str; 11] = [
    "src/command/bench/index.rs",
    "src/judge/compare/document.rs",
    "src/judge/explain/mod.rs",
    "src/judge/explain/near.rs",
    "src/judge/explain/places.rs",
    "src/judge/explain/seen.rs",
    "src/judge/session/against.rs",
    "src/judge/session/concessions.rs",
    "src/judge/session/identity.rs",
    "src/judge/session/known/seen.rs",
    "src/judge/settings.rs",
];

#[test]
fn only_those_who_show_it_take_the_text_of_a_value() {
    let takes = |code: &str| code.contains(".raw(");
    let reads = |path: &str| path.starts_with("src/read/document/") || path.starts_with("src/read/trade/");
    let mut taking: Vec<String> = sources()
        .into_iter()
        .filter(|(path, text)| !reads(path) && takes(&code(text)))
        .map(|(path, _)| path)
        .collect();
    taking.sort();
    assert_eq!(taking, SHOW_WHAT_WAS_WRITTEN);
}

/// The names of all fields that the schemas of the forms declare.
fn fields_of_the_forms() -> BTreeSet<String> {
    fn gather(schema: &serde_json::Value, names: &mut BTreeSet<String>) {
        let members = schema.as_object().into_iter().flatten().map(|(_, value)| value);
        for value in members.chain(schema.as_array().into_iter().flatten()) {
            gather(value, names);
        }
        let properties = schema.get("properties").and_then(serde_json::Value::as_object);
        names.extend(properties.into_iter().flatten().map(|(name, _)| name.clone()));
    }
    let mut names = BTreeSet::new();
    for form in witnessmark::document::Forms::builtin().iter() {
        gather(&serde_json::from_str(&form.schema_text()).unwrap(), &mut names);
    }
    names
}

/// The quoted texts of a file, without those in comments.
fn quoted(text: &str) -> Vec<String> {
    let mut quoted = Vec::new();
    let mut rest = text;
    while let Some(next) = rest.chars().next() {
        if rest.starts_with("//") {
            rest = rest.find('\n').map_or("", |end| &rest[end..]);
        } else if rest.starts_with("'\"'") || rest.starts_with("'\\\"'") {
            rest = &rest[rest[2..].find('\'').unwrap() + 3..];
        } else if next == '"' {
            let mut escaped = false;
            let end = rest[1..].find(|c| {
                let ends = c == '"' && !escaped;
                escaped = c == '\\' && !escaped;
                ends
            });
            let (inside, behind) = rest[1..].split_at(end.expect("a quoted text ends"));
            quoted.push(inside.to_owned());
            rest = &behind[1..];
        } else {
            rest = &rest[next.len_utf8()..];
        }
    }
    quoted
}

#[test]
fn quoted_texts_are_found_between_comments_and_escapes() {
    let code = "a(\"one\", '\"', \"t\\\"wo\"); // \"three\"\nb(\"four\")";
    assert_eq!(quoted(code), ["one", "t\\\"wo", "four"]);
}

/// Turns of phrase that a reader stumbles over, in small letters; each has a plainer one.
const ODD: [&str; 26] = [
    "stands here",
    "stands in the text",
    "stands behind",
    "stands alone",
    "finding stands",
    "nothing stands",
    "cannot be told",
    "has mistakes",
    "have mistakes",
    "to mend",
    "is no day with",
    "none of the words that",
    "of which it cannot be told",
    "is said with the document",
    "is no field, for",
    "hold to their trials",
    "mistakes to mend",
    "itself does not count",
    "but what was known",
    "under which nothing stands",
    "past all use",
    "no notice of",
    "is gone is said",
    "came out alike",
    "has not been shown the work",
    "none but those",
];

#[test]
fn messages_and_handbooks_say_it_plainly() {
    let mut wrong = Vec::new();
    let mut look = |path: &str, text: &str| {
        let text = text.to_lowercase();
        wrong.extend(ODD.iter().filter(|odd| text.contains(**odd)).map(|odd| format!("{path}: {odd}")));
    };
    for (path, text) in sources() {
        quoted(&text).iter().for_each(|said| look(&path, said));
    }
    for path in rule_files().into_iter().chain(HANDBOOKS.map(str::to_owned)) {
        look(&path, &text(&path));
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Where words stand in `src/` that a form has as names of fields too, and mean something else: a folder or a file,
/// and the words (none for all). A path such as `job.state` means a field everywhere.
const WORDS_OF_THEIR_OWN: &[(&str, &[&str])] = &[
    // The rule language, with the parameters of its builtins, and its comparison.
    ("src/read/language/", &[]),
    ("src/judge/compare/difference.rs", &["title"]),
    ("src/judge/compare/expression.rs", &[]),
    ("src/judge/compare/standard.rs", &[]),
    ("src/judge/compare/tree.rs", &["quantity", "range", "list"]),
    ("src/read/library.rs", &["edition", "brake_fluid"]),
    // Kinds of quantities, and symbols in formulas.
    ("src/base/quantity/", &[]),
    ("src/base/metrology/", &[]),
    // Keys of reports.
    ("src/show/report/", &[]),
    // JSON Schema with our keywords, the line that names a form, and the start from which a log counts.
    ("src/read/document/editor.rs", &["number", "pattern", "type"]),
    ("src/read/document/extend.rs", &[]),
    ("src/read/document/forms.rs", &["form"]),
    ("src/read/document/link.rs", &["by", "job", "procedure", "tools", "{}.form"]),
    ("src/read/document/log.rs", &["started"]),
    ("src/read/document/schema.rs", &["quantity", "required"]),
    ("src/read/document/shape.rs", &[]),
    ("src/read/document/wording.rs", &["document"]),
    // Nouns of messages, severities, an answer.
    ("src/command/amend.rs", &["y"]),
    // A word of the rule language.
    ("src/command/ask.rs", &["of"]),
    ("src/command/prove.rs", &["rule", "hold"]),
    ("src/command/sheet.rs", &["hold", "procedure", "unit"]),
    // The name of a standard.
    ("src/read/library.rs", &["fastenings"]),
    ("src/judge/session/context.rs", &["procedure", "tool"]),
    ("src/judge/session/identity.rs", &["plate"]),
    ("src/judge/session/known/mod.rs", &["hold", "note"]),
    ("src/judge/session/known/write.rs", &["as"]),
    // Classes of style, and words of the page.
    ("src/show/sheet/print.rs", &["hold", "list", "on", "steps"]),
    // Attributes and classes of the page, names of its texts, parameters of its addresses.
    ("src/show/bench/", &[]),
    ("src/command/bench/", &[]),
    // Attributes and classes of the page, and what a part of a text is that changed.
    ("src/show/handbook/", &[]),
    // Names of the Language Server Protocol.
    ("src/editor/", &[]),
    ("src/command/editor/", &[]),
    // Words of the Language Server Protocol and of the rule language.
    ("src/editor/", &[]),
    ("src/command/editor/", &[]),
    // Names of our own figures.
    ("src/show/audit/forms/", &[]),
    ("src/show/audit/tell/", &[]),
    // The readers of settings.
    ("src/judge/settings.rs", &[]),
];

#[test]
fn only_the_trade_names_fields_of_the_forms() {
    let fields = fields_of_the_forms();
    assert!(fields.len() > 150, "the schemas have more fields than {}", fields.len());
    // A step that is filled in can be any field, but not all of them.
    let is_field = |text: &str| {
        let named = |step: &str| fields.contains(step.split('[').next().unwrap_or_default());
        let filled_in = |step: &str| step.starts_with('{') && step.ends_with('}');
        text == "in work"
            || (text.split('.').any(named) && text.split('.').all(|step| named(step) || filled_in(step)))
    };
    let (mut wrong, mut unused) = (Vec::new(), BTreeSet::from_iter(WORDS_OF_THEIR_OWN));
    for (path, text) in sources().iter().filter(|(path, _)| !path.starts_with("src/read/trade/")) {
        let rows = WORDS_OF_THEIR_OWN.iter().filter(|(place, _)| path.starts_with(place));
        let rows: Vec<_> = rows.collect();
        for word in quoted(text).iter().filter(|word| is_field(word)) {
            let fits = |(_, words): &&&(&str, &[&str])| words.is_empty() || words.contains(&word.as_str());
            let own = rows.iter().find(|row| fits(row));
            let in_whole =
                |(place, words): &&(&str, &[&str])| !words.is_empty() || *place == "src/judge/settings.rs";
            match own.filter(|row| !word.contains('.') || in_whole(row)) {
                Some(row) => drop(unused.remove(*row)),
                None => wrong.push(format!("{path} names the field `{word}`, which only `trade` may")),
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(unused.is_empty(), "words that nobody uses: {unused:?}");
}
