//! What work mends a value that is not as it must be.

/// What is done about a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Mending {
    /// It was done and not written down.
    Record,
    /// It is measured, or looked at, and written down.
    Measure,
    /// It is done.
    Do,
    /// It is tightened again, the screws slackened before.
    Tighten,
    /// It is filled anew, drained or topped up.
    Fill,
    /// It is made new.
    Renew,
}

impl Mending {
    /// How much work it is beside the others. The order is common practice, the figures are our own.
    #[must_use]
    pub fn effort(self) -> u64 {
        match self {
            Mending::Record => 1,
            Mending::Measure => 3,
            Mending::Do => 4,
            Mending::Tighten => 6,
            Mending::Fill | Mending::Renew => 8,
        }
    }

    /// What to do, before the path of a value.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Mending::Record => "record",
            Mending::Measure => "measure and record anew",
            Mending::Do => "do, and record",
            Mending::Tighten => "slacken and tighten again:",
            Mending::Fill => "correct the fill:",
            Mending::Renew => "renew:",
        }
    }
}

/// Fields of a job, or parts of it, that work can change once they are recorded. Of several that hold a field the first
/// counts. All others are facts of the past, which no work changes.
const MENDED: [(&str, Mending); 41] = [
    ("fastenings[].torque", Mending::Tighten),
    ("fastenings[].angle", Mending::Tighten),
    ("fastenings[].stages", Mending::Tighten),
    ("fastenings[].order", Mending::Tighten),
    ("fastenings[].tool", Mending::Tighten),
    ("fastenings[].adapter", Mending::Tighten),
    ("fastenings[].new", Mending::Renew),
    ("fastenings[].marked", Mending::Do),
    ("seals[].renewed", Mending::Renew),
    ("filters[].renewed", Mending::Renew),
    ("filters[].media_fitted", Mending::Renew),
    ("filters[].cap_fitted", Mending::Renew),
    ("filters[].locked", Mending::Do),
    ("guide_tubes[].ring_renewed", Mending::Renew),
    ("guide_tubes[].seated", Mending::Do),
    ("connectors[].seated", Mending::Do),
    ("magnets[].renewed", Mending::Renew),
    ("magnets[].cleaned", Mending::Do),
    ("pan.renewed", Mending::Renew),
    ("pan.cleaned", Mending::Do),
    ("pan.flatness_checked", Mending::Do),
    ("fluid.specification", Mending::Fill),
    ("fluid.product", Mending::Fill),
    ("fluid.fills", Mending::Fill),
    ("brake_fluid.class", Mending::Fill),
    ("brake_fluid.boiling_point_after", Mending::Measure),
    ("brake_fluid.bleeding", Mending::Do),
    ("coolant.share", Mending::Measure),
    ("coolant.freezing_point", Mending::Measure),
    ("coolant.bled", Mending::Do),
    ("pressure_hold", Mending::Measure),
    ("level_check", Mending::Measure),
    ("wheels[].pressure", Mending::Measure),
    ("wheels[].seat_clean", Mending::Do),
    ("retightening.advised", Mending::Do),
    ("retightening.done", Mending::Do),
    ("used_oil.collected", Mending::Do),
    ("fault_memory.after", Mending::Do),
    ("fault_memory.after_drive", Mending::Do),
    ("road_test", Mending::Do),
    ("learning_run", Mending::Do),
];

/// What mends a value of a job that is recorded, by its path (`fastenings[2].torque`).
#[must_use]
pub fn of_recorded(path: &str) -> Option<Mending> {
    let pattern: String = path.chars().filter(|letter| !letter.is_ascii_digit()).collect();
    let holds = |part: &str| {
        pattern.strip_prefix(part).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
    };
    MENDED.iter().find(|(part, _)| holds(part)).map(|(_, mending)| *mending)
}

/// What mends a value that is not recorded.
#[must_use]
pub fn of_missing(path: &str) -> Mending {
    match of_recorded(path) {
        Some(Mending::Measure) => Mending::Measure,
        _ => Mending::Record,
    }
}

#[cfg(test)]
mod tests {
    use super::{MENDED, Mending, of_missing, of_recorded};
    use crate::document::fields::fields;

    #[test]
    fn each_part_is_one_of_the_form() {
        let forms = crate::document::Forms::builtin();
        let job = forms.get(super::super::form::JOB).unwrap();
        let all: Vec<String> = fields(job.record()).into_iter().map(|field| field.path).collect();
        for (part, _) in MENDED {
            let is_it = |path: &String| path.trim_end_matches("[]") == part;
            assert!(all.iter().any(is_it), "{part} is no part of a job: {all:#?}");
        }
    }

    #[test]
    fn what_was_is_not_mended_and_what_is_missing_is_recorded() {
        assert_eq!(of_recorded("fastenings[12].torque"), Some(Mending::Tighten));
        assert_eq!(of_recorded("fastenings[].stages[].torque"), Some(Mending::Tighten));
        assert_eq!(of_recorded("fastenings[].torques"), None);
        assert_eq!(of_recorded("vehicle.odometer"), None);
        assert_eq!(of_missing("vehicle.odometer"), Mending::Record);
        assert_eq!(of_missing("level_check.temperature"), Mending::Measure);
    }
}
