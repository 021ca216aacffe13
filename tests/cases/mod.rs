//! Rule files and records with what is expected as comments on the very lines that it must point at.
//! A case is a file `NAME.standard` and, but for cases about the rules alone, a file `NAME.yaml`.
//!
//! ```text
//! # expect: RULE broken|undecided SEVERITY [at TEXT] [says MESSAGE]     a finding, in a record
//! # expect: CODE [advice] [near NAME]                                   a diagnostic, in either
//! # expect next: …                                                      the same, of the next line
//! # tally: 2 met, 1 broken                                              behind the head of a rule
//! # tally: never applied, 2 not concerned
//! # with: parameter NAME = VALUE | as of DAY | zone NAME | also FILE    settings of the run
//! ```
//!
//! SEVERITY is `hold`, `advice`, `note`, `still to do`, `let pass`
//! or `conceded`. Several expectations of a line
//! are parted by ` | `. A finding that is not expected, an expectation that is not met and a rule
//! that runs without a tally fail the case. The text at the place of a broken demand must be the
//! value that the finding says was found, unless `at` says otherwise.

mod expected;
mod runner;

use std::collections::BTreeSet;

use crate::support::{files_below, text};
use expected::Expected;

/// The names of all cases.
fn names() -> BTreeSet<String> {
    let files = files_below("tests/cases");
    let ending = |file: &&String| file.ends_with(".standard") && !file.contains("/used/");
    let names: BTreeSet<String> =
        files.iter().filter(ending).map(|file| file.trim_end_matches(".standard").to_owned()).collect();
    for record in files.iter().filter(|file| file.ends_with(".yaml")) {
        assert!(names.contains(record.trim_end_matches(".yaml")), "{record} has no rule file");
    }
    names
}

#[test]
fn every_finding_stands_on_its_line_and_there_is_no_other() {
    let names = names();
    let wrong: Vec<String> = names.iter().flat_map(|name| runner::run(name)).collect();
    assert!(wrong.is_empty(), "{} mistakes\n{}", wrong.len(), wrong.join("\n"));
    assert!(names.len() >= 20, "cases are missing: {names:?}");
}

/// The codes that a case expects at some line.
pub fn codes_expected() -> BTreeSet<String> {
    let files = files_below("tests/cases");
    let texts = files.iter().filter(|file| !file.ends_with(".rs")).map(text);
    texts.flat_map(|text| Expected::read(&text).codes().map(str::to_owned).collect::<Vec<_>>()).collect()
}
