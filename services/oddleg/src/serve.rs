//! The daemon: history replayed, doors opened, and everything closed again in order.

use std::net::SocketAddr;
use std::sync::Arc;

use anyhow::Context as _;
use dashboard::{Dashboard, Fresh};
use history::{HistoryError, Writer};
use intake::mqtt::Link;
use shared_types::{Event, PartId, Receipt, Seq, Shop, Submission};
use tokio::net::TcpListener;
use tokio::sync::{mpsc, oneshot, watch};
use tokio::task::JoinSet;
use tokio_util::sync::CancellationToken;

use crate::config::Build;
use crate::{clock, doors, findings, spine};

/// Messages for lamps that wait for the broker; they are a signal, the history has the findings.
const FINDINGS_MAX: usize = 64;

/// Open files besides MQTT connections: ports, browsers, the history.
const OTHER_FILES: u64 = 512;

/// How long the doors get to close by themselves: pending acknowledgements take milliseconds, and a
/// service manager waits ten seconds before it kills.
const GRACE_MS: u64 = 3_000;

/// A history opened and brought up to the build as it is configured now.
pub struct Opened {
    /// The one writer.
    pub writer: Writer,
    /// The shop after every entry.
    pub shop: Shop,
}

/// Opens the history of a build, replays it, and records the start, every new or changed part and every
/// part that is no longer there.
///
/// # Errors
/// As the history says: damaged, newer, locked, not ours, disk.
pub fn open(build: &Build) -> Result<Opened, HistoryError> {
    let mut shop = Shop::default();
    let mut writer = Writer::open(&build.dir, &origin(&build.name), |entry| shop.apply(&entry))?;
    let version = env!("CARGO_PKG_VERSION").to_owned();
    let mut events = vec![Event::Opened {
        version,
        setup: build.setup(),
    }];
    for plan in &build.parts {
        // A history begun before sheets had an expansion lacks it under the same digest.
        let known = shop.parts.get(&plan.part).is_some_and(|a| {
            a.withdrawn.is_none() && a.plan.digest == plan.digest && a.plan.sheet == plan.sheet
        });
        if !known {
            events.push(Event::Adopted(Arc::clone(plan)));
        }
    }
    let here = |part: &PartId| build.parts.iter().any(|plan| &plan.part == part);
    let gone = shop.parts.iter().filter(|(part, adopted)| {
        // Said once: the history has it from then on.
        adopted.withdrawn.is_none() && !here(part)
    });
    events.extend(gone.map(|(part, _)| Event::Withdrawn(part.clone())));
    let at_us = clock::now_us();
    let batch: Vec<Submission> = events
        .into_iter()
        .map(|event| Submission {
            at_us,
            event,
            key: None,
            receipt: Receipt::nobody(),
        })
        .collect();
    spine::run(std::iter::once(batch), &mut writer, &mut shop, |_, _| ())?;
    Ok(Opened { writer, shop })
}

/// The checkpoint's origin: whose log this is, in one line without spaces.
fn origin(build: &str) -> String {
    let plain = |c: char| {
        if c.is_ascii_alphanumeric() {
            c.to_ascii_lowercase()
        } else {
            '-'
        }
    };
    let name: String = build.chars().map(plain).collect();
    let words: Vec<&str> = name.split('-').filter(|word| !word.is_empty()).collect();
    // A checkpoint's first line has room for 128 bytes.
    let mut origin = format!("oddleg/{}", words.join("-"));
    origin.truncate(128);
    origin
}

/// Where a running daemon is reached.
#[derive(Clone, Copy, Debug)]
pub struct Addresses {
    /// The screen.
    pub screen: SocketAddr,
    /// The door for bridges and lamps, where there is one.
    pub mqtt: Option<SocketAddr>,
}

/// Serves a build until `stop`; `ready` learns the addresses once the screen answers.
///
/// # Errors
/// What kept the daemon from starting, or the failed write that stopped it.
pub fn serve(
    build: &Build,
    stop: &CancellationToken,
    ready: oneshot::Sender<Addresses>,
) -> anyhow::Result<()> {
    let Opened {
        mut writer,
        mut shop,
    } = open(build)?;
    tracing::info!(build = build.name, entries = shop.seq.0, "history open");
    if let Some(problem) = writer.key_problem() {
        tracing::warn!(%problem, "checkpoints go unsigned");
    }
    let (sink, events) = mpsc::channel(spine::EVENTS_MAX);
    let (announce, newest) = watch::channel(shop.seq);
    let screen_shop = shop.clone();
    let fresh = Arc::new(Fresh::default());
    let to_screen = Arc::clone(&fresh);
    let spine_stop = stop.clone();
    let spine = std::thread::Builder::new()
        .name("spine".into())
        .spawn(move || {
            // Whatever ends the spine, a panic too, ends the doors: nothing may look alive without it.
            let _ended = spine_stop.drop_guard();
            spine::run(
                spine::batches(events),
                &mut writer,
                &mut shop,
                |seq, entries| {
                    to_screen.push(entries);
                    announce.send_replace(seq);
                },
            )
        })
        .context("starting the spine")?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .context("starting the edges")?;
    let edges = runtime.block_on(edges(
        build,
        sink,
        newest,
        (screen_shop, fresh),
        stop,
        ready,
    ));
    stop.cancel();
    // Dropped first: senders held by tasks that outlived their grace end here, and the spine with them.
    runtime.shutdown_timeout(std::time::Duration::from_millis(GRACE_MS));
    let written = spine
        .join()
        .map_err(|_| anyhow::anyhow!("the spine stopped on a broken invariant"))?;
    written.context(
        "writing the history: stopped so that nothing is acknowledged that is not on disk",
    )?;
    edges
}

