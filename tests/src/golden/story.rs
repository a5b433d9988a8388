//! What is told to a golden log: an invented shop over the week in which the clocks of Berlin went forward, with every
//! kind of event at least once.

use super::{catalogue, late, tablets, work};
use crate::site::{add_principal, create, submit};
use anyhow::Result;
use serde_json::json;
use spindlebook::book::{Book, QUEUE_MAX};
use spindlebook::clock::{Clock, SetClock};
use spindlebook_domain::access::{
    DisablePrincipal, EnablePrincipal, ForgetPrincipal, SetPrincipalRoles, SetPrincipalSecret,
};
use spindlebook_domain::calendar::Calendar;
use spindlebook_domain::cell::{AddCell, CellKind, ChangeCell, ClearCellCalendar, SetCellCalendar};
use spindlebook_domain::ids::{CellId, MachineId, PlanId, PrincipalId, SiteId, TextId};
use spindlebook_domain::machine::{
    AddMachine, ChangeMachine, DownReason, Placement, Reading, ReceiveReadings, ReceiveSignals,
    SetMachineDown, SetMachineUp,
};
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::note::NoteRef;
use spindlebook_domain::plan::{PostPlan, PublishPlan, Slot};
use spindlebook_domain::role::Role;
use spindlebook_domain::site::{ChangeSite, SetSiteCalendar};
use spindlebook_domain::time::{Timestamp, Window};
use spindlebook_store::Store;
use std::collections::BTreeSet;
use std::sync::Arc;
use uuid::Uuid;

/// 2026-03-23T00:00:00Z, a Monday. The clocks went forward on the Sunday after it.
pub const FROM: Timestamp = Timestamp(1_774_224_000_000_000);
const DAY_S: i64 = 86_400;

/// What one has to know to ask for the hours of the story.
pub struct Told {
    pub site: SiteId,
    pub cell: CellId,
    pub viewer: PrincipalId,
    pub from: Timestamp,
    pub to: Timestamp,
}

struct Teller {
    book: Book,
    clock: Arc<SetClock>,
    site: SiteId,
}

impl Teller {
    /// Every command has an instant of its own.
    async fn does(&self, command: impl Into<spindlebook_domain::command::Command>) -> Result<()> {
        self.clock.advance_s(7);
        submit(&self.book, self.site, command).await
    }
}

pub async fn tell(store: &Store, code: &str) -> Result<Told> {
    let clock = Arc::new(SetClock::at(FROM));
    let site = create(store, clock.as_ref(), code, chrono_tz::Europe::Berlin).await?;
    let book = Book::open(store.clone(), Arc::clone(&clock) as Arc<dyn Clock>, QUEUE_MAX).await?;
    let teller = Teller { book, clock, site };
    let viewer = people(&teller).await?;
    calendars(&teller).await?;
    let cell = pool(&teller).await?;
    for command in catalogue(cell)? {
        teller.does(command).await?;
    }
    for command in work(teller.clock.now())? {
        teller.does(command).await?;
    }
    late(&teller.book, site, teller.clock.now()).await?;
    let device = add_principal(&teller.book, site, Role::Device).await?;
    let person = add_principal(&teller.book, site, Role::Operator).await?;
    for command in tablets(device, person, cell, teller.clock.now()) {
        teller.does(command).await?;
    }
    let mills = machines(&teller, cell).await?;
    plans(&teller, &mills).await?;
    teller.clock.set(FROM.plus_s(8 * DAY_S));
    signals(&teller, &mills).await?;
    readings(&teller, mills[0]).await?;
    down(&teller, mills[1]).await?;
    teller.book.stop().await;
    Ok(Told {
        site,
        cell,
        viewer,
        from: FROM,
        to: FROM.plus_s(7 * DAY_S),
    })
}

