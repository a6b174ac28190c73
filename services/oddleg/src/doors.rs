//! What the configuration says, in the words of the doors: serial ports, the broker, typed entry.

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::sync::Arc;

use anyhow::Context as _;
use dashboard::TypeIn;
use intake::far_end::FarEnd;
use intake::mqtt::{Broker, Link, TlsSettings, Topics};
use intake::serial::SerialGauge;
use intake::{Dialect, Line, Terminator};
use shared_types::{GaugeId, Unit};
use tokio::sync::watch;

use crate::config::{Build, Door, Gauge};

/// The serial port of a gauge; `None` where it comes in by another door.
pub(crate) fn serial(gauge: &Gauge) -> Option<SerialGauge> {
    let Door::Serial { path, baud, line } = &gauge.door else {
        return None;
    };
    Some(SerialGauge {
        gauge: gauge.id.clone(),
        path: path.clone(),
        baud: *baud,
        line: *line,
        terminator: Terminator::default(),
        dialect: dialect(gauge),
    })
}

fn dialect(gauge: &Gauge) -> Dialect {
    Dialect::Line(Line {
        unit: gauge.unit,
        decimal: gauge.decimal,
        kind: gauge.kind,
    })
}

/// The broker, where one is configured.
pub(crate) fn broker(build: &Build) -> anyhow::Result<Option<Broker>> {
    let Some(mqtt) = &build.mqtt else {
        return Ok(None);
    };
    let mut broker = Broker::new(&mqtt.host, mqtt.port, &mqtt.client_id);
    broker.user.clone_from(&mqtt.login);
    if let Some(ca) = &mqtt.ca {
        broker.tls =
            Some(TlsSettings::new(ca).context("reading the broker's certificate authority")?);
    }
    broker.topics = topics(build);
    Ok(Some(broker))
}

/// Our own door for bridges and lamps, and where it is opened, where one is configured.
pub(crate) fn far_end(build: &Build) -> Option<(SocketAddr, FarEnd)> {
    let listen = build.far_end.as_ref()?;
    let far_end = FarEnd {
        topics: topics(build),
        benches: build.benches.iter().map(|(id, _)| id.clone()).collect(),
        users: listen.clients.iter().cloned().collect(),
    };
    Some((listen.address, far_end))
}

/// What is said on which topic.
fn topics(build: &Build) -> Topics {
    let over_mqtt = build.gauges.iter().filter(|gauge| gauge.door == Door::Mqtt);
    Topics {
        dialects: over_mqtt
            .map(|gauge| (gauge.id.clone(), dialect(gauge)))
            .collect(),
        ..Topics::default()
    }
}

/// Reads typed text as the gauge it is typed for.
pub(crate) fn typed(build: &Build) -> TypeIn {
    let spoken: BTreeMap<GaugeId, (Unit, char)> = build
        .gauges
        .iter()
        .map(|g| (g.id.clone(), (g.unit, g.decimal)))
        .collect();
    Arc::new(move |gauge, text| {
        let (unit, decimal) = match spoken.get(gauge) {
            Some((unit, decimal)) => (Some(*unit), *decimal),
            None => (None, '.'),
        };
        intake::typed(gauge, text, unit, decimal)
    })
}

/// Puts the broker's state into words for the screen, until either side is gone.
pub(crate) async fn in_words(mut link: watch::Receiver<Link>, words: watch::Sender<String>) {
    loop {
        let said = match &*link.borrow_and_update() {
            Link::Connecting { why } => format!("connecting ({why})"),
            Link::Up { .. } => "connected".to_owned(),
            Link::Down { why } => format!("not connected ({why})"),
        };
        words.send_replace(said);
        if link.changed().await.is_err() {
            return;
        }
    }
}
