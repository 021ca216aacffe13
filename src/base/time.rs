//! Days and times as records write them: RFC 3339, or without the offset in the workshop's zone.

use jiff::Timestamp;
use jiff::civil::{Date, DateTime, Time};
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};

use crate::code;
use crate::diagnostic::Fault;
use crate::value::Moment;

/// Reads a day, `2026-03-02`.
///
/// # Errors
/// A text of another form, with what was probably meant; a day that the calendar does not have.
pub fn day(text: &str) -> Result<Date, Fault> {
    let (year, month, day) = year_month_day(text).ok_or_else(|| no_day(text))?;
    Date::new(year, month, day).map_err(|_| {
        let help = match Date::new(year, month, 1) {
            Ok(first) => format!("the last day of that month is {}", first.last_of_month()),
            Err(_) => "write year, month and day in this order, such as 2026-03-02".to_owned(),
        };
        Fault::new(code::DAY_FORM, format!("the calendar has no day {text}")).help(help)
    })
}

/// Reads a day and a time of day: `2026-03-02T08:15:00+01:00`, or without seconds, without the
/// offset, or with a blank instead of the `T`. A leap second counts as the one before it.
///
/// # Errors
/// A text of another form, a day without a time, a time that no clock shows.
pub fn moment(text: &str) -> Result<Moment, Fault> {
    let Some((date, rest)) = text.split_at_checked(10) else { return Err(no_moment(text)) };
    let has_day = year_month_day(date).is_some();
    let date = day(date).map_err(|fault| if has_day { fault } else { no_moment(text) })?;
    if rest.is_empty() {
        return Err(only_a_day(text, format!("add the time, such as {text}T08:15")));
    }
    let clock = rest.strip_prefix(['T', 't', ' ']).ok_or_else(|| no_moment(text))?;
    let (time, zone) = time_of_day(clock).ok_or_else(|| no_time(text, clock))?;
    let civil = DateTime::from_parts(date, time);
    if zone.is_empty() {
        return Ok(Moment::Civil(civil));
    }
    let offset = offset(zone).ok_or_else(|| no_moment(text))?;
    let instant = offset.to_timestamp(civil).map_err(|_| no_moment(text))?;
    Ok(Moment::Exact(instant, offset))
}

/// Whether a time says its offset from UTC. Without a time zone, two times of which one does and the other
/// does not have no order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Frame {
    /// It does.
    WithOffset,
    /// It is a time of the workshop's zone.
    Local,
}

impl Frame {
    /// That of a time.
    #[must_use]
    pub fn of(moment: &Moment) -> Frame {
        match moment {
            Moment::Exact(..) => Frame::WithOffset,
            Moment::Civil(_) => Frame::Local,
        }
    }

    /// The other one.
    #[must_use]
    pub fn other(self) -> Frame {
        match self {
            Frame::WithOffset => Frame::Local,
            Frame::Local => Frame::WithOffset,
        }
    }

    /// Whether times of both kinds can be put in one order.
    ///
    /// # Errors
    /// One has an offset, the other has none, and no zone is set.
    pub fn agrees(self, other: Frame, zone: &TimeZone) -> Result<(), Fault> {
        if self == other || !zone.is_unknown() {
            return Ok(());
        }
        let message = "one time has an offset, the other has none, and no time zone is set";
        Err(Fault::new(code::NO_TIME_ZONE, message).help(NAME_THE_ZONE))
    }
}

/// What to do where no zone is set.
pub const NAME_THE_ZONE: &str = "name the zone in the workshop's settings, `time_zone: Europe/Vienna`, or write every time with its offset";

