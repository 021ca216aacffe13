//! Jobs and faults before the shipped standards: what is said of them, and whether it is what was due.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use jiff::tz::TimeZone;
use witnessmark::decide::Setting;
use witnessmark::diagnostic::Level;
use witnessmark::document::Forms;
use witnessmark::finding::{Judged, Standing};
use witnessmark::language::ast::Severity;
use witnessmark::library::{Archive, NoLibrary, SHIPPED};
use witnessmark::session::{Glance, History, Request, Session};
use witnessmark::settings::Settings;
use witnessmark::source::Sources;

use super::catalogue::{Fault, Job, SURROUNDINGS, Surroundings, files};
use super::tree::Written;

/// The day of all runs, a little after the last of the jobs.
const DAY: jiff::civil::Date = jiff::civil::date(2026, 6, 15);

/// A session for each of the surroundings, in their order.
pub struct Sessions([Session; 3]);

/// The earlier jobs, which are opened again when one of a vehicle is judged.
struct Earlier(BTreeMap<String, String>);

impl Archive for Earlier {
    fn open(&self, name: &str) -> Result<String, witnessmark::diagnostic::Fault> {
        Ok(self.0[name].clone())
    }
}

/// The texts of a folder by their names.
fn texts(folder: &Path) -> impl Iterator<Item = (String, String)> {
    let text =
        |path: std::path::PathBuf| (path.display().to_string(), std::fs::read_to_string(&path).unwrap());
    files(folder).into_iter().map(text)
}

fn open(folder: &Path, surroundings: Surroundings) -> Session {
    let forms = Forms::builtin();
    let mut sources = Sources::new();
    let standards = SHIPPED.iter().map(|shipped| sources.add(shipped.file, shipped.text)).collect();
    let source = sources.add("settings.yaml", std::fs::read_to_string(folder.join("settings.yaml")).unwrap());
    let (settings, wrong) = witnessmark::settings::read(source, &sources, &forms);
    assert_eq!(wrong, [], "the settings are in order");
    let Settings { zone, decision, parameters, .. } = settings.unwrap();
    let givens = if surroundings == Surroundings::Alone { Vec::new() } else { parameters };
    let setting = Setting { as_of: DAY, zone: zone.clone(), decision };
    let request = Request { sources, standards, earlier: Vec::new(), forms, givens, setting };
    let mut session = Session::open_to_judge(request, &NoLibrary);
    if surroundings != Surroundings::Alone {
        load_context(&mut session, folder, surroundings, &zone);
    }
    assert_eq!(session.diagnostics(), [], "rules, settings and all that is around the jobs are in order");
    session
}

fn load_context(session: &mut Session, folder: &Path, surroundings: Surroundings, zone: &TimeZone) {
    let mut around =
        vec![("tools.yaml".to_owned(), std::fs::read_to_string(folder.join("tools.yaml")).unwrap())];
    if surroundings == Surroundings::Procedure {
        around.extend(texts(&folder.join("procedures")));
    }
    let earlier: BTreeMap<String, String> = texts(&folder.join("earlier")).collect();
    let forms = Forms::builtin();
    let glance = |(name, text): (&String, &String)| Glance::read(name.as_str(), text, &forms, zone).jobs;
    let history: History = earlier.iter().map(glance).collect();
    session.load_context(around, history, Arc::new(Earlier(earlier)));
}

/// Something that is said of a job, by a rule or of the document itself.
#[derive(Clone, Debug)]
pub struct Said {
    /// The full name of the rule, or the code.
    pub by: String,
    pub severity: Severity,
    /// Where it points, as reports write it.
    pub path: String,
    pub message: String,
}

impl Said {
    fn all(judged: &[Judged], written: Option<&Written>) -> Vec<Said> {
        let mut all = Vec::new();
        for judged in judged {
            let counts = judged.findings.iter().filter(|finding| finding.standing == Standing::Counts);
            all.extend(counts.map(|finding| Said {
                by: finding.rule.clone(),
                severity: finding.severity,
                path: finding.path.clone(),
                message: finding.message.clone(),
            }));
            let wrong = judged.diagnostics.iter().filter(|said| said.level != Level::Known);
            all.extend(wrong.map(|said| {
                let place = said.labels.first().map(|label| label.place.span.start as usize);
                let path = place.zip(written).map(|(byte, written)| written.at(byte).to_owned());
                let severity = if said.level == Level::Error { Severity::Hold } else { Severity::Advice };
                let by = said.code.as_str().to_owned();
                Said { by, severity, path: path.unwrap_or_default(), message: said.message.clone() }
            }));
        }
        all
    }

    /// Whether two of them say the same, wherever entries of lists have moved to.
    pub fn same(&self, other: &Said) -> bool {
        (&self.by, self.severity, &self.message) == (&other.by, other.severity, &other.message)
    }
}

/// What became of a fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Found {
    /// It was said at its place, as severely as is due or more so.
    Spoken,
    /// Something new was said, but elsewhere, softer, or by a rule that speaks of something else.
    Beside,
    Silent,
}

