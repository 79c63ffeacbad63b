//! Draws that are the same on every machine: SplitMix64, and what is made of it with `libm` alone.

use sha2::{Digest, Sha256};

/// A stream of draws.
///
/// SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014), with the constants
/// of its public-domain reference in C. Good enough for a story, no good for a secret.
#[derive(Clone, Debug)]
pub struct Random(u64);

impl Random {
    /// The stream of a seed.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The stream of a name under a seed, so that one part of a story may change and no other.
    #[must_use]
    pub fn of(seed: u64, name: &str) -> Self {
        let digest = Sha256::new().chain_update(seed.to_le_bytes()).chain_update(name).finalize();
        Self(digest.iter().take(8).fold(0, |sum, byte| sum << 8 | u64::from(*byte)))
    }

    /// 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// From 0 to below 1, in steps of 2⁻⁵³.
    pub fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// From `low` to below `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Whether something of this probability happens.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.share() < probability
    }

    /// From 0 to below `count`; 0 if there is nothing to choose from.
    pub fn index(&mut self, count: usize) -> usize {
        // The product of two numbers below 2⁶⁴, its upper half: below `count`.
        ((u128::from(self.bits()) * count as u128) >> 64) as usize
    }

    /// One of several; none of none.
    pub fn pick<'t, T>(&mut self, from: &'t [T]) -> Option<&'t T> {
        let index = self.index(from.len());
        from.get(index)
    }

    /// Normally distributed (Box and Muller 1958, the cosine alone, so that each draw takes two numbers).
    pub fn normal(&mut self, mean: f64, deviation: f64) -> f64 {
        let (first, second) = (1.0 - self.share(), self.share());
        let radius = libm::sqrt(-2.0 * libm::log(first));
        mean + deviation * radius * libm::cos(2.0 * core::f64::consts::PI * second)
    }

    /// Around a positive median, its logarithm with this deviation.
    pub fn about(&mut self, median: f64, spread: f64) -> f64 {
        median * libm::exp(self.normal(0.0, spread))
    }

    /// Bytes: a key or a nonce of a demonstration.
    pub fn bytes<const N: usize>(&mut self) -> [u8; N] {
        let mut out = [0; N];
        for chunk in out.chunks_mut(8) {
            chunk.iter_mut().zip(self.bits().to_le_bytes()).for_each(|(to, from)| *to = from);
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_vector() {
        // Output of the public-domain reference splitmix64.c for the seed 1234567, as it is widely quoted (from memory).
        let mut random = Random::new(1_234_567);
        let wanted = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ];
        assert_eq!(wanted.map(|_| random.bits()), wanted);
    }

    #[test]
    fn draws_lie_as_they_should() {
        let mut random = Random::of(7, "test");
        let draws: Vec<f64> = (0..20_000).map(|_| random.normal(5.0, 2.0)).collect();
        let mean = draws.iter().sum::<f64>() / 20_000.0;
        let variance = draws.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 20_000.0;
        // Four standard errors: 2/√20000 of the mean, 4·√(2/20000) of the variance.
        assert!((mean - 5.0).abs() < 0.057, "{mean}");
        assert!((variance - 4.0).abs() < 0.16, "{variance}");
        assert!((0..1000).all(|_| random.index(3) < 3 && (0.0..1.0).contains(&random.share())));
        assert_eq!(random.pick::<u8>(&[]), None);
    }
}
