//! What the configuration says, in the words of the doors: serial ports, the broker, typed entry.

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::sync::Arc;

use anyhow::Context as _;
use dashboard::{Asking, TypeIn};
use intake::far_end::FarEnd;
use intake::mqtt::{Broker, Link, Streams, TlsSettings, Topics};
use intake::serial::{Pedal, SerialGauge, SerialPort};
use intake::{Asker, Asks, Mode, Silence};
use shared_types::{GaugeId, Unit};
use tokio::sync::watch;

use crate::config::{Build, Door};

/// The gauges that should be heard again and again.
pub(crate) fn silence(build: &Build) -> Silence {
    let stated = build.gauges.iter();
    Silence::new(stated.filter_map(|gauge| Some((gauge.id.clone(), gauge.trust.silent_after_s?))))
}

/// The serial ports with their gauges, each with where it hears that it is asked.
pub(crate) fn ports(
    build: &Build,
    asker: &mut Asker,
    silence: &Silence,
) -> Vec<(SerialPort, Asks)> {
    let mut ports: Vec<SerialPort> = Vec::new();
    for gauge in &build.gauges {
        let Door::Serial(serial) = &gauge.door else {
            continue;
        };
        let one = SerialGauge {
            gauge: gauge.id.clone(),
            dialect: gauge.dialect.clone(),
            mode: serial.taking.mode,
        };
        match ports.iter_mut().find(|port| port.path == serial.path) {
            Some(port) => port.gauges.push(one),
            None => ports.push(SerialPort {
                path: serial.path.clone(),
                baud: serial.baud,
                line: serial.line,
                terminator: serial.terminator,
                gauges: vec![one],
                request: serial.request.clone(),
                answer_max_us: serial.taking.answer_max_us,
                silence: silence.clone(),
            }),
        }
    }
    let mut with_asks = Vec::new();
    for port in ports {
        let askable = port
            .gauges
            .iter()
            .filter(|gauge| port.request.is_some() || matches!(gauge.mode, Mode::Stream { .. }));
        let asks = asker.port(askable.map(|gauge| gauge.gauge.clone()));
        with_asks.push((port, asks));
    }
    with_asks
}

/// The gauges behind bridges of which not every value is a reading, with where it is heard that one is asked.
pub(crate) fn streams(build: &Build, asker: &mut Asker) -> (Streams, Asks) {
    let mut gauges = Vec::new();
    for gauge in &build.gauges {
        if let Door::Mqtt(taking) = gauge.door
            && taking.mode != Mode::default()
        {
            let one = SerialGauge {
                gauge: gauge.id.clone(),
                dialect: gauge.dialect.clone(),
                mode: taking.mode,
            };
            gauges.push((one, taking.answer_max_us));
        }
    }
    let stream = gauges
        .iter()
        .filter(|(gauge, _)| matches!(gauge.mode, Mode::Stream { .. }));
    let asks = asker.port(stream.map(|(gauge, _)| gauge.gauge.clone()));
    (Streams::new(gauges), asks)
}

/// The pedals with their ports.
pub(crate) fn pedals(build: &Build) -> impl Iterator<Item = Pedal> {
    build.pedals.iter().map(|pedal| Pedal {
        path: pedal.path.clone(),
        baud: pedal.baud,
        line: pedal.line,
        asks: pedal.asks.clone(),
    })
}

/// Lets the screen ask gauges.
pub(crate) fn asking(asker: Asker) -> Asking {
    let gauges: Vec<GaugeId> = asker.gauges().cloned().collect();
    Asking::new(gauges, move |gauge| {
        asker.ask(gauge).map_err(|error| error.to_string())
    })
}

/// The broker, where one is configured.
pub(crate) fn broker(build: &Build, topics: &Topics) -> anyhow::Result<Option<Broker>> {
    let Some(mqtt) = &build.mqtt else {
        return Ok(None);
    };
    let mut broker = Broker::new(&mqtt.host, mqtt.port, &mqtt.client_id);
    broker.user.clone_from(&mqtt.login);
    if let Some(ca) = &mqtt.ca {
        broker.tls =
            Some(TlsSettings::new(ca).context("reading the broker's certificate authority")?);
    }
    broker.topics = topics.clone();
    Ok(Some(broker))
}

/// Our own door for bridges and lamps, and where it is opened, where one is configured.
pub(crate) fn far_end(build: &Build, topics: &Topics) -> Option<(SocketAddr, FarEnd)> {
    let listen = build.far_end.as_ref()?;
    let far_end = FarEnd {
        topics: topics.clone(),
        benches: build.benches.iter().map(|(id, _)| id.clone()).collect(),
        users: listen.clients.iter().cloned().collect(),
    };
    Some((listen.address, far_end))
}

/// What is said on which topic, whichever way it comes.
pub(crate) fn topics(build: &Build, silence: &Silence, streams: Streams) -> Topics {
    let over_mqtt = build.gauges.iter().filter(|gauge| gauge.door.is_mqtt());
    Topics {
        dialects: over_mqtt
            .map(|gauge| (gauge.id.clone(), gauge.dialect.clone()))
            .collect(),
        sensors: build.sensors.clone(),
        silence: silence.clone(),
        streams,
        ..Topics::default()
    }
}

/// Reads typed text as the gauge it is typed for.
pub(crate) fn typed(build: &Build) -> TypeIn {
    let spoken: BTreeMap<GaugeId, (Unit, char)> = build
        .gauges
        .iter()
        .map(|g| (g.id.clone(), (g.dialect.unit, g.dialect.decimal)))
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
