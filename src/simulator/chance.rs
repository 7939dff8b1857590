//! Numbers drawn from a seed, the same on every machine.
//!
//! SplitMix64: G. L. Steele, D. Lea and C. H. Flood, "Fast Splittable Pseudorandom Number Generators", OOPSLA 2014, with
//! the constants of S. Vigna's public-domain `splitmix64.c`. Good enough to shape a plate, and eight lines: a crate could
//! change its stream with a version, and then a trainer's seed would mean another plate. Not for secrets.

/// A stream of numbers.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Chance(u64);

impl Chance {
    /// The stream of a seed.
    #[cfg(test)]
    pub(crate) const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The stream of a seed for one purpose. Purposes do not disturb each other: a drill more leaves the plate as it was.
    pub(crate) fn of(seed: u64, purpose: &str) -> Self {
        let mut chance = Self(seed);
        for byte in purpose.bytes() {
            chance.0 = chance.draw() ^ u64::from(byte);
        }
        chance
    }

    /// The next 64 bits.
    pub(crate) fn draw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number from nought up to, not including, `n`; nought where `n` is nought. The bias of the remainder is below
    /// `n` in 2^64.
    pub(crate) fn below(&mut self, n: u64) -> u64 {
        let drawn = self.draw();
        drawn.checked_rem(n).unwrap_or(0)
    }

    /// A whole number from `low` to `high`, both included; `low` where they are the wrong way round.
    pub(crate) fn between(&mut self, low: i64, high: i64) -> i64 {
        let Some(span) = high.checked_sub(low).and_then(|s| u64::try_from(s).ok()) else {
            return low;
        };
        let drawn = self.below(span.saturating_add(1));
        low.saturating_add(i64::try_from(drawn).unwrap_or(0))
    }

    /// Plus or minus, as likely as each other, of a size from `low` to `high`.
    pub(crate) fn either_way(&mut self, low: i64, high: i64) -> i64 {
        let size = self.between(low, high);
        if self.draw() & 1 == 0 { size } else { -size }
    }
}

#[cfg(test)]
mod tests {
    use super::Chance;

    #[test]
    fn the_stream_is_the_published_one() {
        // The values published for seed 1234567 with the algorithm (task page "Pseudo-random numbers/Splitmix64"), from
        // memory.
        let mut chance = Chance::new(1_234_567);
        let drawn: Vec<u64> = (0..5).map(|_| chance.draw()).collect();
        assert_eq!(
            drawn,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
                4_593_380_528_125_082_431,
                16_408_922_859_458_223_821,
            ]
        );
    }

    #[test]
    fn draws_stay_in_their_range_and_reach_both_ends() {
        let mut chance = Chance::of(1, "range");
        let drawn: Vec<i64> = (0..500).map(|_| chance.between(-2, 2)).collect();
        assert!(drawn.iter().all(|n| (-2..=2).contains(n)));
        assert!((-2..=2).all(|n| drawn.contains(&n)));
        assert_eq!(chance.between(3, 1), 3);
        assert_eq!(chance.below(0), 0);
    }

    #[test]
    fn purposes_have_streams_of_their_own() {
        assert_ne!(
            Chance::of(7, "plate").draw(),
            Chance::of(7, "drills").draw()
        );
        assert_eq!(Chance::of(7, "plate").draw(), Chance::of(7, "plate").draw());
    }
}
