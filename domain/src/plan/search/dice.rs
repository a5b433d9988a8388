//! Chance from a seed: xoshiro256++ (Blackman & Vigna, ACM TOMS 47, 2021), its state filled by splitmix64.

#[derive(Clone, Debug)]
pub struct Dice {
    state: [u64; 4],
}

impl Dice {
    /// Dice of one stream never repeat those of another stream of the same seed in practice.
    #[must_use]
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut counter = seed ^ stream.wrapping_mul(0xd134_2543_de82_ef95);
        Self {
            state: std::array::from_fn(|_| split_mix(&mut counter)),
        }
    }

    pub fn bits(&mut self) -> u64 {
        let [a, b, c, d] = &mut self.state;
        let result = a.wrapping_add(*d).rotate_left(23).wrapping_add(*a);
        let shifted = *b << 17;
        *c ^= *a;
        *d ^= *b;
        *b ^= *c;
        *a ^= *d;
        *c ^= shifted;
        *d = d.rotate_left(45);
        result
    }

    /// From 0, below `end` (0 for an `end` of 0). So small ranges need no rejection: the bias is below `end` in 2^32.
    pub fn below(&mut self, end: usize) -> usize {
        let high = self.bits() >> 32;
        usize::try_from((u128::from(high) * end as u128) >> 32).unwrap_or(0)
    }

    /// Above 0 and at most 1, so that its logarithm is finite.
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    pub fn unit(&mut self) -> f64 {
        ((self.bits() >> 11) + 1) as f64 / (1_u64 << 53) as f64
    }

    pub fn per_mille(&mut self, chance: u32) -> bool {
        self.below(1_000) < chance as usize
    }
}

fn split_mix(counter: &mut u64) -> u64 {
    *counter = counter.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut mixed = *counter;
    mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    mixed ^ (mixed >> 31)
}
