//! `import opening`: what stands on the floor on day one.

use super::shop::Shop;
use chrono_tz::Europe::Berlin;
use serde_json::{Value, json};
use spindlebook_domain::ids::{JobId, OrderId};
use spindlebook_domain::load::Stage;
use spindlebook_domain::order::{Arrived, EnterOrder, Material, NewLine, Priority, ReleaseOrder};
use spindlebook_domain::pallet::Position;
use spindlebook_domain::shop::Shop as State;
use spindlebook_tests::golden::WorkShop;
use spindlebook_tests::site;
use std::sync::Arc;
use uuid::Uuid;

/// Three pallets, a fixture of one copy, and a job of 20 pieces.
struct DayOne {
    shop: Shop,
    work: WorkShop,
    job: JobId,
}

impl DayOne {
    fn new() -> Self {
        let (shop, work) = (Shop::new("north", Berlin), WorkShop::default());
        let (order, job) = (OrderId(Uuid::now_v7()), JobId(Uuid::now_v7()));
        shop.with_book(async |book| {
            let at = book.now();
            let line = NewLine {
                number: None,
                part: work.part,
                revision: "A".parse().unwrap(),
                quantity: 20,
                due: "2026-12-18".parse().unwrap(),
                priority: Priority::Normal,
                material: Material {
                    expected: None,
                    arrived: Some(Arrived {
                        at,
                        certificate: None,
                    }),
                },
                quoted: Vec::new(),
            };
            let enter = EnterOrder {
                customer_approval_needed: false,
                order,
                code: "SO-1".parse().unwrap(),
                customer: None,
                reference: None,
                lines: vec![line],
            };
            let release = ReleaseOrder {
                order,
                lines: Vec::new(),
                jobs: vec![job],
            };
            let mut commands = work.commands().unwrap();
            commands.extend([enter.into(), release.into()]);
            for command in commands {
                site::submit(book, shop.site, command).await.unwrap();
            }
        });
        Self { shop, work, job }
    }

    fn state(&self) -> Arc<State> {
        let site = self.shop.site;
        self.shop.with_book(async |book| book.shop(site).unwrap())
    }

    /// The first pallet holds 5 pieces that have been cut, the second one stands at the load station; of the job 4 pieces
    /// were good and 1 was lost before.
    fn statement(&self) -> Value {
        let fixture = self.state().fixtures.get(&self.work.fixture).unwrap().clone();
        let pieces = json!([{ "job": self.job, "operation": 10, "pieces": 5 }]);
        json!({
            "pallets": [
                { "pallet": self.work.pallets[0], "position": { "kind": "stand", "number": 1 },
                  "setup": { "fixture": fixture.id, "copy": fixture.copies[0].id },
                  "load": { "stage": "cut", "pieces": pieces } },
                { "pallet": self.work.pallets[1], "position": { "kind": "load_station", "number": 1 } },
            ],
            "jobs": [{ "job": self.job, "operations": [{ "operation": 10, "good": 4, "scrapped": 1 }] }],
        })
    }

    fn file(&self, statement: &Value) -> String {
        self.shop.write("day-one.json", &statement.to_string())
    }

    fn refused(&self, statement: &Value) -> String {
        let before = self.state();
        let told = self
            .shop
            .run(&["import", "opening", &self.file(statement)])
            .refused(1);
        assert_eq!(self.state(), before, "nothing of it was taken");
        told
    }
}

#[test]
fn a_statement_is_taken_once() {
    let day = DayOne::new();
    let statement = day.statement();
    let file = day.file(&statement);
    let told = day.shop.run(&["import", "opening", &file]).ok();
    assert_eq!(told, format!("{file}: 2 pallets and 1 jobs stated\n"));
    let state = day.state();
    let standing = state.pallets.get(&day.work.pallets[0]).unwrap();
    assert_eq!(standing.position, Position::Stand { number: 1 });
    let load = standing.load.as_ref().unwrap();
    assert_eq!((load.stage, load.pieces()), (Stage::Cut { run: None }, 5));
    let at = &state.jobs.get(&day.job).unwrap().operations;
    assert_eq!(
        (
            at[0].good,
            at[0].scrapped,
            at[0].clamped,
            at[0].waiting(),
            at[1].waiting()
        ),
        (4, 1, 5, 10, 4)
    );
    // The same again is no second opening: what stands there is told by acts from now on.
    let again = day.refused(&statement);
    assert!(
        again.contains("/pallets/0/pallet: something was done with pallet"),
        "{again}"
    );
    assert!(day.shop.run(&["verify"]).ok().contains("are sound"));
}

#[test]
fn a_fault_names_its_place_and_nothing_is_taken() {
    let day = DayOne::new();
    let with = |place: &str, value: Value| {
        let mut statement = day.statement();
        *statement.pointer_mut(place).unwrap() = value;
        day.refused(&statement)
    };
    for (place, value, wanted) in [
        (
            "/pallets/1/position",
            json!({ "kind": "stand", "number": 9 }),
            "/pallets/1/position: the cell C8 has no stand 9",
        ),
        (
            "/pallets/1/position",
            json!({ "kind": "stand", "number": 1 }),
            "/pallets/0/position: pallet W2 is at stand 1",
        ),
        (
            "/pallets/0/load/pieces/0/pieces",
            json!(0),
            "/pallets/0/load/pieces/0/pieces: 0 pieces stand here",
        ),
        (
            "/pallets/0/load/pieces/0/pieces",
            json!(7),
            "/pallets/0/load/pieces: 7 pieces are more than the 6 nests",
        ),
        ("/jobs/0/operations/0/good", json!(20), "pieces of job"),
        (
            "/jobs/0/operations/0/operation",
            json!(30),
            "/jobs/0/operations/0/operation: the job has no operation 30",
        ),
        ("/pallets/0/load/stage", json!("done"), "/pallets/0/load/stage"),
        (
            "/pallets/0/position",
            json!({ "kind": "stand" }),
            "/pallets/0/position/number",
        ),
    ] {
        let told = with(place, value);
        assert!(told.contains(wanted), "{place}: {told}");
    }
    let file = day.shop.write("day-one.json", "{ \"pallets\": [");
    let broken = day.shop.run(&["import", "opening", &file]).refused(1);
    assert!(broken.contains("day-one.json"), "{broken}");
    let missing = day
        .shop
        .run(&["import", "opening", "no-such-file.json"])
        .refused(1);
    assert!(missing.contains("no-such-file.json"), "{missing}");
}
