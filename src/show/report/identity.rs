//! By what servers know a finding again from one run to the next, whatever lines have moved.

use std::collections::BTreeMap;

/// The identities that were given in one part of a report.
#[derive(Default)]
pub struct Identities {
    /// How often each was given; a second demand of a rule on the same value is the second of its identity.
    given: BTreeMap<String, u32>,
}

impl Identities {
    /// The identity made of these parts.
    pub fn of(&mut self, parts: &[&str]) -> String {
        let parts: Vec<_> = parts.iter().map(|part| part.replace('|', "||")).collect();
        let mut identity = parts.join(" | ");
        let times = self.given.entry(identity.clone()).or_default();
        *times += 1;
        if *times > 1 {
            identity += &format!(" | {times}");
        }
        identity
    }
}