impl Sessions {
    pub fn open(folder: &Path) -> Sessions {
        Sessions(SURROUNDINGS.map(|surroundings| open(folder, surroundings)))
    }

    pub fn of(&self, surroundings: Surroundings) -> &Session {
        &self.0[surroundings as usize]
    }

    /// What is said of a good job: as it was written, and as the tree of it is written out.
    pub fn good(&self, job: &Job, surroundings: Surroundings) -> (Vec<Said>, Vec<Said>) {
        let session = self.of(surroundings);
        let written = Written::of(&job.in_surroundings(surroundings));
        let again = Said::all(&session.judge("job.yaml", &written.text), Some(&written));
        // Where the name of a procedure was taken out, the text is another one.
        let whole = surroundings == Surroundings::Procedure || !job.names_a_procedure();
        let first =
            if whole { Said::all(&session.judge("job.yaml", &job.text), None) } else { again.clone() };
        (first, again)
    }

    /// What is said of a job with a fault, less what is said of it without.
    pub fn bad(&self, job: &Job, fault: &Fault, surroundings: Surroundings, good: &[Said]) -> Vec<Said> {
        let bad = fault.change.apply(&job.in_surroundings(surroundings)).unwrap();
        let written = Written::of(&bad);
        let mut known: Vec<&Said> = good.iter().collect();
        let mut said = Said::all(&self.of(surroundings).judge("job.yaml", &written.text), Some(&written));
        said.retain(|one| match known.iter().position(|known| known.same(one)) {
            Some(at) => {
                known.swap_remove(at);
                false
            }
            None => true,
        });
        said
    }
}

/// Whether a path is the wanted one, lies below it, or is the entry that holds it.
fn points_at(path: &str, wanted: &str) -> bool {
    let below = path.strip_prefix(wanted).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']));
    let holder = wanted.rfind(['.', '[']).map(|at| &wanted[..at]);
    below || holder == Some(path)
}

impl Fault {
    /// What became of it, by what is newly said. Where the table has rules for its subject, only they count.
    pub fn found(&self, said: &[Said], speakers: Option<&Vec<String>>) -> Found {
        let speaks = |said: &&Said| speakers.is_none_or(|rules| rules.is_empty() || rules.contains(&said.by));
        let here = |said: &&Said| self.at.iter().any(|wanted| points_at(&said.path, wanted));
        let due = |said: &&Said| said.severity >= self.due;
        match said {
            [] => Found::Silent,
            _ if said.iter().filter(speaks).filter(here).any(|said| due(&said)) => Found::Spoken,
            _ => Found::Beside,
        }
    }
}

#[cfg(test)]
mod tests {
    use witnessmark::language::ast::Severity;

    use super::{Found, Said, points_at};
    use crate::faults::catalogue::{Fault, Surroundings};
    use crate::faults::tree::Change;

    #[test]
    fn a_finding_points_at_the_place_at_what_is_below_it_or_at_the_entry_that_holds_it() {
        for path in ["fastenings[2].torque", "fastenings[2].torque.x", "fastenings[2]"] {
            assert!(points_at(path, "fastenings[2].torque"), "{path}");
        }
        for path in ["fastenings", "fastenings[20]", "fastenings[2].tool", "fastenings[2].torques", ""] {
            assert!(!points_at(path, "fastenings[2].torque"), "{path}");
        }
        assert!(points_at("seals[0].renewed", "seals") && !points_at("", "seals"));
    }

    #[test]
    fn a_fault_is_spoken_of_at_its_place_as_severely_as_is_due_by_a_rule_of_its_subject() {
        let fault = Fault {
            job: String::new(),
            change: Change::Remove(String::new()),
            due: Severity::Advice,
            subject: String::new(),
            at: vec!["seals".to_owned(), "pan".to_owned()],
            from: Surroundings::Alone,
            why: String::new(),
            by_hand: true,
        };
        let said = |by: &str, severity, path: &str| {
            vec![Said { by: by.to_owned(), severity, path: path.to_owned(), message: String::new() }]
        };
        let speakers = vec!["a.b".to_owned()];
        assert_eq!(fault.found(&[], None), Found::Silent);
        assert_eq!(fault.found(&said("a.b", Severity::Hold, "pan.removed"), Some(&speakers)), Found::Spoken);
        assert_eq!(fault.found(&said("a.b", Severity::Advice, "seals[1]"), Some(&speakers)), Found::Spoken);
        assert_eq!(fault.found(&said("a.c", Severity::Hold, "seals"), Some(&speakers)), Found::Beside);
        assert_eq!(fault.found(&said("a.c", Severity::Hold, "seals"), Some(&Vec::new())), Found::Spoken);
        assert_eq!(fault.found(&said("a.b", Severity::Note, "seals"), None), Found::Beside);
        assert_eq!(fault.found(&said("a.b", Severity::Hold, "magnets"), None), Found::Beside);
    }
}
