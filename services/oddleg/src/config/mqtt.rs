//! MQTT as configured: a broker, a door of our own, or both.

use std::collections::BTreeSet;
use std::path::Path;

use nominals::form::Table;
use shared_types::SensorId;

use super::gauge::Gauge;
use super::listen::{self, Listen};

/// A broker, checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mqtt {
    /// Its host.
    pub host: String,
    /// Its port.
    pub port: u16,
    /// With TLS: the certificate authority to trust, as PEM.
    pub ca: Option<Vec<u8>>,
    /// Our session's name at the broker.
    pub client_id: String,
    /// User and password, where the broker asks for them.
    pub login: Option<(String, String)>,
}

/// The keys that say how to speak with a broker.
const BROKER_KEYS: [&str; 4] = ["ca", "client_id", "user", "password_file"];

/// The broker and our own door, each where it is written.
pub(super) fn walk(
    dir: &Path,
    table: &Table<'_>,
    gauges: Option<&[Gauge]>,
    sensors: Option<&BTreeSet<SensorId>>,
) -> Option<(Option<Mqtt>, Option<Listen>)> {
    table.only(&[
        "broker",
        "ca",
        "client_id",
        "user",
        "password_file",
        "listen",
        "client",
    ]);
    let (broker, listen) = (table.has("broker"), table.has("listen"));
    if !broker && !listen {
        table
            .missing_any("mqtt: found neither `broker` nor `listen`, expected one of them or both");
        return None;
    }
    if !broker {
        for key in BROKER_KEYS {
            if table.has(key) {
                table.wrong(key, "only a `broker` has one");
            }
        }
    }
    if !listen && table.has("client") {
        table.wrong("client", "found clients without `listen`, expected both");
    }
    let broker = broker.then(|| walk_broker(dir, table));
    let listen = listen.then(|| listen::walk(table, gauges, sensors));
    Some((transpose(broker)?, transpose(listen)?))
}

/// Absent is sound; there and wrong is not.
fn transpose<T>(written: Option<Option<T>>) -> Option<Option<T>> {
    match written {
        None => Some(None),
        Some(sound) => sound.map(Some),
    }
}

fn walk_broker(dir: &Path, table: &Table<'_>) -> Option<Mqtt> {
    let broker = table.need("broker").text();
    let address = broker.as_deref().map(address);
    let address = match address {
        Some(Ok(address)) => Some(address),
        Some(Err(wrong)) => {
            table.wrong("broker", wrong);
            None
        }
        None => None,
    };
    let tls = address.as_ref().is_some_and(|(tls, _, _)| *tls);
    if tls && !table.has("ca") {
        table.wrong(
            "broker",
            "an mqtts broker needs `ca`: the file of the authority to trust, as PEM",
        );
    }
    if address.is_some() && !tls && table.has("ca") {
        table.wrong(
            "ca",
            "only an mqtts:// broker has one; over mqtt:// nothing is encrypted",
        );
    }
    let ca = file(dir, table, "ca");
    let client_id = if table.has("client_id") {
        table.may("client_id").text()
    } else {
        Some("oddleg".to_owned())
    };
    let user = table.may("user").text();
    let password = file(dir, table, "password_file");
    let login = match (user, table.has("password_file")) {
        (Some(user), true) => password.map(|bytes| {
            let text = String::from_utf8_lossy(&bytes);
            Some((user, text.trim_end_matches(['\r', '\n']).to_owned()))
        }),
        (Some(_), false) => {
            table.wrong(
                "user",
                "found a user without `password_file`, expected both",
            );
            None
        }
        (None, true) => {
            table.wrong(
                "password_file",
                "found a password without `user`, expected both",
            );
            None
        }
        (None, false) => Some(None),
    };
    let (_, host, port) = address?;
    Some(Mqtt {
        host,
        port,
        ca: if tls { Some(ca?) } else { None },
        client_id: client_id?,
        login: login?,
    })
}

/// `mqtt://host[:port]` or `mqtts://host[:port]`.
fn address(text: &str) -> Result<(bool, String, u16), String> {
    let wrong = || {
        format!(
            "found {text:?}, expected \"mqtt://host\" or \"mqtts://host\", with a port if it is not the usual one"
        )
    };
    let (scheme, rest) = text.split_once("://").ok_or_else(wrong)?;
    let (tls, usual) = match scheme {
        "mqtt" => (false, 1883),
        "mqtts" => (true, 8883),
        _ => return Err(wrong()),
    };
    let (host, port) = match rest.rsplit_once(':') {
        Some((host, port)) => (host, port.parse().map_err(|_| wrong())?),
        None => (rest, usual),
    };
    if host.is_empty() || host.contains(['/', '@', ' ']) {
        return Err(wrong());
    }
    Ok((tls, host.to_owned(), port))
}

fn file(dir: &Path, table: &Table<'_>, key: &str) -> Option<Vec<u8>> {
    if !table.has(key) {
        return None;
    }
    let name = table.may(key).text()?;
    match std::fs::read(dir.join(&name)) {
        Ok(bytes) => Some(bytes),
        Err(error) => {
            table.wrong(key, format!("reading {name:?}: {error}"));
            None
        }
    }
}
