//! Who may connect, and what they may do.

use std::collections::BTreeSet;
use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use rumqttc::mqttbytes::v4::{Connect, ConnectReturnCode};
use sha2::{Digest, Sha256};
use shared_types::{GaugeId, SensorId};

use crate::IntakeError;

/// How a fingerprint begins when it is written down.
const PREFIX: &str = "sha256:";

/// What is kept of a password. One fast hash without salt is enough because passwords are not chosen by
/// people: `oddleg password` makes them, 130 random bits each, which nobody can try through; a slow hash
/// would only let strangers spend our processor.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Fingerprint([u8; 32]);

impl Fingerprint {
    /// The fingerprint of a password.
    #[must_use]
    pub fn of(password: &str) -> Self {
        Self(Sha256::digest(password.as_bytes()).into())
    }
}

impl FromStr for Fingerprint {
    type Err = IntakeError;

    fn from_str(text: &str) -> Result<Self, IntakeError> {
        let wrong = || IntakeError::Fingerprint;
        let hex = text.strip_prefix(PREFIX).ok_or_else(wrong)?;
        if hex.len() != 64 || !hex.bytes().all(|digit| digit.is_ascii_hexdigit()) {
            return Err(wrong());
        }
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(hex.as_bytes().chunks(2)) {
            let pair = std::str::from_utf8(pair).map_err(|_| wrong())?;
            *byte = u8::from_str_radix(pair, 16).map_err(|_| wrong())?;
        }
        Ok(Self(bytes))
    }
}

impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(PREFIX)?;
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

/// Settings are printed to logs; what could be tried against is not.
impl fmt::Debug for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Fingerprint")
    }
}

/// How a user proves to be the one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Proof {
    /// By user name and the password with this fingerprint.
    Password(Fingerprint),
    /// By this client identifier and nothing else: for bridges that cannot log in. Whoever knows it may
    /// speak in the user's name.
    ClientId(String),
}

/// A bridge, or a lamp.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct User {
    /// Its name.
    pub name: String,
    /// Its proof.
    pub proof: Proof,
    /// The gauges it may speak for, and no others.
    pub gauges: BTreeSet<GaugeId>,
    /// The thermometers it may speak for.
    pub sensors: BTreeSet<SensorId>,
    /// Whether it may hear findings.
    pub findings: bool,
}

/// Everybody who may connect.
#[derive(Clone, Debug, Default)]
pub struct Users(Vec<Arc<User>>);

impl FromIterator<User> for Users {
    fn from_iter<I: IntoIterator<Item = User>>(users: I) -> Self {
        Self(users.into_iter().map(Arc::new).collect())
    }
}

impl Users {
    /// Who it is that wants to connect; otherwise the code to refuse with.
    pub(super) fn admit(&self, connect: &Connect) -> Result<Arc<User>, ConnectReturnCode> {
        let (found, code) = if let Some(login) = &connect.login {
            let shown = Fingerprint::of(&login.password);
            let found = self.0.iter().find(|user| {
                user.name == login.username
                    && matches!(&user.proof, Proof::Password(kept) if kept.is(&shown))
            });
            (found, ConnectReturnCode::BadUserNamePassword)
        } else {
            let found = self.0.iter().find(
                |user| matches!(&user.proof, Proof::ClientId(id) if *id == connect.client_id),
            );
            (found, ConnectReturnCode::NotAuthorized)
        };
        found.cloned().ok_or(code)
    }
}

impl Fingerprint {
    /// Equal, in the same time wherever they differ.
    fn is(&self, other: &Self) -> bool {
        let pairs = self.0.iter().zip(&other.0);
        pairs.fold(0, |differ, (a, b)| differ | (a ^ b)) == 0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SHA-256 of "abc": FIPS 180-4, appendix example B.1 (NIST, "SHA256.pdf").
    #[test]
    fn a_fingerprint_is_the_published_sha_256_and_is_read_as_it_is_written() {
        let text = "sha256:ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(Fingerprint::of("abc").to_string(), text);
        assert_eq!(text.parse::<Fingerprint>().unwrap(), Fingerprint::of("abc"));
        for wrong in ["", "abc", "sha256:", &text[..70], &text.replace('b', "g")] {
            let error = wrong.parse::<Fingerprint>().unwrap_err().to_string();
            assert!(error.contains("oddleg password"), "{error}");
        }
    }

    #[test]
    fn nobody_gets_in_with_half_a_proof_or_another_users() {
        let user = |name: &str, proof| User {
            name: name.to_owned(),
            proof,
            gauges: BTreeSet::new(),
            sensors: BTreeSet::new(),
            findings: true,
        };
        let users: Users = [
            user("lamp", Proof::Password(Fingerprint::of("tidewater"))),
            user("bridge", Proof::ClientId("radio-7".to_owned())),
        ]
        .into_iter()
        .collect();
        let admit = |id: &str, login: Option<(&str, &str)>| {
            let mut connect = Connect::new(id);
            if let Some((user, password)) = login {
                connect.set_login(user, password);
            }
            users.admit(&connect).map(|user| user.name.clone())
        };
        assert_eq!(admit("x", Some(("lamp", "tidewater"))).unwrap(), "lamp");
        assert_eq!(admit("radio-7", None).unwrap(), "bridge");
        let bad = Err(ConnectReturnCode::BadUserNamePassword);
        assert_eq!(admit("x", Some(("lamp", "ebb"))), bad);
        assert_eq!(admit("x", Some(("lamp", ""))), bad);
        assert_eq!(admit("x", Some(("bridge", "tidewater"))), bad);
        assert_eq!(admit("radio-7", Some(("bridge", "radio-7"))), bad);
        assert_eq!(admit("lamp", None), Err(ConnectReturnCode::NotAuthorized));
    }
}
