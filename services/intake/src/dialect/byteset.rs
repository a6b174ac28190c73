//! A set of byte values.

/// Which of the 256 byte values are in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct ByteSet([u64; 4]);

impl ByteSet {
    pub(super) fn of(kind: impl Fn(u8) -> bool) -> Self {
        let mut set = Self::default();
        for byte in 0..=u8::MAX {
            if kind(byte) {
                set.0[usize::from(byte >> 6)] |= 1 << (byte & 63);
            }
        }
        set
    }

    pub(super) fn one(byte: u8) -> Self {
        Self::of(|other| other == byte)
    }

    pub(super) const fn has(&self, byte: u8) -> bool {
        self.0[(byte >> 6) as usize] >> (byte & 63) & 1 == 1
    }

    pub(super) fn and(&self, other: &Self) -> Self {
        let mut both = *self;
        for (word, other) in both.0.iter_mut().zip(other.0) {
            *word |= other;
        }
        both
    }

    /// A byte that is in both.
    pub(super) fn shared(&self, other: &Self) -> Option<u8> {
        (0..=u8::MAX).find(|&byte| self.has(byte) && other.has(byte))
    }
}
