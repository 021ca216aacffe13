//! Every mistake is reported in plain words at its place, and hides no other.

use witnessmark::language::ast::Item;
use witnessmark::source::LineIndex;

use super::read;

/// Reads a text with one mistake: its code, the text at its place, its message and its help.
fn one(text: &str) -> (String, String, String, String) {
    let (_, mistakes) = read(text);
    assert_eq!(mistakes.len(), 1, "{text}\n{mistakes:#?}");
    let mistake = &mistakes[0];
    let place = mistake.place().unwrap().span.of(text).to_owned();
    (
        mistake.code.as_str().to_owned(),
        place,
        mistake.message.clone(),
        mistake.help.clone().unwrap_or_default(),
    )
}

fn assert_mistake(text: &str, code: &str, place: &str, message: &str, help: &str) {
    let (found_code, found_place, found_message, found_help) = one(text);
    assert_eq!((found_code.as_str(), found_place.as_str()), (code, place), "{text}\n{found_message}");
    assert!(found_message.contains(message), "{text}\n{found_message}");
    assert!(found_help.contains(help), "{text}\n{found_help}");
}

fn in_rule(clause: &str) -> String {
    format!("rule r \"t\"\n  demands a\n  otherwise hold \"m\"\n  {clause}\nlet z = 1\n")
}

const TEN: &str = r#"sum screw
standard s edition two "Title"
judges job
let a = 45,5 Nm
let b = 9 Nm ± 10 %
let c = 5 Nn
table t by unit.family
  "six" : 5 L .. 6 L
  "eight" 7 L
rule one "First"
  demand x.a within b
  otherwise hold "A {x.b <= 5} b"
rule two "Second"
  demands x.a is "open
  otherwise holt "text"
rule good "Good"
  demands x.a within b
  otherwise hold "fine"
  trial met { a: 5 }
