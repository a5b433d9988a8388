//! How hot a chain is at each share of its allowance.

/// How a problem likes to be annealed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cooling {
    /// The first temperature, as a part of the median rise that a move from the start brings.
    pub hot_of_median: f64,
    /// The last temperature, as a part of the first.
    pub cold_of_hot: f64,
    /// Annealing begins again from the best of all so often.
    pub cycles: u32,
}

impl Default for Cooling {
    fn default() -> Self {
        Self {
            hot_of_median: 2.0,
            cold_of_hot: 5e-4,
            cycles: 1,
        }
    }
}

/// From hot to cold by equal factors.
#[derive(Clone, Copy, Debug)]
pub struct Heat {
    hot: f64,
    cold: f64,
}

impl Default for Heat {
    fn default() -> Self {
        Self { hot: 1.0, cold: 1.0 }
    }
}

impl Heat {
    /// Made from how much moves from the start raised the energy.
    pub fn of_rises(mut rises: Vec<f64>, cooling: Cooling) -> Self {
        rises.retain(|rise| *rise > 0.0);
        if rises.is_empty() {
            return Self::default();
        }
        rises.sort_by(f64::total_cmp);
        let hot = rises[rises.len() / 2] * cooling.hot_of_median;
        Self {
            hot,
            cold: hot * cooling.cold_of_hot,
        }
    }

    pub fn at(&self, share: f64) -> f64 {
        self.hot * (self.cold / self.hot).powf(share.clamp(0.0, 1.0))
    }
}
