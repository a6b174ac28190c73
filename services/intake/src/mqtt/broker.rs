//! What must be known to speak with a broker.

use std::fmt;
use std::sync::Arc;
use std::time::Duration;

use rumqttc::{MqttOptions, TlsConfiguration, Transport};
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use rustls::{ClientConfig, RootCertStore};

use super::Topics;
use crate::IntakeError;

/// Largest packet taken and sent: the limit the shipped broker configuration sets on its side too.
/// A reading is under 200 bytes.
pub const PACKET_BYTES_MAX: usize = 64 * 1024;
/// Most messages received and not yet handed in. A little more than the shipped broker sends
/// without an acknowledgement (1000), so that polling never has to wait for the spine.
pub const INFLIGHT_MAX: usize = 1024;
/// A silent connection is noticed within twice this.
const KEEP_ALIVE: Duration = Duration::from_secs(15);

/// A broker and what is expected there.
#[derive(Clone)]
pub struct Broker {
    /// Host name or address.
    pub host: String,
    /// Port.
    pub port: u16,
    /// TLS, where the broker speaks it.
    pub tls: Option<TlsSettings>,
    /// Our name at the broker. The broker keeps messages for it while we are away, and throws off
    /// the older of two clients with one name: it must be fixed, and one process's alone.
    pub client_id: String,
    /// User and password.
    pub user: Option<(String, String)>,
    /// Topics and who speaks on them.
    pub topics: Topics,
    /// Most messages received and not yet handed in.
    pub inflight_max: usize,
}

impl Broker {
    /// A broker without TLS or password and without known gauges.
    #[must_use]
    pub fn new(host: &str, port: u16, client_id: &str) -> Self {
        Self {
            host: host.to_owned(),
            port,
            tls: None,
            client_id: client_id.to_owned(),
            user: None,
            topics: Topics::default(),
            inflight_max: INFLIGHT_MAX,
        }
    }

    /// Options of the connection readings come by.
    pub(super) fn options(&self) -> MqttOptions {
        let mut options = self.plain_options(&self.client_id);
        options.set_clean_session(self.client_id.is_empty());
        options.set_manual_acks(true);
        options
    }

    /// Options of the connection findings go by.
    pub(super) fn findings_options(&self) -> MqttOptions {
        let mut options = self.plain_options(&format!("{}-findings", self.client_id));
        options.set_clean_session(true);
        options
    }

    fn plain_options(&self, client_id: &str) -> MqttOptions {
        let mut options = MqttOptions::new(client_id, &self.host, self.port);
        options.set_keep_alive(KEEP_ALIVE);
        options.set_max_packet_size(PACKET_BYTES_MAX, PACKET_BYTES_MAX);
        if let Some((user, password)) = &self.user {
            options.set_credentials(user, password);
        }
        if let Some(tls) = &self.tls {
            let config = TlsConfiguration::Rustls(tls.config.clone());
            options.set_transport(Transport::tls_with_config(config));
        }
        options
    }
}

/// Without the password: settings are printed to logs.
impl fmt::Debug for Broker {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Broker")
            .field("host", &self.host)
            .field("port", &self.port)
            .field("tls", &self.tls.is_some())
            .field("client_id", &self.client_id)
            .field("user", &self.user.as_ref().map(|(user, _)| user))
            .finish_non_exhaustive()
    }
}

/// TLS to the broker: the certificate authorities it is checked against.
#[derive(Clone)]
pub struct TlsSettings {
    config: Arc<ClientConfig>,
}

impl TlsSettings {
    /// Checks the broker against the authorities in `ca`, the bytes of a PEM file: the workshop's
    /// own, or the system's bundle.
    ///
    /// # Errors
    /// [`IntakeError::Certificate`] where the file holds no certificate that can be used.
    pub fn new(ca: &[u8]) -> Result<Self, IntakeError> {
        let mut roots = RootCertStore::empty();
        for certificate in CertificateDer::pem_slice_iter(ca) {
            let certificate = certificate.map_err(|error| IntakeError::Certificate {
                found: error.to_string(),
            })?;
            // A system's bundle may hold an authority this library does not take; the others stand.
            if let Err(error) = roots.add(certificate) {
                tracing::debug!(%error, "one certificate authority cannot be used");
            }
        }
        if roots.is_empty() {
            return Err(IntakeError::Certificate {
                found: "no certificate".to_owned(),
            });
        }
        // The provider is named: no process-wide default has to be installed before.
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let config = ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()?
            .with_root_certificates(roots)
            .with_no_client_auth();
        Ok(Self {
            config: Arc::new(config),
        })
    }
}

impl fmt::Debug for TlsSettings {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("TlsSettings")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn printed_settings_do_not_show_the_password() {
        let mut broker = Broker::new("localhost", 1883, "oddleg");
        broker.user = Some(("oddleg".to_owned(), "tidewater".to_owned()));
        let printed = format!("{broker:?}");
        assert!(printed.contains("localhost") && !printed.contains("tidewater"));
    }

    #[test]
    fn a_file_without_a_certificate_is_refused_before_anything_is_opened() {
        for ca in ["", "hello", "-----BEGIN CERTIFICATE-----\nAAAA"] {
            let error = TlsSettings::new(ca.as_bytes()).unwrap_err().to_string();
            assert!(error.contains("expected a PEM file"), "{error}");
        }
    }
}
