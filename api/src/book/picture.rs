//! All rows of the read tables as the whole ledger gives them: what `rebuild` writes and `verify` compares with.

use super::chain::{Fault, RowFault};
use super::things::{left_by, things};
use super::touched::{cell_calendar_row, cell_row, machine_row, principal_row, site_calendar_row};
use spindlebook_domain::entry::EntryMeta;
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{PlanId, SiteId};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::stretches::StretchDays;
use spindlebook_store::read::{
    self, CalendarRow, CellRow, MachineRow, PlanRow, PrincipalRow, ReadRow, StretchRow, ThingRow,
};
use spindlebook_store::{Session, StoreError, Transaction};
use std::collections::{BTreeMap, HashMap};

#[derive(Debug)]
pub(super) struct Picture {
    pub shop: Shop,
    stretches: StretchDays,
    plans: BTreeMap<PlanId, PlanRow>,
    /// Rows of things that have left the shop.
    left: Vec<ThingRow>,
}

impl Default for Picture {
    fn default() -> Self {
        Self {
            shop: Shop::default(),
            stretches: StretchDays::whole(),
            plans: BTreeMap::new(),
            left: Vec::new(),
        }
    }
}

impl Picture {
    pub fn apply(&mut self, event: &Event, meta: &EntryMeta) {
        self.left.extend(left_by(event, &self.shop));
        let marks = self.shop.fold(event, meta);
        // From the first entry on nothing is missing, so this cannot fail.
        self.stretches.apply_marks(marks, meta).unwrap_or_default();
        match event {
            Event::PlanPosted(posted) => {
                let row = PlanRow {
                    id: posted.plan,
                    posted_seq: meta.seq,
                    published: None,
                    slots: posted.slots.clone(),
                };
                self.plans.insert(posted.plan, row);
            }
            Event::PlanPublished(published) => {
                if let Some(row) = self.plans.get_mut(&published.plan) {
                    row.published = Some((meta.recorded_at, meta.seq));
                }
            }
            _ => {}
        }
    }

    fn things(&self) -> Vec<ThingRow> {
        let mut rows = things(&self.shop);
        rows.extend(self.left.iter().cloned());
        rows
    }

    fn cells(&self) -> Vec<CellRow> {
        self.shop.cells.values().map(cell_row).collect()
    }

    fn machines(&self) -> Vec<MachineRow> {
        self.shop.machines.values().map(machine_row).collect()
    }

    fn principals(&self) -> Vec<PrincipalRow> {
        self.shop.principals.values().map(principal_row).collect()
    }

    fn calendars(&self) -> Vec<CalendarRow> {
        let own = self.shop.site.iter().map(site_calendar_row);
        own.chain(self.shop.cells.values().filter_map(cell_calendar_row))
            .collect()
    }

    fn stretch_rows(&self) -> Vec<StretchRow> {
        self.stretches
            .iter()
            .flat_map(|(key, marks)| StretchRow::changed_after(*key, marks, 0))
            .collect()
    }

    fn plan_rows(&self) -> Vec<PlanRow> {
        self.plans.values().cloned().collect()
    }

    /// Puts these rows in the place of all that are there.
    pub async fn write(&self, transaction: &mut Transaction, site: SiteId) -> Result<u64, StoreError> {
        let mut rows = 0;
        rows += replace(transaction, site, &self.cells()).await?;
        rows += replace(transaction, site, &self.machines()).await?;
        rows += replace(transaction, site, &self.principals()).await?;
        rows += replace(transaction, site, &self.calendars()).await?;
        rows += replace(transaction, site, &self.things()).await?;
        rows += replace(transaction, site, &self.plan_rows()).await?;
        rows += replace(transaction, site, &self.stretch_rows()).await?;
        Ok(rows)
    }

    /// Compares these rows with the stored ones, one by one.
    pub async fn compare(
        &self,
        session: &mut Session,
        site: SiteId,
    ) -> Result<(u64, Vec<Fault>), StoreError> {
        let mut compared = Compared::default();
        compared.rows(self.cells(), session, site).await?;
        compared.rows(self.machines(), session, site).await?;
        compared.rows(self.principals(), session, site).await?;
        compared.rows(self.calendars(), session, site).await?;
        compared.rows(self.things(), session, site).await?;
        compared.rows(self.plan_rows(), session, site).await?;
        compared.rows(self.stretch_rows(), session, site).await?;
        Ok((compared.count, compared.faults))
    }
}

/// Rows go out in pages, so that one statement holds no more than some megabytes.
async fn replace<R: ReadRow>(
    transaction: &mut Transaction,
    site: SiteId,
    rows: &[R],
) -> Result<u64, StoreError> {
    const ROWS_PER_STATEMENT: usize = 1_000;
    read::clear::<R>(transaction, site).await?;
    for page in rows.chunks(ROWS_PER_STATEMENT) {
        read::put(transaction, site, page).await?;
    }
    Ok(rows.len() as u64)
}

#[derive(Default)]
struct Compared {
    count: u64,
    faults: Vec<Fault>,
}

impl Compared {
    async fn rows<R: ReadRow>(
        &mut self,
        folded: Vec<R>,
        session: &mut Session,
        site: SiteId,
    ) -> Result<(), StoreError> {
        let mut expected: HashMap<String, R> = folded.into_iter().map(|row| (row.name(), row)).collect();
        let stored: Vec<R> = match read::all(session, site).await {
            Ok(stored) => stored,
            Err(StoreError::Unreadable(name)) => {
                self.fault(name, RowFault::Differs);
                return Ok(());
            }
            Err(error) => return Err(error),
        };
        for row in stored {
            self.count += 1;
            match expected.remove(&row.name()) {
                None => self.fault(row.name(), RowFault::NotInLedger),
                Some(right) if right != row => self.fault(row.name(), RowFault::Differs),
                Some(_) => {}
            }
        }
        let mut missing: Vec<_> = expected.into_keys().collect();
        missing.sort();
        for name in missing {
            self.fault(name, RowFault::Missing);
        }
        Ok(())
    }

    fn fault(&mut self, name: String, what: RowFault) {
        self.faults.push(Fault::Row { name, what });
    }
}
