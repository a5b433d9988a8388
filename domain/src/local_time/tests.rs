use super::*;
use proptest::prelude::*;
use serde_json::Value;

const BERLIN: Tz = Tz::Europe__Berlin;

/// Computed with Python's zoneinfo; `tests/data/time/README.md` says how.
fn vectors() -> Value {
    serde_json::from_str(include_str!("../../../tests/data/time/time_vectors.json")).unwrap()
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap()
}

fn zone(value: &Value) -> Tz {
    text(value).parse().unwrap()
}

fn utc(text: &str) -> Timestamp {
    Timestamp::from_utc(text.parse().unwrap())
}

fn local(text: &str) -> NaiveDateTime {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M").unwrap()
}

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn hours(window: Window) -> f64 {
    f64::from(i32::try_from(window.us() / US_PER_SECOND).unwrap()) / 3600.0
}

/// Floor case E04: "cut started 02:30" on Sunday 2027-03-28 in Berlin.
#[test]
fn a_time_that_does_not_exist_is_refused_with_its_neighbours() {
    for choice in [None, Some(Occurrence::First), Some(Occurrence::Second)] {
        let refusal = resolve(BERLIN, local("2027-03-28T02:30"), choice).unwrap_err();
        let LocalTimeRefusal::DoesNotExist { earlier, later, .. } = &refusal else {
            panic!("{refusal}")
        };
        assert_eq!(earlier.local, local("2027-03-28T01:30"));
        assert_eq!(earlier.at, utc("2027-03-28T00:30:00Z"));
        assert_eq!(later.local, local("2027-03-28T03:30"));
        assert_eq!(later.at, utc("2027-03-28T01:30:00Z"));
        assert_eq!(refusal.code(), "local-time.does-not-exist");
        assert_eq!(
            refusal.to_string(),
            "2027-03-28 02:30:00 does not exist in Europe/Berlin: the clocks go forward over it; \
             say 2027-03-28 01:30:00 or 2027-03-28 03:30:00"
        );
    }
}

#[test]
fn the_neighbours_of_a_half_hour_gap_are_half_an_hour_away() {
    let refusal = resolve(Tz::Australia__Lord_Howe, local("2026-10-04T02:15"), None).unwrap_err();
    let LocalTimeRefusal::DoesNotExist { earlier, later, .. } = refusal else {
        panic!("{refusal}")
    };
    assert_eq!(earlier.to_string(), "2026-10-04T01:45:00+10:30");
    assert_eq!(later.to_string(), "2026-10-04T02:45:00+11:00");
}

/// Floor case E05: "cut started 02:30" on Sunday 2026-10-25 in Berlin; the two choices differ by 60 minutes.
#[test]
fn a_time_that_exists_twice_is_asked_for() {
    let vector = &vectors()["ambiguous"];
    let (zone, typed) = (zone(&vector["zone"]), local(text(&vector["local"])));
    let (one, two) = (utc(text(&vector["utc"][0])), utc(text(&vector["utc"][1])));

    let refusal = resolve(zone, typed, None).unwrap_err();
    assert_eq!(refusal.code(), "local-time.exists-twice");
    assert_eq!(
        refusal.to_string(),
        "2026-10-25 02:30:00 exists twice in Europe/Berlin: say whether the first (2026-10-25T02:30:00+02:00) \
         or the second (2026-10-25T02:30:00+01:00) is meant"
    );
    let LocalTimeRefusal::ExistsTwice { first, second, .. } = refusal else {
        panic!("not asked for")
    };
    assert_eq!((first.at, first.utc_offset_s), (one, 7_200));
    assert_eq!((second.at, second.utc_offset_s), (two, 3_600));

    let first = resolve(zone, typed, Some(Occurrence::First)).unwrap();
    let second = resolve(zone, typed, Some(Occurrence::Second)).unwrap();
    assert_eq!((first, second), (one, two));
    assert_eq!(second.since_us(first), 3_600 * US_PER_SECOND);
}

#[test]
fn a_choice_does_no_harm_where_there_is_none() {
    for choice in [None, Some(Occurrence::First), Some(Occurrence::Second)] {
        let at = resolve(BERLIN, local("2026-06-10T22:00"), choice);
        assert_eq!(at, Ok(utc("2026-06-10T20:00:00Z")));
    }
}

#[test]
fn night_shifts_end_where_the_zone_database_says() {
    let mut checked = 0;
    for row in vectors()["night_shifts_22_06"].as_array().unwrap() {
        let zone = zone(&row["zone"]);
        let wall = |field: &str| local(text(&row[field]).get(..16).unwrap());
        assert_eq!(
            boundary(zone, wall("local_start")).at,
            utc(text(&row["utc_start"])),
            "{row}"
        );
        // 06:00 on the date that Apia left out never was: the shift ends with the jump at midnight.
        let ends = match zone {
            Tz::Pacific__Apia => "2011-12-30T10:00:00Z",
            _ => text(&row["utc_end"]),
        };
        assert_eq!(boundary(zone, wall("local_end")).at, utc(ends), "{row}");
        checked += 1;
    }
    assert_eq!(checked, 14);
}

#[test]
fn civil_days_are_as_long_as_the_zone_database_says() {
    let vectors = vectors();
    let rows = vectors["civil_day_hours"].as_array().unwrap();
    assert_eq!(rows.len(), 7);
    for row in rows {
        let window = day_window(zone(&row[0]), date(text(&row[1])));
        assert_eq!(Some(hours(window)), row[2].as_f64(), "{row}");
    }
}

