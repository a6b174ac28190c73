//! The key a build signs its checkpoints with, and the key others check them by.

use std::fmt;
use std::fs::{File, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::str::FromStr;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use ed25519_dalek::{Signature, Signer as _, SigningKey, VerifyingKey};
use sha2::{Digest, Sha256};

use crate::{Checkpoint, HistoryError, NoteSignature};

/// The signature type of the signed-note format: Ed25519.
const ED25519: u8 = 1;
const PRIVATE_MARK: &str = "PRIVATE+KEY+";

/// What anyone needs to check the signatures of one history: its name and public key. As text it is a
/// verifier key of the signed-note format, `NAME+HASH+KEY`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VerifierKey {
    name: String,
    key: VerifyingKey,
}

impl VerifierKey {
    /// Whether `signature` is this key's of `text`.
    pub(crate) fn verifies(&self, text: &[u8], signature: &NoteSignature) -> bool {
        signature.key_hash == self.hash()
            && self
                .key
                .verify_strict(text, &Signature::from_bytes(&signature.signature))
                .is_ok()
    }

    fn hash(&self) -> [u8; 4] {
        let mut hasher = Sha256::new();
        hasher.update(self.name.as_bytes());
        hasher.update([b'\n', ED25519]);
        hasher.update(self.key.to_bytes());
        let hash: [u8; 32] = hasher.finalize().into();
        [hash[0], hash[1], hash[2], hash[3]]
    }

    fn hash_hex(&self) -> String {
        self.hash().iter().map(|b| format!("{b:02x}")).collect()
    }
}

impl fmt::Display for VerifierKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bytes = [&[ED25519][..], &self.key.to_bytes()].concat();
        let key = STANDARD.encode(bytes);
        write!(f, "{}+{}+{key}", self.name, self.hash_hex())
    }
}

impl FromStr for VerifierKey {
    type Err = &'static str;

    fn from_str(text: &str) -> Result<Self, &'static str> {
        let expected = "expected a verifier key NAME+HASH+KEY of a history";
        let mut parts = text.splitn(3, '+');
        let (Some(name), Some(hash), Some(key)) = (parts.next(), parts.next(), parts.next()) else {
            return Err(expected);
        };
        let bytes = tagged(key).ok_or(expected)?;
        let key = VerifyingKey::from_bytes(&bytes).map_err(|_| expected)?;
        let name = name.to_owned();
        let verifier = Self { name, key };
        if verifier.hash_hex() == hash {
            Ok(verifier)
        } else {
            Err(expected)
        }
    }
}

fn tagged(text: &str) -> Option<[u8; 32]> {
    let bytes = STANDARD.decode(text).ok()?;
    let key = bytes.strip_prefix(&[ED25519])?;
    key.try_into().ok()
}

/// Why checkpoints come unsigned. The history itself goes on without its key.
#[derive(Debug, thiserror::Error)]
pub enum KeyProblem {
    /// The file is gone.
    #[error(
        "checkpoints are not signed: {} is missing, expected the key this history was made with; put it back from a backup",
        .0.display()
    )]
    Missing(PathBuf),
    /// The file cannot be read.
    #[error("checkpoints are not signed: reading {}: {source}", .path.display())]
    Unreadable {
        /// The key file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// The file is no key.
    #[error(
        "checkpoints are not signed: {} is not a key, expected one line beginning with PRIVATE+KEY; put it back from a backup",
        .0.display()
    )]
    Malformed(PathBuf),
    /// The key is another history's.
    #[error(
        "checkpoints are not signed: {} is another key than the one this history was made with; put the right one back from a backup",
        .0.display()
    )]
    Other(PathBuf),
}

/// Signs checkpoints, or knows why it cannot.
#[derive(Debug)]
pub(crate) struct Signer(Result<SigningKey, KeyProblem>);

impl Signer {
    /// The key at `path`, if it is the one `verifier` belongs to.
    pub(crate) fn load(path: &Path, verifier: &VerifierKey) -> Self {
        Self(read(path).and_then(|key| {
            if key.verifying_key() == verifier.key {
                Ok(key)
            } else {
                Err(KeyProblem::Other(path.to_owned()))
            }
        }))
    }

    pub(crate) fn problem(&self) -> Option<&KeyProblem> {
        self.0.as_ref().err()
    }

    /// Signs where it can.
    pub(crate) fn sign(&self, mut checkpoint: Checkpoint, verifier: &VerifierKey) -> Checkpoint {
        checkpoint.signature = self.0.as_ref().ok().map(|key| NoteSignature {
            key_hash: verifier.hash(),
            signature: key.sign(checkpoint.body().as_bytes()).to_bytes(),
        });
        checkpoint
    }
}

/// The key for a new history: one left by a creation that was cut short, or a fresh one. It is on disk
/// before this returns, so that no history ever has a public key whose private half was lost.
pub(crate) fn create(path: &Path, origin: &str) -> Result<VerifierKey, HistoryError> {
    match read(path) {
        Ok(key) => Ok(verifier(origin, &key)),
        Err(KeyProblem::Missing(_)) => fresh(path, origin),
        Err(problem) => Err(HistoryError::KeyInTheWay(problem)),
    }
}

fn fresh(path: &Path, origin: &str) -> Result<VerifierKey, HistoryError> {
    let failed = |source| HistoryError::Io {
        doing: "writing the signing key",
        path: path.to_owned(),
        source,
    };
    let mut seed = [0; 32];
    getrandom::fill(&mut seed).map_err(|error| failed(io::Error::other(error)))?;
    let key = SigningKey::from_bytes(&seed);
    let verifier = verifier(origin, &key);
    let secret = STANDARD.encode([&[ED25519][..], &seed].concat());
    let line = format!("{PRIVATE_MARK}{origin}+{}+{secret}\n", verifier.hash_hex());
    // Written beside and renamed: a half-written key would be in the way for ever.
    let half = path.with_extension("key.new");
    write_private(&half, line.as_bytes()).map_err(failed)?;
    std::fs::rename(&half, path).map_err(failed)?;
    if let Some(dir) = path.parent() {
        File::open(dir).and_then(|d| d.sync_all()).map_err(failed)?;
    }
    Ok(verifier)
}

fn write_private(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

fn verifier(origin: &str, key: &SigningKey) -> VerifierKey {
    VerifierKey {
        name: origin.to_owned(),
        key: key.verifying_key(),
    }
}

fn read(path: &Path) -> Result<SigningKey, KeyProblem> {
    let text = std::fs::read_to_string(path).map_err(|source| {
        if source.kind() == io::ErrorKind::NotFound {
            KeyProblem::Missing(path.to_owned())
        } else {
            let path = path.to_owned();
            KeyProblem::Unreadable { path, source }
        }
    })?;
    secret(&text).ok_or_else(|| KeyProblem::Malformed(path.to_owned()))
}

fn secret(text: &str) -> Option<SigningKey> {
    let rest = text.strip_suffix('\n')?.strip_prefix(PRIVATE_MARK)?;
    // The name has no '+', but base64 may.
    let key = rest.splitn(3, '+').nth(2)?;
    tagged(key).map(|seed| SigningKey::from_bytes(&seed))
}
