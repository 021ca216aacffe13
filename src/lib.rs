//! A rule-based validator and linter for the service records of oil-filled vehicle units.
//!
//! A [`Session`](session::Session) holds checked rules and judges the text of one document at a time; judging needs
//! only a shared reference, so threads can share it. What the command line does is in [`command`].
//!
//! ```
//! use witnessmark::decide::Setting;
//! use witnessmark::document::Forms;
//! use witnessmark::library::NoLibrary;
//! use witnessmark::metrology::conformity::DecisionRule;
//! use witnessmark::session::{Request, Session};
//! use witnessmark::source::Sources;
//!
//! let rules = "
//! standard plugs edition 1 \"Plugs\"
//! judges job
//! rule drain_plug \"The drain plug is tightened to its torque\"
//!   concerns  each plug in fastenings where plug.role is \"drain plug\", at least 1
//!   demands   plug.torque within 40.5 Nm .. 49.5 Nm
//!   otherwise hold \"The drain plug was tightened to {plug.torque}.\"
//! ";
//! let mut sources = Sources::new();
//! let standard = sources.add("plugs.standard", rules);
//! let session = Session::open(
//!     Request {
//!         sources,
//!         standards: vec![standard],
//!         earlier: Vec::new(),
//!         forms: Forms::builtin(),
//!         givens: Vec::new(),
//!         setting: Setting {
//!             as_of: jiff::civil::date(2026, 3, 2),
//!             zone: jiff::tz::TimeZone::UTC,
//!             decision: DecisionRule::Simple,
//!         },
//!     },
//!     &NoLibrary,
//! );
//! assert!(!session.is_faulty());
//!
//! let record = "
//! form: job/1
//! job: {number: K-1, opened: 2026-03-02T08:15:00+01:00, state: closed}
//! vehicle: {}
//! unit: {kind: engine}
//! fastenings: [{role: drain plug, torque: 50 Nm}]
//! ";
//! let judged = session.judge("job.yaml", record);
//! let finding = &judged[0].findings[0];
//! assert_eq!(finding.message, "The drain plug was tightened to 50 Nm.");
//! assert_eq!(finding.path, "fastenings[0].torque");
//! assert_eq!(finding.off_by.as_deref(), Some("0.5 Nm above the upper limit (6 % of the tolerance)"));
//! ```
//!
//! The modules stand in reading order, in a chain of crates; each uses only those above it.

pub use witnessmark_base::{
    code, diagnostic, edition, letters, metrology, quantity, signal, source, statistics, time, value,
};
pub use witnessmark_judge::{analysis, compare, decide, explain, session, settings};
pub use witnessmark_read::{document, finding, language, library, trade};
pub use witnessmark_show::{audit, bench, handbook, report, sheet};

pub mod editor;
pub mod command;
