//! What was set up and run for one job, out of the read tables.

use super::load::{self, Pool};
use super::{Hours, HoursError, HoursSource};
use spindlebook_domain::hours::{OperationTime, RunTime, machines_of, of_job, run_times};
use spindlebook_domain::ids::{JobId, MachineId, RunId};
use spindlebook_domain::stretches::{JobMarks, Layer, LayerDays};
use spindlebook_domain::time::{Timestamp, Window};
use spindlebook_store::{Session, read};
use std::collections::BTreeMap;

impl Hours {
    /// By operation of the job's routing; those for which nothing was done are left out.
    pub async fn of_job(
        &self,
        source: &HoursSource,
        job: JobId,
    ) -> Result<BTreeMap<u16, OperationTime>, HoursError> {
        let mut session = self.store().frozen_session().await?;
        let always = LayerDays {
            layer: Layer::Jobs,
            first_day: Timestamp::MIN.utc_day(),
            last_day: Timestamp::MAX.utc_day(),
            last_before: false,
            first_after: false,
        };
        let rows = read::stretches_for(&mut session, source.site, &[(job.into(), always)]).await?;
        let marks = JobMarks::from_rows(rows.into_iter().map(|row| row.marks));
        let mut times = BTreeMap::new();
        for (machine, window) in machines_of(&marks) {
            times.extend(times_on(&mut session, source, machine, window).await?);
        }
        Ok(of_job(&marks, &times))
    }
}

async fn times_on(
    session: &mut Session,
    source: &HoursSource,
    machine: MachineId,
    window: Window,
) -> Result<BTreeMap<RunId, RunTime>, HoursError> {
    let unknown = HoursError::UnknownMachine(machine);
    let known = source.shop.machines.get(&machine).ok_or(unknown)?;
    let pool = Pool::of(&source.shop, known.cell);
    let mut marks = load::marks(session, source.site, &[machine], &pool, window).await?;
    let marks = marks.remove(&machine).unwrap_or_default();
    Ok(run_times(&marks, window, source.as_of, known.silent_after_s))
}
