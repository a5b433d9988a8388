//! Measuring on the way: of so many pieces that a rule names, one load is looked at.

use super::work::by_operation;
use crate::inspection::rule_of;
use crate::load::Clamped;
use crate::shop::Shop;

/// With this load as many pieces of an operation are cut as may be without a look.
pub fn is_due(shop: &Shop, clamped: &[Clamped]) -> bool {
    by_operation(clamped)
        .into_iter()
        .any(|((job, operation), pieces)| {
            let before = shop.unmeasured.get(&job);
            let before = before.and_then(|by| by.get(&operation)).copied().unwrap_or(0);
            let every = rule_of(shop, job, operation).in_process_every;
            every.is_some_and(|every| before.saturating_add(pieces) >= every)
        })
}

/// A run cut them.
pub fn count(shop: &mut Shop, clamped: &[Clamped]) {
    for ((job, operation), pieces) in by_operation(clamped) {
        let mut by = shop.unmeasured.get(&job).cloned().unwrap_or_default();
        let sum = by.entry(operation).or_insert(0);
        *sum = sum.saturating_add(pieces);
        shop.unmeasured.insert(job, by);
    }
}

/// The run that cut them goes on.
pub fn take_back(shop: &mut Shop, clamped: &[Clamped]) {
    for ((job, operation), pieces) in by_operation(clamped) {
        shop.unmeasured.update(&job, |by| {
            if let Some(sum) = by.get_mut(&operation) {
                *sum = sum.saturating_sub(pieces);
            }
        });
    }
}

/// A load of them is looked at: counting begins again.
pub fn begin_again(shop: &mut Shop, clamped: &[Clamped]) {
    for one in clamped {
        shop.unmeasured.update(&one.job, |by| {
            by.remove(&one.operation);
        });
    }
}
