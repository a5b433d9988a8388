use super::*;

type Hours = (&'static str, &'static str);

/// Pointer, code and what the sentence must offer, for a calendar that is none.
fn check(value: &Value, pointer: &str, code: &str, remedy: &str) {
    let shifts = serde_json::from_value(value.get("shifts").cloned().unwrap_or(json!([]))).unwrap();
    let exceptions = serde_json::from_value(value.get("exceptions").cloned().unwrap_or(json!([]))).unwrap();
    let refusal = Calendar::new(shifts, exceptions).expect_err(&format!("accepted: {value}"));
    assert_eq!(
        (refusal.pointer.as_str(), refusal.code()),
        (pointer, code),
        "{refusal}"
    );
    assert!(refusal.to_string().contains(remedy), "{refusal}");
    // Reading it from bytes is no way round.
    let read = serde_json::from_value::<Calendar>(value.clone()).unwrap_err();
    assert_eq!(read.to_string(), refusal.to_string());
}

fn shift(weekday: &str, starts: &str, ends: &str) -> Value {
    json!({"name": "shift", "weekday": weekday, "starts": starts, "ends": ends})
}

fn with_breaks(breaks: &[Hours]) -> Value {
    let breaks: Vec<_> = breaks
        .iter()
        .map(|(starts, ends)| json!({"starts": starts, "ends": ends}))
        .collect();
    json!({"shifts": [{"name": "night", "weekday": "Fri", "starts": "22:00", "ends": "06:00", "breaks": breaks}]})
}

fn overtime(date: &str, starts: &str, ends: &str) -> Value {
    json!({"overtime": {"date": date, "name": "overtime", "starts": starts, "ends": ends}})
}

#[test]
fn shifts_do_not_overlap() {
    let code = "calendar.shifts-overlap";
    let pairs = [
        (
            shift("Mon", "06:00", "14:30"),
            shift("Mon", "14:00", "22:00"),
            1,
            "begin it at 14:30 or later",
        ),
        (
            shift("Mon", "14:00", "22:00"),
            shift("Mon", "06:00", "14:30"),
            0,
            "or end `shift` (Mon 06:00 to 14:30) by 14:00",
        ),
        (
            shift("Mon", "06:00", "14:00"),
            shift("Mon", "06:00", "14:00"),
            1,
            "begin it at 14:00 or later",
        ),
        // Across midnight, and across the end of the week.
        (
            shift("Mon", "22:00", "06:00"),
            shift("Tue", "05:59", "14:00"),
            1,
            "begin it at 06:00 or later",
        ),
        (
            shift("Mon", "05:00", "13:00"),
            shift("Sun", "22:00", "06:00"),
            0,
            "(Sun 22:00 to 06:00) by 05:00",
        ),
        (
            shift("Mon", "06:00", "06:00"),
            shift("Tue", "05:00", "13:00"),
            1,
            "begin it at 06:00 or later",
        ),
    ];
    for (one, other, index, remedy) in pairs {
        check(
            &json!({"shifts": [one, other]}),
            &format!("/shifts/{index}/starts"),
            code,
            remedy,
        );
    }
}

#[test]
fn shifts_may_touch() {
    let round_the_clock: Vec<_> = WEEKDAYS
        .iter()
        .map(|weekday| shift(weekday, "06:00", "06:00"))
        .collect();
    assert_eq!(calendar(json!({"shifts": round_the_clock})).shifts().len(), 7);
    let two = [shift("Sun", "22:00", "06:00"), shift("Mon", "06:00", "14:00")];
    assert_eq!(calendar(json!({"shifts": two})).shifts().len(), 2);
}

#[test]
fn breaks_lie_in_their_shift_one_after_the_other() {
    let cases: [(&[Hours], &str, &str, &str); 7] = [
        (
            &[("02:00", "02:00")],
            "0/ends",
            "calendar.break-without-length",
            "let it end after it begins",
        ),
        (
            &[("21:30", "22:15")],
            "0/starts",
            "calendar.break-outside-shift",
            "between 22:00 and 06:00",
        ),
        (
            &[("06:00", "06:15")],
            "0/starts",
            "calendar.break-outside-shift",
            "between 22:00 and 06:00",
        ),
        (
            &[("05:45", "06:15")],
            "0/ends",
            "calendar.break-outside-shift",
            "between 22:00 and 06:00",
        ),
        (
            &[("02:30", "02:00")],
            "0/ends",
            "calendar.break-outside-shift",
            "between 22:00 and 06:00",
        ),
        (
            &[("23:45", "00:15"), ("00:00", "00:30")],
            "1/starts",
            "calendar.breaks-overlap",
            "until 00:15",
        ),
        (
            &[("02:15", "02:45"), ("02:00", "02:30")],
            "0/starts",
            "calendar.breaks-overlap",
            "until 02:30",
        ),
    ];
    for (breaks, field, code, remedy) in cases {
        check(
            &with_breaks(breaks),
            &format!("/shifts/0/breaks/{field}"),
            code,
            remedy,
        );
    }
    calendar(with_breaks(&[
        ("22:00", "22:15"),
        ("23:45", "00:15"),
        ("00:15", "00:30"),
        ("05:30", "06:00"),
    ]));
}

