//! A shop of many cells, pallets and open jobs, told by commands like any other.

use crate::ledger::{submit, three_shift_calendar};
use anyhow::{Context, Result};
use serde_json::json;
use spindlebook::book::{Book, QUEUE_MAX, create_site};
use spindlebook::clock::{Clock, SystemClock};
use spindlebook_domain::cell::{AddCell, CellKind};
use spindlebook_domain::command::Command;
use spindlebook_domain::fixture::{AddFixture, FixtureCopy, FixtureFacts};
use spindlebook_domain::floor::{FinishRun, OpenFloor, OpeningLoad, OpeningPallet, OpeningSetup, StartRun};
use spindlebook_domain::ids::{
    CellId, FixtureCopyId, FixtureId, HoldId, JobId, LoadId, MachineId, OrderId, PalletId, PartId, RunId,
    SetupId, SiteId,
};
use spindlebook_domain::load::Clamped;
use spindlebook_domain::machine::{AddMachine, Placement};
use spindlebook_domain::order::{EnterOrder, Material, NewLine, Priority, ReceiveMaterial, ReleaseOrder};
use spindlebook_domain::pallet::{AddPallet, PalletFacts, Position};
use spindlebook_domain::part::{
    AddPart, CycleTime, Lead, Machining, Manual, Operation, Place, RevisionFacts, Routing, SetRouting, Work,
};
use spindlebook_domain::site::OpenSite;
use spindlebook_domain::size::Size;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::Store;
use std::sync::Arc;
use uuid::Uuid;

const MACHINES_PER_CELL: usize = 2;
/// Beside the pallets' own, so that each can be moved to and fro.
const FREE_STANDS: usize = 1;
const FIXTURES_PER_CELL: usize = 5;
const PARTS_PER_CELL: usize = 10;
const LINES_PER_ORDER: usize = 4;
const NESTS: u32 = 8;
const QUANTITY: u32 = 80;
const ROOM: Size = Size {
    length_mm: 500,
    width_mm: 500,
    height_mm: 600,
};

#[derive(clap::Args)]
pub struct Wanted {
    /// `sqlite:` or `postgres:`; the database must be empty.
    url: String,
    #[arg(long, default_value_t = 20)]
    cells: usize,
    #[arg(long, default_value_t = 200)]
    pallets: usize,
    #[arg(long, default_value_t = 2_000)]
    jobs: usize,
}

/// One cell and what belongs to it.
struct Pool {
    number: usize,
    cell: CellId,
    machines: Vec<MachineId>,
    fixtures: Vec<(FixtureId, Vec<FixtureCopyId>)>,
    pallets: Vec<PalletId>,
    parts: Vec<PartId>,
    jobs: Vec<(PartId, JobId)>,
}

struct Writer {
    book: Book,
    site: SiteId,
    now: Timestamp,
}

impl Writer {
    async fn does(&self, command: impl Into<Command>) -> Result<()> {
        submit(&self.book, self.site, command.into()).await
    }
}

pub async fn write(wanted: &Wanted) -> Result<()> {
    let store = Store::open(&wanted.url, 4).await?;
    let clock = Arc::new(SystemClock);
    let site = SiteId(Uuid::now_v7());
    let open = OpenSite {
        site,
        code: "BENCH".parse()?,
        name: "Bench".parse()?,
        zone: chrono_tz::Europe::Berlin,
    };
    create_site(&store, clock.as_ref(), open).await?;
    let book = Book::open(store.clone(), Arc::<SystemClock>::clone(&clock), QUEUE_MAX).await?;
    let writer = Writer {
        book,
        site,
        now: clock.now(),
    };
    writer.does(three_shift_calendar()?).await?;
    let mut pools = Vec::new();
    for number in 0..wanted.cells {
        let pallets = wanted.pallets / wanted.cells;
        let mut pool = writer.pool(number, pallets).await?;
        let jobs = wanted.jobs / wanted.cells;
        writer.orders(&mut pool, jobs).await?;
        pools.push(pool);
    }
    writer.opens(&pools).await?;
    let stands = u32::try_from(wanted.pallets / wanted.cells + FREE_STANDS)?;
    let cells: Vec<_> = pools.iter().map(|pool| pool.cell).collect();
    // The last of a cell stands loaded on a stand; its neighbour is free.
    let movable: Vec<_> = pools.iter().filter_map(|pool| pool.pallets.last()).collect();
    let current = writer.book.current(site).context("the site is open")?;
    println!(
        "{}",
        json!({
            "entries": current.head.seq, "cells": cells, "movable": movable,
            "stands": [stands, stands - 1],
            "pallets": wanted.pallets, "jobs": current.shop.jobs.len(),
        })
    );
    writer.book.stop().await;
    store.close().await;
    Ok(())
}

