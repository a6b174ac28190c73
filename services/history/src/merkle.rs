//! The Merkle tree of RFC 9162 section 2.1 over SHA-256, grown one leaf at a time.

use sha2::{Digest, Sha256};

/// A SHA-256 value.
pub type Hash = [u8; 32];

/// The hash of a leaf: SHA-256 of `0x00` and the stored bytes. The prefix keeps a leaf from ever
/// passing for an inner node.
#[must_use]
pub fn leaf_hash(body: &[u8]) -> Hash {
    let mut hasher = Sha256::new();
    hasher.update([0x00]);
    hasher.update(body);
    hasher.finalize().into()
}

fn node_hash(left: &Hash, right: &Hash) -> Hash {
    let mut hasher = Sha256::new();
    hasher.update([0x01]);
    hasher.update(left);
    hasher.update(right);
    hasher.finalize().into()
}

/// The right edge of the tree: the roots of its complete subtrees, largest first, one for each bit
/// set in the size. It is all that is needed to add a leaf or to tell the root.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Frontier {
    size: u64,
    peaks: Vec<Hash>,
}

impl Frontier {
    /// Leaves in the tree.
    #[must_use]
    pub const fn size(&self) -> u64 {
        self.size
    }

    /// Adds a leaf by its hash.
    pub fn push(&mut self, leaf: Hash) {
        let mut node = leaf;
        for _ in 0..self.size.trailing_ones() {
            let left = self
                .peaks
                .pop()
                .expect("there is a peak for each bit set in the size");
            node = node_hash(&left, &node);
        }
        self.peaks.push(node);
        self.size += 1;
    }

    /// The root of the tree; of no leaves it is the hash of nothing.
    #[must_use]
    pub fn root(&self) -> Hash {
        let mut peaks = self.peaks.iter().rev();
        let Some(last) = peaks.next() else {
            return Sha256::digest([]).into();
        };
        peaks.fold(*last, |right, left| node_hash(left, &right))
    }

    /// The peaks as bytes, to be kept beside a checkpoint.
    pub(crate) fn to_bytes(&self) -> Vec<u8> {
        self.peaks.concat()
    }

    /// The frontier of `size` leaves with these peaks; `None` where their number does not fit the size.
    pub(crate) fn from_bytes(size: u64, bytes: &[u8]) -> Option<Self> {
        let (peaks, rest) = bytes.as_chunks::<32>();
        let fits = rest.is_empty() && u32::try_from(peaks.len()).ok()? == size.count_ones();
        fits.then(|| Self {
            size,
            peaks: peaks.to_vec(),
        })
    }

    /// Takes over another frontier without a new allocation.
    pub(crate) fn copy_from(&mut self, other: &Self) {
        self.size = other.size;
        self.peaks.clone_from(&other.peaks);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn hex(bytes: &[u8]) -> String {
        bytes.iter().map(|b| format!("{b:02x}")).collect()
    }

    /// The roots of the first n of eight leaves. Source: the definition in RFC 9162 section 2.1 (and
    /// RFC 6962); the sequence of leaves and the roots of 1 and 8 leaves are the public test sequence
    /// of certificate-transparency implementations, from memory.
    #[test]
    fn roots_are_those_of_the_public_test_sequence() {
        let leaves: [&[u8]; 8] = [
            &[],
            &[0x00],
            &[0x10],
            &[0x20, 0x21],
            &[0x30, 0x31],
            &[0x40, 0x41, 0x42, 0x43],
            &[0x50, 0x51, 0x52, 0x53, 0x54, 0x55, 0x56, 0x57],
            &[
                0x60, 0x61, 0x62, 0x63, 0x64, 0x65, 0x66, 0x67, 0x68, 0x69, 0x6a, 0x6b, 0x6c, 0x6d,
                0x6e, 0x6f,
            ],
        ];
        let roots = [
            "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
            "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
            "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
            "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
            "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
            "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
            "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
            "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
            "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
        ];
        let mut frontier = Frontier::default();
        assert_eq!(hex(&frontier.root()), roots[0]);
        for (leaf, root) in leaves.iter().zip(&roots[1..]) {
            frontier.push(leaf_hash(leaf));
            assert_eq!(hex(&frontier.root()), *root, "size {}", frontier.size());
        }
    }

    /// The recursive definition, word for word: split at the largest power of two below the size.
    fn defined(leaves: &[Hash]) -> Hash {
        match leaves {
            [] => Sha256::digest([]).into(),
            [leaf] => *leaf,
            _ => {
                let split = leaves.len().next_power_of_two() / 2;
                node_hash(&defined(&leaves[..split]), &defined(&leaves[split..]))
            }
        }
    }

    proptest! {
        #[test]
        fn grown_one_by_one_or_from_kept_peaks_it_is_the_defined_tree(count in 0_usize..200, kept in 0_usize..200) {
            let leaves: Vec<Hash> = (0..count).map(|n| leaf_hash(n.to_string().as_bytes())).collect();
            let mut frontier = Frontier::default();
            for (n, leaf) in leaves.iter().enumerate() {
                if n == kept {
                    frontier = Frontier::from_bytes(frontier.size(), &frontier.to_bytes()).unwrap();
                }
                frontier.push(*leaf);
            }
            prop_assert_eq!(frontier.root(), defined(&leaves));
            prop_assert_eq!(Frontier::from_bytes(frontier.size() + 1, &frontier.to_bytes()).is_none(),
                (frontier.size() + 1).count_ones() != frontier.size().count_ones());
        }
    }
}
