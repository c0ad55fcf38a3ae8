//! Numbers drawn at random, the same ones for the same seed.

/// SplitMix64 (Steele, Lea & Flood, OOPSLA 2014): a seed, the same numbers every time.
pub struct Draw(pub u64);

impl Draw {
    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly between two numbers.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Evenly between two numbers on a logarithmic scale.
    pub fn scale(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    /// One of `count`.
    #[allow(clippy::cast_possible_truncation)] // less than `count`
    pub fn one_of(&mut self, count: usize) -> usize {
        (self.bits() % count as u64) as usize
    }

    /// True in one of `count` cases on average.
    pub fn chance(&mut self, count: usize) -> bool {
        self.one_of(count) == 0
    }
}
