//! What people record, as it is kept in the read tables and served from them. The rows are laid in here as a writer
//! would lay them.

use super::{Hours, HoursRequest, HoursSource};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::cell::{CellAdded, CellKind};
use spindlebook_domain::entry::EntryMeta;
use spindlebook_domain::event::Event;
use spindlebook_domain::hours::rows::{By, DayRule};
use spindlebook_domain::hours::{Category, Figures};
use spindlebook_domain::ids::{CellId, MachineId, PalletId, RunId, SiteId, Track};
use spindlebook_domain::machine::MachineAdded;
use spindlebook_domain::run::Purpose;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::site::SiteOpened;
use spindlebook_domain::stretches::{Mark, StretchDays};
use spindlebook_domain::time::{Timestamp, Window};
use spindlebook_store::Store;
use spindlebook_store::read::{self, StretchRow};
use std::sync::Arc;
use uuid::Uuid;

const CELL: CellId = CellId(Uuid::from_u128(0xc1));
const MACHINE: MachineId = MachineId(Uuid::from_u128(0xa1));
const SITE: SiteId = SiteId(Uuid::from_u128(0x51));
const HOUR_S: i64 = 3_600;

/// 2026-11-02T00:00:00Z
fn hour(hours: i64) -> Timestamp {
    Timestamp(1_793_577_600_000_000).plus_s(hours * HOUR_S)
}

struct Desk {
    store: Store,
    hours: Hours,
    shop: Shop,
    days: StretchDays,
}

impl Desk {
    async fn new() -> Self {
        let store = Store::open("sqlite::memory:", 2).await.unwrap();
        let mut desk = Self {
            hours: Hours::new(store.clone()),
            store,
            shop: Shop::default(),
            days: StretchDays::whole(),
        };
        let (code, name) = ("A".parse().unwrap(), "A".parse().unwrap());
        let opened = SiteOpened {
            site: SITE,
            code,
            name,
            zone: chrono_tz::Tz::UTC,
        };
        let (code, name) = ("POOL".parse().unwrap(), "Pool".parse().unwrap());
        let cell = CellAdded {
            cell: CELL,
            code,
            name,
            kind: CellKind::Pool {
                load_stations: 1,
                stands: 4,
                exchange_s: 60,
            },
        };
        let (code, name) = ("M1".parse().unwrap(), "Mill".parse().unwrap());
        let machine = MachineAdded {
            machine: MACHINE,
            cell: CELL,
            code,
            name,
            silent_after_s: None,
        };
        for event in [Event::from(opened), cell.into(), machine.into()] {
            let meta = desk.meta();
            desk.shop.apply(&event, &meta);
        }
        desk
    }

    fn meta(&self) -> EntryMeta {
        EntryMeta {
            seq: self.shop.seq + 1,
            occurred_at: hour(0),
            recorded_at: hour(0),
            actor: Actor::System,
        }
    }

    async fn says(&mut self, marks: Vec<(Track, Mark)>) {
        let meta = self.meta();
        self.shop.seq = meta.seq;
        let changed = self.days.apply_marks(marks, &meta).unwrap();
        let rows: Vec<_> = changed
            .iter()
            .flat_map(|key| StretchRow::changed_after(*key, self.days.get(key).unwrap(), meta.seq - 1))
            .collect();
        let mut transaction = self.store.begin().await.unwrap();
        read::put(&mut transaction, SITE, &rows).await.unwrap();
        transaction.commit().await.unwrap();
    }

    /// The first day, by day, as of the tenth.
    async fn first_day(&self) -> Figures {
        let source = self.source();
        let request = HoursRequest {
            cell: CELL,
            machine: None,
            window: Window::new(hour(0), hour(24)),
            by: By::Day,
            rule: DayRule::Calendar,
        };
        let report = self.hours.report(&source, &request).await.unwrap();
        report.total
    }

    fn source(&self) -> HoursSource {
        HoursSource {
            site: SITE,
            shop: Arc::new(self.shop.clone()),
            as_of: hour(240),
            rebuilds: 0,
        }
    }
}