/// The instant of a time, in the workshop's zone where it has no offset of its own.
///
/// # Errors
/// A time without an offset at which the clocks of the zone change.
pub fn instant(moment: &Moment, zone: &TimeZone) -> Result<Timestamp, Fault> {
    let civil = match moment {
        Moment::Exact(timestamp, _) => return Ok(*timestamp),
        Moment::Civil(civil) => civil,
    };
    let ambiguous = zone.to_ambiguous_timestamp(*civil);
    let name = zone.iana_name().unwrap_or("this zone");
    let fault = |message: String| {
        Fault::new(code::CLOCK_CHANGE, message)
            .help(format!("write the time with its offset, such as {civil}+01:00"))
    };
    match ambiguous.offset() {
        AmbiguousOffset::Gap { .. } => {
            Err(fault(format!("there is no time {civil} in {name}: the clocks are put forward over it")))
        }
        AmbiguousOffset::Fold { .. } => {
            Err(fault(format!("the time {civil} is there twice in {name}: the clocks are put back over it")))
        }
        AmbiguousOffset::Unambiguous { .. } => ambiguous
            .compatible()
            .map_err(|_| Fault::new(code::FUNCTION_RANGE, format!("the time {civil} is out of all range"))),
    }
}

/// The parts of `2026-03-02`, whether or not the calendar has the day.
fn year_month_day(text: &str) -> Option<(i16, i8, i8)> {
    let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = text.as_bytes() else { return None };
    let year = i16::from(digits(*y1, *y2)?) * 100 + i16::from(digits(*y3, *y4)?);
    Some((year, digits(*m1, *m2)?, digits(*d1, *d2)?))
}

/// `08:15`, `08:15:30`, `08:15:30.5`, and what stands behind it.
fn time_of_day(text: &str) -> Option<(Time, &str)> {
    let (hour, rest) = two_digits(text)?;
    let (minute, rest) = two_digits(rest.strip_prefix(':')?)?;
    let (second, rest) = match rest.strip_prefix(':') {
        Some(rest) => two_digits(rest)?,
        None => (0, rest),
    };
    let (nanosecond, rest) = match rest.strip_prefix('.') {
        Some(rest) => fraction(rest)?,
        None => (0, rest),
    };
    let second = if second == 60 { 59 } else { second };
    Some((Time::new(hour, minute, second, nanosecond).ok()?, rest))
}

/// The digits behind the point, as nanoseconds; further digits are dropped.
fn fraction(text: &str) -> Option<(i32, &str)> {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let (figures, rest) = text.split_at_checked(end)?;
    if figures.is_empty() {
        return None;
    }
    let nine = figures.bytes().chain(std::iter::repeat(b'0')).take(9);
    Some((nine.fold(0, |sum, figure| sum * 10 + i32::from(figure - b'0')), rest))
}

/// `Z`, `+01:00`, `-08:00`.
fn offset(text: &str) -> Option<Offset> {
    if matches!(text, "Z" | "z") {
        return Some(Offset::UTC);
    }
    let (sign, rest) = match text.split_at_checked(1)? {
        ("+", rest) => (1, rest),
        ("-" | "\u{2212}", rest) => (-1, rest),
        _ => return None,
    };
    let (hours, rest) = two_digits(rest)?;
    let (minutes, rest) = two_digits(rest.strip_prefix(':')?)?;
    if !rest.is_empty() || hours > 23 || minutes > 59 {
        return None;
    }
    Offset::from_seconds(sign * (i32::from(hours) * 3600 + i32::from(minutes) * 60)).ok()
}

fn two_digits(text: &str) -> Option<(i8, &str)> {
    let (pair, rest) = text.split_at_checked(2)?;
    let [tens, ones] = pair.as_bytes() else { return None };
    Some((digits(*tens, *ones)?, rest))
}

fn digits(tens: u8, ones: u8) -> Option<i8> {
    let digit = |byte: u8| byte.is_ascii_digit().then(|| i8::try_from(byte - b'0').ok()).flatten();
    Some(digit(tens)? * 10 + digit(ones)?)
}

/// What is wrong with the time of day `clock` of `text`.
fn no_time(text: &str, clock: &str) -> Fault {
    let part = |text| two_digits(text).map(|(_, rest)| rest);
    let is_time = part(clock).and_then(|rest| part(rest.strip_prefix(':')?)).is_some();
    if !is_time {
        return no_moment(text);
    }
    Fault::new(code::MOMENT_FORM, format!("no clock shows the time {clock}"))
        .help("write the hour from 00 to 23 and the minute from 00 to 59, such as 08:15")
}

