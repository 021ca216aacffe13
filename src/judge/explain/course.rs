//! How a log ran over a stretch of time, in the words of a report.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::Explainer;
use super::words::Fineness;
use crate::decide::LogEvidence;
use crate::finding::InTime;
use crate::quantity::Number;
use crate::signal::{Exactness, Hole, Missing, Question, Window};
use crate::value::{Moment, Value, offset_words};

impl LogEvidence {
    /// How far the outcome is from the other one in time; below zero where the demand is broken.
    #[must_use]
    pub fn in_time(&self, negated: bool) -> Option<InTime> {
        let always = matches!(self.question, Question::Throughout(_) | Question::HeldFor(..));
        // How long ago something came true says nothing of how long it should not have been so.
        let time = self.answer.time.as_ref().filter(|_| always || !negated)?;
        // That a window is kept says by itself that it could end no sooner.
        if time.exactness == Exactness::AtLeast && time.nanoseconds.is_zero() {
            return None;
        }
        let nanoseconds = if negated { -&time.nanoseconds } else { time.nanoseconds.clone() };
        Some(InTime { seconds: seconds(&nanoseconds), exactness: time.exactness })
    }
}

impl LogEvidence {
    /// Whether what decided stands below an odd number of `not` within the question.
    pub(super) fn is_negated(&self) -> bool {
        self.shown.negated
    }

    /// The range in which the log that decided must lie.
    pub(super) fn range_words(&self, fineness: &Fineness) -> Option<String> {
        self.shown.range.as_ref().map(|range| fineness.range(range))
    }
}

impl Explainer<'_> {
    /// Shows the instants of a stretch of time. Where no zone is set, they are shown with the offset with which the
    /// document first writes a time.
    pub(super) fn clock(&self, window: Window) -> Clock {
        let zone = &self.values.setting.zone;
        let offset = |value: &Value<'_>| match value {
            Value::Moment(Moment::Exact(_, offset)) => Some(*offset),
            _ => None,
        };
        let mut offsets = self.values.document.values().filter_map(|(_, value)| offset(value));
        match offsets.next().filter(|_| zone.is_unknown()) {
            Some(offset) => Clock::new(offset.to_time_zone(), window, offset_words(offset)),
            None => Clock::new(zone.clone(), window, String::new()),
        }
    }

    /// What was found in the logs.
    pub(super) fn course_words(&self, course: &LogEvidence) -> String {
        let LogEvidence { answer, question, window, shown, .. } = course;
        let clock = self.clock(*window);
        let value = shown.value.as_ref().zip(answer.at.as_ref());
        let worst = value.map(|(value, at)| format!("{} at {}", self.fineness.figure(value), clock.at(at)));
        let stretch = answer.stretch.as_ref();
        let from_to = |(from, to): &(Number, Number)| match from == to {
            true => format!("at {}", clock.at(from)),
            false => format!("from {} to {}", clock.at(from), clock.at(to)),
        };
        let nearest = worst.as_ref().map(|worst| format!("{worst} comes nearest"));
        match (question, answer.truth) {
            (Question::Throughout(_), Some(false)) => {
                let longest = stretch.map(|(from, to)| to - from).unwrap_or(Number::ZERO);
                let outside = match stretch {
                    Some(stretch) if answer.outside == longest && longest.is_zero() => {
                        format!("outside {}", from_to(stretch))
                    }
                    Some(stretch) if answer.outside == longest => {
                        format!("outside for {}, {}", lasting(&longest), from_to(stretch))
                    }
                    Some(stretch) => {
                        let all = lasting(&answer.outside);
                        format!("outside for {all} in all, the longest {}", from_to(stretch))
                    }
                    None => "outside".to_owned(),
                };
                joined([Some(outside), worst])
            }
            (Question::Throughout(_), _) => nearest.unwrap_or_else(|| "inside all the time".to_owned()),
            (Question::HeldFor(..), _) => match stretch {
                Some(stretch) => {
                    format!("{}, {}", lasting(&(&stretch.1 - &stretch.0)), from_to(stretch))
                }
                None => joined([Some("never".to_owned()), nearest]),
            },
            (Question::AtSomeMoment(_) | Question::Until(..), Some(true)) => match stretch {
                Some(stretch) => format!("so {}", from_to(stretch)),
                None => "so".to_owned(),
            },
            (Question::AtSomeMoment(_), _) => joined([Some("never".to_owned()), nearest]),
            (Question::Until(..), _) => {
                let words = "the second did not come while the first still held";
                joined([Some(words.to_owned()), nearest])
            }
        }
    }

    /// Why a log does not decide.
    pub(super) fn hole_words(&self, path: &str, hole: &Hole, gaps: Option<i64>) -> String {
        let clock = self.clock(Window { from: hole.from, to: hole.to });
        let (from, to) = (Number::from(hole.from), Number::from(hole.to));
        let (begin, end) = (clock.at(&from), clock.at(&to));
        match hole.why {
            Missing::BeforeData(_) => {
                format!("the log `{path}` begins too late: it says nothing of {begin} to {end}")
            }
            Missing::AfterData(_) => {
                format!("the log `{path}` ends too early: it says nothing of {begin} to {end}")
            }
            Missing::Gap(_) => {
                let allowed = gaps.map(|gaps| format!(" than the {} allowed", lasting(&Number::from(gaps))));
                let allowed = allowed.unwrap_or_default();
                format!("the entries of the log `{path}` lie further apart{allowed}, from {begin} to {end}")
            }
            Missing::Formula => format!("what `{path}` is compared with is not known"),
        }
    }
}

