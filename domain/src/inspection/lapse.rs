//! Parts that were not finished for so long that their customer wants the formal inspection again.

use super::rule::of_part;
use crate::ids::{CustomerId, PartId};
use crate::local_time::local_date;
use crate::shop::Shop;
use crate::time::Timestamp;
use chrono::{Months, NaiveDate};
use serde::{Deserialize, Serialize};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lapse {
    /// By the site's calendar date.
    pub last_finished: NaiveDate,
    /// From then to the day that is asked about.
    pub days: u32,
    /// What the customer's rule says.
    pub after_months: u16,
}

/// `None`: no such rule, not so long ago, or never finished as far as the book knows.
pub fn lapse(shop: &Shop, customer: Option<CustomerId>, part: PartId, at: Timestamp) -> Option<Lapse> {
    let customer = shop.customers.get(&customer?)?;
    let after_months = of_part(customer, part, None)?.first_article_after_months?;
    let zone = shop.site.as_ref()?.zone;
    let last_finished = local_date(zone, *shop.last_finished.get(&part)?);
    let today = local_date(zone, at);
    let lapses_on = last_finished.checked_add_months(Months::new(after_months.into()))?;
    let days = u32::try_from((today - last_finished).num_days()).unwrap_or(0);
    (lapses_on <= today).then_some(Lapse {
        last_finished,
        days,
        after_months,
    })
}
