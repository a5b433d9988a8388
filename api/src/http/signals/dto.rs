use crate::http::body;
use crate::http::instant::{AtLocal, Instant};
use crate::http::local_time::Given;
use crate::http::text;
use crate::problem::{FieldError, Place, Problem};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{MachineId, Seq};
use spindlebook_domain::machine::{CYCLES_MAX, ClockOffset, ReceiveSignals, SIGNAL_ROWS_MAX};
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::time::{Timestamp, Window};
use utoipa::ToSchema;

/// What a device tells of a machine. Rows may come late, out of order and again.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"sent_at": "2026-11-02T07:10:00Z", "transitions": [{"at": "2026-11-02T06:00:00Z",
    "state": "ACTIVE"}, {"at": "2026-11-02T07:02:00Z", "state": "READY"}]}))]
pub struct SignalsBody {
    /// What the device's clock read when it sent. The difference to the server's clock, as that read when the head of
    /// the request arrived, is added to every instant of the call, so that durations never change; without it,
    /// instants are taken as they are.
    #[schema(value_type = Option<text::Instant>)]
    pub sent_at: Option<Instant>,
    #[serde(default)]
    #[schema(max_items = 50_000)]
    pub transitions: Vec<TransitionDto>,
    /// Finished cuts, from a device that knows no states. Where they overlap, the time counts once.
    #[serde(default)]
    #[schema(max_items = 5_000)]
    pub cycles: Vec<CycleDto>,
    /// The device would have told of any other cut in this window: outside of the cycles nothing ran.
    pub covers: Option<CycleDto>,
}

/// The machine is in `state` from then on.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Transition)]
pub struct TransitionDto {
    /// This or `at_local`.
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    #[schema(value_type = text::MachineState)]
    pub state: StateName,
}

/// From `from` (or `from_local`) until just before `to` (or `to_local`).
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Cycle)]
pub struct CycleDto {
    #[schema(value_type = Option<text::Instant>)]
    pub from: Option<Instant>,
    pub from_local: Option<AtLocal>,
    #[schema(value_type = Option<text::Instant>)]
    pub to: Option<Instant>,
    pub to_local: Option<AtLocal>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(try_from = "std::borrow::Cow<'_, str>")]
pub struct StateName(pub MachineState);

impl TryFrom<std::borrow::Cow<'_, str>> for StateName {
    type Error = spindlebook_domain::machine_state::UnknownMachineState;
    fn try_from(name: std::borrow::Cow<'_, str>) -> Result<Self, Self::Error> {
        MachineState::parse(&name).map(Self)
    }
}

/// What became of a call.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = SignalsReceived, example = json!({"rows": 2, "new_rows": 2, "repeated": 0, "out_of_order": 0, "cycles": 0, "entries": [4211],
    "clock_offset_us": 0}))]
pub struct SignalsReceivedDto {
    /// How many transitions the call had.
    #[schema(minimum = 0)]
    pub rows: usize,
    /// How many of them are in the ledger now that were not before.
    #[schema(minimum = 0)]
    pub new_rows: usize,
    /// How many said what was known, or were overtaken by a row of the same instant.
    #[schema(minimum = 0)]
    pub repeated: usize,
    /// How many came after a later one. They are sorted in.
    #[schema(minimum = 0)]
    pub out_of_order: usize,
    /// How many cycles are in the ledger now.
    #[schema(minimum = 0)]
    pub cycles: usize,
    /// The entries that the call gave; none if it said nothing new.
    #[schema(value_type = Vec<text::Seq>, max_items = 20)]
    pub entries: Vec<Seq>,
    /// What was added to the device's instants.
    #[schema(minimum = -9_007_199_254_740_991_i64, maximum = 9_007_199_254_740_991_i64)]
    pub clock_offset_us: i64,
}

impl SignalsBody {
    pub fn into_command(
        self,
        machine: MachineId,
        zone: Tz,
        received_at: Timestamp,
    ) -> Result<ReceiveSignals, Problem> {
        self.has_something()?;
        at_most("/transitions", self.transitions.len(), SIGNAL_ROWS_MAX)?;
        at_most("/cycles", self.cycles.len(), CYCLES_MAX)?;
        let rows: Result<Vec<_>, Problem> = self
            .transitions
            .iter()
            .zip(0..)
            .map(|(row, index)| row.read(zone, index))
            .collect();
        let cycles: Result<Vec<_>, Problem> = self
            .cycles
            .iter()
            .zip(0..)
            .map(|(cycle, index): (_, usize)| cycle.read(zone, &|| format!("/cycles/{index}")))
            .collect();
        let covers = self
            .covers
            .map(|covers| covers.read(zone, &|| "/covers".to_owned()));
        Ok(ReceiveSignals {
            machine,
            rows: rows?,
            cycles: cycles?,
            covers: covers.transpose()?,
            clock: self.sent_at.map(|sent_at| ClockOffset {
                device_sent_at: sent_at.0,
                received_at,
            }),
        })
    }

    fn has_something(&self) -> Result<(), Problem> {
        if self.transitions.is_empty() && self.cycles.is_empty() && self.covers.is_none() {
            let detail = "there is nothing in it: send `transitions`, `cycles` or `covers`";
            return Err(body::invalid(FieldError::at(
                Place::pointer("/transitions"),
                "missing",
                detail,
            )));
        }
        Ok(())
    }
}

/// Said here, where the field is known; the rule itself stands in the domain.
pub fn at_most(pointer: &str, rows: usize, max: usize) -> Result<(), Problem> {
    if rows <= max {
        return Ok(());
    }
    let detail =
        format!("{rows} rows are more than {max}, the most that one call takes; send them in several");
    Err(body::invalid(FieldError::at(
        Place::pointer(pointer),
        "too-many",
        detail,
    )))
}

impl TransitionDto {
    fn read(&self, zone: Tz, index: usize) -> Result<(Timestamp, MachineState), Problem> {
        let given = Given {
            place: &|| format!("/transitions/{index}"),
            field: "at",
            local_field: "at_local",
            at: self.at,
            at_local: self.at_local,
        };
        Ok((given.required(zone)?, self.state.0))
    }
}

impl CycleDto {
    fn read(&self, zone: Tz, place: &dyn Fn() -> String) -> Result<Window, Problem> {
        let from = Given {
            place,
            field: "from",
            local_field: "from_local",
            at: self.from,
            at_local: self.from_local,
        };
        let to = Given {
            place,
            field: "to",
            local_field: "to_local",
            at: self.to,
            at_local: self.to_local,
        };
        Ok(Window::new(from.required(zone)?, to.required(zone)?))
    }
}

impl SignalsReceivedDto {
    pub fn new<'a>(sent_rows: usize, entries: impl IntoIterator<Item = (Seq, &'a Event)>) -> Self {
        let mut all = Self {
            rows: sent_rows,
            new_rows: 0,
            repeated: 0,
            out_of_order: 0,
            cycles: 0,
            entries: Vec::new(),
            clock_offset_us: 0,
        };
        for (seq, event) in entries {
            all.entries.push(seq);
            match event {
                Event::SignalsReceived(received) => {
                    all.new_rows += received.state.len();
                    all.out_of_order += usize::try_from(received.out_of_order).unwrap_or(usize::MAX);
                    all.clock_offset_us = received.clock_offset_us;
                }
                Event::CyclesReceived(received) => {
                    all.cycles += received.cycles.len();
                    all.clock_offset_us = received.clock_offset_us;
                }
                _ => {}
            }
        }
        // A call without anything new gives no entry; every one of its rows is a repeat then.
        all.repeated = sent_rows - all.new_rows;
        all
    }
}
