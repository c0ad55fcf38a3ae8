//! Random numbers that are the same for the same seed on every machine and for any number of threads.

use std::f64::consts::TAU;

/// One stream of random numbers: SplitMix64 (Steele, Lea & Flood, "Fast splittable pseudorandom number generators",
/// OOPSLA 2014). Each part of a scatter run draws from a stream of its own, so the order of work does not matter.
#[derive(Debug, Clone)]
pub struct RandomStream {
    state: u64,
}

/// The increment of the generator: 2⁶⁴ over the golden ratio, odd.
const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;

impl RandomStream {
    /// Stream number `index` under a seed.
    pub fn new(seed: u64, index: u64) -> Self {
        let mut start = Self { state: seed };
        let base = start.bits();
        let mut stream = Self { state: base ^ index.wrapping_mul(0xd134_2543_de82_ef95) };
        stream.state = stream.bits();
        stream
    }

    fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(GOLDEN);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly between 0 (left out) and 1 (included).
    pub fn uniform(&mut self) -> f64 {
        // 53 bits, the digits of a double
        ((self.bits() >> 11) + 1) as f64 / (1u64 << 53) as f64
    }

    /// Standard normal (Box & Muller, Ann. Math. Stat. 29 (1958)).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        radius * (TAU * self.uniform()).cos()
    }

    /// Standard normal cut off at ±`limit`, by drawing again.
    pub fn truncated_normal(&mut self, limit: f64) -> f64 {
        loop {
            let z = self.normal();
            if z.abs() <= limit {
                return z;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_generator_is_the_published_one() {
        // first values of SplitMix64 from state 1234567, as in its reference implementation
        let mut stream = RandomStream { state: 1_234_567 };
        assert_eq!(stream.bits(), 6_457_827_717_110_365_317);
        assert_eq!(stream.bits(), 3_203_168_211_198_807_973);
    }

    #[test]
    fn neighbouring_streams_are_normal_and_unrelated() {
        let count = 40_000;
        let draws: Vec<f64> = (0..count).map(|i| RandomStream::new(7, i).truncated_normal(3.0)).collect();
        let mean = draws.iter().sum::<f64>() / count as f64;
        let variance = draws.iter().map(|z| (z - mean).powi(2)).sum::<f64>() / count as f64;
        let neighbours = draws.windows(2).map(|pair| pair[0] * pair[1]).sum::<f64>() / count as f64;
        // a normal cut at three sigma has variance 0.9733
        assert!(mean.abs() < 0.02 && (variance - 0.9733).abs() < 0.03, "mean {mean}, variance {variance}");
        assert!(neighbours.abs() < 0.02, "{neighbours}");
        assert!(draws.iter().all(|z| z.abs() <= 3.0));
    }
}
