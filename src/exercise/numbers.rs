//! Numbers that look random and are the same for the same seed, on every machine.

/// The generator SplitMix64 of Steele, Lea and Flood, "Fast Splittable Pseudorandom Number Generators" (OOPSLA 2014).
///
/// ```
/// // The first values for the seed 1234567, as public test vectors of the algorithm give them (recalled from memory).
/// let mut numbers = layrule::exercise::numbers::Numbers::new(1_234_567);
/// assert_eq!([numbers.next(), numbers.next()], [6_457_827_717_110_365_317, 3_203_168_211_198_807_973]);
/// ```
#[derive(Debug, Clone)]
pub struct Numbers(u64);

impl Numbers {
    /// Those of a seed.
    pub fn new(seed: u64) -> Self {
        Numbers(seed)
    }

    /// Those of one of many that share a seed; each has its own, whatever the others are.
    pub fn of(seed: u64, number: u64) -> Self {
        Numbers(Numbers(seed).next() ^ Numbers(!number).next())
    }

    /// The next one.
    #[allow(clippy::should_implement_trait)]
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// Puts a list into another order, each as likely as any.
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for last in (1..list.len()).rev() {
            // What the remainder favours is less than one in 2^40 for lists of any length met here.
            let other = usize::try_from(self.next() % (last as u64 + 1)).unwrap_or(0);
            list.swap(last, other);
        }
    }
}
