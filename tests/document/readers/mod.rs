//! The quick reader is a second way to the tree that the YAML reader builds: of every text it makes the same
//! documents, with the same spans, or it gives up.
//!
//! `WITNESSMARK_TEXTS=40` reads forty times as many made-up texts, some millions.

mod made_up;
mod odd;

use witnessmark::document::{self, Document, Forms, NodeId, NodeKind, ReaderChoice, quick, yaml};
use witnessmark::language::typed::Start;

use super::{GOOD, source};
use crate::support::{files_below, text};

/// How many times as many made-up texts are read as in an ordinary run.
fn effort() -> usize {
    std::env::var("WITNESSMARK_TEXTS").map_or(1, |times| times.parse().expect("is a whole number"))
}

/// Whether two documents are the same below and including two nodes, in every detail that can be asked for.
fn same(quick: &Document<'_>, yaml: &Document<'_>, id: NodeId) -> Result<(), String> {
    let (left, right) = (quick.node(id), yaml.node(id));
    let differ = || Err(format!("{}: {left:?} {id:?}, and the YAML reader: {right:?}", yaml.path(id)));
    if (left.span, left.parent) != (right.span, right.parent) {
        return differ();
    }
    match (&left.kind, &right.kind) {
        (NodeKind::Empty, NodeKind::Empty) => Ok(()),
        (NodeKind::Scalar { raw: one, plain, .. }, NodeKind::Scalar { raw: other, plain: bare, .. })
            if one == other && plain == bare =>
        {
            Ok(())
        }
        (NodeKind::Map(one), NodeKind::Map(other)) if one == other => {
            for (one, other) in quick.entries(id).iter().zip(yaml.entries(id)) {
                let entries =
                    [one, other].map(|entry| (&entry.key, entry.key_span, entry.value, entry.field));
                if entries[0] != entries[1] {
                    return Err(format!("{}: {one:?}, and the YAML reader: {other:?}", yaml.path(id)));
                }
                same(quick, yaml, one.value)?;
            }
            Ok(())
        }
        (NodeKind::List(one), NodeKind::List(other)) if one == other => {
            let items = (quick.items(id), yaml.items(id));
            if items.0 != items.1 {
                return differ();
            }
            items.0.iter().try_for_each(|item| same(quick, yaml, *item))
        }
        _ => differ(),
    }
}

/// Reads a text by both readers, `base` bytes into its source; whether the quick one has taken it.
fn taken(text: &str, base: u32) -> bool {
    let Some(quick) = quick::read(source(), text, base) else { return false };
    let (yaml, diagnostics) = yaml::read(source(), text, base);
    assert!(diagnostics.is_empty(), "{text:?}\nis read quickly, and the YAML reader says {diagnostics:#?}");
    assert_eq!(quick.len(), yaml.len(), "{text:?}\nholds another number of documents");
    for (quick, yaml) in quick.iter().zip(&yaml) {
        assert_eq!((quick.source, quick.root()), (yaml.source, yaml.root()), "{text:?}");
        if let Err(difference) = same(quick, yaml, yaml.root()) {
            panic!("{text:?}\nis read otherwise: {difference}");
        }
    }
    true
}

/// How many of these texts the quick reader has taken, each of them as the YAML reader does.
fn count(texts: impl IntoIterator<Item = String>) -> usize {
    texts.into_iter().filter(|text| taken(text, 0)).count()
}

/// Every document of this repository in YAML.
fn files() -> Vec<String> {
    let paths = ["examples", "tests"].into_iter().flat_map(files_below);
    paths.filter(|path| path.ends_with(".yaml")).map(text).collect()
}

/// The records of the trials of all shipped standards, each with its place in the text of the rules.
fn trials() -> Vec<(String, u32)> {
    let standards: Vec<&str> = witnessmark::library::SHIPPED.iter().map(|shipped| shipped.name).collect();
    let session = crate::generate::session(&standards);
    let mut trials = Vec::new();
    for rule in session.program().rules().all() {
        let source = session.sources().get(rule.place.source).expect("a source");
        let records = rule.trials.iter().filter_map(|trial| match trial.record {
            Start::Own(place) => Some(place.span),
            Start::From(_) | Start::Mistaken => None,
        });
        trials.extend(records.map(|record| (record.of(source.text()).to_owned(), record.start)));
    }
    trials
}

/// The texts between quotes in the sources of the tests, YAML or not.
fn quoted() -> Vec<String> {
    let mut texts = Vec::new();
    for path in files_below("tests").iter().filter(|path| path.ends_with(".rs")) {
        let source = text(path).replace("'\"'", "");
        let mut rest = source.as_str();
        while let Some((_, begun)) = rest.split_once('"') {
            let mut escaped = false;
            let end = begun.find(|c| {
                let ends = c == '"' && !escaped;
                escaped = c == '\\' && !escaped;
                ends
            });
            let (literal, behind) = begun.split_at(end.unwrap_or(begun.len()));
            texts.push(literal.replace("\\n\\\n", "\n").replace("\\n", "\n").replace("\\\"", "\""));
            rest = behind.strip_prefix('"').unwrap_or_default();
        }
    }
    texts
}

fn odd() -> impl Iterator<Item = String> {
    let put = |text: &'static str| odd::AROUND.iter().map(move |(around, at)| odd::put(around, *at, text));
    odd::TEXTS.iter().copied().flat_map(put)
}

