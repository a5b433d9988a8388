use crate::refusal::refusals;

refusals! {
    pub enum SiteRefusal {
        /// A ledger begins with `site.opened`; nothing is decided before it.
        NotOpened {} =>
            (Rule, "site.not-opened", "", "this site's ledger is empty: open the site first"),
        AlreadyOpened {} =>
            (Rule, "site.already-opened", "", "this site is open already"),
        Stale { expected: u64, current: u64 } =>
            (Stale, "site.stale", "", "it was changed meanwhile: you changed version {expected}, it is at version {current}"),
        TooManyHeadcounts { max: usize } =>
            (Invalid, "site.too-many-headcounts", "/headcount", "at most {max} shifts can have a headcount"),
        HeadcountTwice { index: usize, shift: String } =>
            (Invalid, "site.headcount-twice", "/headcount/{index}/shift", "the shift {shift} stands here twice: name it once"),
        TooManyCalendars { max: usize } =>
            (Rule, "site.too-many-calendars", "/valid_from", "the site has {max} versions of its calendar, which is the most it takes; replace one"),
    }
}
