//! A session that judges the records of the generator.

use std::sync::Arc;

use jiff::civil::date;
use jiff::tz::TimeZone;
use witnessmark::decide::Setting;
use witnessmark::document::Forms;
use witnessmark::language::check::{Elsewhere, Given, GivenKey};
use witnessmark::library::{NoArchive, NoLibrary, shipped};
use witnessmark::session::{History, Request, Session};
use witnessmark::source::{Place, Sources, Span};

use super::{PARAMETERS, around};

/// The same with a register of 200 tools and 50 procedures around the records.
pub fn session_around(standards: &[&str]) -> Session {
    let mut session = session(standards);
    let procedures = around::procedures().into_iter().enumerate();
    let mut texts: Vec<(String, String)> =
        procedures.map(|(number, text)| (format!("procedures/{number}.yaml"), text)).collect();
    texts.push(("tools.yaml".to_owned(), around::register()));
    session.load_context(texts, History::default(), Arc::new(NoArchive));
    assert!(session.diagnostics().is_empty(), "{:?}", session.diagnostics());
    session
}

/// Opens a session with shipped standards and the parameters that they need.
pub fn session(standards: &[&str]) -> Session {
    let mut sources = Sources::new();
    let ids = standards.iter().map(|name| {
        let found = shipped(name).unwrap_or_else(|| panic!("there is no standard `{name}`"));
        sources.add(found.file, found.text)
    });
    let standards: Vec<_> = ids.collect();
    let source = sources.add("parameters", "");
    let place = Place { source, span: Span::default() };
    let given = |(name, keys, text): (&str, &[&str], &str)| Given {
        name: name.to_owned(),
        keys: keys.iter().map(|key| GivenKey { text: Some((*key).to_owned()), place }).collect(),
        text: text.to_owned(),
        list: None,
        place,
        elsewhere: Elsewhere::Nothing,
    };
    let opened = |name: &str| {
        shipped(name).is_some_and(|found| standards.iter().any(|id| sources.name(*id) == found.file))
    };
    let of_these = |(name, _, _): &&(&str, &[&str], &str)| {
        name.split_once('.').is_some_and(|(standard, _)| opened(standard))
    };
    let givens = PARAMETERS.iter().filter(of_these).copied().map(given).collect();
    let setting = Setting {
        as_of: date(2026, 12, 31),
        zone: TimeZone::UTC,
        decision: witnessmark::metrology::conformity::DecisionRule::Simple,
    };
    let session = Session::open(
        Request { sources, standards, earlier: Vec::new(), forms: Forms::builtin(), givens, setting },
        &NoLibrary,
    );
    assert!(!session.is_faulty(), "{:?}", session.diagnostics());
    session
}
