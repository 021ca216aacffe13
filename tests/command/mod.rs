//! The program as its users run it: exit codes, files, settings, reports.

mod amend;
mod bounded;
mod bounds;
pub mod changed;
mod choice;
mod exit_codes;
mod explain;
mod files;
mod hidden;
mod hostile;
mod known;
mod known_values;
mod logs;
mod output;
mod outputs;
mod patterns;
mod parameters;
mod quiet;
mod records;
mod servers;
mod stream;
mod tidy;
mod times;
mod trusted;
mod watch;

pub use self::changed::Repository;
use crate::support::Folder;

/// A standard with a hold and a note that missing data does not break.
const PLUGS: &str = r#"standard plugs edition 1 "Plugs"
judges job

parameter plug is torque range "Torque of the plugs" = 45 Nm ± 10 %

rule torque "Plugs are tightened"
  concerns  each f in fastenings where f.role is "drain plug"
  demands   f.torque within plug
  otherwise hold "Plug {f.place}: {f.torque} recorded, {plug} required."
  basis     "common practice"
  trial met    { fastenings: [{ role: drain plug, torque: 45 Nm }] }
  trial broken { fastenings: [{ role: drain plug, torque: 60 Nm }] }

rule marked "Plugs carry a mark"
  concerns  each f in fastenings where f.role is "drain plug"
  demands   f.marked
  otherwise note "Plug {f.place} has no mark."
  basis     "common practice"
  if unrecorded pass
  trial met    { fastenings: [{ role: drain plug, marked: yes }] }
  trial broken { fastenings: [{ role: drain plug, marked: no }] }
"#;

/// A closed job with one plug; `plug` are its fields.
fn job(plug: &str) -> String {
    format!(
        "form: job/1\njob: {{number: K-1, opened: \"2026-03-02T08:15:00+01:00\", state: closed}}\n\
         vehicle: {{}}\nunit: {{kind: engine}}\nfastenings:\n  - {{role: drain plug, place: A, {plug}}}\n"
    )
}

fn good() -> String {
    job("torque: 45 Nm, marked: yes")
}

fn hold() -> String {
    job("torque: 60 Nm, marked: yes")
}

fn note() -> String {
    job("torque: 45 Nm, marked: no")
}

fn open() -> String {
    job("marked: yes")
}

fn in_work() -> String {
    open().replace("state: closed", "state: in work")
}

/// A folder with the standard in it.
fn folder() -> Folder {
    let folder = Folder::new();
    folder.write("plugs.standard", PLUGS);
    folder
}