async fn edges(
    build: &Build,
    sink: mpsc::Sender<Submission>,
    newest: watch::Receiver<Seq>,
    (shop, fresh): (Shop, Arc<Fresh>),
    stop: &CancellationToken,
    ready: oneshot::Sender<Addresses>,
) -> anyhow::Result<()> {
    let listener = TcpListener::bind(build.listen)
        .await
        .with_context(|| format!("opening {} for the screen", build.listen))?;
    let address = listener
        .local_addr()
        .context("asking for the screen's address")?;
    let silence = doors::silence(build);
    let mut asker = intake::Asker::default();
    let (streams, streams_asked) = doors::streams(build, &mut asker);
    let topics = doors::topics(build, &silence, streams.clone());
    let far_end = match doors::far_end(build, &topics) {
        Some((address, far_end)) => Some((mqtt_listener(address).await?, far_end)),
        None => None,
    };
    let mqtt = match &far_end {
        Some((listener, _)) => Some(listener.local_addr().context("asking for MQTT's address")?),
        None => None,
    };
    let mut open = JoinSet::new();
    let streaming = intake::mqtt::streams::run(streams, sink.clone(), streams_asked, stop.clone());
    open.spawn(streaming);
    for (port, asks) in doors::ports(build, &mut asker, &silence) {
        open.spawn(intake::serial::run(port, sink.clone(), asks, stop.clone()));
    }
    for pedal in doors::pedals(build) {
        open.spawn(intake::serial::pedal(pedal, asker.clone(), stop.clone()));
    }
    let mut link = None;
    let mut lamps = Vec::new();
    if let Some((listener, far_end)) = far_end {
        let (finding, findings) = mpsc::channel(FINDINGS_MAX);
        lamps.push(finding);
        let (sink, stop) = (sink.clone(), stop.clone());
        open.spawn(intake::far_end::run(
            listener, far_end, sink, findings, stop,
        ));
    }
    if let Some(broker) = doors::broker(build, &topics)? {
        let (finding, findings) = mpsc::channel(FINDINGS_MAX);
        lamps.push(finding);
        let first = Link::Connecting {
            why: "starting".to_owned(),
        };
        let (state, told) = watch::channel(first);
        let (words, shown) = watch::channel(String::new());
        open.spawn(doors::in_words(told, words));
        link = Some(shown);
        open.spawn(intake::mqtt::run(
            broker,
            sink.clone(),
            findings,
            state,
            stop.clone(),
        ));
    }
    if !lamps.is_empty() {
        let benches = build
            .gauges
            .iter()
            .map(|g| (g.id.clone(), g.bench.clone()))
            .collect();
        let dir = build.dir.clone();
        let follow = findings::follow(dir, benches, newest.clone(), lamps, stop.clone());
        open.spawn(follow);
    }
    open.spawn(intake::silence::run(silence, sink.clone(), stop.clone()));
    let dashboard = Dashboard {
        dir: build.dir.clone(),
        sink,
        newest,
        fresh,
        shop,
        type_in: doors::typed(build),
        asking: doors::asking(asker),
        links: link,
        hosts: build.hosts.clone(),
    };
    tracing::info!(%address, "screen open");
    if let Some(mqtt) = mqtt {
        tracing::info!(address = %mqtt, "open for bridges and lamps over MQTT");
    }
    let addresses = Addresses {
        screen: address,
        mqtt,
    };
    if ready.send(addresses).is_err() {
        tracing::debug!("nobody waits for the screen's address");
    }
    let served = dashboard::serve(listener, dashboard, stop.clone()).await;
    stop.cancel();
    let grace = std::time::Duration::from_millis(GRACE_MS);
    let closed = tokio::time::timeout(grace, async { while open.join_next().await.is_some() {} });
    if closed.await.is_err() {
        tracing::warn!("a door did not close in time; what it had not acknowledged comes again");
    }
    served.context("serving the screen")
}

/// Opens the door for bridges and lamps. Each of them is an open file, and the system's usual limit of
/// 1024 is soft: it is raised as far as it may be.
async fn mqtt_listener(address: SocketAddr) -> anyhow::Result<TcpListener> {
    use rustix::process::{Resource, getrlimit, setrlimit};
    let mut limit = getrlimit(Resource::Nofile);
    let wanted = intake::far_end::CONNECTIONS_MAX as u64 + OTHER_FILES;
    if limit.current.is_some_and(|current| current < wanted) {
        limit.current = Some(limit.maximum.map_or(wanted, |most| most.min(wanted)));
        if let Err(error) = setrlimit(Resource::Nofile, limit) {
            tracing::warn!(%error, "the limit of open files cannot be raised, fewer bridges can connect");
        }
    }
    TcpListener::bind(address)
        .await
        .with_context(|| format!("opening {address} for MQTT"))
}