fn only_a_day(text: &str, help: String) -> Fault {
    Fault::new(code::MOMENT_FORM, format!("`{text}` is a day without a time of day")).help(help)
}

fn no_moment(text: &str) -> Fault {
    match other_orders(text).as_slice() {
        [] => {}
        [day] => return only_a_day(text, format!("write the day and add the time, such as {day}T08:15")),
        [day, other, ..] => {
            let which = format!("write {day} or {other}, whichever is meant");
            return only_a_day(text, format!("{which}, and add the time, such as {day}T08:15"));
        }
    }
    let offers = other_moments(text);
    let help = if offers.is_empty() {
        "write it as 2026-03-02T08:15:00+01:00, or without the offset as 2026-03-02T08:15".to_owned()
    } else {
        let offers: Vec<_> = offers.iter().map(|(_, text)| text.as_str()).collect();
        format!("write {}", offers.join(" or "))
    };
    Fault::new(code::MOMENT_FORM, format!("`{text}` is not a date and time"))
        .help(help)
        .meant(one_day(text, &offers))
}

/// The moments that `2.3.2026 8:10` (day first) or `3/2/2026 8:10` (either first) may mean, each with its
/// day, written.
fn other_moments(text: &str) -> Vec<(Date, String)> {
    let Some((date, clock)) = text.split_once(['T', ' ']) else { return Vec::new() };
    let padded =
        if clock.find(':') == Some(1) { format!("0{}", clock.trim()) } else { clock.trim().to_owned() };
    let Some((_, "")) = time_of_day(&padded) else { return Vec::new() };
    let dates = day(date).map_or_else(|_| other_orders(date), |date| vec![date]);
    dates.into_iter().map(|date| (date, format!("{date}T{padded}"))).collect()
}

fn no_day(text: &str) -> Fault {
    let offers: Vec<_> = other_orders(text).into_iter().map(|date| (date, date.to_string())).collect();
    let help = match &*offers {
        [] => "write year, month and day in this order, such as 2026-03-02".to_owned(),
        [(_, only)] => format!("write {only}"),
        [(_, first), (_, second), ..] => format!("write {first} or {second}, whichever is meant"),
    };
    Fault::new(code::DAY_FORM, format!("`{text}` is no day of the form year-month-day"))
        .help(help)
        .meant(one_day(text, &offers))
}

/// The only offer, unless the calendar has a day for its month and day the other way round too: nobody
/// can tell then which the writer put first.
fn one_day(text: &str, offers: &[(Date, String)]) -> Option<String> {
    let [(date, only)] = offers else { return None };
    let year_first = text.get(..4).is_some_and(|year| year.bytes().all(|byte| byte.is_ascii_digit()));
    let swapped = Date::new(date.year(), date.day(), date.month());
    (year_first || swapped.is_err() || swapped.ok() == Some(*date)).then(|| only.clone())
}

/// The days that `02.03.2026` (day first), `03/02/2026` (either first), `2026/3/2` or `2026-3-2` may mean.
fn other_orders(text: &str) -> Vec<Date> {
    let Some(separator) = ['/', '.', '-'].into_iter().find(|mark| text.contains(*mark)) else {
        return Vec::new();
    };
    let mut parts = text.split(separator).map(|part| part.parse::<i16>().ok());
    let (Some(Some(first)), Some(Some(second)), Some(Some(third)), None) =
        (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return Vec::new();
    };
    let date = |year: i16, month: i16, day: i16| {
        let (month, day) = (i8::try_from(month).ok()?, i8::try_from(day).ok()?);
        Date::new(year, month, day).ok().filter(|_| year >= 1900)
    };
    let year_first = date(first, second, third);
    let day_first = date(third, second, first).filter(|_| separator != '-');
    let month_first = date(third, first, second).filter(|_| separator == '/');
    let mut dates: Vec<Date> = year_first.into_iter().chain(day_first).chain(month_first).collect();
    dates.dedup();
    dates
}
