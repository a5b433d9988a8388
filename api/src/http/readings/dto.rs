use crate::http::body;
use crate::http::instant::{AtLocal, Instant};
use crate::http::local_time::Given;
use crate::http::signals::dto::at_most;
use crate::http::text;
use crate::http::whole::{EXACT_MAX, Whole};
use crate::problem::{FieldError, Place, Problem};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{MachineId, Seq};
use spindlebook_domain::machine::{ClockOffset, READINGS_MAX, Reading, ReceiveReadings};
use spindlebook_domain::time::Timestamp;
use utoipa::ToSchema;

/// Readings of the control's counters, in order.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"readings": [{"at": "2026-11-02T06:00:00Z", "powered_on_s": 7_200_000, "in_cut_s": 1_980_000}]}))]
pub struct ReadingsBody {
    /// What the device's clock read when it sent; the difference to the server's, when the head of the request
    /// arrived, is added to every instant.
    #[schema(value_type = Option<text::Instant>)]
    pub sent_at: Option<Instant>,
    #[schema(min_items = 1, max_items = 500)]
    pub readings: Vec<ReadingBody>,
}

/// The counters run on for ever; two readings give the hours between them.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingBody {
    /// This or `at_local`.
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    pub powered_on_s: Counter,
    pub in_cut_s: Counter,
    /// The counters were reset, or the control replaced, since the reading before.
    #[serde(default)]
    pub reset: Option<bool>,
}

pub type Counter = Whole<0, EXACT_MAX>;

/// What became of a call.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ReadingsReceived, example = json!({"rows": 1, "new_rows": 1, "repeated": 0, "entries": [4212], "clock_offset_us": 0}))]
pub struct ReadingsReceivedDto {
    #[schema(minimum = 0)]
    pub rows: usize,
    #[schema(minimum = 0)]
    pub new_rows: usize,
    /// How many said again what the one before had said.
    #[schema(minimum = 0)]
    pub repeated: usize,
    #[schema(value_type = Vec<text::Seq>, max_items = 1)]
    pub entries: Vec<Seq>,
    /// What was added to the device's instants.
    #[schema(minimum = -9_007_199_254_740_991_i64, maximum = 9_007_199_254_740_991_i64)]
    pub clock_offset_us: i64,
}

#[derive(Clone, Debug, Serialize, ToSchema)]
#[schema(as = Reading)]
pub struct ReadingDto {
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    #[schema(minimum = 0)]
    pub powered_on_s: i64,
    #[schema(minimum = 0)]
    pub in_cut_s: i64,
    pub reset: bool,
    /// The entry that brought it.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
}

/// A page of readings, the oldest first.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"at": "2026-11-02T06:00:00Z", "powered_on_s": 7_200_000, "in_cut_s": 1_980_000,
    "reset": false, "seq": 4212}], "next_cursor": null}))]
pub struct ReadingPage {
    #[schema(max_items = 200)]
    pub items: Vec<ReadingDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

impl ReadingsBody {
    pub fn into_command(
        self,
        machine: MachineId,
        zone: Tz,
        received_at: Timestamp,
    ) -> Result<ReceiveReadings, Problem> {
        if self.readings.is_empty() {
            let detail = "there is nothing in it: send at least one reading";
            return Err(body::invalid(FieldError::at(
                Place::pointer("/readings"),
                "missing",
                detail,
            )));
        }
        at_most("/readings", self.readings.len(), READINGS_MAX)?;
        let readings: Result<Vec<_>, Problem> = self
            .readings
            .iter()
            .zip(0..)
            .map(|(reading, index)| reading.read(zone, index))
            .collect();
        Ok(ReceiveReadings {
            machine,
            readings: readings?,
            clock: self.sent_at.map(|sent_at| ClockOffset {
                device_sent_at: sent_at.0,
                received_at,
            }),
        })
    }
}

impl ReadingBody {
    fn read(&self, zone: Tz, index: usize) -> Result<Reading, Problem> {
        let given = Given {
            place: &|| format!("/readings/{index}"),
            field: "at",
            local_field: "at_local",
            at: self.at,
            at_local: self.at_local,
        };
        Ok(Reading {
            at: given.required(zone)?,
            powered_on_s: self.powered_on_s.to(),
            in_cut_s: self.in_cut_s.to(),
            reset: self.reset.unwrap_or(false),
        })
    }
}

impl ReadingsReceivedDto {
    pub fn new<'a>(sent_rows: usize, entries: impl IntoIterator<Item = (Seq, &'a Event)>) -> Self {
        let mut all = Self {
            rows: sent_rows,
            new_rows: 0,
            repeated: sent_rows,
            entries: Vec::new(),
            clock_offset_us: 0,
        };
        for (seq, event) in entries {
            if let Event::ReadingsReceived(received) = event {
                all.entries.push(seq);
                all.new_rows = received.readings.len();
                all.repeated = sent_rows - all.new_rows;
                all.clock_offset_us = received.clock_offset_us;
            }
        }
        all
    }
}
