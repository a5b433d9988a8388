//! How much a chain may still do before it meets the others.

/// Iterations left and the caller's word on the allowance, which is asked for only now and then.
pub struct Effort<'a> {
    left: u64,
    used: u64,
    spent: &'a (dyn Fn() -> f64 + Sync),
    unasked: u32,
    over: bool,
}

/// Asking costs a look at a clock on the caller's side.
const ASKED_EVERY: u32 = 64;

impl<'a> Effort<'a> {
    pub(super) fn new(iterations: u64, spent: &'a (dyn Fn() -> f64 + Sync)) -> Self {
        Self {
            left: iterations,
            used: 0,
            spent,
            unasked: 0,
            over: false,
        }
    }

    /// Books so many schedules built (or moves judged). `false`: stop now.
    pub fn spend(&mut self, iterations: u64) -> bool {
        self.used += iterations;
        self.left = self.left.saturating_sub(iterations);
        self.unasked += 1;
        if self.unasked >= ASKED_EVERY {
            self.unasked = 0;
            self.over |= (self.spent)() >= 1.0;
        }
        self.goes_on()
    }

    #[must_use]
    pub fn goes_on(&self) -> bool {
        self.left > 0 && !self.over
    }

    #[must_use]
    pub fn used(&self) -> u64 {
        self.used
    }
}

impl Effort<'static> {
    /// As much as it takes.
    #[must_use]
    pub fn unlimited() -> Self {
        Self::new(u64::MAX, &|| 0.0)
    }
}
