//! Days and times of day. The forms are those of RFC 3339, from memory; the instants are counted
//! by hand.

use jiff::civil::date;
use jiff::tz::Offset;
use witnessmark::time::{day, moment};
use witnessmark::value::Moment;

#[test]
fn days_are_year_month_day() {
    assert_eq!(day("2026-03-02"), Ok(date(2026, 3, 2)));
    assert_eq!(day("2024-02-29"), Ok(date(2024, 2, 29)));
    for wrong in [
        "2026-02-29",
        "2026-13-01",
        "2026-00-10",
        "2026-3-2",
        "20260302",
        "2026/03/02",
        "02.03.2026",
        "2026-03-02 ",
        "２０２６-03-02",
        "",
    ] {
        assert!(day(wrong).is_err(), "{wrong}");
    }
}

#[test]
fn another_order_is_offered_not_guessed() {
    let help = |text: &str| day(text).expect_err("is refused").help.unwrap_or_default();
    assert_eq!(help("31.12.2026"), "write 2026-12-31");
    assert_eq!(help("12/31/2026"), "write 2026-12-31");
    assert_eq!(help("03/04/2026"), "write 2026-04-03 or 2026-03-04, whichever is meant");
    assert_eq!(help("2026-02-30"), "the last day of that month is 2026-02-28");
    assert_eq!(help("2024-02-30"), "the last day of that month is 2024-02-29");
    assert_eq!(help("2026-04-00"), "the last day of that month is 2026-04-30");
    assert_eq!(help("2026-13-01"), "write year, month and day in this order, such as 2026-03-02");
    assert_eq!(help("next week"), "write year, month and day in this order, such as 2026-03-02");
}

#[test]
fn times_have_an_offset_or_are_civil() {
    let civil = |hour, minute, second| Ok(Moment::Civil(date(2026, 3, 2).at(hour, minute, second, 0)));
    let exact = |text: &str, minutes: i32| {
        let offset = Offset::from_seconds(minutes * 60).expect("an offset");
        Ok(Moment::Exact(text.parse().expect("a timestamp"), offset))
    };
    assert_eq!(moment("2026-03-02T08:15"), civil(8, 15, 0));
    assert_eq!(moment("2026-03-02 08:15:07"), civil(8, 15, 7));
    assert_eq!(moment("2026-12-31T23:59:60"), Ok(Moment::Civil(date(2026, 12, 31).at(23, 59, 59, 0))));
    assert_eq!(moment("2026-03-02T08:15:00+01:00"), exact("2026-03-02T07:15:00Z", 60));
    assert_eq!(moment("2026-03-02t08:15:00z"), exact("2026-03-02T08:15:00Z", 0));
    assert_eq!(moment("2026-03-02T00:15-08:30"), exact("2026-03-02T08:45:00Z", -510));
    assert_eq!(moment("2026-03-02T08:15:00.25Z"), exact("2026-03-02T08:15:00.25Z", 0));
    for wrong in [
        "2026-03-02",
        "08:15",
        "2026-03-02T",
        "2026-03-02T8:15",
        "2026-03-02T24:00",
        "2026-03-02T08:60",
        "2026-02-30T08:15",
        "2026-03-02T08:15+1",
        "2026-03-02T08:15+01",
        "2026-03-02T08:15:00+24:00",
        "2026-03-02T08:15:00.Z",
        "2026-03-02T08:15 Z",
        "2026-03-02ä08:15",
        "9999-12-31T23:59:59-23:59",
    ] {
        assert!(moment(wrong).is_err(), "{wrong}");
    }
}

/// What is offered in the place of a time is a time.
#[test]
fn a_day_where_a_time_is_wanted_lacks_its_time_of_day_in_whatever_order_it_is_written() {
    for (written, help) in [
        ("2026-03-02", "add the time, such as 2026-03-02T08:15"),
        ("2026-003-2", "write the day and add the time, such as 2026-03-02T08:15"),
        ("31.12.2026", "write the day and add the time, such as 2026-12-31T08:15"),
        ("2.3.2026", "write the day and add the time, such as 2026-03-02T08:15"),
        (
            "02/03/2026",
            "write 2026-03-02 or 2026-02-03, whichever is meant, and add the time, such as 2026-03-02T08:15",
        ),
    ] {
        let fault = moment(written).unwrap_err();
        assert_eq!(fault.message, format!("`{written}` is a day without a time of day"));
        assert_eq!((fault.help.as_deref(), fault.meant), (Some(help), None), "{written}");
    }
}

/// RFC 3339, section 5.8 (from memory), seconds since 1970 recomputed with a calendar; and two times on either
/// side of the hour that the clocks of Vienna leave out.
#[test]
fn the_examples_of_the_standard_are_read() {
    let seconds = |text: &str| match moment(text) {
        Ok(Moment::Exact(instant, _)) => instant.as_millisecond(),
        other => panic!("{text}: {other:?}"),
    };
    assert_eq!(seconds("1985-04-12T23:20:50.52Z"), 482_196_050_520);
    assert_eq!(seconds("1996-12-19T16:39:57-08:00"), 851_042_397_000);
    assert_eq!(seconds("1996-12-20T00:39:57Z"), 851_042_397_000);
    assert_eq!(seconds("1937-01-01T12:00:27.87+00:20"), seconds("1937-01-01T11:40:27.87Z"));
    // A leap second counts as the one before it.
    assert_eq!(seconds("1990-12-31T23:59:60Z"), seconds("1990-12-31T23:59:59Z"));
    assert_eq!(seconds("1990-12-31T15:59:60-08:00"), seconds("1990-12-31T23:59:60Z"));
    assert_eq!(seconds("2024-03-31T03:01:00+02:00") - seconds("2024-03-31T01:59:00+01:00"), 120_000);
}
