//! R13: whoever can write past every trigger, and even computes hashes, is found out against an exported head.

use super::{Ledger, signal};
use spindlebook::book::{Chain, ExportedHead, Fault, Head};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::entry::{Entry, GENESIS, hash};
use spindlebook_domain::ids::{CommandId, PrincipalId};
use spindlebook_tests::engine::Engine;
use uuid::Uuid;

const ENTRIES: usize = 200;

async fn a_ledger() -> Vec<Entry> {
    let ledger = Ledger::new(Engine::Sqlite).await;
    ledger.some_history().await;
    super::read_rows::everything_else(&ledger).await;
    let mut at_s = 500_000;
    while ledger.seq() < ENTRIES as u64 {
        at_s += 1;
        ledger.does(signal(ledger.machine, at_s)).await;
    }
    ledger.book.entries_after(ledger.site, 0, u32::MAX).await.unwrap()
}

/// The ledger as it was, with what stands outside of it.
struct Original {
    entries: Vec<Entry>,
    head: Head,
    exported: ExportedHead,
    /// The check as it stands before each entry.
    before: Vec<Chain>,
}

impl Original {
    async fn new() -> Self {
        let entries = a_ledger().await;
        let head = head_of(&entries);
        let exported = ExportedHead {
            seq: head.seq,
            hash: head.hash,
        };
        let mut chain = Chain::new(Some(exported));
        let mut before = Vec::new();
        for entry in &entries {
            before.push(chain.clone());
            chain.check(entry);
        }
        assert_eq!(chain.finish(Some(&head)), (head, vec![]), "no false alarm");
        Self {
            entries,
            head,
            exported,
            before,
        }
    }

    /// Puts `tail` in the place of everything from position `at` on and checks it; stops at the first fault.
    fn is_found(&self, at: usize, tail: &[Entry], head: Option<&Head>) -> bool {
        let mut chain = match self.before.get(at) {
            Some(before) => before.clone(),
            None => return self.is_found_at_end(head),
        };
        for entry in tail {
            chain.check(entry);
            if !chain.faults().is_empty() {
                return true;
            }
        }
        !chain.finish(head).1.is_empty()
    }

    fn is_found_at_end(&self, head: Option<&Head>) -> bool {
        let mut chain = self.before[ENTRIES - 1].clone();
        chain.check(&self.entries[ENTRIES - 1]);
        !chain.finish(head).1.is_empty()
    }
}

fn head_of(entries: &[Entry]) -> Head {
    let last = entries.last().unwrap();
    Head {
        seq: last.envelope.seq,
        hash: last.hash,
        recorded_at: last.envelope.recorded_at,
    }
}

/// Makes each entry follow from the one before it, as somebody would who knows how.
fn hashed_anew(previous: [u8; 32], entries: &mut [Entry]) {
    entries.iter_mut().fold(previous, |previous, entry| {
        entry.hash = hash(&previous, &entry.envelope, &entry.payload);
        entry.hash
    });
}

/// Every change of one field, and one bit in every byte of payload and hash.
fn changed(entry: &Entry) -> Vec<Entry> {
    let mut all = Vec::new();
    let mut with = |change: &dyn Fn(&mut Entry)| {
        let mut other = entry.clone();
        change(&mut other);
        if other != *entry {
            all.push(other);
        }
    };
    with(&|e| e.envelope.seq += 1);
    with(&|e| e.envelope.seq -= 1);
    with(&|e| e.envelope.id = Uuid::from_u128(e.envelope.id.as_u128() ^ 1));
    with(&|e| e.envelope.command_id = CommandId(Uuid::from_u128(e.envelope.command_id.0.as_u128() ^ 1)));
    with(&|e| e.envelope.kind.push('x'));
    with(&|e| "site.changed".clone_into(&mut e.envelope.kind));
    with(&|e| e.envelope.schema += 1);
    with(&|e| e.envelope.occurred_at = e.envelope.occurred_at.plus_us(1));
    with(&|e| e.envelope.recorded_at = e.envelope.recorded_at.plus_us(1));
    with(&|e| e.envelope.recorded_at = e.envelope.recorded_at.plus_us(-1));
    with(&|e| e.envelope.actor = Actor::Client(PrincipalId(Uuid::from_u128(7))));
    with(&|e| e.envelope.device = Some(String::new()));
    with(&|e| e.payload.push(b' '));
    with(&|e| e.payload.truncate(e.payload.len() - 1));
    for at in 0..entry.payload.len() {
        with(&|e| e.payload[at] ^= 1);
    }
    for at in 0..32 {
        with(&|e| e.hash[at] ^= 0x80);
    }
    all
}

