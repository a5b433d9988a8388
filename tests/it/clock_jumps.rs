//! R5: the service's clock jumps. Entries keep the order in which they came, what is said of the floor stays as it was
//! said.

use crate::floor::small_cell::SmallCell;
use crate::served::{Served, instant};
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

const START: &str = "2026-11-02T08:00:00Z";

async fn entries(served: &Served) -> Vec<Value> {
    let page = served.viewer().get("/v1/ledger?limit=200").await;
    page.expect_status(200).json()["items"]
        .as_array()
        .unwrap()
        .clone()
}

on_both_engines! {
    async fn whatever_the_clock_does_entries_keep_their_order_and_acts_their_time(engine) {
        let small = SmallCell::at(engine, START).await;
        let served = &small.served;
        let to = |number: usize| json!({ "to": { "kind": "stand", "number": number } });
        // An hour on, a day back, an hour back, the night in which the clocks go back, and standing still.
        let jumps = ["2026-11-02T09:00:00Z", "2026-11-01T09:00:00Z", "2026-11-01T08:00:00Z", "2026-10-25T00:30:00Z",
            "2026-10-25T00:30:00Z", "2026-11-02T08:30:00Z"];
        for (number, jump) in jumps.iter().enumerate() {
            served.clock.set(instant(jump));
            let mut place = if number % 2 == 0 { to(2) } else { json!({ "to": { "kind": "load_station", "number": 1 } }) };
            place["at"] = json!(format!("2026-11-02T08:0{number}:00Z"));
            small.act(0, "move", &place).await.expect_status(200);
        }
        let all = entries(served).await;
        let seqs: Vec<_> = all.iter().map(|entry| entry["seq"].as_u64().unwrap()).collect();
        assert_eq!(seqs, (1..=served.seq()).collect::<Vec<_>>());
        let recorded: Vec<_> = all.iter().map(|entry| entry["recorded_at_us"].as_i64().unwrap()).collect();
        assert!(recorded.is_sorted(), "{recorded:?}");
        let told = &all[all.len() - jumps.len()..];
        let happened: Vec<_> = told.iter().map(|entry| entry["occurred_at"].as_str().unwrap()).collect();
        let said: Vec<_> = (0..jumps.len()).map(|number| format!("2026-11-02T08:0{number}:00Z")).collect();
        assert_eq!(happened, said, "what was said is not touched");
        // The right time again.
        served.clock.set(instant("2026-11-02T10:00:00Z"));
        let mut said = to(2);
        said["at"] = json!("2026-11-02T09:30:00Z");
        small.act(0, "move", &said).await.expect_status(200);
        let last = entries(served).await.pop().unwrap();
        assert_eq!(last["occurred_at"], "2026-11-02T09:30:00Z", "what was said is not touched");
        assert_eq!(last["recorded_at"], "2026-11-02T10:00:00Z");
    }
}
