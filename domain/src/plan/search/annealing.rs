//! How hot a chain is at each share of its allowance.

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

/// At the hot end a move of the median rise stays once in e^2 times.
const HOT_OF_MEDIAN: f64 = 0.5;
const COLD_OF_HOT: f64 = 1e-3;

impl Heat {
    /// Made from how much moves from the start raised the energy.
    pub fn of_rises(mut rises: Vec<f64>) -> Self {
        rises.retain(|rise| *rise > 0.0);
        if rises.is_empty() {
            return Self::default();
        }
        rises.sort_by(f64::total_cmp);
        let median = rises[rises.len() / 2];
        let hot = median * std::env::var("HOT").map_or(HOT_OF_MEDIAN, |v| v.parse().unwrap());
        Self {
            hot,
            cold: hot * std::env::var("COLD").map_or(COLD_OF_HOT, |v| v.parse().unwrap()),
        }
    }

    pub fn at(&self, share: f64) -> f64 {
        self.hot * (self.cold / self.hot).powf(share.clamp(0.0, 1.0))
    }
}
