//! A machine's log as a CSV file: `timestamp,state`. It is read whole and either wholly right or not used at all.

mod columns;
mod fault;
#[cfg(test)]
mod tests;

pub use fault::{Fault, Faults};

use super::instant::rfc3339;
use columns::Columns;
use csv::StringRecord;
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::time::Timestamp;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SignalFile {
    /// In the order of the file.
    pub rows: Vec<(Timestamp, MachineState)>,
    /// Columns that are neither the instant nor the state.
    pub unused_columns: Vec<String>,
}

pub fn read(bytes: &[u8]) -> Result<SignalFile, Faults> {
    let text = text(bytes)?;
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(columns::delimiter(text))
        .flexible(true)
        .has_headers(false)
        .from_reader(text.as_bytes());
    let mut records = reader.records();
    let header = match records.next() {
        None => return Err(Faults::of(Fault::nowhere("the file is empty", columns::REMEDY))),
        Some(Err(error)) => return Err(Faults::of(Fault::unreadable(&error))),
        Some(Ok(header)) => header,
    };
    let columns = Columns::find(&header)?;
    let mut rows = Vec::new();
    let mut faults = Faults::default();
    for record in records {
        let read = match &record {
            Ok(record) => row(record, &columns),
            Err(error) => Err(Fault::unreadable(error)),
        };
        match read {
            Ok(row) => rows.push(row),
            Err(fault) => faults.push(fault),
        }
    }
    if rows.is_empty() && faults.is_empty() {
        faults.push(Fault::nowhere(
            "the file has a header and no rows",
            "there is nothing to compute",
        ));
    }
    faults.or(SignalFile {
        rows,
        unused_columns: columns.unused,
    })
}

fn row(record: &StringRecord, columns: &Columns) -> Result<(Timestamp, MachineState), Fault> {
    let line = record.position().map_or(0, csv::Position::line);
    if record.len() != columns.count {
        let many = |count: usize| {
            if count == 1 {
                "1 column".to_owned()
            } else {
                format!("{count} columns")
            }
        };
        return Err(Fault {
            line,
            column: String::new(),
            what: format!(
                "the row has {}, the header {}",
                many(record.len()),
                many(columns.count)
            ),
        });
    }
    let field =
        |(position, name): &(usize, String)| (record.get(*position).unwrap_or_default().trim(), name.clone());
    let (timestamp, column) = field(&columns.timestamp);
    let at = rfc3339(timestamp).map_err(|what| Fault { line, column, what })?;
    let (state, column) = field(&columns.state);
    let state = MachineState::parse(state).map_err(|_| Fault::state(line, column, state))?;
    Ok((at, state))
}

/// UTF-8, with or without a byte-order mark.
fn text(bytes: &[u8]) -> Result<&str, Faults> {
    if bytes.starts_with(b"\xFF\xFE") || bytes.starts_with(b"\xFE\xFF") {
        return Err(Faults::of(Fault::nowhere(
            "the file is UTF-16",
            "save it as CSV in UTF-8",
        )));
    }
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    std::str::from_utf8(bytes).map_err(|error| {
        let before = bytes.get(..error.valid_up_to()).unwrap_or_default();
        let line = before.split(|byte| *byte == b'\n').count() as u64;
        Faults::of(Fault {
            line,
            column: String::new(),
            what: "the line is not UTF-8: save the file as CSV in UTF-8".to_owned(),
        })
    })
}