#[test]
fn overtime_is_checked_like_a_shift() {
    // 2026-06-12 is a Friday.
    let calendar =
        |exceptions: &[Value]| json!({"shifts": [shift("Fri", "22:00", "06:00")], "exceptions": exceptions});
    let code = "calendar.shifts-overlap";
    let late = overtime("2026-06-12", "18:00", "22:30");
    check(
        &calendar(&[late]),
        "/exceptions/0/overtime/ends",
        code,
        "or end `overtime` (2026-06-12 18:00 to 22:30) by 22:00",
    );
    let saturday = overtime("2026-06-13", "05:00", "12:00");
    check(
        &calendar(std::slice::from_ref(&saturday)),
        "/exceptions/0/overtime/starts",
        code,
        "begin it at 06:00 or later",
    );
    let over_midnight = overtime("2026-06-11", "23:00", "22:30");
    check(
        &calendar(&[over_midnight]),
        "/exceptions/0/overtime/ends",
        code,
        "by 22:00",
    );
    let twice = [
        overtime("2026-06-10", "06:00", "12:00"),
        overtime("2026-06-10", "11:00", "14:00"),
    ];
    check(
        &calendar(&twice),
        "/exceptions/1/overtime/starts",
        code,
        "begin it at 12:00 or later",
    );
    let resting = json!({"overtime": {"date": "2026-06-10", "name": "overtime", "starts": "06:00", "ends": "12:00",
                                      "breaks": [{"starts": "12:00", "ends": "12:30"}]}});
    check(
        &calendar(&[resting]),
        "/exceptions/0/overtime/breaks/0/starts",
        "calendar.break-outside-shift",
        "between 06:00 and 12:00",
    );
    // The shift that would be in the way does not take place.
    let holiday = json!({"holiday": {"date": "2026-06-12", "name": "town fair"}});
    super::calendar(calendar(&[holiday, saturday]));
}

#[test]
fn a_date_is_closed_once_and_in_reach() {
    let closed = |date: &str| json!({"closed": {"date": date}});
    let holiday = json!({"holiday": {"date": "2026-12-25", "name": "Christmas Day"}});
    let twice = json!({"exceptions": [holiday, closed("2026-12-25")]});
    check(
        &twice,
        "/exceptions/1/closed/date",
        "calendar.closed-twice",
        "name it once",
    );
    for date in ["1970-01-01", "1999-12-31", "2200-01-01", "9999-12-31"] {
        let exceptions = json!({"exceptions": [closed(date)]});
        check(
            &exceptions,
            "/exceptions/0/closed/date",
            "calendar.date-out-of-range",
            "2000-01-01 to 2199-12-31",
        );
    }
}

#[test]
fn lists_have_a_limit() {
    let shifts = json!({"shifts": vec![shift("Mon", "06:00", "14:00"); SHIFTS_MAX + 1]});
    check(
        &shifts,
        "/shifts",
        "calendar.too-many-shifts",
        "at most 70 weekly shifts, not 71",
    );
    let exceptions =
        json!({"exceptions": vec![json!({"closed": {"date": "2026-12-25"}}); EXCEPTIONS_MAX + 1]});
    check(
        &exceptions,
        "/exceptions",
        "calendar.too-many-exceptions",
        "at most 2000 exceptions, not 2001",
    );
    let breaks = with_breaks(&[("02:00", "02:30"); BREAKS_MAX + 1]);
    check(
        &breaks,
        "/shifts/0/breaks",
        "calendar.too-many-breaks",
        "at most 10 breaks, not 11",
    );
}

#[test]
fn what_is_no_calendar_is_not_read() {
    for (value, wrong) in [
        (json!({"shifts": [], "holidays": []}), "unknown field `holidays`"),
        (
            json!({"shifts": [{"name": "a", "weekday": "Mon", "starts": "06:00", "ends": "24:00"}]}),
            "midnight is 00:00",
        ),
        (
            json!({"shifts": [{"name": "", "weekday": "Mon", "starts": "06:00", "ends": "14:00"}]}),
            "is no name",
        ),
        (
            json!({"exceptions": [{"closed": {"date": "2026-02-30"}}]}),
            "out of range",
        ),
        (
            json!({"exceptions": [{"closed": {"date": "2026-02-03", "all": true}}]}),
            "unknown field `all`",
        ),
    ] {
        let refusal = serde_json::from_value::<Calendar>(value).unwrap_err().to_string();
        assert!(refusal.contains(wrong), "{refusal}");
    }
}

#[test]
fn every_code_is_listed_once() {
    let codes: std::collections::BTreeSet<_> = CalendarRefusal::CODES.iter().collect();
    assert_eq!(codes.len(), CalendarRefusal::CODES.len());
    assert!(codes.iter().all(|code| code.starts_with("calendar.")));
}
