//! A fault of the program itself is said as what it is, and costs no other document its judgement.

use std::io::BufRead;
use std::sync::Arc;

use witnessmark::diagnostic::{Fault, Level};
use witnessmark::document::Logs;

use crate::support::session;

/// Breaks down where a log of a certain name is opened, as a broken invariant would.
#[derive(Debug)]
struct Broken;

impl Logs for Broken {
    fn open(&self, _: &str, file: &str) -> Result<Box<dyn BufRead>, Fault> {
        assert_ne!(file, "broken.csv", "a log must not be called so");
        Ok(Box::new("time [s],temperature [°C]\n0,30\n120,38\n".as_bytes()))
    }
}

const RULES: &str = "standard s edition 1 \"S\"\njudges job\nrule r \"R\"\n  concerns each l in logs, each s in steps\n  \
                     demands throughout s: l.temperature below 35 °C\n  otherwise hold \"No.\"\n";

fn record(log: &str) -> String {
    format!(
        "form: job/1\njob: {{number: K-1, opened: 2026-03-02T09:00, closed: 2026-03-02T11:00, state: closed}}\n\
         vehicle: {{}}\nunit: {{kind: engine}}\n\
         steps: [{{step: run, started: 2026-03-02T10:00:00, ended: 2026-03-02T10:02:00}}]\n\
         logs: [{{of: run, started: 2026-03-02T10:00:00, temperature: {log}}}]\n"
    )
}

#[test]
fn a_fault_of_the_program_ends_the_judgement_of_one_document_only() {
    let session = session(&[("s.standard", RULES)]).with_logs(Arc::new(Broken));
    assert!(!session.is_faulty(), "{:?}", session.diagnostics());
    let text = [record("whole.csv"), record("broken.csv"), record("whole.csv")].join("---\n");
    let judged = session.judge("jobs.yaml", &text);
    let [first, second, third] = judged.as_slice() else { panic!("{}", judged.len()) };
    for whole in [first, third] {
        assert!(whole.readable && whole.findings.len() == 1, "{:?}", whole.diagnostics);
    }
    assert!(!second.readable && second.findings.is_empty());
    let [said] = second.diagnostics.as_slice() else { panic!("{:?}", second.diagnostics) };
    assert_eq!((said.code.as_str(), said.level), ("run/internal-error", Level::Error));
    assert!(
        said.message.starts_with("the program itself has a fault, so this is not judged"),
        "{}",
        said.message
    );
}
