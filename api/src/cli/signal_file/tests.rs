use super::read;
use spindlebook_domain::machine_state::MachineState;

fn refused(text: &str) -> String {
    read(text.as_bytes()).unwrap_err().to_string()
}

#[test]
fn spreadsheets_and_loggers_write_the_same_file_in_many_ways() {
    let plain = "timestamp,state\n2026-10-24T06:00:00Z,ACTIVE\n2026-10-24T07:00:00Z,READY\n";
    let expected = read(plain.as_bytes()).unwrap();
    assert_eq!(expected.rows.len(), 2);
    assert_eq!(expected.rows[0].1, MachineState::Active);
    for same in [
        format!("\u{feff}{plain}"),
        plain.replace('\n', "\r\n"),
        plain.replace(',', ";"),
        plain.replace(',', "\t"),
        plain.replace("timestamp,state", " timestamp , state "),
        plain.replace("06:00:00Z,ACTIVE", "08:00:00+02:00,\"ACTIVE\""),
        format!("{}\n\n", plain.trim_end()),
    ] {
        assert_eq!(read(same.as_bytes()).as_ref(), Ok(&expected), "{same:?}");
    }
}

#[test]
fn other_columns_are_left_alone_and_told() {
    let file = read(b"file_day,state,timestamp\n20261024,OFF,2026-10-24T06:00:00Z\n").unwrap();
    assert_eq!(file.rows[0].1, MachineState::Off);
    assert_eq!(file.unused_columns, ["file_day"]);
}

#[test]
fn a_header_is_needed_and_a_near_name_is_a_hint() {
    for (text, told) in [
        (
            "",
            "the file is empty; the first line must name the columns: timestamp,state",
        ),
        (
            "Timestamp,state\n",
            "line 1, column timestamp: there is no such column; is it `Timestamp`?",
        ),
        ("time,state\n", "is it `time`? Then rename that to `timestamp`"),
        ("timestmap,state\n", "is it `timestmap`?"),
        (
            "timestamp,execution\n",
            "line 1, column state: there is no such column; is it `execution`?",
        ),
        (
            "2026-10-24T06:00:00Z,ACTIVE\n",
            "the first line must name the columns: timestamp,state",
        ),
        (
            "timestamp,state,state\n",
            "line 1, column state: stands twice, again as column 3",
        ),
        ("timestamp,state\n", "no rows"),
    ] {
        let refused = refused(text);
        assert!(refused.contains(told), "{text:?}: {refused}");
    }
}

#[test]
fn a_bad_row_is_told_with_line_column_value_and_remedy() {
    let bad = "timestamp,state\n\
        2026-10-24T06:00:00Z,ACTIVE\n\
        2026-10-24T07:00:00,READY\n\
        2026-10-24T08:00:00Z,ready\n\
        2026-10-24T09:00:00Z,RUNNING\n\
        2026-10-24T10:00:00Z\n\
        1970-01-01T00:00:00Z,READY\n";
    let refused = refused(bad);
    let lines: Vec<_> = refused.lines().collect();
    assert_eq!(lines.len(), 5);
    assert!(lines[0].starts_with("line 3, column timestamp: `2026-10-24T07:00:00` says no offset to UTC"));
    assert_eq!(lines[1], "line 4, column state: `ready` is no state: write READY");
    assert!(
        lines[2].starts_with("line 5, column state: `RUNNING` is no state: write one of UNAVAILABLE, READY,")
    );
    assert_eq!(lines[3], "line 6: the row has 1 column, the header 2 columns");
    assert!(
        lines[4].starts_with(
            "line 7, column timestamp: `1970-01-01T00:00:00Z` is not between 2000-01-01T00:00:00Z"
        )
    );
}

#[test]
fn the_first_twenty_faults_are_listed_and_the_rest_is_counted() {
    let refused = refused(&format!("timestamp,state\n{}", "now,ACTIVE\n".repeat(152)));
    assert_eq!(refused.lines().count(), 21);
    assert!(refused.ends_with("\nand 132 more"));
}

#[test]
fn other_encodings_are_named() {
    assert!(read(b"\xFF\xFEt\0").unwrap_err().to_string().contains("UTF-16"));
    let latin = read(b"timestamp,state,note\n2026-10-24T06:00:00Z,ACTIVE,f\xFCr\n").unwrap_err();
    assert_eq!(
        latin.to_string(),
        "line 2: the line is not UTF-8: save the file as CSV in UTF-8"
    );
}
