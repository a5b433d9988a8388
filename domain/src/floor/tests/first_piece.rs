use super::small_shop::*;
use crate::floor::*;
use crate::inspection::DisposeHold;
use crate::load::{Disposition, HoldKind};
use crate::pallet::Position;
use crate::shop::given::refused;

const SECOND_STATION: Position = Position::LoadStation { number: 2 };

/// Job 2's operation asks for a check; pallets 1 and 2 carry it, each in a setup of its own.
fn with_check(article: bool) -> Floor {
    let mut floor = Floor::new();
    let mut checked = machining(&[1]);
    checked.first_piece = !article;
    checked.first_article = article;
    floor.release(2, 40, vec![operation(10, checked)]);
    floor.move_to(2, SECOND_STATION).set_up(1, 1).set_up(2, 1);
    floor.clamp(1, &[pieces(2, 10, 8)]).clamp(2, &[pieces(2, 10, 8)]);
    floor
}

fn cut_first(floor: &mut Floor) {
    floor.move_to(1, spindle(1)).start(1, 1).wait_s(600).finish(1);
}

fn accept(floor: &mut Floor, number: u32) {
    let at = floor.at();
    floor.given.does(DisposeHold {
        pieces: Vec::new(),
        revision: None,
        reference: None,
        hold: hold(number),
        disposition: Disposition::Accept,
        at,
        note: None,
    });
}

/// E50: the next pallet with the same operation waits for the first piece, another job goes on.
#[test]
fn further_loads_wait_wherever_they_stand() {
    let mut floor = with_check(false);
    cut_first(&mut floor);
    let held = floor.given.shop.holds.get(&hold(1)).unwrap();
    assert_eq!((held.kind, held.pallet), (HoldKind::FirstPiece, pallet(1)));
    floor.move_to(2, spindle(2));
    let refusal = floor.given.when(start(2, 2, floor.at())).unwrap_err();
    assert_eq!(refusal.code(), "run.first-piece-open");
    assert!(refusal.to_string().contains("on pallet P1"), "{refusal}");
}

/// An approval belongs to one setup on one machine.
#[test]
fn an_approval_holds_for_its_setup_and_machine() {
    let mut floor = with_check(false);
    cut_first(&mut floor);
    accept(&mut floor, 1);
    floor.move_to(1, LOAD_STATION);
    let at = floor.at();
    floor.given.does(unload(1, &[good(2, 10, 8)], at));
    floor
        .clamp(1, &[pieces(2, 10, 8)])
        .move_to(1, spindle(1))
        .start(1, 2);
    floor.wait_s(600).finish(2);
    assert!(
        floor.given.shop.holds.is_empty(),
        "the same setup on the same machine"
    );
    floor.move_to(2, spindle(2)).start(2, 3).wait_s(600).finish(3);
    assert_eq!(
        floor.given.shop.holds.get(&hold(3)).unwrap().kind,
        HoldKind::FirstPiece
    );
    floor.move_to(1, LOAD_STATION);
    let at = floor.at();
    floor.given.does(unload(1, &[good(2, 10, 8)], at));
    floor
        .clamp(1, &[pieces(2, 10, 8)])
        .move_to(1, spindle(1))
        .start(1, 4);
}

/// A job needs its formal inspection once at each operation; until then all of it waits.
#[test]
fn a_first_article_opens_every_setup() {
    let mut floor = with_check(true);
    cut_first(&mut floor);
    floor.move_to(2, spindle(2));
    assert_eq!(
        refused(floor.given.when(start(2, 2, floor.at()))),
        "run.first-piece-open"
    );
    accept(&mut floor, 1);
    floor.start(2, 2).wait_s(600).finish(2);
    assert!(floor.given.shop.holds.is_empty());
}

#[test]
fn pieces_may_be_measured_elsewhere_while_the_rest_waits() {
    let mut floor = with_check(false);
    cut_first(&mut floor);
    floor.move_to(1, LOAD_STATION);
    let at = floor.at();
    let to_inspection = Count {
        to_inspection: 8,
        ..good(2, 10, 0)
    };
    floor.given.does(unload(1, &[to_inspection], at));
    floor.move_to(2, spindle(1));
    assert_eq!(
        refused(floor.given.when(start(1, 2, floor.at()))),
        "run.first-piece-open"
    );
    accept(&mut floor, 1);
    floor.start(1, 2);
}

/// Scrapped, there is nothing left to accept: the next load is a first piece again.
#[test]
fn a_bad_first_piece_ends_its_hold_without_an_approval() {
    let mut floor = with_check(false);
    cut_first(&mut floor);
    floor.move_to(1, LOAD_STATION);
    let at = floor.at();
    let scrapped = Count {
        scrapped: 8,
        ..good(2, 10, 0)
    };
    floor.given.does(unload(1, &[scrapped], at));
    assert!(floor.given.shop.holds.is_empty());
    floor.move_to(2, spindle(1)).start(1, 2).wait_s(600).finish(2);
    assert_eq!(
        floor.given.shop.holds.get(&hold(2)).unwrap().kind,
        HoldKind::FirstPiece
    );
}

/// A hold placed during a run stops no machine; it holds what comes out.
#[test]
fn a_hold_during_a_run_holds_what_comes_out() {
    let mut floor = Floor::running();
    let at = floor.at();
    floor.given.does(PlaceHold {
        kind: HoldKind::Suspect,
        pallet: pallet(1),
        hold: hold(9),
        at,
        note: None,
    });
    floor.wait_s(600).finish(1).move_to(1, LOAD_STATION);
    let at = floor.at();
    assert_eq!(
        refused(floor.given.when(unload(1, &[good(1, 10, 8)], at))),
        "unload.held"
    );
    accept(&mut floor, 9);
    floor.given.does(unload(1, &[good(1, 10, 8)], at));
}
