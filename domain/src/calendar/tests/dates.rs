use super::*;

/// Computed with Python's zoneinfo; `tests/data/time/README.md` says how.
#[test]
fn night_shifts_are_as_long_as_the_zone_database_says() {
    let vectors: Value =
        serde_json::from_str(include_str!("../../../../tests/data/time/time_vectors.json")).unwrap();
    let rows = vectors["night_shifts_22_06"].as_array().unwrap();
    assert_eq!(rows.len(), 14);
    for row in rows {
        let text = |field: &str| row[field].as_str().unwrap();
        let zone: Tz = text("zone").parse().unwrap();
        let shift_date = date(text("local_start").get(..10).unwrap());
        // 06:00 on the date that Apia left out never was: the shift ends with the jump at midnight.
        let ends = if zone == Tz::Pacific__Apia {
            "2011-12-30T10:00:00Z"
        } else {
            text("utc_end")
        };
        let expected = window(text("utc_start"), ends);
        let found = shifts_of(&nights(&json!([])), zone, shift_date);
        assert_eq!(
            found.iter().map(|shift| shift.window).collect::<Vec<_>>(),
            [expected],
            "{row}"
        );
    }
}

/// Floor case E06: a night of 22:00 to 06:00 with one break of 30 min, wherever in the night the break lies.
#[test]
fn staffed_hours_are_right_in_nights_when_the_clocks_change() {
    let lord_howe = Tz::Australia__Lord_Howe;
    let clock = |minute: u16| TimeOfDay::new(22, 0).unwrap().plus_minutes(minute).to_string();
    for after_min in (0..=450).step_by(5) {
        let versions = nights(&json!([{"starts": clock(after_min), "ends": clock(after_min + 30)}]));
        for (zone, night, staffed_min) in [
            (BERLIN, "2026-10-24", 8 * 60 + 30),
            (BERLIN, "2027-03-27", 6 * 60 + 30),
            (BERLIN, "2026-06-10", 7 * 60 + 30),
            (Tz::America__New_York, "2026-10-31", 8 * 60 + 30),
            (Tz::America__New_York, "2026-03-07", 6 * 60 + 30),
            (lord_howe, "2026-04-04", 8 * 60),
            (lord_howe, "2026-10-03", 7 * 60),
        ] {
            let shifts = shifts_of(&versions, zone, date(night));
            let all: Vec<_> = shifts.iter().map(|shift| shift.window).collect();
            let staffed: i64 = all
                .iter()
                .map(|window| staffed_us(&versions, zone, *window))
                .sum();
            assert_eq!(
                minutes(staffed),
                staffed_min,
                "{zone} {night}, break at {}",
                clock(after_min)
            );
        }
    }
}

#[test]
fn a_break_lies_where_the_wall_clock_says() {
    let versions = nights(&json!([{"starts": "04:00", "ends": "04:30"}]));
    let breaks = |night: &str| shifts_of(&versions, BERLIN, date(night)).remove(0).breaks;
    assert_eq!(
        breaks("2026-10-24"),
        [window("2026-10-25T03:00:00Z", "2026-10-25T03:30:00Z")]
    );
    assert_eq!(
        breaks("2027-03-27"),
        [window("2027-03-28T02:00:00Z", "2027-03-28T02:30:00Z")]
    );
    // A long one that has the jump inside is an hour shorter, as the clock on the wall has it.
    let split = nights(&json!([{"starts": "00:00", "ends": "04:00"}]));
    let breaks = shifts_of(&split, BERLIN, date("2027-03-27")).remove(0).breaks;
    assert_eq!(breaks, [window("2027-03-27T23:00:00Z", "2027-03-28T02:00:00Z")]);
}

#[test]
fn breaks_in_a_gap_follow_each_other() {
    let breaks = json!([{"starts": "02:00", "ends": "02:30"}, {"starts": "02:45", "ends": "03:00"},
                        {"starts": "03:00", "ends": "03:15"}]);
    let found = shifts_of(&nights(&breaks), BERLIN, date("2027-03-27"))
        .remove(0)
        .breaks;
    let expected = [
        window("2027-03-28T01:00:00Z", "2027-03-28T01:30:00Z"),
        window("2027-03-28T01:30:00Z", "2027-03-28T01:45:00Z"),
        window("2027-03-28T01:45:00Z", "2027-03-28T02:00:00Z"),
    ];
    assert_eq!(found, expected);
}

