//! Whether a cell has work, as its hours are told.

use super::*;
use crate::floor::{Count, PalletLoaded, PalletUnloaded};
use crate::ids::{LoadId, Track};
use crate::job::AddBlanks;
use crate::load::Clamped;
use crate::order::{CancelLine, ChangeLine, ReceiveMaterial};
use crate::shop::given::{cell, pallet};
use crate::stretches::{Layer, MachineMarks};
use crate::time::Timestamp;
use uuid::Uuid;

const LOAD: LoadId = LoadId(Uuid::from_u128(0x10ad));

/// When cell 1 had work and when it had none, in seconds since then.
fn told(given: &Given, from: Timestamp) -> Vec<(i64, bool)> {
    let of_cell = |(track, layer, _): &(Track, Layer, i64)| *track == cell(1).into() && *layer == Layer::Work;
    let rows = given.stretches.iter().filter(|(key, _)| of_cell(key));
    let marks = MachineMarks::from_rows(rows.map(|(_, marks)| marks.clone()));
    let work = marks.work.iter();
    work.map(|mark| (mark.at.since_us(from) / 1_000_000, mark.open))
        .collect()
}

fn loaded(given: &mut Given, pieces: u32, rework: bool) {
    let clamped = vec![Clamped {
        job: job(1),
        operation: 10,
        pieces,
        rework,
    }];
    given.happened(PalletLoaded {
        pallet: pallet(1),
        load: LOAD,
        clamped,
        at: given.now,
        overrides: Vec::new(),
    });
}

fn unloaded(given: &mut Given, good: u32, to_rework: u32, rework: bool) {
    let counts = vec![Count {
        job: job(1),
        operation: 10,
        rework,
        good,
        scrapped: 0,
        to_rework,
        to_inspection: 0,
        uncut: 0,
    }];
    given.happened(PalletUnloaded {
        pallet: pallet(1),
        load: LOAD,
        run: None,
        counts,
        at: given.now,
        note: None,
    });
}

#[test]
fn a_cell_has_work_while_something_can_be_loaded() {
    let mut given = a_shop_with_customers();
    let from = given.now;
    let mut waits = line(1, 4);
    waits.material.arrived = None;
    given.does(enter(1, vec![waits])).does(release(1, &[1]));
    assert_eq!(told(&given, from), [], "released, and its material is not here");
    given.now = from.plus_s(10);
    given.does(ReceiveMaterial {
        order: order(1),
        line: 1,
        at: from,
        certificate: None,
    });
    assert_eq!(told(&given, from), [(10, true)]);
    given.now = from.plus_s(20);
    loaded(&mut given, 3, false);
    assert_eq!(told(&given, from).len(), 1, "one waits still");
    loaded(&mut given, 1, false);
    given.now = from.plus_s(30);
    unloaded(&mut given, 3, 1, false);
    given.now = from.plus_s(40);
    loaded(&mut given, 1, true);
    given.now = from.plus_s(50);
    unloaded(&mut given, 1, 0, true);
    let so_far = [(10, true), (20, false), (30, true), (40, false)];
    assert_eq!(told(&given, from), so_far, "made are 4 of 4");
    given.now = from.plus_s(60);
    given.does(AddBlanks {
        job: job(1),
        pieces: 2,
        certificate: None,
    });
    assert_eq!(told(&given, from), so_far, "a blank that nobody wants is no work");
    given.does(ChangeLine {
        order: order(1),
        line: 1,
        quantity: 6,
        due: day("2026-12-18"),
        priority: Priority::Normal,
        expected: None,
    });
    // Loaded at 55 s, told after the change of 60 s.
    given.now = from.plus_s(55);
    loaded(&mut given, 2, false);
    let all = [&so_far[..], &[(60, true), (60, false)]].concat();
    assert_eq!(told(&given, from), all);
    given.now = from.plus_s(70);
    unloaded(&mut given, 0, 2, false);
    given.now = from.plus_s(80);
    given.does(CancelLine {
        order: order(1),
        line: 1,
    });
    assert_eq!(
        told(&given, from),
        [&all[..], &[(70, true), (80, false)]].concat()
    );
}
