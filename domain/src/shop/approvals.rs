//! What inspectors have opened: by job, and by setup for the jobs that come after.

use super::Shop;
use crate::entry::EntryMeta;
use crate::ids::{JobId, PalletId, Seq, SetupId};
use crate::load::Approved;

impl Shop {
    /// A setup that is mounted no more opens nothing.
    pub fn keep_approval(&mut self, approved: Approved) {
        let setup = approved.setup;
        let mut mounted = self.pallets.values().filter_map(|pallet| pallet.setup.as_ref());
        if mounted.any(|known| known.id == setup) {
            let mut of_setup = self.setup_approvals.get(&setup).cloned().unwrap_or_default();
            of_setup.push(approved.clone());
            self.setup_approvals.insert(setup, of_setup);
        }
        let job = approved.job;
        let mut of_job = self.approvals.get(&job).cloned().unwrap_or_default();
        of_job.push(approved);
        self.approvals.insert(job, of_job);
    }

    /// Whoever doubts pieces that were accepted takes that back, and with it what it had opened.
    pub fn take_acceptance_back(&mut self, pallet: PalletId, meta: &EntryMeta) {
        let load = self.pallets.get(&pallet).and_then(|pallet| pallet.load.as_ref());
        let decided = load.into_iter().flat_map(|load| &load.decided);
        let passed: Vec<_> = decided
            .filter(|verdict| verdict.disposition.lets_pass())
            .copied()
            .collect();
        for verdict in passed {
            self.jobs.update(&verdict.job, |job| {
                job.reverse_inspection(verdict.seq, meta.seq);
                job.changed_seq = meta.seq;
            });
            self.withdraw_approvals(verdict.seq);
        }
    }

    /// Those that an entry gave.
    pub fn withdraw_approvals(&mut self, entry: Seq) {
        let gave = |all: &Vec<Approved>| all.iter().any(|one| one.seq == entry);
        let jobs: Vec<JobId> = self
            .approvals
            .iter()
            .filter(|(_, all)| gave(all))
            .map(|(job, _)| *job)
            .collect();
        for job in jobs {
            self.approvals
                .update(&job, |all| all.retain(|one| one.seq != entry));
        }
        let setups = self.setup_approvals.iter().filter(|(_, all)| gave(all));
        let setups: Vec<SetupId> = setups.map(|(setup, _)| *setup).collect();
        for setup in setups {
            self.setup_approvals
                .update(&setup, |all| all.retain(|one| one.seq != entry));
        }
    }
}