fn joined<const N: usize>(parts: [Option<String>; N]) -> String {
    parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

fn seconds(nanoseconds: &Number) -> Number {
    nanoseconds.checked_div(&Number::from(NANOSECONDS)).unwrap_or(Number::ZERO).reduced()
}

const NANOSECONDS: i64 = 1_000_000_000;
const MILLISECONDS: i64 = 1_000_000;

/// A duration as people read it: `11 s`, `3 min 20 s`, rounded to milliseconds.
#[must_use]
pub(super) fn lasting(nanoseconds: &Number) -> String {
    let negative = if nanoseconds.is_negative() { "-" } else { "" };
    let milliseconds = rounded(&nanoseconds.abs()) / MILLISECONDS;
    let (seconds, rest) = (milliseconds / 1_000, milliseconds % 1_000);
    let fraction = match rest {
        0 => String::new(),
        rest => format!(".{rest:03}").trim_end_matches('0').to_owned(),
    };
    if milliseconds == 0 && !nanoseconds.is_zero() {
        return "less than 1 ms".to_owned();
    }
    if seconds < 120 {
        return format!("{negative}{seconds}{fraction} s");
    }
    let (hours, minutes, seconds) = (seconds / 3_600, seconds / 60 % 60, seconds % 60);
    let hours = if hours > 0 { format!("{hours} h ") } else { String::new() };
    let rest =
        if seconds > 0 || !fraction.is_empty() { format!(" {seconds}{fraction} s") } else { String::new() };
    format!("{negative}{hours}{minutes} min{rest}")
}

/// The nearest whole millisecond, in nanoseconds.
fn rounded(nanoseconds: &Number) -> i64 {
    let half = Number::from(MILLISECONDS / 2);
    let floor = (nanoseconds + &half).floor().unwrap_or(i64::MAX);
    floor - floor.rem_euclid(MILLISECONDS)
}

/// Shows instants as clock times, with the day where a stretch has more than one.
pub(super) struct Clock {
    zone: TimeZone,
    with_day: bool,
    /// What is said behind each time.
    offset: String,
}

impl Clock {
    fn new(zone: TimeZone, window: Window, offset: String) -> Clock {
        let day = |at: i64| {
            Timestamp::from_nanosecond(at.into()).map(|at| at.to_zoned_datetime(zone.clone()).date()).ok()
        };
        let with_day = day(window.from) != day(window.to);
        Clock { zone, with_day, offset }
    }

    /// An instant to the millisecond: `10:24:41`.
    pub(super) fn at(&self, nanoseconds: &Number) -> String {
        let Ok(instant) = Timestamp::from_nanosecond(rounded(nanoseconds).into()) else {
            return "a time out of all range".to_owned();
        };
        let civil = instant.to_zoned_datetime(self.zone.clone()).datetime();
        let shown = if self.with_day { civil.to_string() } else { civil.time().to_string() };
        shown + &self.offset
    }
}
