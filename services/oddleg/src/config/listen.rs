//! Who may connect to oddleg itself over MQTT, as configured.

use std::collections::BTreeSet;
use std::net::SocketAddr;

use intake::far_end::{Fingerprint, Proof, User};
use nominals::form::Table;
use shared_types::{GaugeId, SensorId};

use super::gauge::Gauge;
use super::sensor;

/// The door for bridges and lamps, checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listen {
    /// Where it is opened.
    pub address: SocketAddr,
    /// Who may connect.
    pub clients: Vec<User>,
}

/// What a client may write; the keys of [mqtt] that belong here are told by the caller.
const CLIENT_KEYS: [&str; 5] = ["password", "client_id", "gauges", "sensors", "findings"];

/// `gauges` and `sensors` are those of the build, where they could be read.
pub(super) fn walk(
    table: &Table<'_>,
    gauges: Option<&[Gauge]>,
    sensors: Option<&BTreeSet<SensorId>>,
) -> Option<Listen> {
    let text = table.may("listen").text();
    let address = text.and_then(|text| {
        let expected = "an address and port such as \"127.0.0.1:1883\"";
        let parsed = text.parse::<SocketAddr>();
        parsed
            .map_err(|_| table.wrong("listen", format!("found {text:?}, expected {expected}")))
            .ok()
    });
    if !table.has("client") {
        table.wrong(
            "listen",
            "nobody may connect, expected a table [mqtt.client.NAME] for each bridge and lamp; `oddleg password NAME` prints one",
        );
    }
    let over_mqtt: Option<BTreeSet<GaugeId>> = gauges.map(|gauges| {
        let over_mqtt = gauges.iter().filter(|gauge| gauge.door.is_mqtt());
        over_mqtt.map(|gauge| gauge.id.clone()).collect()
    });
    let mut clients = Vec::new();
    let mut ids = BTreeSet::new();
    let mut whole = true;
    for (name, table) in table.may("client").named_tables() {
        match client(name, &table, over_mqtt.as_ref(), sensors) {
            None => whole = false,
            Some(client) => {
                if let Proof::ClientId(id) = &client.proof
                    && !ids.insert(id.clone())
                {
                    table.wrong("client_id", format!("another client has {id:?} too"));
                }
                clients.push(client);
            }
        }
    }
    whole.then_some(Listen {
        address: address?,
        clients,
    })
}

fn client(
    name: &str,
    table: &Table<'_>,
    over_mqtt: Option<&BTreeSet<GaugeId>>,
    known: Option<&BTreeSet<SensorId>>,
) -> Option<User> {
    table.only(&CLIENT_KEYS);
    let proof = match (table.has("password"), table.has("client_id")) {
        (true, false) => table
            .may("password")
            .parsed::<Fingerprint>("what `oddleg password` prints")
            .map(Proof::Password),
        (false, true) => table.may("client_id").text().map(Proof::ClientId),
        (true, true) => {
            table.wrong(
                "client_id",
                "found a password too, expected one of them: who logs in may choose its client id",
            );
            None
        }
        (false, false) => {
            table.missing_any(format!(
                "{}: found neither `password` nor `client_id`, expected one of them; `oddleg password {name}` prints a password",
                table.path()
            ));
            None
        }
    };
    let findings = if table.has("findings") {
        table.may("findings").boolean()
    } else {
        Some(false)
    };
    let gauges = if table.has("gauges") {
        named(table, over_mqtt)
    } else {
        // A bridge with one gauge has the gauge's name.
        let own = GaugeId::new(name).ok();
        let known = own.filter(|own| over_mqtt.is_some_and(|gauges| gauges.contains(own)));
        Some(known.into_iter().collect())
    };
    let sensors = sensor::of_client(name, table, known);
    if let (Some(gauges), Some(sensors), Some(false)) = (&gauges, &sensors, findings)
        && gauges.is_empty()
        && sensors.is_empty()
        && !table.has("gauges")
        && !table.has("sensors")
        && over_mqtt.is_some()
        && known.is_some()
    {
        table.wrong_here(
            "may do nothing, expected `gauges` or `sensors` it speaks for, or `findings = true` for a lamp",
        );
    }
    Some(User {
        name: name.to_owned(),
        proof: proof?,
        gauges: gauges?,
        sensors: sensors?,
        findings: findings?,
    })
}

fn named(table: &Table<'_>, over_mqtt: Option<&BTreeSet<GaugeId>>) -> Option<BTreeSet<GaugeId>> {
    let mut gauges = BTreeSet::new();
    for (text, at) in table.may("gauges").texts()? {
        match GaugeId::new(&text) {
            Ok(gauge) if over_mqtt.is_none_or(|known| known.contains(&gauge)) => {
                gauges.insert(gauge);
            }
            _ => table.wrong_item(
                "gauges",
                at,
                format!("found {text:?}, expected the name of a gauge with via = \"mqtt\""),
            ),
        }
    }
    Some(gauges)
}
