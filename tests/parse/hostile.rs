//! Hostile input: no panic, no hang, no stack overflow, and every span inside the text.

use witnessmark::diagnostic::Diagnostic;
use witnessmark::language::ast::{Expr, File, Item, Start};
use witnessmark::language::parse_expression;
use witnessmark::source::{Sources, Span};

use super::{SAMPLE, read};
use crate::support::{rule_files, text};

/// Less than a thread of the pool has, and far less than the main thread.
const SMALL_STACK: usize = 512 << 10;

fn check_span(text: &str, span: Span) {
    let (start, end) = (span.start as usize, span.end as usize);
    assert!(start <= end && end <= text.len(), "{span:?} of {} bytes", text.len());
    assert!(text.is_char_boundary(start) && text.is_char_boundary(end), "{span:?} splits a character");
}

fn check(text: &str) -> (File, Vec<Diagnostic>) {
    let (file, mistakes) = read(text);
    for label in mistakes.iter().flat_map(|mistake| &mistake.labels) {
        check_span(text, label.place.span);
    }
    for mistake in &mistakes {
        assert!(!mistake.message.is_empty() && !mistake.message.ends_with('.'), "{}", mistake.message);
        assert!(mistake.message.chars().all(|c| !c.is_control()), "{:?}", mistake.message);
    }
    for item in &file.items {
        if let Item::Rule(rule) = item {
            check_span(text, rule.span);
            let own = |start: &Start| match start {
                Start::Own(span) => Some(*span),
                Start::From(_) => None,
            };
            rule.trials.iter().filter_map(|trial| own(&trial.record)).for_each(|span| check_span(text, span));
            rule.demands.iter().for_each(|demand: &Expr| check_span(text, demand.span));
        }
    }
    (file, mistakes)
}

fn on_a_small_stack(work: impl FnOnce() + Send + 'static) {
    std::thread::Builder::new().stack_size(SMALL_STACK).spawn(work).unwrap().join().unwrap();
}

fn demand(expression: &str) -> String {
    format!("rule r \"t\"\n demands {expression}\n otherwise hold \"m\"\n")
}

#[test]
fn deep_nesting_is_refused_and_what_is_allowed_fits_a_small_stack() {
    on_a_small_stack(|| {
        let nests: [(&str, &str, &str, usize); 9] = [
            ("(", "a", ")", 64),
            ("f(", "a", ")", 64),
            ("every x in l: ", "x", "", 64),
            ("count of x in l where ", "x", "", 64),
            ("sum of ", "a", " over x in l", 64),
            ("a is one of (", "b", ")", 64),
            ("t for (a, ", "b", ")", 64),
            ("throughout s: ", "a", "", 32),
            ("at some moment in s: ", "a", "", 32),
        ];
        for (open, inner, close, most) in nests {
            let nested =
                |depth: usize| demand(&format!("{}{inner}{}", open.repeat(depth), close.repeat(depth)));
            assert!(check(&nested(most)).1.is_empty(), "{open}");
            for depth in [most + 1, 1000, 100_000] {
                let mistakes = check(&nested(depth)).1;
                assert_eq!(mistakes[0].code.as_str(), "language/nested-too-deep", "{open} {depth}");
            }
        }
    });
}

#[test]
fn long_chains_are_refused_and_what_is_allowed_fits_a_small_stack() {
    on_a_small_stack(|| {
        for (link, inner) in [("a and ", "b"), ("a implies ", "b"), ("not ", "a"), ("a + ", "b")] {
            let chain = |links: usize| demand(&format!("{}{inner}", link.repeat(links)));
            assert!(check(&chain(200)).1.is_empty(), "{link}");
            for links in [201, 100_000] {
                let mistakes = check(&chain(links)).1;
                assert_eq!(mistakes[0].code.as_str(), "language/nested-too-deep", "{link} {links}");
            }
        }
        // Both at once, and a list without end, which is no nesting.
        let both = format!("{}{}a{}", "-(not (a and ".repeat(31), "not ".repeat(100), "))".repeat(31));
        assert!(check(&demand(&both)).1.is_empty());
        let options = vec!["5"; 10_000].join(", ");
        assert!(check(&demand(&format!("a is one of ({options})"))).1.is_empty());
    });
}

