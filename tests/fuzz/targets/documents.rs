//! The readers of documents: records, procedures, registers, known findings, settings; and `amend`.

use witnessmark::diagnostic::Level;
use witnessmark::document::amend::amend as amended;
use witnessmark::document::{Bound, Document, NodeId, NodeKind, read};
use witnessmark::session::Session;
use witnessmark::session::known::Known;
use witnessmark::settings;
use witnessmark::sheet;
use witnessmark::sheet::read_procedure;
use witnessmark::source::{Sources, Span};
use witnessmark::trade::register;

use super::check::{ALONE, decoded, diagnostics, documents, judged, plain_words};
use super::given::{ALL, FORMS, MOST_STEPS, RECORD, RULES, opened, surrounded};

fn judges(session: &Session, text: &str) {
    session.judge("record.yaml", text).iter().for_each(|document| judged(document, MOST_STEPS));
}

/// A session on a few rules.
fn small() -> Session {
    opened(&[("fuzzed.standard", RULES)], FORMS.clone(), Vec::new())
}

/// Reads documents, and judges them by all shipped standards.
pub fn record(data: &[u8]) {
    let Some(text) = decoded(data) else { return };
    documents(&text, ALL.forms());
    judges(&ALL, &text);
}

/// Reads a procedure, writes both sheets for it, and judges a job by it.
pub fn procedure(data: &[u8]) {
    let Some(text) = decoded(data) else { return };
    documents(&text, ALL.forms());
    judges(&ALL, &text);
    match read_procedure(&ALL, "procedure.yaml", &text) {
        Ok(procedure) => {
            let blank = sheet::blank(&ALL, &procedure);
            let (documents, _) = read(ALONE, &blank, ALL.forms());
            assert_eq!(documents.len(), 1, "the blank record is one document");
            assert_eq!(documents[0].form(), Some("job"), "and can be read");
            assert!(sheet::print(&ALL, &procedure, 0).ends_with("</html>\n"), "the page is whole");
        }
        Err(refusal) => diagnostics(&refusal.diagnostics, &refusal.sources),
    }
    around(text);
}

/// Judges a job with a document around it.
fn around(text: String) {
    let session = surrounded(small(), vec![text]);
    diagnostics(session.diagnostics(), session.sources());
    judges(&session, RECORD);
}

/// Reads a register, and judges a job by it.
pub fn tools(data: &[u8]) {
    let Some(text) = decoded(data) else { return };
    documents(&text, ALL.forms());
    judges(&ALL, &text);
    let (documents, _) = read(ALONE, &text, ALL.forms());
    for tool in documents.iter().flat_map(register::tools) {
        let _ = (tool.type_numeral(), tool.is_withdrawn(), tool.leaves_uncertainty_open());
        for group in ["torque", "angle", "temperature", "pressure"] {
            let _ = tool.measuring(group).map(|measuring| (measuring.expanded(), measuring.covered()));
        }
    }
    around(text);
}

/// Reads a file of known findings, and lets it accept what is found in a record.
pub fn known(data: &[u8]) {
    let Some(text) = decoded(data) else { return };
    let mut session = small().keeping_what_is_seen();
    let source = session.add_text("known.yaml".to_owned(), text.clone());
    documents(&text, session.forms());
    let (known, said) = Known::read(source, session.sources(), session.forms());
    diagnostics(&said, session.sources());
    diagnostics(&known.strangers(&["fuzzed"].into()), session.sources());
    diagnostics(&known.vanished(|_| false), session.sources());
    let (known, notes) = known.with_new_names(&|name| match name {
        "fuzzed.screw" => vec!["fuzzed.screw_torque", "fuzzed.by_figure"],
        _ => Vec::new(),
    });
    diagnostics(&notes, session.sources());
    let mut accepted = session.judge("job.yaml", RECORD);
    let before = accepted.iter().map(|document| document.findings.len()).sum::<usize>();
    known.accept("job.yaml", &mut accepted, |_| true);
    accepted.iter().for_each(|document| judged(document, MOST_STEPS));
    let after = accepted.iter().map(|document| document.findings.len()).sum::<usize>();
    assert_eq!(before, after, "what is known is still listed");
}

