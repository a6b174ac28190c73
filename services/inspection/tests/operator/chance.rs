//! Chance from a seed, in whole numbers.

/// SplitMix64 (Steele, Lea and Flood 2014).
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Below `end`, which is small beside 2⁶⁴.
    pub(crate) fn below(&mut self, end: u64) -> u64 {
        self.next() % end
    }

    pub(crate) fn one_in(&mut self, many: u64) -> bool {
        self.below(many) == 0
    }

    /// From `least` to `most`.
    pub(crate) fn between(&mut self, least: i64, most: i64) -> i64 {
        let span = u64::try_from(most - least).unwrap() + 1;
        least + i64::try_from(self.below(span)).unwrap()
    }

    /// Near normal about 0: the sum of twelve even ones has a deviation of one.
    pub(crate) fn bell(&mut self, deviation: i64) -> i64 {
        (0..12)
            .map(|_| self.between(-1000, 1000))
            .sum::<i64>()
            // Each has a deviation of 2000/√12, so that their sum has one of 2000.
            * deviation
            / 2000
    }

    pub(crate) fn one_of<'a, T>(&mut self, all: &'a [T]) -> Option<&'a T> {
        let many = u64::try_from(all.len()).unwrap();
        (many > 0).then(|| &all[usize::try_from(self.below(many)).unwrap()])
    }
}