impl Writer {
    async fn pool(&self, number: usize, pallets: usize) -> Result<Pool> {
        let cell = CellId(Uuid::now_v7());
        let kind = CellKind::Pool {
            load_stations: 2,
            stands: u32::try_from(pallets + FREE_STANDS)?,
            exchange_s: 60,
        };
        let (code, name) = (
            format!("C{number:02}").parse()?,
            format!("Pool {number}").parse()?,
        );
        self.does(AddCell {
            cell,
            code,
            name,
            kind,
        })
        .await?;
        let mut pool = Pool {
            number,
            cell,
            machines: Vec::new(),
            fixtures: Vec::new(),
            pallets: Vec::new(),
            parts: Vec::new(),
            jobs: Vec::new(),
        };
        for index in 0..MACHINES_PER_CELL {
            pool.machines.push(self.machine(&pool, index).await?);
        }
        for index in 0..FIXTURES_PER_CELL {
            pool.fixtures.push(self.fixture(&pool, index, pallets).await?);
        }
        for index in 0..pallets {
            pool.pallets.push(self.pallet(&pool, index).await?);
        }
        for index in 0..PARTS_PER_CELL {
            pool.parts.push(self.part(&pool, index).await?);
        }
        Ok(pool)
    }

    async fn machine(&self, pool: &Pool, index: usize) -> Result<MachineId> {
        let machine = MachineId(Uuid::now_v7());
        let add = AddMachine {
            machine,
            placement: Placement::In(pool.cell),
            code: format!("M{:02}-{index}", pool.number).parse()?,
            name: "Mill".parse()?,
            silent_after_s: None,
        };
        self.does(add).await?;
        Ok(machine)
    }

    async fn fixture(
        &self,
        pool: &Pool,
        index: usize,
        pallets: usize,
    ) -> Result<(FixtureId, Vec<FixtureCopyId>)> {
        let fixture = FixtureId(Uuid::now_v7());
        let mut copies = Vec::new();
        for copy in 0..pallets.div_ceil(FIXTURES_PER_CELL) {
            let code = format!("F{:02}-{index}-{copy}", pool.number).parse()?;
            let id = FixtureCopyId(Uuid::now_v7());
            copies.push(FixtureCopy { id, code });
        }
        let ids = copies.iter().map(|copy| copy.id).collect();
        let facts = FixtureFacts {
            code: format!("F{:02}-{index}", pool.number).parse()?,
            name: "Tombstone".parse()?,
            interface: "GRID-50".parse()?,
            nests: NESTS,
            mount_s: 1_800,
            mass_g: Some(80_000),
            size: None,
        };
        self.does(AddFixture {
            fixture,
            facts,
            copies,
        })
        .await?;
        Ok((fixture, ids))
    }

    async fn pallet(&self, pool: &Pool, index: usize) -> Result<PalletId> {
        let pallet = PalletId(Uuid::now_v7());
        let facts = PalletFacts {
            code: format!("P{:02}-{index:02}", pool.number).parse()?,
            name: "Pallet".parse()?,
            size: ROOM,
            mass_max_g: 500_000,
            interface: "GRID-50".parse()?,
        };
        let number = u32::try_from(index)? + 1;
        self.does(AddPallet {
            pallet,
            cell: pool.cell,
            facts,
            position: Some(Position::Stand { number }),
        })
        .await?;
        Ok(pallet)
    }

