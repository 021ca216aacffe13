//! What is read without the grammar comes out as the grammar reads it.

use witnessmark::document::Forms;
use witnessmark::language::ast::Item;
use witnessmark::language::{parse, parse_expression, parse_without_trials};
use witnessmark::library::{NoLibrary, SHIPPED};
use witnessmark::session::{Request, Session};
use witnessmark::source::Sources;

/// The text with tabs for the blanks outside its quoted texts, of which only the grammar knows that they part
/// words. Everything stands where it stood.
fn with_tabs(text: &str) -> String {
    let mut quoted = false;
    let line = |line: &str| {
        let mut before = ' ';
        let out: String = line
            .chars()
            .map(|c| {
                quoted ^= c == '"' && before != '\\';
                before = c;
                if c == ' ' && !quoted { '\t' } else { c }
            })
            .collect();
        quoted = false;
        out
    };
    text.split('\n').map(line).collect::<Vec<_>>().join("\n")
}

#[track_caller]
fn compare(text: &str) {
    let source = Sources::new().add("rules", text);
    let plain = format!("{:#?}", parse(source, text));
    let by_grammar = format!("{:#?}", parse(source, &with_tabs(text)));
    for (plain, by_grammar) in plain.lines().zip(by_grammar.lines()) {
        assert_eq!(plain.replace("\\t", " "), by_grammar.replace("\\t", " "), "{text}");
    }
    assert_eq!(plain.lines().count(), by_grammar.lines().count(), "{text}");
}

#[test]
fn plain_clauses_are_read_as_by_the_grammar() {
    for shipped in SHIPPED {
        compare(shipped.text);
    }
    let heads = ["rule a_b", "rule a", "rule no", "rule Ab", "rule äb", "rule a_b.c", "rule", "rule a_b c"];
    let clauses = [
        "otherwise hold",
        "otherwise advice",
        "otherwise held",
        "otherwise",
        "otherwise hold hold",
        "remedy",
        "remedy so",
        "because",
        "basis",
        "if unrecorded",
    ];
    let texts = [
        "\"\"",
        "\"words\"",
        "\"ümläut 5 °C\"",
        "\"e\u{301}\"",
        "\"tab\tin it\"",
        "\"\\\"quoted\\\"\"",
        "\"\\d\"",
        "\"a\\n\"",
        "“curly”",
        "\"curly”",
        "\"open",
        "\"two\" \"texts\"",
        "\"text\" # comment",
        "\"text\" and",
        "\"{a.b}\"",
        "\"{a_b}\"",
        "\"{no}\"",
        "\"{no_b.no}\"",
        "\"{a.}\"",
        "\"{}\"",
        "\"{a\"",
        "\"a}\"",
        "\"{{a}}\"",
        "\"{count}\"",
        "\"{a + b}\"",
        "",
        "\"control \u{7}\"",
        "\"nothing\u{a0}breaks\"",
        "5 Nm",
    ];
    let whole =
        |head: &str, clause: &str| format!("{head}\n  demands a\n  otherwise hold \"m\"\n  {clause}\n");
    for text in texts {
        for head in heads {
            compare(&whole(&format!("{head} {text}"), ""));
        }
        for clause in clauses {
            compare(&whole("rule r_1 \"title\"", &format!("{clause} {text}")));
            compare(&whole("rule r_1 \"title\"", &format!("{clause}\n    {text}")));
            compare(&format!("rule r_1 \"title\"\n  demands a\n  {clause} {text}\n"));
        }
    }
}

#[test]
fn plain_paths_are_read_as_by_the_grammar() {
    let source = Sources::new().add("rules", "");
    let paths = [
        "a", "a.b", "a_b.c.d", "no", "no_a", "a.no", "count", "sum", "exactly", "at", "held", "yes", "a.",
        ".a", "a..b", "a b", "1", "a1.b2", "_", "a.1", "A.b", "ä", "a.ä", "never", "moment", "a-b", "",
    ];
    for path in paths {
        let plain = format!("{:?}", parse_expression(source, path, 7));
        let by_grammar = format!("{:?}", parse_expression(source, &format!(" {path}"), 6));
        assert_eq!(plain, by_grammar, "{path}");
    }
}

#[test]
fn without_its_trials_a_file_is_the_same_but_for_them() {
    for shipped in SHIPPED {
        let source = Sources::new().add(shipped.file, shipped.text);
        let (mut whole, _) = parse(source, shipped.text);
        whole.items.retain(|item| !matches!(item, Item::Base(_)));
        let mut trials = 0;
        for item in &mut whole.items {
            if let Item::Rule(rule) = item {
                trials += rule.trials.len();
                rule.trials.clear();
            }
        }
        assert!(trials > 0, "{}", shipped.name);
        let without = parse_without_trials(source, shipped.text).0;
        assert_eq!(format!("{without:?}"), format!("{whole:?}"), "{}", shipped.name);
    }
}

/// How many trials there are in a session that only judges, and how many mistakes.
fn judging(name: &str, text: &str) -> (usize, usize) {
    let mut sources = Sources::new();
    let standards = vec![sources.add(name, text)];
    let request = Request {
        sources,
        standards,
        earlier: Vec::new(),
        forms: Forms::builtin(),
        givens: Vec::new(),
        setting: crate::support::setting("2026-03-31", "UTC"),
    };
    let session = Session::open_to_judge(request, &NoLibrary);
    let trials = session.program().rules().all().iter().map(|rule| rule.trials.len()).sum();
    (trials, session.diagnostics().len())
}

#[test]
fn to_judge_only_the_trials_of_the_shipped_standards_are_left_unread() {
    let shipped = SHIPPED[0];
    assert_eq!(judging(shipped.file, shipped.text), (0, 0));
    assert!(judging("own.standard", shipped.text).0 > 0);
    assert!(judging(shipped.file, &format!("{}\n", shipped.text)).0 > 0);
    let wrong = shipped.text.replace("trial met ", "trial mett ");
    assert!(judging(shipped.file, &wrong).1 > 0);
}
