//! Dispatch rules, from which the search begins.

use super::Tardiness;

impl Tardiness {
    /// Earliest due date first (Jackson 1955): none is late if any order can do without.
    #[must_use]
    pub fn by_due_date(&self) -> Vec<u32> {
        let mut order: Vec<u32> = (0..).take(self.jobs.len()).collect();
        order.sort_by_key(|&job| self.jobs[job as usize].due);
        order
    }

    /// Most weight for its time first (Smith 1956): least when every job is late anyway.
    #[must_use]
    pub fn by_weight_for_time(&self) -> Vec<u32> {
        let mut order: Vec<u32> = (0..).take(self.jobs.len()).collect();
        order.sort_by(|&one, &other| {
            let (one, other) = (self.jobs[one as usize], self.jobs[other as usize]);
            (other.weight * one.time).cmp(&(one.weight * other.time))
        });
        order
    }

    /// Apparent tardiness cost (Vepsalainen & Morton, Management Science 33, 1987) with the usual factor of 2 and the mean
    /// time of the jobs that are left.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "times are small")]
    pub fn by_apparent_cost(&self) -> Vec<u32> {
        let mut left = self.by_due_date();
        left.sort_unstable();
        let mut order = Vec::with_capacity(left.len());
        let mut now = 0;
        while !left.is_empty() {
            let total: i64 = left.iter().map(|&job| self.jobs[job as usize].time).sum();
            let mean = total as f64 / left.len() as f64;
            let urgency = |job: u32| {
                let job = self.jobs[job as usize];
                let slack = (job.due - job.time - now).max(0) as f64;
                job.weight as f64 / job.time.max(1) as f64 * (-slack / (2.0 * mean.max(1.0))).exp()
            };
            let mut first = 0;
            for place in 1..left.len() {
                if urgency(left[place]) > urgency(left[first]) {
                    first = place;
                }
            }
            let job = left.remove(first);
            now += self.jobs[job as usize].time;
            order.push(job);
        }
        order
    }
}
