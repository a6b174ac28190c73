//! `oddleg password`: made here, not chosen by a person, so that nobody can guess it.

use std::process::ExitCode;

use anyhow::{Context as _, bail};
use intake::far_end::Fingerprint;

/// The alphabet of RFC 4648's base 32: without the digits that are taken for letters, and a random byte
/// picks one of the 32 evenly.
const LETTERS: &[u8; 32] = b"abcdefghijklmnopqrstuvwxyz234567";
/// 26 letters of 32 are 130 random bits.
const LETTERS_COUNT: usize = 26;

pub(super) fn run(name: &str) -> anyhow::Result<ExitCode> {
    if shared_types::GaugeId::new(name).is_err() {
        bail!(
            "making a password for {name:?}: expected a name of letters, digits, '.', '-' and '_'"
        );
    }
    let mut random = [0_u8; LETTERS_COUNT];
    getrandom::fill(&mut random).context("asking the system for random bytes")?;
    let password: String = random
        .iter()
        .map(|byte| char::from(LETTERS[usize::from(byte % 32)]))
        .collect();
    let kept = Fingerprint::of(&password);
    super::say(&format!(
        "# The password of {name}, for the bridge or the lamp; it is shown this once and kept nowhere:\n\
         #   {password}\n\
         # For oddleg.toml, under [mqtt] with `listen`; a lamp gets `findings = true` besides:\n\
         [mqtt.client.{name}]\n\
         password = \"{kept}\"\n"
    ))?;
    Ok(ExitCode::SUCCESS)
}
