//! What a person can have written wrongly about a port or a broker.

/// Why a setting cannot be used. Trouble with a port or a broker itself is not an error: it is
/// retried and shown.
#[derive(Debug, thiserror::Error)]
pub enum IntakeError {
    /// The certificate file cannot be read as PEM.
    #[error(
        "reading the broker's certificate authority: {found}, expected a PEM file with at least one certificate"
    )]
    Certificate {
        /// What was found.
        found: String,
    },
    /// The TLS library refused the settings.
    #[error("preparing TLS to the broker")]
    Tls(#[from] rustls::Error),
    /// The shape of a character on a serial line.
    #[error(
        "reading a serial line's settings: found {found:?}, expected data bits 5 to 8, parity N, E or O and stop bits 1 or 2, as in \"8N1\""
    )]
    LineShape {
        /// What was found.
        found: String,
    },
    /// What is kept of a password. What was found is not repeated: it may be a password.
    #[error("expected \"sha256:\" and 64 hexadecimal digits, as `oddleg password` prints")]
    Fingerprint,
}
