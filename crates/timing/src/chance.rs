//! Chance from a seed: the same seed gives the same numbers on every machine.
//!
//! SplitMix64 (Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014).

#[derive(Clone, Debug)]
pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number below `n`; 0 if `n` is 0.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        // Multiply and shift: the bias is below n / 2^64.
        ((u128::from(self.next()) * n as u128) >> 64) as usize
    }

    /// A number from 0 up to, but not, 1.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::Chance;

    #[test]
    fn numbers_follow_the_published_generator() {
        // First outputs of SplitMix64 from seed 1234567, as published with its reference code (prng.di.unimi.it).
        let mut chance = Chance::new(1_234_567);
        assert_eq!(
            [chance.next(), chance.next()],
            [6_457_827_717_110_365_317, 3_203_168_211_198_807_973]
        );
    }
}