    /// Two sides in one of the cell's fixtures, then by hand; the first piece of each setup is looked at.
    async fn part(&self, pool: &Pool, index: usize) -> Result<PartId> {
        let part = PartId(Uuid::now_v7());
        let revision = RevisionFacts {
            revision: "A".parse()?,
            mass_g: Some(900),
            size: None,
            blank: None,
        };
        self.does(AddPart {
            part,
            code: format!("PART-{:02}-{index}", pool.number).parse()?,
            name: "Bracket".parse()?,
            revision,
        })
        .await?;
        let side = |number: u16| -> Result<Operation> {
            let machining = Machining {
                places: vec![Place {
                    cell: pool.cell,
                    machines: Vec::new(),
                    cycle: CycleTime::PerLoad { cycle_s: 2_880 },
                    program: None,
                    tools: Vec::new(),
                    clearances: Vec::new(),
                }],
                fixtures: vec![pool.fixtures[index % FIXTURES_PER_CELL].0],
                pieces_per_load: NESTS,
                load_s: 600,
                unload_s: 300,
                setup_sheet: None,
                first_piece: true,
                first_article: false,
            };
            Ok(Operation {
                number,
                name: "Mill".parse()?,
                work: Work::Machining(machining),
            })
        };
        let by_hand = Operation {
            number: 30,
            name: "Deburr".parse()?,
            work: Work::Manual(Manual {
                lead: Lead::StaffedTime { lead_s: 7_200 },
                vendor: None,
            }),
        };
        let operations = vec![side(10)?, side(20)?, by_hand];
        self.does(SetRouting {
            part,
            revision: "A".parse()?,
            routing: Routing { operations },
            expected: None,
        })
        .await?;
        Ok(part)
    }

    async fn orders(&self, pool: &mut Pool, count: usize) -> Result<()> {
        for first in (0..count).step_by(LINES_PER_ORDER) {
            let order = OrderId(Uuid::now_v7());
            let mut lines = Vec::new();
            for line in first..count.min(first + LINES_PER_ORDER) {
                lines.push(NewLine {
                    number: None,
                    part: pool.parts[line % PARTS_PER_CELL],
                    revision: "A".parse()?,
                    quantity: QUANTITY,
                    due: "2199-12-01".parse()?,
                    priority: Priority::Normal,
                    material: Material::default(),
                    quoted: Vec::new(),
                });
            }
            let made: Vec<_> = lines
                .iter()
                .map(|line| (line.part, JobId(Uuid::now_v7())))
                .collect();
            let jobs = made.iter().map(|(_, job)| *job).collect();
            self.does(EnterOrder {
                customer_approval_needed: false,
                order,
                code: format!("SO-{:02}-{first}", pool.number).parse()?,
                customer: None,
                reference: None,
                lines,
            })
            .await?;
            let lines = Vec::new();
            self.does(ReleaseOrder { order, lines, jobs }).await?;
            for (line, _) in (1..).zip(&made) {
                let (at, certificate) = (self.now, None);
                self.does(ReceiveMaterial {
                    order,
                    line,
                    at,
                    certificate,
                })
                .await?;
            }
            pool.jobs.extend(made);
        }
        Ok(())
    }

    /// Every pallet set up and loaded; one in each machine, whose run is started.
    async fn opens(&self, pools: &[Pool]) -> Result<()> {
        let at = self.now;
        let pallets = pools.iter().flat_map(Pool::standing).collect();
        let jobs = Vec::new();
        self.does(OpenFloor { pallets, jobs, at }).await?;
        let machines = pools.iter().flat_map(|pool| &pool.machines);
        for (index, machine) in machines.enumerate() {
            let run = RunId(Uuid::now_v7());
            self.does(StartRun {
                run,
                machine: *machine,
                pallet: None,
                purpose: None,
                at,
                overrides: Vec::new(),
            })
            .await?;
            // The first of each cell has been cut, and its first piece waits for the inspector.
            if index % MACHINES_PER_CELL == 0 {
                let hold = HoldId(Uuid::now_v7());
                self.does(FinishRun { run, at, hold }).await?;
            }
        }
        Ok(())
    }
}

impl Pool {
    fn standing(&self) -> impl Iterator<Item = OpeningPallet> {
        (0_u32..).zip(&self.pallets).map(|(number, pallet)| {
            let index = number as usize;
            let (fixture, copies) = &self.fixtures[index % FIXTURES_PER_CELL];
            // Parts and jobs go round like the fixtures do.
            let (_, job) = self.jobs[index % self.jobs.len()];
            let position = match self.machines.get(index) {
                Some(machine) => Position::Spindle { machine: *machine },
                None => Position::Stand { number: number + 1 },
            };
            OpeningPallet {
                pallet: *pallet,
                position,
                setup: Some(OpeningSetup {
                    setup: SetupId(Uuid::now_v7()),
                    fixture: *fixture,
                    copy: copies[index / FIXTURES_PER_CELL % copies.len()],
                    is_ended: true,
                }),
                load: Some(OpeningLoad {
                    load: LoadId(Uuid::now_v7()),
                    clamped: vec![Clamped {
                        job,
                        operation: 10,
                        pieces: NESTS,
                        rework: false,
                    }],
                    is_cut: false,
                }),
            }
        })
    }
}