async fn people(teller: &Teller) -> Result<PrincipalId> {
    let (book, site) = (&teller.book, teller.site);
    add_principal(book, site, Role::Admin).await?;
    let viewer = add_principal(book, site, Role::Viewer).await?;
    let planner = add_principal(book, site, Role::Planner).await?;
    add_principal(book, site, Role::Integration).await?;
    let leaver = add_principal(book, site, Role::Operator).await?;
    let roles = BTreeSet::from([Role::Planner, Role::Inspector]);
    teller
        .does(SetPrincipalRoles {
            principal: planner,
            roles,
            expected: None,
        })
        .await?;
    teller
        .does(SetPrincipalSecret {
            principal: planner,
            expected: None,
        })
        .await?;
    teller
        .does(DisablePrincipal {
            principal: leaver,
            expected: None,
        })
        .await?;
    teller
        .does(EnablePrincipal {
            principal: leaver,
            expected: None,
        })
        .await?;
    teller.does(ForgetPrincipal { principal: leaver }).await?;
    Ok(viewer)
}

fn calendar(starts: &str, ends: &str) -> Result<Calendar> {
    let shift = |weekday: &str, name: &str, starts: &str, ends: &str, break_at: &str, break_until: &str| {
        json!({ "name": name, "weekday": weekday, "starts": starts, "ends": ends,
                "breaks": [{ "starts": break_at, "ends": break_until }] })
    };
    let days =
        ["Mon", "Tue", "Wed", "Thu", "Fri"].map(|day| shift(day, "Day", starts, ends, "10:00", "10:30"));
    let night = shift("Sat", "Night", "22:00", "06:00", "03:30", "04:00");
    let shifts: Vec<_> = days.into_iter().chain([night]).collect();
    let exceptions = json!([
        { "overtime": { "date": "2026-03-28", "name": "Saturday", "starts": "07:00", "ends": "11:00", "breaks": [] } },
        { "holiday": { "date": "2026-04-03", "name": "Good Friday" } },
    ]);
    Ok(serde_json::from_value(
        json!({ "shifts": shifts, "exceptions": exceptions }),
    )?)
}

async fn calendars(teller: &Teller) -> Result<()> {
    let name = "Invented shop, told".parse()?;
    teller
        .does(ChangeSite {
            name,
            zone: chrono_tz::Europe::Berlin,
            expected: None,
        })
        .await?;
    let valid_from = "2026-01-01".parse()?;
    let calendar = calendar("06:00", "14:00")?;
    teller
        .does(SetSiteCalendar {
            valid_from,
            calendar,
            expected: None,
        })
        .await
}

async fn pool(teller: &Teller) -> Result<CellId> {
    let (cell, pool) = (
        CellId(Uuid::now_v7()),
        CellKind::Pool {
            load_stations: 1,
            stands: 4,
            exchange_s: 60,
        },
    );
    teller
        .does(AddCell {
            cell,
            code: "P1".parse()?,
            name: "Pool".parse()?,
            kind: pool,
        })
        .await?;
    let bigger = CellKind::Pool {
        load_stations: 2,
        stands: 8,
        exchange_s: 45,
    };
    let name = "Pool, extended".parse()?;
    teller
        .does(ChangeCell {
            cell,
            code: "P1".parse()?,
            name,
            kind: bigger,
            expected: None,
        })
        .await?;
    let (valid_from, longer) = ("2026-03-01".parse()?, calendar("06:00", "18:00")?);
    teller
        .does(SetCellCalendar {
            cell,
            valid_from,
            calendar: longer.clone(),
            expected: None,
        })
        .await?;
    teller.does(ClearCellCalendar { cell, expected: None }).await?;
    teller
        .does(SetCellCalendar {
            cell,
            valid_from,
            calendar: longer,
            expected: None,
        })
        .await?;
    Ok(cell)
}

async fn machines(teller: &Teller, cell: CellId) -> Result<[MachineId; 2]> {
    let mills = [MachineId(Uuid::now_v7()), MachineId(Uuid::now_v7())];
    for (machine, code) in mills.into_iter().zip(["M1", "M2"]) {
        let (code, name) = (code.parse()?, "Mill".parse()?);
        let placement = Placement::In(cell);
        teller
            .does(AddMachine {
                machine,
                placement,
                code,
                name,
                silent_after_s: None,
            })
            .await?;
    }
    let machine = MachineId(Uuid::now_v7());
    let placement = Placement::Standalone(CellId(Uuid::now_v7()));
    let (code, name) = ("S1".parse()?, "Vertical mill".parse()?);
    teller
        .does(AddMachine {
            machine,
            placement,
            code,
            name,
            silent_after_s: None,
        })
        .await?;
    let (code, name) = ("M2".parse()?, "Mill that goes silent".parse()?);
    let silent = Some(7_200);
    teller
        .does(ChangeMachine {
            machine: mills[1],
            code,
            name,
            silent_after_s: silent,
            expected: None,
        })
        .await?;
    Ok(mills)
}