#[test]
fn large_and_strange_texts_are_read_to_their_end() {
    let repeated = [
        "(",
        ")",
        "{",
        "}",
        "\"",
        "“",
        "'",
        "#",
        "\0",
        "\n",
        "\r",
        ":",
        "=",
        "rule ",
        "rule\n",
        "let x = ",
        "\nlet x = (",
        "\ntrial met {",
        "\nrule r \"t\"\n trial met { a: \"",
        "{ \"",
        "demands\n",
        "\nx",
        "9 ",
        "9,",
        "9 000 ",
        "ä",
        "\u{202e}",
        "\u{feff}",
        "\\",
        "\"\\",
        "\nrule r \"",
        "not ",
        "throughout ",
        "held for at least ",
        "at some moment in ",
        "every x in ",
        "count of ",
        "with gaps at most ",
        "a.",
        "..",
        "±",
        "5 Nm ",
        "\n\"k\" : ",
        "a\n",
        "\nrule a \"t\"\nfoo\nbar\n",
        "standard a \"b\"\nwhere ",
        "\ntable t by a\n\"k\" : 1\nq : ",
    ];
    for piece in repeated {
        // A mebibyte of what nests or opens, less of the rest, to be quick.
        let size = if piece.len() == 1 { 1 << 20 } else { 1 << 17 };
        let text = piece.repeat(size / piece.len());
        let rule_text = format!("rule r \"t\"\n demands {text}");
        let trial_text = format!("rule r \"t\"\n trial met {{ {text}");
        for text in [text, rule_text, trial_text] {
            check(&text);
        }
    }
}

#[test]
fn a_file_past_the_limit_is_refused() {
    let text = " ".repeat((4 << 20) + 1);
    let (file, mistakes) = check(&text);
    assert!(file.items.is_empty());
    assert_eq!(mistakes[0].code.as_str(), "language/too-large");
    assert!(check(&" ".repeat(4 << 20)).1.is_empty());
}

#[test]
fn expressions_alone_keep_their_place() {
    let source = Sources::new().add("t", "");
    let expr = parse_expression(source, " a is 5 Nm # x", 100).unwrap();
    assert_eq!((expr.span.start, expr.span.end), (101, 110));
    let mistake = parse_expression(source, "a <= b", 100).unwrap_err();
    assert_eq!(mistake.place().unwrap().span, Span::new(102, 104));
    for base in [u32::MAX - 3, u32::MAX] {
        let _ = parse_expression(source, "a.b.c is one of (5 Nm, 4 foo) and “ö” <= b", base);
        let _ = parse_expression(source, "a.b.c is one of (5 Nm, 4 Nm bar)", base);
    }
    for text in ["", " ", "#", "(", "\u{0}", "\"", "every", "5 Nm\nrule"] {
        assert!(parse_expression(source, text, 0).is_err(), "{text:?}");
    }
}

#[test]
fn mutated_samples_never_crash() {
    let pieces = [
        "\"",
        "“",
        "”",
        "{",
        "}",
        "(",
        ")",
        "#",
        "\n",
        "\r",
        "\0",
        ":",
        "=",
        ",",
        "'",
        "\\",
        "rule",
        "\nrule x \"t\"\n",
        "\nlet x = ",
        "where",
        "demands",
        "\ntrial met {",
        "every",
        "in",
        "5,5",
        "12 500",
        "±",
        "+5/-0",
        "..",
        "℃",
        "ä",
        "\u{a0}",
        "😀",
        " at least ",
        "not ",
        "no ",
        "<=",
        "5 /x",
        "%",
        ".",
        "-",
        "€",
        "\u{feff}",
        "\u{2028}",
    ];
    let mut samples = vec![SAMPLE.to_owned()];
    samples.extend(rule_files().iter().map(|path| text(path).chars().take(3000).collect::<String>()));
    let mut random = fastrand::Rng::with_seed(20_260_302);
    for case in 0..20_000 {
        let mut characters: Vec<char> = samples[case % samples.len()].chars().collect();
        // Short texts make the fuzz quick; a cut of the sample begins anywhere.
        let from = random.usize(..characters.len());
        characters.drain(..from);
        characters.truncate(random.usize(1..1200));
        for _ in 0..random.usize(1..6) {
            let at = random.usize(..=characters.len());
            let until = (at + random.usize(..8)).min(characters.len());
            let piece = pieces[random.usize(..pieces.len())];
            match random.u8(..3) {
                0 => drop(characters.drain(at..until)),
                1 => drop(characters.splice(at..at, piece.chars())),
                _ => drop(characters.splice(at..until, piece.chars())),
            }
        }
        let text: String = characters.into_iter().collect();
        check(&text);
    }
}