#[test]
fn a_shift_inside_a_gap_does_not_take_place() {
    let versions = versions(json!({"shifts": daily("inspection", "02:00", "03:00", &json!([]))}));
    assert_eq!(shifts_of(&versions, BERLIN, date("2027-03-28")), []);
    // The same shift in the doubled hour lasts until 03:00 comes.
    let doubled = shifts_of(&versions, BERLIN, date("2026-10-25"));
    assert_eq!(
        doubled.first().unwrap().window,
        window("2026-10-25T00:00:00Z", "2026-10-25T02:00:00Z")
    );
}

#[test]
fn shifts_that_meet_in_a_changed_hour_meet_in_time() {
    let mut shifts = daily("first", "20:00", "02:30", &json!([]));
    shifts.extend(daily("second", "02:30", "10:00", &json!([])));
    let versions = versions(json!({"shifts": shifts}));
    for (night, morning) in [("2026-10-24", "2026-10-25"), ("2027-03-27", "2027-03-28")] {
        let first = shifts_of(&versions, BERLIN, date(night)).pop().unwrap();
        let second = shifts_of(&versions, BERLIN, date(morning)).remove(0);
        assert_eq!((first.name.as_str(), second.name.as_str()), ("first", "second"));
        assert_eq!(first.window.to, second.window.from);
    }
}

#[test]
fn a_shift_belongs_to_the_date_on_which_it_begins() {
    // A window of Saturday morning finds Friday's night shift, whole.
    let versions = nights(&json!([]));
    let found = shifts_in(
        &versions,
        BERLIN,
        window("2026-06-13T00:00:00Z", "2026-06-13T01:00:00Z"),
    );
    assert_eq!(found.len(), 1);
    let shift = found.first().unwrap();
    assert_eq!((shift.shift_date, shift.overtime), (date("2026-06-12"), false));
    assert_eq!(
        shift.window,
        window("2026-06-12T20:00:00Z", "2026-06-13T04:00:00Z")
    );
    // Ends and starts that only touch a window are outside of it.
    assert_eq!(
        shifts_in(
            &versions,
            BERLIN,
            window("2026-06-13T04:00:00Z", "2026-06-13T20:00:00Z")
        ),
        []
    );
}

/// Floor case E07: by shift date a cut from 23:30 to 01:10 lies wholly in the day of the shift from 22:00 to 06:00.
#[test]
fn a_cut_over_midnight_lies_in_one_production_day() {
    let versions = nights(&json!([]));
    let cut = window("2026-06-10T21:30:00Z", "2026-06-10T23:10:00Z");
    let day = production_day(&versions, BERLIN, date("2026-06-10"));
    assert_eq!(day, window("2026-06-10T20:00:00Z", "2026-06-11T20:00:00Z"));
    assert_eq!(minutes(day.overlap(cut).unwrap().us()), 100);
    let civil = ["2026-06-10", "2026-06-11"].map(|day| crate::local_time::day_window(BERLIN, date(day)));
    assert_eq!(civil.map(|day| minutes(day.overlap(cut).unwrap().us())), [30, 70]);
}

#[test]
fn production_days_without_shifts_begin_at_midnight_or_when_the_night_has_ended() {
    // A shift from Friday 22:00 on; Saturday and Sunday have none, Monday begins at 06:00.
    let versions = versions(json!({"shifts": [
        {"name": "night", "weekday": "Fri", "starts": "22:00", "ends": "06:00"},
        {"name": "early", "weekday": "Mon", "starts": "06:00", "ends": "14:00"},
    ]}));
    let day = |text: &str| production_day(&versions, BERLIN, date(text));
    assert_eq!(
        day("2026-06-12"),
        window("2026-06-12T20:00:00Z", "2026-06-13T04:00:00Z")
    );
    assert_eq!(
        day("2026-06-13"),
        window("2026-06-13T04:00:00Z", "2026-06-13T22:00:00Z")
    );
    assert_eq!(
        day("2026-06-14"),
        window("2026-06-13T22:00:00Z", "2026-06-15T04:00:00Z")
    );
    assert_eq!(
        day("2026-06-15"),
        window("2026-06-15T04:00:00Z", "2026-06-15T22:00:00Z")
    );
}

