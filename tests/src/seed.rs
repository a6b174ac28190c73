//! Chance that can be repeated: the seed stands in every failure message.

/// A small generator (splitmix64): good enough to pick moments, and the same on every machine.
#[derive(Debug)]
pub struct Seed {
    state: u64,
    /// What it began with.
    pub first: u64,
}

impl Seed {
    /// The seed in `ODDLEG_SEED`, or one from the clock.
    #[must_use]
    pub fn from_env() -> Self {
        let first = std::env::var("ODDLEG_SEED")
            .ok()
            .and_then(|text| text.parse().ok());
        let first = first.unwrap_or_else(|| {
            let now = std::time::SystemTime::now()
                .duration_since(std::time::UNIX_EPOCH)
                .unwrap();
            u64::from(now.subsec_nanos()) ^ now.as_secs()
        });
        eprintln!("seed: ODDLEG_SEED={first}");
        Self {
            state: first,
            first,
        }
    }

    /// A number below `below`.
    pub fn below(&mut self, below: u64) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % below
    }
}