#[test]
fn iso_weeks_begin_on_their_monday() {
    let vectors = vectors();
    let rows = vectors["iso_weeks"].as_array().unwrap();
    assert_eq!(rows.len(), 19);
    for row in rows {
        let (day, label) = (date(text(&row[0])), text(&row[1]));
        let (week, weekday) = label.rsplit_once('-').unwrap();
        let monday = monday_of(day);
        assert_eq!(
            monday.format("%G-W%V-%u").to_string(),
            format!("{week}-1"),
            "{row}"
        );
        assert_eq!(
            monday + Days::new(weekday.parse::<u64>().unwrap() - 1),
            day,
            "{row}"
        );
    }
}

/// Hours of ISO weeks over a clock change, by Python's zoneinfo.
#[test]
fn a_week_with_a_clock_change_has_167_or_169_hours() {
    let new_york = Tz::America__New_York;
    for (zone, day, week_hours) in [
        (BERLIN, "2026-03-29", 167.0),
        (BERLIN, "2026-10-19", 169.0),
        (new_york, "2026-03-04", 167.0),
        (new_york, "2026-11-01", 169.0),
        (BERLIN, "2026-06-10", 168.0),
    ] {
        assert_eq!(
            hours(iso_week_window(zone, date(day))).to_bits(),
            f64::to_bits(week_hours),
            "{day}"
        );
    }
}

#[test]
fn months_run_from_the_first_to_the_first() {
    let window = month_window(BERLIN, date("2026-12-31"));
    assert_eq!(
        window,
        Window::new(utc("2026-11-30T23:00:00Z"), utc("2026-12-31T23:00:00Z"))
    );
    assert_eq!(
        month_window(BERLIN, date("2026-03-01")).us(),
        (31 * 24 - 1) * 3_600 * US_PER_SECOND
    );
    assert_eq!(
        month_window(BERLIN, date("2026-10-25")).us(),
        (31 * 24 + 1) * 3_600 * US_PER_SECOND
    );
}

/// Instants of the jumps by Python's zoneinfo.
#[test]
fn a_day_begins_with_its_first_instant() {
    for (zone, day, starts) in [
        // No midnight: the clocks went from 24:00 to 01:00.
        (Tz::America__Sao_Paulo, "2018-11-04", "2018-11-04T03:00:00Z"),
        // Midnight twice: the clocks went from 01:00 to 00:00.
        (Tz::America__Havana, "2026-11-01", "2026-11-01T04:00:00Z"),
        // Left out altogether, and the day after it.
        (Tz::Pacific__Apia, "2011-12-30", "2011-12-30T10:00:00Z"),
        (Tz::Pacific__Apia, "2011-12-31", "2011-12-30T10:00:00Z"),
    ] {
        assert_eq!(start_of_day(zone, date(day)), utc(starts), "{zone} {day}");
    }
}

/// At 00:01 on 2010-11-07 the clocks of St. John's went back to 23:01 of the day before (Python's zoneinfo).
#[test]
fn a_date_that_comes_up_again_stays_with_the_new_day() {
    let zone = Tz::America__St_Johns;
    let again = utc("2010-11-07T03:00:00Z");
    assert_eq!(local_instant(zone, again).local, local("2010-11-06T23:30"));
    assert_eq!(local_date(zone, again), date("2010-11-07"));
    assert_eq!(local_date(zone, utc("2010-11-07T02:00:00Z")), date("2010-11-06"));
}

#[test]
fn the_ends_of_time_do_no_harm() {
    for at in [Timestamp(i64::MIN), Timestamp(i64::MAX)] {
        let date = local_date(Tz::Pacific__Apia, at);
        assert!(date == NaiveDate::MIN || date == NaiveDate::MAX, "{date}");
    }
    for date in [NaiveDate::MIN, NaiveDate::MAX] {
        for window in [day_window, iso_week_window, month_window].map(|of| of(BERLIN, date)) {
            assert!(window.from <= window.to, "{date}");
        }
    }
}

fn any_zone() -> impl Strategy<Value = Tz> {
    prop::sample::select(vec![
        BERLIN,
        Tz::America__New_York,
        Tz::America__Havana,
        Tz::America__Sao_Paulo,
        Tz::America__St_Johns,
        Tz::Australia__Lord_Howe,
        Tz::Asia__Kolkata,
        Tz::Pacific__Apia,
    ])
}

/// Minutes from 2005 to 2030: all kinds of clock changes that the zones above have had.
fn any_local() -> impl Strategy<Value = NaiveDateTime> {
    (0..13_149_000_i64).prop_map(|minutes| local("2005-01-01T00:00") + chrono::TimeDelta::minutes(minutes))
}

proptest! {
    #[test]
    fn boundaries_keep_the_order_of_the_wall_clock(zone in any_zone(), one in any_local(), minutes in 0..3_000_i64) {
        let later = one + chrono::TimeDelta::minutes(minutes);
        prop_assert!(boundary(zone, one).at <= boundary(zone, later).at);
    }

    #[test]
    fn an_instant_lies_in_the_day_of_its_date(zone in any_zone(), at in any_local()) {
        let at = Timestamp::from_utc(at.and_utc());
        prop_assert!(day_window(zone, local_date(zone, at)).contains(at));
    }

    #[test]
    fn what_is_accepted_reads_back_as_it_was_typed(zone in any_zone(), typed in any_local()) {
        for choice in [Occurrence::First, Occurrence::Second] {
            if let Ok(at) = resolve(zone, typed, Some(choice)) {
                prop_assert_eq!(local_instant(zone, at).local, typed);
            }
        }
    }
}