#[test]
fn exceptions_change_single_dates() {
    // 2026-12-24 is a Thursday.
    let versions = versions(json!({
        "shifts": daily("night", "22:00", "06:00", &json!([])),
        "exceptions": [
            {"closed": {"date": "2026-12-24"}},
            {"holiday": {"date": "2026-12-25", "name": "Christmas Day"}},
            {"overtime": {"date": "2026-12-25", "name": "furnace watch", "starts": "10:00", "ends": "12:00"}},
            {"overtime": {"date": "2026-12-26", "name": "stocktaking", "starts": "08:00", "ends": "12:00",
                          "breaks": [{"starts": "10:00", "ends": "10:30"}]}},
        ],
    }));
    let found = shifts_in(
        &versions,
        BERLIN,
        window("2026-12-23T12:00:00Z", "2026-12-27T12:00:00Z"),
    );
    let found: Vec<_> = found
        .iter()
        .map(|shift| (shift.name.as_str(), shift.shift_date, shift.overtime))
        .collect();
    let expected = [
        // The night that began before the closed date runs to its end.
        ("night", date("2026-12-23"), false),
        ("furnace watch", date("2026-12-25"), true),
        ("stocktaking", date("2026-12-26"), true),
        ("night", date("2026-12-26"), false),
    ];
    assert_eq!(found, expected);
    let saturday = production_day(&versions, BERLIN, date("2026-12-26"));
    assert_eq!(
        minutes(staffed_us(&versions, BERLIN, saturday)),
        3 * 60 + 30 + 8 * 60
    );
}

#[test]
fn breaks_are_unstaffed_but_attended() {
    let mut shifts = daily(
        "early",
        "06:00",
        "14:00",
        &json!([{"starts": "09:00", "ends": "09:30"}]),
    );
    shifts.extend(daily(
        "late",
        "14:00",
        "22:00",
        &json!([{"starts": "14:00", "ends": "14:15"}]),
    ));
    let versions = versions(json!({"shifts": shifts}));
    let day = window("2026-06-10T05:00:00Z", "2026-06-10T19:00:00Z");
    assert_eq!(attended(&versions, BERLIN, day), [day]);
    let expected = [
        window("2026-06-10T05:00:00Z", "2026-06-10T07:00:00Z"),
        window("2026-06-10T07:30:00Z", "2026-06-10T12:00:00Z"),
        window("2026-06-10T12:15:00Z", "2026-06-10T19:00:00Z"),
    ];
    assert_eq!(staffed(&versions, BERLIN, day), expected);
    assert_eq!(minutes(staffed_us(&versions, BERLIN, day)), 14 * 60 - 45);
    let empty = window("2026-06-10T05:00:00Z", "2026-06-10T05:00:00Z");
    assert_eq!(staffed(&versions, BERLIN, empty), []);
}

#[test]
fn at_a_change_of_version_the_earlier_shift_runs_to_its_end() {
    let mut versions = nights(&json!([]));
    versions.set(
        date("2026-06-11"),
        calendar(json!({"shifts": [
            {"name": "watch", "weekday": "Thu", "starts": "01:00", "ends": "05:00"},
            {"name": "early", "weekday": "Thu", "starts": "05:00", "ends": "13:00",
             "breaks": [{"starts": "05:30", "ends": "06:30"}]},
        ]})),
    );
    // 2026-06-11 is a Thursday; the night of the day before lasts until 06:00.
    let found = shifts_of(&versions, BERLIN, date("2026-06-11"));
    assert_eq!(found.len(), 1);
    let early = found.first().unwrap();
    assert_eq!(
        (early.name.as_str(), early.window.from),
        ("early", utc("2026-06-11T04:00:00Z"))
    );
    assert_eq!(
        early.breaks,
        [window("2026-06-11T04:00:00Z", "2026-06-11T04:30:00Z")]
    );
    assert_eq!(
        production_day(&versions, BERLIN, date("2026-06-11")).from,
        early.window.from
    );
}

#[test]
fn a_year_of_nights_has_as_many_hours_as_its_days_have() {
    let versions = nights(&json!([{"starts": "02:00", "ends": "02:30"}]));
    let year = Window::new(
        production_day(&versions, BERLIN, date("2026-01-01")).from,
        production_day(&versions, BERLIN, date("2027-01-01")).from,
    );
    assert_eq!(shifts_in(&versions, BERLIN, year).len(), 365);
    // One night is an hour shorter and one an hour longer.
    assert_eq!(minutes(staffed_us(&versions, BERLIN, year)), 365 * 450);
}

#[test]
fn windows_beyond_the_ledger_cost_nothing() {
    let versions = nights(&json!([]));
    let (first, last) = (Timestamp(i64::MIN), Timestamp(i64::MAX));
    assert_eq!(
        shifts_in(&versions, BERLIN, Window::new(first, Timestamp::MIN)),
        []
    );
    assert_eq!(
        shifts_in(&versions, BERLIN, Window::new(Timestamp::MAX, last)),
        []
    );
    assert_eq!(shifts_in(&versions, BERLIN, Window::new(last, first)), []);
    for date in [NaiveDate::MIN, NaiveDate::MAX] {
        let day = production_day(&versions, BERLIN, date);
        assert!(day.from <= day.to);
    }
}
