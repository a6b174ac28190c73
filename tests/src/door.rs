//! oddleg's own door for bridges and lamps, as a test configures it.

use std::net::TcpListener;

use intake::far_end::Fingerprint;
use rumqttc::{AsyncClient, EventLoop, MqttOptions};

use crate::broker::{BRIDGE, PASSWORD};

/// A door on a port of its own.
#[derive(Debug)]
pub struct Door {
    /// Where it is, on loopback.
    pub port: u16,
}

impl Door {
    /// A door on a port that is free now; oddleg takes it a moment later, and again after each restart.
    #[must_use]
    pub fn new() -> Self {
        let port = TcpListener::bind("127.0.0.1:0")
            .unwrap()
            .local_addr()
            .unwrap()
            .port();
        Self { port }
    }

    /// The lines of oddleg.toml that open it: to a bridge, to a lamp, and to a radio without a password.
    #[must_use]
    pub fn toml(&self) -> String {
        let kept = Fingerprint::of(PASSWORD);
        format!(
            r#"
[mqtt]
listen = "127.0.0.1:{}"

[mqtt.client.{BRIDGE}]
password = "{kept}"

[mqtt.client.lamp]
password = "{kept}"
findings = true

[mqtt.client.radio]
client_id = "radio-7"
gauges = ["radio-7"]

[gauge.{BRIDGE}]
bench = "bench-1"
kind = "caliper"
via = "mqtt"
unit = "mm"

[gauge.radio-7]
bench = "bench-1"
kind = "caliper"
via = "mqtt"
unit = "mm"
"#,
            self.port
        )
    }

    /// A client under the name and password of `user`.
    #[must_use]
    pub fn client(&self, user: &str, id: &str) -> (AsyncClient, EventLoop) {
        let mut options = MqttOptions::new(id, "127.0.0.1", self.port);
        options.set_credentials(user, PASSWORD);
        AsyncClient::new(options, 500)
    }
}

impl Default for Door {
    fn default() -> Self {
        Self::new()
    }
}