async fn plans(teller: &Teller, mills: &[MachineId; 2]) -> Result<()> {
    for (published, cycle_s) in [(false, 900), (true, 1_800)] {
        let plan = PlanId(Uuid::now_v7());
        let slot = |n: i64| {
            let machine = mills[usize::from(n % 2 == 1)];
            Slot {
                machine,
                starts_at: FROM.plus_s(6 * 3_600 + n * 2_700),
                cycle_s,
            }
        };
        teller
            .does(PostPlan {
                plan,
                slots: (0..180).map(slot).collect(),
            })
            .await?;
        if published {
            teller.does(PublishPlan { plan }).await?;
        }
    }
    Ok(())
}

/// A cut of ten minutes in each fifteen, with a stop and a word of every other state now and then.
fn rows(from_s: i64, count: i64) -> Vec<(Timestamp, MachineState)> {
    let state = |n: i64| match n % 15 {
        13 => MachineState::ALL[usize::try_from(n / 15).unwrap_or_default() % MachineState::ALL.len()],
        n if n % 2 == 0 => MachineState::Active,
        _ => MachineState::Ready,
    };
    (0..count)
        .map(|n| (FROM.plus_s(from_s + n * 450 + (n % 2) * 150), state(n)))
        .collect()
}

async fn signals(teller: &Teller, mills: &[MachineId; 2]) -> Result<()> {
    let of = |machine, rows| ReceiveSignals {
        machine,
        rows,
        cycles: Vec::new(),
        covers: None,
        clock: None,
    };
    // The second half of the week comes first, and then all of it, so that half of the rows are late and half repeated.
    teller.does(of(mills[0], rows(3 * DAY_S, 700))).await?;
    teller.does(of(mills[0], rows(0, 1_276))).await?;
    // More than one entry takes.
    let dense = (0..5_400).map(|n| {
        let state = if n % 2 == 0 {
            MachineState::Active
        } else {
            MachineState::Interrupted
        };
        (FROM.plus_s(5 * DAY_S + n * 12), state)
    });
    teller.does(of(mills[1], dense.collect())).await?;
    let cut = |from_s: i64, length_s: i64| Window::new(FROM.plus_s(from_s), FROM.plus_s(from_s + length_s));
    let cycles = vec![
        cut(DAY_S + 100, 3_000),
        cut(DAY_S + 3_000, 1_200),
        cut(DAY_S + 9_000, 1_500),
    ];
    let covers = Some(cut(DAY_S, 20_000));
    teller
        .does(ReceiveSignals {
            cycles,
            covers,
            ..of(mills[1], Vec::new())
        })
        .await
}

async fn readings(teller: &Teller, machine: MachineId) -> Result<()> {
    let reading = |day: i64, powered_on_s, in_cut_s, reset| Reading {
        at: FROM.plus_s(day * DAY_S),
        powered_on_s,
        in_cut_s,
        reset,
    };
    let readings = vec![
        reading(0, 7_200_000, 2_160_000, false),
        reading(3, 7_350_000, 2_230_000, false),
        reading(5, 40_000, 12_000, true),
        reading(7, 150_000, 61_000, false),
    ];
    teller
        .does(ReceiveReadings {
            machine,
            readings,
            clock: None,
        })
        .await
}

async fn down(teller: &Teller, machine: MachineId) -> Result<()> {
    let note = Some(NoteRef::new(
        TextId(Uuid::now_v7()),
        &[7; 16],
        "the coolant pump has failed again",
    ));
    let at = FROM.plus_s(2 * DAY_S + 30_000);
    teller
        .does(SetMachineDown {
            machine,
            at,
            reason: DownReason::Breakdown,
            note,
        })
        .await?;
    teller
        .does(SetMachineUp {
            machine,
            at: at.plus_s(15_000),
        })
        .await
}
