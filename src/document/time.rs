//! Days and times as records write them: RFC 3339, or without the offset in the workshop's zone.

use jiff::civil::{Date, DateTime, Time};
use jiff::tz::Offset;

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
        Fault::new(code::DAY_FORM, format!("the calendar has no day {text}"))
            .help("write year, month and day in this order, such as 2026-03-02")
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
    let date = day(date).map_err(|fault| if rest.is_empty() || has_day { fault } else { no_moment(text) })?;
    if rest.is_empty() {
        return Err(Fault::new(code::MOMENT_FORM, format!("`{text}` is a day without a time of day"))
            .help(format!("add the time, such as {text}T08:15")));
    }
    let clock = rest.strip_prefix(['T', 't', ' ']).ok_or_else(|| no_moment(text))?;
    let (time, zone) = time_of_day(clock).ok_or_else(|| no_time(text, clock))?;
    let civil = DateTime::from_parts(date, time);
    if zone.is_empty() {
        return Ok(Moment::Civil(civil));
    }
    let offset = offset(zone).ok_or_else(|| no_moment(text))?;
    let instant = offset.to_timestamp(civil).map_err(|_| no_moment(text))?;
    Ok(Moment::Exact(instant))
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

fn no_moment(text: &str) -> Fault {
    let offers = other_moments(text);
    let help = if offers.is_empty() {
        "write it as 2026-03-02T08:15:00+01:00, or without the offset as 2026-03-02T08:15".to_owned()
    } else {
        format!("write {}", offers.join(" or "))
    };
    Fault::new(code::MOMENT_FORM, format!("`{text}` is no day with a time of day")).help(help)
}

/// The moments that `2.3.2026 8:10` (day first) or `3/2/2026 8:10` (either first) may mean, written.
fn other_moments(text: &str) -> Vec<String> {
    let Some((date, clock)) = text.split_once(['T', ' ']) else { return Vec::new() };
    let padded =
        if clock.find(':') == Some(1) { format!("0{}", clock.trim()) } else { clock.trim().to_owned() };
    let Some((time, "")) = time_of_day(&padded) else { return Vec::new() };
    let dates = day(date).map_or_else(|_| other_orders(date), |date| vec![date]);
    let clock = format!("{:02}:{:02}", time.hour(), time.minute());
    dates.into_iter().map(|date| format!("{date}T{clock}")).collect()
}

fn no_day(text: &str) -> Fault {
    let help = match &*other_orders(text) {
        [] => "write year, month and day in this order, such as 2026-03-02".to_owned(),
        [only] => format!("write {only}"),
        [first, second, ..] => format!("write {first} or {second}, whichever is meant"),
    };
    Fault::new(code::DAY_FORM, format!("`{text}` is no day of the form year-month-day")).help(help)
}

/// The days that `02.03.2026` (day first) or `03/02/2026` (either first) may mean.
fn other_orders(text: &str) -> Vec<Date> {
    let separator = if text.contains('/') { '/' } else { '.' };
    let mut parts = text.split(separator).map(|part| part.parse::<i16>().ok());
    let (Some(Some(first)), Some(Some(second)), Some(Some(year)), None) =
        (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return Vec::new();
    };
    let date = |month: i16, day: i16| {
        let (month, day) = (i8::try_from(month).ok()?, i8::try_from(day).ok()?);
        Date::new(year, month, day).ok().filter(|_| year >= 1900)
    };
    let day_first = date(second, first);
    let month_first = date(first, second).filter(|_| separator == '/');
    let mut dates: Vec<Date> = day_first.into_iter().chain(month_first).collect();
    dates.dedup();
    dates
}
