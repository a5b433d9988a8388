//! R6 and R7 in small counts: what tablets kept arrives more than once, cut differently, late, by a wrong clock.

use super::{Badge, PIN, Tablet, act, enrol, person};
use crate::served::{Served, instant};
use serde_json::{Value, json};
use spindlebook_domain::time::Timestamp;
use spindlebook_tests::on_both_engines;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// The nightly figure is 200.
const ACTS: usize = 20;
const EVERY_S: i64 = 21 * 60;
const BACK_AT: &str = "2026-11-05T08:00:00Z";
const AHEAD_S: [i64; 3] = [0, 7_200, -480];

/// Dice that fall alike each time (Knuth's multiplier, The Art of Computer Programming, volume 2, 3.3.4).
struct Dice(u64);

impl Dice {
    fn below(&mut self, limit: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % limit
    }
}

/// What one tablet kept: down and up in turn on its own machine; every third down comes twice under two keys, and the
/// second is refused.
fn kept(tablet: usize, machine: &str, badge: &Badge) -> Vec<Value> {
    let mut acts = Vec::new();
    let mut at = instant("2026-11-02T09:00:00Z");
    let mut push = |acts: &mut Vec<Value>, what: &str, body: Value| {
        at = at.plus_s(EVERY_S);
        let read = at.plus_s(AHEAD_S[tablet]).to_string();
        acts.push(act(
            Uuid::now_v7(),
            &read,
            badge,
            &format!("{machine}/{what}"),
            body,
        ));
    };
    while acts.len() < ACTS {
        push(&mut acts, "down", json!({ "reason": "tooling" }));
        if acts.len() % 3 == 0 {
            push(&mut acts, "down", json!({ "reason": "other" }));
        }
        push(&mut acts, "up", json!({}));
    }
    acts
}

async fn machine(served: &Served, number: usize) -> String {
    format!("/v1/machines/{}", served.add_machine(&format!("M{number}")).await)
}

async fn tablet_back_on_line(served: &Served, number: usize) -> (Tablet, Badge) {
    let tablet = enrol(served, &format!("T{number}")).await;
    let who = person(served, &format!("person{number}"), &["operator"]).await;
    let reads = |at: Timestamp| at.plus_s(AHEAD_S[number]).to_string();
    let claimed =
        json!({ "since": reads(instant("2026-11-02T08:30:00Z")), "clock": reads(instant(BACK_AT)) });
    let badge = tablet
        .badge_in_with(served, &json!({ "person": who, "pin": PIN, "claimed": claimed }))
        .await;
    (tablet, badge)
}

on_both_engines! {
    async fn however_it_is_delivered_each_act_counts_once(engine) {
        let served = Served::at(engine, "2026-11-02T08:00:00Z").await;
        let mut machines = Vec::new();
        for number in 0..3 {
            machines.push(machine(&served, number).await);
        }
        served.clock.set(instant(BACK_AT));
        let mut dice = Dice(20_261_102);
        let (mut submitted, mut answered): (BTreeSet<String>, BTreeMap<String, Value>) = Default::default();
        for number in 0..3 {
            let (tablet, badge) = tablet_back_on_line(&served, number).await;
            let acts = kept(number, &machines[number], &badge);
            submitted.extend(acts.iter().map(|act| act["key"].as_str().unwrap().to_owned()));
            let clock = instant(BACK_AT).plus_s(AHEAD_S[number]).to_string();
            // One to four times, cut differently each time; the order of the tablet is kept, and what was delivered
            // before comes among what is new.
            let mut from = 0;
            while from < acts.len() {
                let to = (from + 1 + dice.below(7)).min(acts.len());
                for _ in 0..=dice.below(4) {
                    let back = dice.below(from + 1);
                    for item in tablet.deliver(&clock, &acts[back..to]).await {
                        let key = item["key"].as_str().unwrap().to_owned();
                        let said = json!([item["status"], item["body"]]);
                        let before = answered.entry(key).or_insert_with(|| said.clone());
                        assert_eq!(*before, said, "the same answer each time");
                    }
                }
                from = to;
            }
        }
        let with = |status: u64| answered.values().filter(|said| said[0] == status).count();
        assert_eq!(with(200) + with(409), submitted.len(), "{answered:?}");
        assert!(with(409) > 3, "some were refused");
        let mut by_key: BTreeMap<String, Vec<Value>> = BTreeMap::new();
        let mut after = 0;
        loop {
            let page = served.viewer().get(&format!("/v1/ledger?after={after}&limit=200")).await.json();
            for entry in page["items"].as_array().unwrap() {
                by_key.entry(entry["command_id"].as_str().unwrap().to_owned()).or_default().push(entry.clone());
            }
            let Some(next) = page["next_after"].as_u64() else { break };
            after = next;
        }
        for (key, said) in &answered {
            let entries = by_key.get(key).map_or(&[][..], Vec::as_slice);
            assert_eq!(entries.len(), usize::from(said[0] == 200), "{key}: {said}");
        }
        // The wrong clocks are put right: all three began at the same time.
        let firsts: BTreeSet<_> = by_key.values().flatten().filter(|entry| entry["kind"] == "machine.set_down")
            .map(|entry| (entry["payload"]["machine"].as_str().unwrap().to_owned(), entry["occurred_at"].as_str().unwrap().to_owned()))
            .collect();
        let first_of = |machine: &String| firsts.iter().find(|(of, _)| machine.ends_with(of)).unwrap().1.clone();
        let began: BTreeSet<_> = machines.iter().map(first_of).collect();
        assert_eq!(began.len(), 1, "{began:?}");
    }

    /// R7: two tablets end one badge's run at once; fifty deliveries of one act at once.
    async fn of_two_at_once_one_wins_and_one_act_has_one_effect(engine) {
        let served = Served::at(engine, "2026-11-02T08:00:00Z").await;
        let (one, other) = (enrol(&served, "One").await, enrol(&served, "Other").await);
        let (ana, ben) = (person(&served, "ana", &["operator"]).await, person(&served, "ben", &["operator"]).await);
        for round in 0..20 {
            let machine = machine(&served, round).await;
            served.clock.advance_s(10);
            let (first, second) = (one.badge_in(&served, &ana).await, other.badge_in(&served, &ben).await);
            let (path, body) = (format!("{machine}/down"), json!({ "reason": "tooling" }));
            let (a, b) = tokio::join!(first.caller.post(&path, &body), second.caller.post(&path, &body));
            let mut statuses = [a.status.as_u16(), b.status.as_u16()];
            statuses.sort_unstable();
            assert_eq!(statuses, [200, 409]);
        }
        let machine = machine(&served, 99).await;
        let badge = one.badge_in(&served, &ana).await;
        let now = served.service.book.now().to_string();
        let acts = [act(Uuid::now_v7(), &now, &badge, &format!("{machine}/down"), json!({ "reason": "tooling" }))];
        let all = futures_util::future::join_all((0..50).map(|_| one.deliver(&now, &acts))).await;
        let said: BTreeSet<_> = all.iter().map(|items| (items[0]["status"].to_string(), items[0]["body"].to_string())).collect();
        assert_eq!(said.len(), 1, "{said:?}");
        assert_eq!(all.iter().filter(|items| items[0]["first_given_at"].is_null()).count(), 1);
    }
}
