use crate::hours::seconds::{by_category_s, window_s};
use crate::hours::{ByCategory, Category};
use crate::time::{Timestamp, US_PER_SECOND, Window};
use proptest::prelude::*;

/// From tenths of a second.
fn us(tenths: [i64; 8]) -> ByCategory {
    let mut us = ByCategory::default();
    us.0[..8].copy_from_slice(&tenths.map(|tenths| tenths * US_PER_SECOND / 10));
    us
}

fn first_eight(seconds: &ByCategory) -> &[i64] {
    assert_eq!(seconds.0[8..].iter().sum::<i64>(), 0);
    &seconds.0[..8]
}

#[test]
fn the_largest_remainders_get_the_seconds_that_are_left() {
    let exact = us([0, 0, 12, 0, 7, 5, 6, 0]);
    assert_eq!(first_eight(&by_category_s(&exact, 3)), [0, 0, 1, 0, 1, 0, 1, 0]);
}

#[test]
fn equal_remainders_go_to_the_category_of_higher_precedence() {
    let exact = us([0, 0, 0, 5, 0, 5, 0, 0]);
    assert_eq!(first_eight(&by_category_s(&exact, 1)), [0, 0, 0, 1, 0, 0, 0, 0]);
}

#[test]
fn in_cycle_is_rounded_to_the_nearest_second() {
    let exact = us([3, 3, 0, 0, 7, 7, 0, 0]);
    let seconds = by_category_s(&exact, 2);
    assert_eq!(seconds.in_cycle(), 1);
    assert_eq!(seconds.sum(), 2);
}

proptest! {
    #[test]
    fn categories_add_up_and_each_is_less_than_a_second_off(
        from in -3_000_000..3_000_000_i64,
        parts in prop::array::uniform15(prop_oneof![Just(0_i64), 0..3_000_000_i64]),
    ) {
        let exact = ByCategory(parts);
        let window = Window::new(Timestamp(from), Timestamp(from + exact.sum()));
        let seconds = by_category_s(&exact, window_s(window));
        prop_assert_eq!(seconds.sum(), window_s(window));
        let off = |us: i64, seconds: i64| (us - seconds * US_PER_SECOND).abs();
        for category in Category::ALL {
            prop_assert!(seconds[category] >= 0);
            prop_assert!(exact[category] > 0 || seconds[category] == 0, "{:?} out of nothing", category);
            prop_assert!(off(exact[category], seconds[category]) < 2 * US_PER_SECOND);
            prop_assert!(category.is_in_cycle() || off(exact[category], seconds[category]) < US_PER_SECOND);
        }
        prop_assert!(off(exact.in_cycle(), seconds.in_cycle()) < US_PER_SECOND);
        if from % US_PER_SECOND == 0 && exact.sum() % US_PER_SECOND == 0 {
            prop_assert!(off(exact.in_cycle(), seconds.in_cycle()) * 2 <= US_PER_SECOND);
        }
    }

    /// With whole-second edges, as shifts and days have.
    #[test]
    fn in_cycle_is_never_more_than_half_a_second_off(parts in prop::array::uniform14(0..3_000_000_i64)) {
        let mut exact = ByCategory::default();
        exact.0[..14].copy_from_slice(&parts);
        exact[Category::IdleUnattended] = (-exact.sum()).rem_euclid(US_PER_SECOND);
        let seconds = by_category_s(&exact, exact.sum() / US_PER_SECOND);
        prop_assert_eq!(seconds.sum() * US_PER_SECOND, exact.sum());
        prop_assert!((exact.in_cycle() - seconds.in_cycle() * US_PER_SECOND).abs() * 2 <= US_PER_SECOND);
    }

    #[test]
    fn rows_that_tile_add_up_to_the_whole(mut edges in prop::collection::vec(-9_000_000..9_000_000_i64, 2..20)) {
        edges.sort_unstable();
        let window = |from: i64, to: i64| window_s(Window::new(Timestamp(from), Timestamp(to)));
        let rows: i64 = edges.windows(2).map(|pair| window(pair[0], pair[1])).sum();
        prop_assert_eq!(rows, window(edges[0], edges[edges.len() - 1]));
    }
}