rule three "Third"
  demands (x.a and x.b
  otherwise hold "text"
  trial met { a: 1
rule four "Fourth"
  demands x.a
  otherwise hold "good"
"#;

#[test]
fn one_mistake_hides_no_other_and_the_good_items_are_kept() {
    let (file, mistakes) = read(TEN);
    let lines = LineIndex::new(TEN);
    let found: Vec<(usize, &str, &str)> = mistakes
        .iter()
        .map(|mistake| {
            let span = mistake.place().unwrap().span;
            (lines.position(TEN, span.start).line, mistake.code.as_str(), span.of(TEN))
        })
        .collect();
    let wanted = [
        (1, "language/outside-item", "sum"),
        (2, "language/clause-form", "two"),
        (4, "quantity/number-form", "45,5 Nm"),
        (6, "quantity/unit-unknown", "Nn"),
        (9, "language/clause-form", "7"),
        (11, "language/unknown-clause", "demand"),
        (12, "language/foreign-sign", "<="),
        (14, "language/unclosed", "\""),
        (15, "language/unknown-word", "holt"),
        (21, "language/unclosed", "("),
        (23, "language/unclosed", "{"),
    ];
    assert_eq!(found, wanted);
    let kept: Vec<&str> = file
        .items
        .iter()
        .map(|item| match item {
            Item::Let(item) => item.name.node.as_str(),
            Item::Rule(rule) => rule.name.node.as_str(),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(kept, ["b", "good", "four"]);
    let names: Vec<&str> = file.mistaken.iter().map(|name| name.node.as_str()).collect();
    assert_eq!(names, ["a", "c", "t"]);
    assert!(file.mistaken.iter().all(|name| name.span.of(TEN) == name.node));
    assert!(file.standard_mistaken);
}

#[test]
fn mistakes_in_expressions() {
    let cases = [
        ("a.b within", "clause-form", "within", "a limit such as `9 Nm ± 10 %` is wanted after `within`", ""),
        ("a within and", "clause-form", "and", "is wanted after `within`, not `and`", ""),
        ("a above b above c", "chained-comparison", "above", "cannot be compared again", "join with `and`"),
        ("a is b is one of (c)", "chained-comparison", "is one of (c)", "", ""),
        ("a .. b .. c", "chained-range", "..", "", "40 Nm .. 50 Nm"),
        ("a witin b", "clause-form", "witin", "`witin` cannot stand after `a`", "`within`"),
        ("a b", "clause-form", "b", "`b` cannot stand after `a`", "join values"),
        (
            "recordd a.b",
            "clause-form",
            "a",
            "`a` cannot stand after `recordd`",
            "did you mean `recorded` instead of `recordd`?",
        ),
        (
            "a is 1 and evry s in l: a",
            "clause-form",
            "s",
            "`s` cannot stand after `evry`",
            "did you mean `every` instead of `evry`?",
        ),
        ("a; b", "clause-form", ";", "`;` cannot stand after `a`", ""),
        ("a is one of \"x\"", "clause-form", "\"x\"", "a list in brackets", ""),
        ("a at leest 5", "clause-form", "leest", "`least` or `most` is wanted", "`least`"),
        ("every s on l: a", "clause-form", "on", "`in` is wanted after `s`, not `on`", ""),
        ("every s in l a", "clause-form", "a", "`:` is wanted after `l`", ""),
        ("every table in l: a", "clause-form", "table", "cannot be a name", "the_table"),
        ("sum of a.b in l", "clause-form", "in", "`over` is wanted after `b`, not `in`", ""),
        ("recorded 5", "clause-form", "5", "a field such as", ""),
        ("a.b(c)", "clause-form", "a.b", "plain name", ""),
        ("(a", "unclosed", "(", "not closed", ""),
        ("a)", "unclosed", ")", "closes nothing", ""),
        ("a is \"x", "unclosed", "\"", "not closed on its line", ""),
        (r#"a is "\d""#, "text-form", "\\d", "stands for nothing", ""),
        ("a is \"\u{7}\"", "text-form", "\u{7}", "U+0007", ""),
        ("\0", "clause-form", "\0", "a character that cannot be seen", ""),
        ("5 Nm thrice", "clause-form", "thrice", "cannot stand after `Nm`", "join values with a word"),
    ];
    for (expression, code, place, message, help) in cases {
        let text = format!("rule r \"t\"\n  demands {expression}\n  otherwise hold \"m\"\n");
        assert_mistake(&text, &format!("language/{code}"), place, message, help);
    }
}

#[test]
fn signs_of_other_languages_are_refused_with_the_word() {
    let cases = [
        ("a <= b", "<=", "a at most b"),
        ("a >= b", ">=", "a at least b"),
        ("a == b", "==", "a is b"),
        ("a != b", "!=", "a is not b"),
        ("a && b", "&&", "a and b"),
        ("a || b", "||", "a or b"),
        ("a < b", "<", "a below b"),
        ("a > b", ">", "a above b"),
        ("a = b", "=", "a is b"),
        ("!a", "!", "not a"),
        ("a ≤ b", "≤", "a at most b"),
        ("a => b", "=>", "a implies b"),
    ];
    for (expression, sign, word) in cases {
        let text = format!("rule r \"t\"\n  demands {expression}\n  otherwise hold \"m\"\n");
        assert_mistake(&text, "language/foreign-sign", sign, sign, &format!("`{word}`"));
    }
}

#[test]
fn numbers_are_refused_with_what_to_write() {
    let cases = [
        ("45,5 Nm", "45,5 Nm", "45.5 Nm"),
        ("12 500 Nm", "12 500 Nm", "12500 Nm"),
        (".5 L", ".5 L", "0.5 L"),
        ("61.000 000 km", "61.000 000 km", "`61 km` or `61000000 km`"),
        ("61 000.000 km", "61 000.000 km", "`61000.000 km`"),
        ("5. L", "5. L", "5 L"),
        ("45,5", "45,5", "45.5"),
    ];
    for (number, place, offer) in cases {
        assert_mistake(&format!("let a = {number}\n"), "quantity/number-form", place, "", offer);
    }
    assert_mistake("let a = 5 Nn\n", "quantity/unit-unknown", "Nn", "Nn", "Nm");
    assert_mistake("let a = 4 qt\n", "quantity/unit-ambiguous", "qt", "qt", "imp qt");
}

#[test]
fn mistakes_in_clauses() {
    let cases = [
        ("concerns s in l", "clause-form", "s", "`each` or `where` is wanted", "concerns each"),
        ("concerns the document", "clause-form", "the", "`each` or `where` is wanted", ""),
        ("concerns each s in", "clause-form", "in", "a list such as `fastenings` is wanted", ""),
        (
            "concerns each s in l wher s.a",
            "clause-form",
            "wher",
            "`wher` cannot stand after `l`",
            "did you mean `where`?",
        ),
        ("concerns each s in l at least 1", "clause-form", "at", "`,` is wanted after `l`, not `at`", ""),
        ("concerns each s in l, at least one", "clause-form", "one", "a whole number is wanted", ""),
        ("concerns each s in l, at least 1 otherwise", "clause-form", "otherwise", "the clause ends", ""),
        ("concerns each s in l, at least 99999999999", "clause-form", "99999999999", "too large", ""),
        ("remedy Slacken", "clause-form", "Slacken", "a text in quotes is wanted", "remedy \""),
        ("remedy", "clause-form", "remedy", "the clause ends", ""),
        ("remedy \"a\" \"b\"", "clause-form", "\"b\"", "cannot stand after", ""),
        ("concession foreman", "clause-form", "foreman", "`never`", ""),
        ("if unrecorded hld", "unknown-word", "hld", "", "`hold`"),
        ("if unrecorded", "clause-form", "unrecorded", "`hold`, `advice`, `note` or `pass` is wanted", ""),
        ("trial met", "clause-form", "trial met", "has no record", ""),
        ("trial mett {}", "unknown-word", "mett", "", "`met`"),
        ("trial {}", "clause-form", "trial", "an outcome", ""),
        ("trial met {} x", "clause-form", "x", "behind the record", ""),
        ("trial met at {}", "clause-form", "at", "a path such as", ""),
        ("remdy \"x\"", "unknown-clause", "remdy", "begins no clause of a rule", "`remedy`"),
        ("foo bar", "unknown-clause", "foo", "begins no clause of a rule", "`concerns`"),
        ("otherwise note \"x\"", "clause-repeated", "otherwise", "stands twice", ""),
        ("judges job", "outside-item", "judges", "outside a standard", ""),
    ];
    for (clause, code, place, message, help) in cases {
        assert_mistake(&in_rule(clause), &format!("language/{code}"), place, message, help);
    }
    let twice = in_rule("remedy \"a\"\n  remedy \"b\"");
    let (_, mistakes) = read(&twice);
    assert_eq!(mistakes[0].labels.len(), 2);
    assert!(mistakes[0].labels[1].place.span.start < mistakes[0].labels[0].place.span.start);
}

#[test]
fn mistakes_in_messages() {
    let text = in_rule("because \"fine } {\"").replace("\"m\"", r#""{a <= b} {} } {a is \"b\"} {x""#);
    let (_, mistakes) = read(&text);
    let found: Vec<(&str, &str)> =
        mistakes.iter().map(|m| (m.code.as_str(), m.place().unwrap().span.of(&text))).collect();
    let wanted = [
        ("language/foreign-sign", "<="),
        ("language/message-form", "{"),
        ("language/message-form", "}"),
        ("language/message-form", r#"a is \"b\""#),
        ("language/message-form", "{"),
    ];
    assert_eq!(found, wanted);
}

#[test]
fn mistakes_in_items() {
    let end = "\n demands a\n otherwise hold \"x\"\n";
    let cases = [
        ("standard x", "clause-missing", "x", "no title", ""),
        ("standard \"t\"", "clause-form", "\"t\"", "a name is wanted after `standard`", ""),
        ("standard x \"t\"\njudge job", "unknown-clause", "judge", "", "`judges`"),
        ("standard x \"t\"\nwhere a\nwhere b", "clause-form", "where", "", ""),
        ("let x 5", "clause-form", "5", "`=` is wanted after `x`, not `5`", "let sump_screw"),
        ("let rule = 5", "clause-form", "rule", "cannot be a name", ""),
        ("let x-y = 5", "clause-form", "-", "cannot be part of a name", "underscores"),
        ("let x = 5 Nm\nfoo", "outside-item", "foo", "", "comment"),
        ("let x = 5\ndemands a", "outside-item", "demands", "outside a rule", ""),
        ("lett x = 5", "outside-item", "lett", "", "`let`"),
        ("let y = 1\nlett x = 5", "outside-item", "lett", "", "`let`"),
        ("let x = entires of (a, b)", "clause-form", "(", "", "`entries of (fastenings, readings)`"),
        ("let x = entries of [a]", "clause-form", "[", "", "`entries of (fastenings, readings)`"),
        ("let x = entries of a, b", "clause-form", ",", "", "`entries of (fastenings, readings)`"),
        ("let x = one of", "clause-form", "of", "a list in brackets such as", ""),
        ("let x = one of ()", "clause-form", ")", "a text in quotes is wanted", ""),
        ("let x = one of (\"a\", b)", "clause-form", "b", "a text in quotes is wanted", ""),
        ("let x = one of (\"a\" \"b\")", "clause-form", "\"b\"", "", ""),
        (
            "parameter x is words fastenings.role \"t\"",
            "clause-form",
            "fastenings",
            "`of` is wanted after `words`",
            "",
        ),
        ("use x", "clause-form", "x", "a text in quotes", ""),
        ("parameter x is \"t\"", "clause-form", "\"t\"", "a kind such as `torque`", ""),
        ("parameter x is torque", "clause-form", "torque", "a text in quotes", ""),
        ("table x by a", "table-form", "x", "no rows", ""),
        ("table x by a\n k : 5 L\n \"b\" : 5 L", "clause-form", "k", "a text in quotes", ""),
        ("table x by a, b\n \"k\" : 5 L", "table-form", "\"k\"", "1 key", ""),
        ("rule x \"T\"", "clause-missing", "x", "empty", "demands"),
        ("rule x \"T\"\n demands a", "clause-missing", "x", "no `otherwise`", "otherwise hold"),
        ("rule x \"T\"\n otherwise hold \"x\"", "clause-missing", "x", "no `demands`", "demands"),
        (&format!("rule x{end}"), "clause-missing", "x", "no title", ""),
        (&format!("rule \"T\"{end}"), "clause-form", "\"T\"", "a name is wanted after `rule`", ""),
        (&format!("rul x \"T\"{end}"), "outside-item", "rul", "", "`rule`"),
        (&format!("rule x \"T{end}"), "unclosed", "\"", "", ""),
        ("foo\nbar\nlet x = 5", "outside-item", "foo", "", ""),
    ];
    for (text, code, place, message, help) in cases {
        assert_mistake(text, &format!("language/{code}"), place, message, help);
    }
}

#[test]
fn an_unclosed_record_ends_at_the_next_item_or_trial() {
    let text = "rule a \"A\"\n demands x\n otherwise hold \"m\"\n trial met { a: \"b }\n trial broken { a: 1 }\nrule b \"B\"\n demands x\n otherwise hold \"m\"\n";
    let (file, mistakes) = read(text);
    assert_eq!(mistakes.len(), 1, "{mistakes:#?}");
    assert_eq!(mistakes[0].labels[0].place.span.of(text), "{");
    assert_eq!(mistakes[0].labels[1].place.span.of(text), "\"");
    assert_eq!(file.items.len(), 1);
    // A line of the record that only begins like an item does not end it.
    let text =
        "rule a \"A\"\n demands x\n otherwise hold \"m\"\n trial met { a: b,\n rule: x,\n table: y }\n";
    assert!(read(text).1.is_empty(), "{:#?}", read(text).1);
}

#[test]
fn a_flood_of_mistakes_is_cut_off() {
    let text = format!("rule r \"t\"\n demands a\n{}", "foo\n".repeat(10_000));
    let (_, mistakes) = read(&text);
    assert_eq!(mistakes.len(), 101);
    assert!(mistakes.iter().any(|mistake| mistake.code.as_str() == "language/many-mistakes"));
}

#[test]
fn words_of_other_languages_are_refused_with_ours() {
    let cases = [
        ("a is 10 Nm +- 1 Nm", "+-", "`10 Nm ± 1 Nm`"),
        ("a is 10 Nm + - 1 Nm", "+ -", "`±`"),
        ("a is 10 Nm -+ 1 Nm", "-+", "`±`"),
        ("a is 10 Nm -- 1 Nm", "--", "`±`"),
        ("a is --1", "--", "`±`"),
        ("a is drain plug", "drain plug", "`\"drain plug\"`"),
        ("a is not drain plug and b", "drain plug", "`\"drain plug\"`"),
        ("s.torque is recorded", "is recorded", "`recorded s.torque`"),
        ("a and s.torque is not recorded", "is not recorded", "`not recorded s.torque`"),
        ("x between a and c", "between", "`x within a .. c`"),
        ("x is between a and c", "is between", "`x within a .. c`"),
        ("x greater than 5", "greater", "`x above 5`"),
        ("x is greater than 5", "is greater", "`x above 5`"),
        ("x more than 5", "more", "`x above 5`"),
        ("x less than 5", "less", "`x below 5`"),
        ("x within a to c", "to", "`x within a .. c`"),
        ("x within 4 L to 5 L", "to", "`x within 4 L .. 5 L`"),
        ("x within 4 to 5 L", "to", "`x within 4 .. 5 L`"),
        ("x not within a", "not", "`not x within …`"),
        ("x is not within a", "is not", "`not x within …`"),
        ("x is within a", "is", "`x within a`"),
        ("if a then b", "if", "`a implies b`"),
        ("a isnt b", "isnt", "`a is not b`"),
        ("a equals b", "equals", "`a is b`"),
        ("a contains b", "contains", "follows_pattern"),
        ("a in (b, c)", "in", "`is one of (…)`"),
        ("none s in l: s.a", "none", "`no x in LIST: …`"),
        ("a where b", "where", "`implies`"),
        ("a because b", "because", "the next line"),
        ("every s in l: count of t in u where t.a above 0 L at least 2", "at least", "(count of"),
    ];
    for (expression, place, offer) in cases {
        let text = format!("rule r \"t\"\n  demands {expression}\n  otherwise hold \"m\"\n");
        let (_, found, message, help) = one(&text);
        assert_eq!(found, place, "{expression}: {message}");
        assert!(help.contains(offer), "{expression}: {help}");
    }
    // A sign before a value in brackets is no second sign.
    let text = "rule r \"t\"\n  demands a + (-b) is a × -2\n  otherwise hold \"m\"\n";
    assert!(read(text).1.is_empty(), "{:#?}", read(text).1);
}

#[test]
fn heads_in_another_language_and_without_a_title() {
    let foreign = "regel r \"R\"\n demands a\n otherwise hold \"m\"\n";
    assert_mistake(foreign, "language/outside-item", "regel", "", "`rule`");
    let untitled = "parameter q is torque range = 5 Nm .. 6 Nm\n";
    assert_mistake(untitled, "language/clause-form", "=", "title of the parameter is missing", "in quotes");
    let clause = in_rule("concesion by \"foreman\"");
    assert_mistake(&clause, "language/unknown-clause", "concesion", "", "`concession`");
}

#[test]
fn a_file_that_is_too_large_is_not_said_to_have_no_standard() {
    let (file, mistakes) = read(&"# ".repeat(3 << 20));
    assert_eq!(mistakes.len(), 1);
    assert!(file.standard_mistaken);
}

/// A condition in another notation is offered whole in ours, with its names and figures; and what is offered can be read.
#[test]
fn conditions_in_another_notation_are_offered_whole() {
    let within = "`s.torque within 40 .. 50 Nm`";
    let with_both = "`s.torque within 40 Nm .. 50 Nm`";
    let cases = [
        ("s.torque within 40…50 Nm", within),
        ("s.torque within 40 … 50 Nm", within),
        ("s.torque within 40—50 Nm", within),
        ("s.torque within 40 Nm ... 50 Nm", with_both),
        ("s.torque within 40 bis 50 Nm", within),
        ("s.torque within 40 Nm bis 50 Nm", with_both),
        ("s.torque within 40 to 50 Nm", within),
        ("s.torque within from 40 to 50 Nm", within),
        ("s.torque from 40 to 50 Nm", within),
        ("s.torque is from 40 Nm to 50 Nm", with_both),
        ("s.torque between 40 and 50 Nm", within),
        ("s.torque is between 40 Nm and 50 Nm", with_both),
        ("s.torque within [40, 50] Nm", within),
        ("s.torque within (40 .. 50) Nm", within),
        ("s.torque within >= 40 Nm and <= 50 Nm", with_both),
        ("40 Nm <= s.torque <= 50 Nm", with_both),
        ("40 Nm ≤ s.torque ≤ 50 Nm", with_both),
        ("50 Nm >= s.torque >= 40 Nm", with_both),
        ("40 Nm < s.torque <= 50 Nm", "`s.torque above 40 Nm and s.torque at most 50 Nm`"),
        ("s.torque >= 40 Nm", "`s.torque at least 40 Nm`"),
        ("s.torque>=40 Nm", "`s.torque at least 40 Nm`"),
        ("s.torque => 40 Nm", "`s.torque at least 40 Nm`"),
        ("s.torque =< 40 Nm", "`s.torque at most 40 Nm`"),
        ("s.torque within ≥40 Nm", "`s.torque at least 40 Nm`"),
        ("s.torque min. 40 Nm", "`s.torque at least 40 Nm`"),
        ("s.torque maximum 50 Nm", "`s.torque at most 50 Nm`"),
        ("s.torque over 40 Nm", "`s.torque above 40 Nm`"),
        ("s.torque is greater than or equal to 40 Nm", "`s.torque at least 40 Nm`"),
        ("s.torque less than or equal 40 Nm", "`s.torque at most 40 Nm`"),
        ("s.torque === 40 Nm", "`s.torque is 40 Nm`"),
        ("s.torque <> 40 Nm", "`s.torque is not 40 Nm`"),
        ("s.new == true", "`s.new is yes`"),
        ("s.new != false", "`s.new is not no`"),
        ("!s.new", "`not s.new`"),
        ("!(s.torque at least 40 Nm)", "`not (s.torque at least 40 Nm)`"),
        ("s.a >= 4 Nm && s.b <= 5 Nm", "`s.a at least 4 Nm and s.b at most 5 Nm`"),
        ("s.a >= 4 Nm || !s.b", "`s.a at least 4 Nm or not s.b`"),
        ("s.role = \"drain plug\" & s.new", "`s.role is \"drain plug\" and s.new`"),
        ("every x in l: x.new == yes", "`x.new is yes`"),
        ("(sum of x.a over x in l) > 5 L", "`(sum of x.a over x in l) above 5 L`"),
        ("s.torque within 45 Nm plus/minus 5 Nm", "`s.torque within 45 Nm ± 5 Nm`"),
        ("s.torque within 45 Nm +- 5 Nm", "`45 Nm ± 5 Nm`"),
        ("s.torque within 40...50 Nm", "`40 .. 50 Nm`"),
        ("s.torque within 40-50 Nm", "`within 40 .. 50 Nm`"),
        ("s.torque within 40 Nm - 50 Nm", "`within 40 Nm .. 50 Nm`"),
        ("s.torque within 40–50 Nm", "`40 .. 50 Nm`"),
        ("s.torque within 40 and 50 Nm", "`within 40 .. 50 Nm`"),
        ("s.torque at least 40 Nm and at most 50 Nm", "`within 40 Nm .. 50 Nm`"),
    ];
    for (expression, offer) in cases {
        let text = format!("rule r \"t\"\n  demands {expression}\n  otherwise hold \"m\"\n");
        let (_, _, message, help) = one(&text);
        assert!(
            help.contains(&format!("write {offer}"))
                || help.contains(&format!("as in {offer}"))
                || help.contains(&format!("or {offer}")),
            "{expression}: {message}: {help}"
        );
        let offer = offer.trim_matches('`');
        let whole = if offer.starts_with("within") { format!("x {offer}") } else { offer.to_owned() };
        let text = format!("rule r \"t\"\n  demands {whole}\n  otherwise hold \"m\"\n");
        assert!(read(&text).1.is_empty(), "{whole}: {:#?}", read(&text).1);
    }
    // What is a difference, or compares with one, is no range.
    for good in [
        "x within 50 Nm - 2 Nm .. 60 Nm",
        "x within 40 min after y",
        "x at least 5 - 2",
        "y is 5 and z at most 6",
    ] {
        let text = format!("rule r \"t\"\n  demands {good}\n  otherwise hold \"m\"\n");
        assert!(read(&text).1.is_empty(), "{good}: {:#?}", read(&text).1);
    }
    let text = "let x = 40 bis 50 Nm\n";
    assert!(one(text).3.contains("write `40 .. 50 Nm`"), "{:?}", one(text));
}
