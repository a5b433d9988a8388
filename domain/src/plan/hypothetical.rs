//! An order that nobody has entered yet, put into a copy of the shop.

use crate::code::Code;
use crate::fixture::Fixture;
use crate::ids::{JobId, OrderId, PartId};
use crate::job::{Job, Release};
use crate::order::{Line, LineState, Material, Order, Priority};
use crate::part::{FrozenRouting, Known, PartRefusal, is_routing};
use crate::shop::Shop;
use crate::time::Timestamp;
use chrono::NaiveDate;

/// One line of it. Its ids come from the caller and never get into the ledger.
#[derive(Clone, Debug)]
pub struct Hypothetical {
    pub order: OrderId,
    pub job: JobId,
    pub code: Code,
    pub part: PartId,
    pub revision: Code,
    pub routing: FrozenRouting,
    pub pieces: u32,
    /// It counts as due at the end of this day.
    pub due: NaiveDate,
    pub priority: Priority,
    /// `None`: it is here.
    pub material_expected: Option<NaiveDate>,
    /// Fixtures that the shop would make for it.
    pub fixtures: Vec<Fixture>,
}

impl Hypothetical {
    /// Whether the shop, with the fixtures that it would make, could work by its routing.
    pub fn is_possible(&self, shop: &Shop) -> Result<(), PartRefusal> {
        let mut fixtures = shop.fixtures.clone();
        for fixture in &self.fixtures {
            fixtures.insert(fixture.id, fixture.clone());
        }
        let known = Known {
            cells: &shop.cells,
            machines: &shop.machines,
            fixtures: &fixtures,
            vendors: &shop.vendors,
        };
        is_routing(known, &self.routing)
    }

    /// The shop as it would be with this order entered and released. The shop itself stays as it is.
    pub fn entered_into(&self, shop: &Shop, now: Timestamp) -> Shop {
        let mut with = shop.clone();
        let arrived = self.material_expected.is_none().then_some(crate::order::Arrived {
            at: now,
            certificate: None,
        });
        let line = Line {
            number: 1,
            part: self.part,
            revision: self.revision.clone(),
            quantity: self.pieces,
            due: self.due,
            priority: self.priority,
            material: Material {
                expected: self.material_expected,
                arrived,
            },
            quoted: Vec::new(),
            state: LineState::Released { jobs: vec![self.job] },
            shipments: Vec::new(),
            changed_seq: shop.seq,
        };
        let order = Order {
            id: self.order,
            code: self.code.clone(),
            customer: None,
            reference: None,
            customer_approval_needed: false,
            lines: vec![line],
            entered_at: now,
            changed_seq: shop.seq,
        };
        with.orders.insert(self.order, order);
        for fixture in &self.fixtures {
            with.fixtures.insert(fixture.id, fixture.clone());
        }
        let job = Job::release(Release {
            job: self.job,
            order: self.order,
            line: 1,
            part: self.part,
            revision: self.revision.clone(),
            routing: self.routing.clone(),
            quantity: self.pieces,
            blanks: self.pieces,
            certificate: None,
            seq: shop.seq,
        });
        with.jobs.insert(self.job, job);
        with
    }
}

/// All of them, one after the other.
pub fn entered(shop: &Shop, lines: &[Hypothetical], now: Timestamp) -> Shop {
    let first = shop.clone();
    lines
        .iter()
        .fold(first, |shop, line| line.entered_into(&shop, now))
}