#[test]
fn the_documents_of_this_repository_are_read_alike() {
    let files = files();
    let all = files.len();
    let quick = count(files);
    assert!(all > 80 && 10 * quick > 8 * all, "{quick} of {all} were read quickly");
}

#[test]
fn the_records_of_trials_are_read_alike() {
    let trials = trials();
    let quick = trials.iter().filter(|(text, base)| taken(text, *base)).count();
    assert!(trials.len() > 1000 && 100 * quick > 97 * trials.len(), "{quick} of {}", trials.len());
}

#[test]
fn the_texts_within_the_tests_are_read_alike() {
    let quoted = quoted();
    let all = quoted.len();
    let quick = count(quoted);
    assert!(all > 5000 && quick > 200, "{quick} of {all} were read quickly");
}

#[test]
fn generated_records_are_read_alike_and_quickly() {
    let records = crate::generate::records(11).map(|record| record.text);
    let quick = count(records.take(500));
    // In some of those with a fault, a field is given twice or the layout is wrong.
    assert!(quick > 480, "{quick} of 500 were read quickly");
}

#[test]
fn odd_texts_are_read_alike() {
    assert!(odd::TEXTS.len() > 500);
    let quick = count(odd());
    assert!(quick > 2000, "{quick} were read quickly");
}

#[test]
fn odd_texts_with_changes_are_read_alike() {
    let mut random = fastrand::Rng::with_seed(31);
    let times = 3 * effort();
    let quick = count(
        odd().flat_map(|text| (0..times).map(|_| made_up::changed(&mut random, &text)).collect::<Vec<_>>()),
    );
    assert!(quick > 3000, "{quick} were read quickly");
}

#[test]
fn texts_of_a_few_pieces_are_read_alike() {
    let longest = if effort() > 1 { 6 } else { 4 };
    for length in 1..=longest {
        count((0..made_up::commons(length)).map(|number| made_up::common(length, number)));
    }
    let mut random = fastrand::Rng::with_seed(32);
    let quick = count((0..40_000 * effort()).map(|_| made_up::soup(&mut random)));
    assert!(quick > 500, "{quick} were read quickly");
}

#[test]
fn made_up_layouts_are_read_alike() {
    let mut random = fastrand::Rng::with_seed(33);
    let mut quick = 0;
    for _ in 0..15_000 * effort() {
        let text = made_up::laid_out(&mut random);
        quick += usize::from(taken(&text, 5));
        quick += usize::from(taken(&made_up::changed(&mut random, &text), 5));
    }
    assert!(quick > 4_000, "{quick} were read quickly");
}

#[test]
fn documents_with_changes_are_read_alike() {
    let mut random = fastrand::Rng::with_seed(34);
    let mut texts = files();
    texts.extend(crate::generate::records(12).take(100).map(|record| record.text));
    texts.extend(trials().into_iter().map(|(text, _)| text));
    let quick = count((0..15_000 * effort()).map(|_| {
        let text = &texts[random.usize(..texts.len())];
        made_up::changed(&mut random, text)
    }));
    assert!(quick > 3_000, "{quick} were read quickly");
}

/// What the YAML reader refuses is left to it, so that it is refused for the same reason at the same place.
#[test]
fn limits_are_left_to_the_yaml_reader() {
    let deep = |open: &str, levels: usize| format!("a: {}x{}\n", open.repeat(levels), "]".repeat(levels));
    let steps =
        |levels: usize| (0..levels).map(|level| format!("{}a:\n", " ".repeat(level))).collect::<String>();
    for levels in 1..=yaml::MAX_DEPTH + 2 {
        taken(&deep("[", levels), 0);
        taken(&steps(levels), 0);
    }
    assert!(taken(&steps(20), 0) && !taken(&steps(yaml::MAX_DEPTH), 0));
    let values = |count: usize| format!("- [{}x]\n---\n- a\n", "x, ".repeat(count));
    assert!(taken(&values(1000), 0));
    // Two lists, the last `x` and the document behind them are five values.
    assert!(taken(&values(yaml::MAX_NODES - 5), 0));
    assert!(quick::read(source(), &values(yaml::MAX_NODES - 4), 0).is_none());
    let long = |length: usize| format!("a: {}", "x".repeat(length - 3));
    assert!(taken(&long(yaml::MAX_BYTES), 0) && !taken(&long(yaml::MAX_BYTES + 1), 0));
    for twice in ["a: b\na: c\n", "{a: b, a: c}", "- a: b\n  c: d\n  a: e\n"] {
        assert!(quick::read(source(), twice, 0).is_none(), "{twice:?}");
    }
}

/// Where nothing tells the ways apart, the option is the only thing that does.
#[test]
fn both_choices_give_the_same_documents_and_messages() {
    for text in [GOOD, "a: b\na: c\n", "a: \"b\n", "form: job/1\njob: [\n", ""] {
        let [quick, yaml] = [ReaderChoice::QuickFirst, ReaderChoice::YamlOnly].map(|choice| {
            let forms = Forms::builtin().read_by(choice);
            assert_eq!(forms.reader(), choice);
            format!("{:?}", document::read(source(), text, &forms))
        });
        assert_eq!(quick, yaml);
    }
}