fn started(at: Timestamp, number: u128, cycle_s: u32) -> (Track, Mark) {
    let mark = Mark::RunStarted {
        at,
        run: RunId(Uuid::from_u128(number)),
        pallet: PalletId(Uuid::from_u128(0xb0)),
        purpose: Purpose::Production,
        cycle_s,
        exchange_s: 0,
    };
    (MACHINE.into(), mark)
}

fn ended(at: Timestamp, number: u128) -> (Track, Mark) {
    let mark = Mark::RunEnded {
        at,
        run: RunId(Uuid::from_u128(number)),
        aborted: false,
    };
    (MACHINE.into(), mark)
}

#[tokio::test]
async fn runs_of_the_machine_and_work_of_its_cell_are_served() {
    let mut desk = Desk::new().await;
    let work = |at, open| (Track::from(CELL), Mark::WorkOpen { at, open });
    // The work was released a week before.
    desk.says(vec![work(hour(-168), true)]).await;
    desk.says(vec![started(hour(6), 1, 9_999), ended(hour(8), 1)])
        .await;
    let day = desk.first_day().await;
    assert_eq!(
        (day.realised_s(), day.in_cycle_by_people_s),
        (2 * HOUR_S, 2 * HOUR_S)
    );
    // Nobody is there, and before the first run nothing is known.
    assert_eq!(day.seconds[Category::NotKnown], 6 * HOUR_S);
    assert_eq!(day.seconds[Category::UnattendedRunOut], 16 * HOUR_S);
    let window = Window::new(hour(6), hour(9));
    let opened = desk.hours.opened(&desk.source(), MACHINE, window).await.unwrap();
    let told: Vec<_> = opened
        .iter()
        .map(|one| (one.category.name(), one.seqs.clone()))
        .collect();
    let expected = [("in_cycle_unattended", vec![5]), ("unattended_run_out", vec![4])];
    assert_eq!(told, expected);
}

/// The day was asked for before, and its rows are kept. What changes them later stands in rows of other days.
#[tokio::test]
async fn kept_rows_are_dropped_when_an_end_arrives_that_nobody_had_told() {
    let mut desk = Desk::new().await;
    desk.says(vec![started(hour(20), 1, 3_600)]).await;
    desk.says(vec![started(hour(50), 2, 3_600), ended(hour(51), 2)])
        .await;
    let before = desk.first_day().await;
    assert_eq!(before.realised_s(), HOUR_S);
    assert_eq!(before.seconds[Category::NotKnown], 23 * HOUR_S);
    assert!(!before.provisional, "the next run has proven that it ended");
    assert_eq!(desk.first_day().await, before);
    desk.says(vec![ended(hour(26), 1)]).await;
    let after = desk.first_day().await;
    assert_eq!(after.realised_s(), 4 * HOUR_S);
    // What happens after that day does not touch it any more.
    desk.says(vec![started(hour(60), 3, 3_600)]).await;
    assert_eq!(desk.first_day().await, after);
}

#[tokio::test]
async fn kept_rows_are_dropped_when_a_count_or_the_cells_work_changes() {
    let mut desk = Desk::new().await;
    desk.says(vec![started(hour(6), 1, 9_999), ended(hour(8), 1)])
        .await;
    let first = desk.first_day().await;
    assert_eq!(first.earned.map(|earned| earned.uncounted_runs), Some(1));
    let counted = Mark::Counted {
        from: hour(6),
        to: hour(8),
        run: RunId(Uuid::from_u128(1)),
        purpose: Purpose::Production,
        earned_s: 5_400,
        produced_s: 7_200,
        produced: 4,
        good: 3,
        scrap: 1,
    };
    desk.says(vec![(MACHINE.into(), counted)]).await;
    let earned = desk.first_day().await.earned.unwrap();
    assert_eq!(
        (earned.earned_s, earned.uncounted_runs, earned.good),
        (5_400, 0, 3)
    );
    assert_eq!(
        desk.first_day().await.seconds[Category::IdleUnattended],
        16 * HOUR_S
    );
    let released = Mark::WorkOpen {
        at: hour(12),
        open: true,
    };
    desk.says(vec![(CELL.into(), released)]).await;
    let day = desk.first_day().await;
    assert_eq!(day.seconds[Category::UnattendedRunOut], 12 * HOUR_S);
}