/// Reads settings, and judges a record by them.
pub fn workshop(data: &[u8]) {
    let Some(text) = decoded(data) else { return };
    let forms = &*FORMS;
    documents(&text, forms);
    let mut sources = Sources::new();
    let source = sources.add("workshop.yaml", &*text);
    let (settings, said) = settings::read(source, &sources, forms);
    diagnostics(&said, &sources);
    let wrong = said.iter().any(|said| said.level == Level::Error);
    assert_eq!(settings.is_none(), wrong, "there are settings, or an error says why not");
    let Some(settings) = settings else { return };
    let forms = match forms.with_words(&settings.words) {
        Ok(forms) => forms,
        Err(said) => return diagnostics(&said, &sources),
    };
    // The places of what is given are in the text of the settings, which is the first of the session, too.
    let standard = sources.add("fuzzed.standard", RULES);
    let request = witnessmark::session::Request {
        sources,
        standards: vec![standard],
        earlier: Vec::new(),
        forms,
        givens: settings.parameters.clone(),
        setting: witnessmark::decide::Setting {
            as_of: jiff::civil::date(2026, 3, 31),
            zone: settings.zone.clone(),
            decision: settings.decision.clone(),
        },
    };
    let session = Session::open(request, &witnessmark::library::NoLibrary)
        .within_steps(MOST_STEPS)
        .with_changes(&settings.rules, &|_| false)
        .with_brought(settings.brought.unwrap_or(settings::Brought::ALL))
        .with_older_edition_for(settings.older_edition_for.clone());
    diagnostics(session.diagnostics(), session.sources());
    judges(&session, RECORD);
    for parameter in session.parameters() {
        plain_words(&parameter.in_words());
    }
}

/// Amends the spelling of documents.
pub fn amend(data: &[u8]) {
    let Some(text) = decoded(data) else { return };
    let forms = &*FORMS;
    let result = amended(ALONE, &text, forms);
    let mut sources = Sources::new();
    sources.add("record.yaml", &*text);
    diagnostics(&result.left, &sources);
    let mut rest = result.text.as_str();
    let mut done = 0;
    for fix in &result.mends {
        let Span { start, end } = fix.place.span;
        let kept = text.get(done..start as usize).expect("a mend begins behind the one before it");
        rest = rest
            .strip_prefix(kept)
            .and_then(|rest| rest.strip_prefix(&*fix.replacement))
            .expect("is spliced");
        done = end as usize;
    }
    assert_eq!(Some(rest), text.get(done..), "nothing but the mends is changed");
    let (before, said_before) = read(ALONE, &text, forms);
    let (after, said_after) = read(ALONE, &result.text, forms);
    assert_eq!(before.len(), after.len());
    for (before, after) in before.iter().zip(&after) {
        kept(before, before.root(), after, after.root());
    }
    let errors = |said: &[witnessmark::diagnostic::Diagnostic]| {
        said.iter().filter(|said| said.level == Level::Error).count()
    };
    assert!(result.mends.is_empty() || errors(&said_after) <= errors(&said_before), "it is read no worse");
}

/// Whether every value that could be read is worth the same afterwards.
fn kept(old: &Document<'_>, before: NodeId, new: &Document<'_>, after: NodeId) {
    let at = || old.path(before).to_string();
    match (&old.node(before).kind, &new.node(after).kind) {
        (NodeKind::Empty, NodeKind::Empty) => {}
        (NodeKind::Scalar { value: Bound::Value(was), .. }, NodeKind::Scalar { value, .. }) => {
            let Bound::Value(is) = value else { panic!("{}: {was:?} cannot be read any more", at()) };
            assert_eq!(was, is, "{}", at());
        }
        (NodeKind::Scalar { .. }, NodeKind::Scalar { .. }) => {}
        (NodeKind::Map(_), NodeKind::Map(_)) => {
            let (ours, theirs) = (old.entries(before), new.entries(after));
            assert_eq!(ours.len(), theirs.len(), "{}", at());
            for (ours, theirs) in ours.iter().zip(theirs) {
                kept(old, ours.value, new, theirs.value);
            }
        }
        (NodeKind::List(_), NodeKind::List(_)) => {
            let (ours, theirs) = (old.items(before), new.items(after));
            assert_eq!(ours.len(), theirs.len(), "{}", at());
            for (ours, theirs) in ours.iter().zip(theirs) {
                kept(old, *ours, new, *theirs);
            }
        }
        (was, is) => panic!("{}: {was:?} became {is:?}", at()),
    }
}
