//! Names and texts made to break a report, or the screen that shows it.

use witnessmark::diagnostic::Diagnostic;
use witnessmark::finding::{Finding, Granted, Standing};
use witnessmark::report::Style;
use witnessmark::source::{Place, Span};
use witnessmark::{code, report};

use crate::report::support::{Sample, finding, undecided};

const EVIL: &str = "\u{1b}[2J\u{1b}]0;owned\u{7}\u{202e}desrever\u{2066}\u{9b}31m\r\n\t\0\u{7f}\u{200b}\u{feff}\u{fffe}\u{ffff}<&]]>\"'end";

fn is_raw(c: char) -> bool {
    (c.is_control() && c != '\n')
        || ('\u{202a}'..='\u{202e}').contains(&c)
        || ('\u{2066}'..='\u{2069}').contains(&c)
        || matches!(c, '\u{200b}' | '\u{feff}' | '\u{200e}' | '\u{200f}')
}

/// Renders every form; those for people at several widths, where they leak nothing.
fn survives(sample: &Sample) {
    for form in ["json", "sarif"] {
        let text = sample.render(form, Style::default());
        assert!(serde_json::from_str::<serde_json::Value>(&text).unwrap().is_object());
        assert!(!text.bytes().any(|byte| byte < 0x20 && byte != b'\n'), "{form}");
    }
    for form in ["github", "gitlab"] {
        assert_eq!(sample.render(form, Style::default()).chars().find(|c| is_raw(*c)), None, "{form}");
    }
    let text = sample.render("junit", Style::default());
    assert!(roxmltree::Document::parse(&text).is_ok(), "{text}");
    assert_eq!(text.chars().find(|c| is_raw(*c)), None, "junit");
    for form in ["terminal", "plain"] {
        for width in [0, 1, 20, 40, 80, 120] {
            for (unicode, details) in [(true, true), (false, true), (true, false)] {
                let text = sample.render(form, Style { width, unicode, details, ..Style::default() });
                let leak = text.chars().find(|c| is_raw(*c));
                assert_eq!(leak, None, "{form} leaks at width {width}");
            }
        }
        sample.render(form, Style { colour: true, ..Style::default() });
    }
}

fn evil_sample(name: &str, text: &str, spans: &[(usize, usize)]) -> Sample {
    let mut sample = Sample::of(&[(name, text)]);
    let source = sample.documents[0].source;
    let demand = sample.demand();
    for (start, end) in spans {
        let at = Place { source, span: Span::new(*start, *end) };
        let mut found = finding(at, demand);
        for text in
            [&mut found.message, &mut found.at_text, &mut found.rule, &mut found.title, &mut found.path]
        {
            *text = EVIL.into();
        }
        for text in [&mut found.found, &mut found.required, &mut found.off_by, &mut found.remedy] {
            *text = Some(EVIL.into());
        }
        let evil = || Some(EVIL.to_owned());
        let granted = Granted {
            by: EVIL.into(),
            name: evil(),
            until: evil(),
            for_job: evil(),
            reason: EVIL.into(),
            at,
        };
        let let_stand = Finding { standing: Standing::Conceded, concession: Some(granted), ..found.clone() };
        sample.documents[0].findings.extend([found, let_stand]);
        let mut open = undecided(at, Place { span: Span::new(usize::MAX, usize::MAX), ..demand });
        open.missing = vec![EVIL.into()];
        sample.documents[0].findings.push(open);
        let fault = Diagnostic::error(code::NUMBER_FORM, at, EVIL).labelled(EVIL).and_at(at, EVIL).help(EVIL);
        sample.documents[0].diagnostics.push(fault.clone());
        sample.run.diagnostics.push(fault);
    }
    sample.documents[0].headline = EVIL.into();
    sample.documents[0].standards = vec![EVIL.into()];
    sample.sum();
    sample.summary.passed_over = vec![EVIL.into(); 30];
    sample
}

#[test]
fn control_characters_never_reach_the_screen() {
    let text = format!("form: job/1\nnote: \"{EVIL}\"\n");
    survives(&evil_sample(EVIL, &text, &[(12, text.len()), (18, 30), (0, 4)]));
}

#[test]
fn spans_at_the_end_past_the_end_and_between_characters() {
    for text in ["", "\n", "\r\n", "\u{feff}", "\u{feff}a: ö\r\nb: 六\r", "a: 🔧", "a:\tb\t\t", "\t"] {
        let len = text.len();
        let spans: Vec<_> = (0..=len + 2)
            .flat_map(|start| [(start, start), (start, start + 1), (start, usize::MAX)])
            .collect();
        survives(&evil_sample("odd.yaml", text, &spans));
    }
}

#[test]
fn a_mark_at_the_end_of_a_text_is_drawn() {
    for text in ["", "a: b", "a: b\n", "a: b\r\n", "\u{feff}"] {
        let mut sample = Sample::of(&[("end.yaml", text)]);
        let at = Place { source: sample.documents[0].source, span: Span::new(text.len(), text.len()) };
        let fault = Diagnostic::error(code::NUMBER_FORM, at, "something is missing").labelled("right here");
        sample.documents[0].diagnostics = vec![fault];
        let drawn = sample.render("terminal", Style::default());
        assert!(drawn.contains("▲") && drawn.contains("└── right here"), "{text:?}:\n{drawn}");
    }
}

#[test]
fn very_long_lines_are_cut_around_the_place() {
    let long = format!("note: {} HERE {}", "x".repeat(60_000), "六".repeat(30_000));
    let at = long.find("HERE").unwrap();
    let sample = evil_sample("long.yaml", &long, &[(at, at + 4), (0, long.len()), (long.len(), long.len())]);
    survives(&sample);
    for width in [40, 80, 120] {
        let text = sample.render("terminal", Style { width, ..Style::default() });
        assert!(text.lines().any(|line| line.contains("… xx") || line.contains("…x")), "{text}");
        assert!(text.contains("HERE"), "the place itself is shown");
        let widest = text.lines().map(report::text::width).max().unwrap();
        assert!(widest <= width, "{widest} > {width}:\n{text}");
    }
}

#[test]
fn long_messages_and_many_labels_are_bounded() {
    let text: String = (0..200).map(|line| format!("k{line}: v\n")).collect();
    let mut sample = Sample::of(&[("many.yaml", &text)]);
    let source = sample.documents[0].source;
    let mut fault = Diagnostic::error(code::NUMBER_FORM, sample.at("k0"), "m".repeat(100_000));
    for start in 0..text.len() {
        fault = fault.and_at(Place { source, span: Span::new(start, start + 3) }, "l".repeat(3_000));
    }
    sample.documents[0].diagnostics = vec![fault];
    sample.sum();
    let text = sample.render("terminal", Style::default());
    assert!(text.len() < 200_000, "{}", text.len());
    survives(&sample);
}

#[test]
fn random_texts_and_spans_never_panic() {
    let mut random = fastrand::Rng::with_seed(0x0711);
    let pieces =
        ["a: ", "ö", "六", "🔧", "\n", "\r\n", "\r", "\t", "\u{1b}", "\u{301}", "\u{202e}", "\u{200d}", " "];
    for _ in 0..60 {
        let text: String = (0..random.usize(0..120)).map(|_| pieces[random.usize(0..pieces.len())]).collect();
        let spans: Vec<_> = (0..random.usize(1..5))
            .map(|_| {
                let start = random.usize(0..text.len() + 4);
                (start, start + random.usize(0..40))
            })
            .collect();
        survives(&evil_sample("random.yaml", &text, &spans));
    }
}