#[tokio::test]
async fn every_tampering_of_a_ledger_is_found() {
    let original = Original::new().await;
    let Original { entries, head, .. } = &original;
    let mut tamperings = 0;
    let mut must_be_found = |what: &str, at: usize, tail: &[Entry], head: &Head| {
        tamperings += 1;
        assert!(
            original.is_found(at, tail, Some(head)),
            "{what} at entry {}",
            at + 1
        );
    };
    for at in 0..entries.len() {
        let previous = at.checked_sub(1).map_or(GENESIS, |before| entries[before].hash);
        for other in changed(&entries[at]) {
            let tail = [std::slice::from_ref(&other), &entries[at + 1..]].concat();
            must_be_found("changed", at, &tail, head);
        }
        must_be_found("deleted", at, &entries[at + 1..], head);
        must_be_found(
            "put in twice",
            at,
            &[&entries[at..=at], &entries[at..]].concat(),
            head,
        );
        for other in at + 1..entries.len() {
            let mut swapped = entries[at..].to_vec();
            swapped.swap(0, other - at);
            // As rows come out: by their seq, with what belongs to the other.
            let (a, b) = (swapped[0].envelope.seq, swapped[other - at].envelope.seq);
            swapped[0].envelope.seq = b;
            swapped[other - at].envelope.seq = a;
            must_be_found("swapped", at, &swapped, head);
        }
        // With the head row put right as well, only the exported head gives these away.
        if at > 0 {
            must_be_found("cut", at, &[], &head_of(&entries[..at]));
        }
        let mut anew = entries[at..].to_vec();
        anew[0].envelope.occurred_at = anew[0].envelope.occurred_at.plus_s(60);
        hashed_anew(previous, &mut anew);
        must_be_found("written anew", at, &anew, &head_of(&anew));
        let mut closed = entries[at + 1..].to_vec();
        for entry in &mut closed {
            entry.envelope.seq -= 1;
        }
        hashed_anew(previous, &mut closed);
        let new_head = closed
            .last()
            .map_or_else(|| head_of(&entries[..at]), |_| head_of(&closed));
        must_be_found("taken out and closed up", at, &closed, &new_head);
    }
    println!("{tamperings} tamperings, all found");
    assert!(tamperings >= 6_000, "{tamperings}");
}

#[tokio::test]
async fn an_honest_ledger_that_went_on_is_no_tampering() {
    let original = Original::new().await;
    let earlier = &original.entries[149];
    let exported = ExportedHead {
        seq: 150,
        hash: earlier.hash,
    };
    let mut chain = Chain::new(Some(exported));
    for entry in &original.entries {
        chain.check(entry);
    }
    assert_eq!(chain.finish(Some(&original.head)).1, []);
}

#[tokio::test]
async fn a_cut_tail_is_told_as_one() {
    let original = Original::new().await;
    let cut = &original.entries[..150];
    let mut chain = Chain::new(Some(original.exported));
    for entry in cut {
        chain.check(entry);
    }
    let (_, faults) = chain.finish(Some(&head_of(cut)));
    assert_eq!(
        faults,
        [Fault::CutShort {
            exported: ENTRIES as u64,
            found: 150
        }]
    );
}
