//! How long past runs really took, for promises.

use super::load::{self, Pool};
use super::{Hours, HoursError, HoursSource};
use spindlebook_domain::hours::run_times;
use spindlebook_domain::plan::promise::Spread;
use spindlebook_domain::run::Purpose;
use spindlebook_domain::time::Window;

/// Long enough to have seen bad days, short enough to be today's shop.
const LOOKED_BACK_S: i64 = 90 * 86_400;
/// A run of ten times its plan was forgotten, not slow.
const PER_MILLE_MAX: i64 = 10_000;

impl Hours {
    /// Of every machine, production runs that ended: time at the spindle, stops included, in thousandths of the plan.
    pub async fn spread(&self, source: &HoursSource) -> Result<Spread, HoursError> {
        let window = Window::new(source.as_of.plus_s(-LOOKED_BACK_S), source.as_of);
        let mut session = self.store().frozen_session().await?;
        let mut machines: Vec<_> = source.shop.machines.values().collect();
        machines.sort_by_key(|machine| machine.id);
        let mut per_mille = Vec::new();
        for machine in machines {
            let pool = Pool::of(&source.shop, machine.cell);
            let mut marks = load::marks(&mut session, source.site, &[machine.id], &pool, window).await?;
            let marks = marks.remove(&machine.id).unwrap_or_default();
            let times = run_times(&marks, window, source.as_of, machine.silent_after_s);
            per_mille.extend(times.values().filter_map(|time| {
                let is_told = !time.is_open && time.purpose == Some(Purpose::Production);
                let taken = time.in_cycle_us.saturating_add(time.stopped_us);
                let share = taken.saturating_mul(1_000).checked_div(time.planned_us)?;
                let is_usable = is_told && (1..=PER_MILLE_MAX).contains(&share);
                is_usable.then(|| u32::try_from(share).unwrap_or(u32::MAX))
            }));
        }
        per_mille.sort_unstable();
        Ok(Spread { per_mille })
    }
}
